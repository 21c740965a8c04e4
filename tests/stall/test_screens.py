"""Every screen beside its reference picture, on a tablet that stands, one that lies, and a phone.

The pictures in ``pictures/`` were looked at before they were kept. Fonts differ between machines, so what is
compared is coarse: colour by colour over a grid of squares. Where a screen has been changed on purpose, set
MONIKERF_PICTURES=keep, run this, and look at every picture anew.
"""

from __future__ import annotations

import io
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from render.pipeline.shopfolder import open_shop
from tests.stall.test_browser import SIZES, sound, tablet
from tests.stall.test_crash import free_port, start

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

PICTURES = Path(__file__).parent / "pictures"
KEEP = os.environ.get("MONIKERF_PICTURES", "") == "keep"
WIDTH = 192
"""Pixels across of a kept picture."""
SQUARE = 12
MOST = 26.0
"""By so much, of 255, a square may differ; letters of another font make up to some twenty."""
MEAN = 3.0
"""By so much all squares may differ on average."""

STALL = """\
greeting = "Your name on it"

[[thing]]
id = "pet-tag"
title = "Pet tag"
template = "pet-tag"
price = 900
count = 24
styles = ["roboto-slab", "playfair-display", "pacifico"]
second = "phone"
second_label = "Telephone number"

[[thing]]
id = "coaster"
title = "Slate coaster"
template = "coaster"
price = 1200
count = 12
styles = ["montserrat", "cinzel", "great-vibes"]
second = "line2"
monograms = ["monogram-coaster", "ring-coaster"]

[[thing]]
id = "tumbler"
title = "Steel tumbler"
template = "tumbler-band"
price = 2600
count = 0
styles = ["montserrat", "great-vibes", "pacifico"]

[[thing]]
id = "mug"
title = "Mug"
template = "mug"
price = 1800
styles = ["montserrat", "great-vibes", "pacifico"]
"""


@dataclass
class Gallery:
    """Compares screens with the pictures that were kept, or keeps them."""

    size: str
    wrong: list[str] = field(default_factory=list)
    seen: set[str] = field(default_factory=set)

    def look(self, page: Page, name: str) -> None:
        page.mouse.move(0, 0)
        page.evaluate("document.activeElement.blur()")
        sound(page)
        with Image.open(io.BytesIO(page.screenshot(animations="disabled", caret="hide"))) as shot:
            small = shot.convert("RGB").resize(
                (WIDTH, round(WIDTH * shot.height / shot.width)), Image.Resampling.BOX
            )
        file = PICTURES / f"{self.size.replace(' ', '-')}-{name}.png"
        self.seen.add(file.name)
        if KEEP:
            PICTURES.mkdir(exist_ok=True)
            small.quantize(64, dither=Image.Dither.NONE).save(file, optimize=True)
            return
        with Image.open(file) as kept:
            worst, mean = difference(small, kept.convert("RGB"))
        if worst > MOST or mean > MEAN:
            self.wrong.append(f"{name}: {worst:.1f} at most, {mean:.2f} on average")


def difference(one: Image.Image, other: Image.Image) -> tuple[float, float]:
    """The largest and the mean difference between squares of two pictures of one size, of 255."""
    assert one.size == other.size
    squares = [squared(np.asarray(each, np.float64)) for each in (one, other)]
    away = np.abs(squares[0] - squares[1]).max(axis=2)
    return float(away.max()), float(away.mean())


