"""A small stall in a folder of its own, and a tablet to visit it with."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from render.pipeline.shopfolder import open_shop
from render.pipeline.stallwork import Bench
from render.stall.guard import Door
from render.stall.server import Rates, stall_app
from render.stall.works import Works

PASSPHRASE = "harbour lamp nine"
HOST = "127.0.0.1:8317"
ORIGIN = f"http://{HOST}"

STALL = """\
[[thing]]
id = "pet-tag"
title = "Pet tag"
template = "pet-tag"
price = 900
count = 5
styles = ["roboto-slab", "playfair-display", "pacifico"]
minutes = 4
second = "phone"

[[thing]]
id = "key-tag"
title = "Key tag"
template = "key-tag"
price = 700
styles = ["montserrat", "lobster"]

[[thing]]
id = "wallet-patch"
title = "Leather patch"
template = "wallet-patch"
price = 1500
count = 3
styles = ["roboto-slab"]
"""


ROUND_AND_INITIALS = """
[[thing]]
id = "coaster"
title = "Coaster"
template = "coaster"
price = 1200
styles = ["montserrat", "cinzel"]
second = "line2"
monograms = ["monogram-coaster", "ring-coaster"]

[[thing]]
id = "tumbler"
title = "Tumbler"
template = "tumbler-band"
price = 2600
styles = ["montserrat", "great-vibes"]
"""
"""More for a stall: a thing that can bear initials, and one that is round."""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    open_shop(folder, "Harbour Lettering")
    (folder / "stall.toml").write_text(STALL)
    return folder


@dataclass
class Visit:
    """A customer at a tablet."""

    client: TestClient

    def token(self) -> str:
        page = self.client.get("/thing/pet-tag").text
        found = re.search(r'name="token" value="([0-9a-f]+)"', page)
        assert found
        return found[1]

    def draw(
        self, name: str, *, thing: str = "pet-tag", style: str = "roboto-slab", second: str = "",
        design: str = "",
    ) -> Any:  # fmt: skip
        form = {"token": self.token(), "thing": thing, "style": style, "name": name, "second": second,
                "design": design}  # fmt: skip
        return self.client.post("/draw", data=form).json()

    def check(
        self, name: str, *, thing: str = "pet-tag", style: str = "roboto-slab", second: str = "",
        design: str = "",
    ) -> str:  # fmt: skip
        form = {"token": self.token(), "thing": thing, "style": style, "name": name, "second": second,
                "design": design}  # fmt: skip
        return self.client.post("/check", data=form).text

    def form(self, name: str, **wish: str) -> dict[str, str]:
        page = self.check(name, **wish)
        found = re.search(r'name="digest" value="([0-9a-f]{64})"', page)
        assert found, page
        return {
            "thing": wish.get("thing", "pet-tag"),
            "style": wish.get("style", "roboto-slab"),
            "name": name,
            "second": wish.get("second", ""),
            "design": wish.get("design", ""),
            "digest": found[1],
            "key": secrets.token_hex(16),
        }

    def send(self, form: dict[str, str]) -> Any:
        return self.client.post("/order", data=form, headers={"accept": "application/json"})

    def order(self, name: str, **wish: str) -> int:
        return int(self.send(self.form(name, **wish)).json()["number"])


@dataclass
class MakerVisit:
    """The maker, inside."""

    client: TestClient

    def enter(self, passphrase: str = PASSPHRASE) -> int:
        return self.client.post("/maker/enter", data={"passphrase": passphrase}).status_code

    def board(self) -> str:
        return self.client.get("/maker/board").text

    def do(self, act: str, **fields: object) -> Any:
        token = re.search(r'name="token" value="([0-9a-f]+)"', self.board())
        assert token
        return self.client.post("/maker/do", data={"token": token[1], "act": act, **fields})

    def desk(self, where: object, **fields: object) -> Any:
        """Fill the desk's form in: `where` is a number, or ``new/`` and a thing."""
        page = self.client.get(f"/maker/desk/{where}").text
        form = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
        chosen = dict(re.findall(r'type="radio" name="(\w+)" value="([^"]*)" checked', page))
        typed = dict(re.findall(r'name="(name|second)" type="text" value="([^"]*)"', page))
        return self.client.post("/maker/desk", data={**form, **chosen, **typed, **fields})


def client_of(works: Works, **rates: Any) -> TestClient:
    client = TestClient(stall_app(works, Rates(**rates)), base_url=ORIGIN, follow_redirects=False)
    client.headers["origin"] = ORIGIN
    return client


@contextmanager
def opened(shop: Path, bench: Bench | None = None) -> Iterator[tuple[Visit, MakerVisit]]:
    """The stall of a shop, started anew, and the maker inside; the bench may be lent: it knows no order."""
    door = Door(frozenset({HOST}))
    works = (
        Works(shop, bench, door, "Shop", "EUR", PASSPHRASE) if bench else Works.open(shop, door, PASSPHRASE)
    )
    maker = MakerVisit(client_of(works))
    assert maker.enter() == 303
    try:
        yield Visit(client_of(works, orders=(100.0, 1000.0))), maker
    finally:
        works.close()


@pytest.fixture
def works(shop: Path) -> Iterator[Works]:
    made = Works.open(shop, Door(frozenset({HOST})), PASSPHRASE)
    yield made
    made.close()


@pytest.fixture
def visit(works: Works) -> Visit:
    return Visit(client_of(works, orders=(100.0, 1000.0)))


@pytest.fixture
def maker(works: Works) -> MakerVisit:
    inside = MakerVisit(client_of(works))
    assert inside.enter() == 303
    return inside