def squared(
    pixels: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    high, wide = (n // SQUARE for n in pixels.shape[:2])
    cut = pixels[: high * SQUARE, : wide * SQUARE]
    return cut.reshape(high, SQUARE, wide, SQUARE, 3).mean(axis=(1, 3))


@pytest.fixture(scope="module")
def market(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[], tuple[str, str]]]:
    """Opens the stall with an empty ledger, for the network as well; its address here, and for tablets."""
    servers = []

    def anew() -> tuple[str, str]:
        shop, port = tmp_path_factory.mktemp("market") / "shop", free_port()
        open_shop(shop, "Harbour Lettering")
        (shop / "stall.toml").write_text(STALL)
        servers.append(start(shop, port, "--address", "127.0.0.1"))
        said = (shop / "stall.log").read_text()
        return f"http://127.0.0.1:{port}", next(w for w in said.split() if "/?t=" in w)

    yield anew
    for server in servers:
        server.kill()
        server.wait()


@pytest.mark.parametrize("size", SIZES)
def test_every_screen_looks_as_it_was_looked_at(
    browser: Browser, market: Callable[[], tuple[str, str]], size: str
) -> None:
    base, door = market()
    gallery = Gallery(size)
    customer(browser, base, door, gallery)
    maker(browser, base, door, gallery)
    assert gallery.wrong == []
    kept = {f.name for f in PICTURES.glob(f"{size.replace(' ', '-')}-*.png")}
    assert gallery.seen == kept


def customer(browser: Browser, base: str, door: str, gallery: Gallery) -> None:
    page, wrong = tablet(browser, SIZES[gallery.size], base)
    page.goto(door)
    gallery.look(page, "things")
    page.click("text=Slate coaster")
    gallery.look(page, "empty")
    typed(page, "Mira Helene Tallis")
    gallery.look(page, "name")
    page.click("#go")
    page.wait_for_selector("#wish[data-compared='Mira Helene Tallis|']")
    gallery.look(page, "initials-or-not")
    page.check("[value=monogram-coaster]")
    page.click("#go")
    page.wait_for_selector("#wish[data-compared='Mira Helene Tallis|monogram-coaster']")
    drawn(page, "monogram-coaster")
    gallery.look(page, "style")
    page.click("#before")
    page.check("[name=design][value='']")
    page.click("#go")
    page.click("#go")
    page.fill("#second", "The Lantern House")
    drawn(page, "", "The Lantern House")
    gallery.look(page, "second-line")
    page.click("#go")
    page.wait_for_url("**/check")
    gallery.look(page, "letters")
    page.click("#order .go")
    page.wait_for_url("**/number/*")
    gallery.look(page, "number")
    page.goto(f"{base}/thing/pet-tag")
    typed(page, "Maximiliana-Alexandrina Wolk")
    gallery.look(page, "too-long")
    page.goto(f"{base}/thing/mug")
    typed(page, "Zoë O’Neill")
    gallery.look(page, "round")
    page.goto(f"{base}/thing/tumbler")
    gallery.look(page, "gone")
    assert [w for w in wrong if "410" not in w] == []
    page.context.close()


def maker(browser: Browser, base: str, door: str, gallery: Gallery) -> None:
    page, wrong = tablet(browser, SIZES[gallery.size], base)
    page.goto(door)
    page.route(re.compile(r"/maker(/board|/do)?(#.*)?$"), without_folder)
    page.goto(f"{base}/maker")
    gallery.look(page, "door")
    page.fill("#passphrase", "harbour lamp nine")
    page.keyboard.press("Enter")
    page.wait_for_selector("td.full >> text=Mira Helene Tallis")
    gallery.look(page, "board")
    page.click("[data-keep=new-pet-tag]")
    typed(page, "Biscuit")
    gallery.look(page, "desk")
    page.click("#go")
    page.click("text=Make this load >> nth=0")
    page.wait_for_selector("text=Written and verified", timeout=60_000)
    page.wait_for_selector("h3 >> text=Load 1")
    page.evaluate("document.getElementById('loads').scrollIntoView()")
    gallery.look(page, "load")
    page.goto(f"{base}/maker/code")
    sound(page)
    with Image.open(io.BytesIO(page.screenshot())) as shot:
        assert [found.text for found in zxingcpp.read_barcodes(shot.convert("L"))] == [door]
    assert wrong == []
    page.context.close()


def without_folder(route: Route) -> None:
    """The folder of a test has another name each time."""
    answer = route.fetch(max_redirects=0)
    route.fulfill(response=answer, body=re.sub(r"/[^ <>\"]*/(?=out/load-)", "market/", answer.text()))


def typed(page: Page, name: str) -> None:
    page.wait_for_selector("#wish")
    page.fill("#name", name)
    page.wait_for_selector(f"#drawn[data-shown='{name}']")
    page.wait_for_selector(f"#wish[data-compared='{name}|']")


def drawn(page: Page, design: str, second: str = "") -> None:
    """Wait until what is shown is what the server draws of this."""
    page.wait_for_function(
        """async ([design, second]) => {
          const asked = new FormData(document.getElementById("wish"));
          if ((asked.get("design") || "") !== design || (asked.get("second") || "") !== second) return false;
          const answer = await fetch("/draw", { method: "POST", body: new URLSearchParams(asked) });
          const told = await answer.json();
          const svg = new DOMParser().parseFromString(told.svg, "image/svg+xml").documentElement;
          return document.querySelector("#drawn svg").innerHTML === svg.innerHTML;
        }""",
        arg=[design, second],
    )


def test_another_screen_is_not_taken_for_the_same() -> None:
    """The comparison can tell: each reference differs from every other of its size."""
    for size in SIZES:
        pictures = {}
        for file in sorted(PICTURES.glob(f"{size.replace(' ', '-')}-*.png")):
            with Image.open(file) as picture:
                pictures[file.name] = picture.convert("RGB")
        names = list(pictures)
        assert len(names) == 15
        for k, name in enumerate(names):
            for other in names[:k]:
                worst, mean = difference(pictures[name], pictures[other])
                assert worst > MOST or mean > MEAN, (name, other)
