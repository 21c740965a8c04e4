"""Who is let in, and what is let out."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.stall.guard import MOST_BYTES, Bucket, Door
from render.stall.server import stall_secret
from render.stall.works import Works
from tests.stall.conftest import HOST, ORIGIN, PASSPHRASE, MakerVisit, Visit, client_of


def test_every_answer_carries_the_headers(visit: Visit) -> None:
    for path in ("/", "/own/stall.js", "/nothing", "/maker"):
        headers = visit.client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert headers["x-content-type-options"] == "nosniff"


def test_pages_hold_no_inline_script_or_style(visit: Visit) -> None:
    for page in (visit.client.get("/").text, visit.client.get("/thing/pet-tag").text, visit.check("Ada")):
        assert "<script>" not in page
        assert " style=" not in page
        assert " onclick" not in page
        assert "://" not in page.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:80", f"{HOST}.evil.example", ""])
def test_another_host_is_turned_away(visit: Visit, host: str) -> None:
    assert visit.client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", f"https://{HOST}", "http://127.0.0.1:80"])
def test_another_origin_cannot_send(visit: Visit, origin: str) -> None:
    form = visit.form("Ada")
    answer = visit.client.post("/order", data=form, headers={"origin": origin})
    assert answer.status_code == 403


def test_without_an_origin_the_browser_must_say_that_it_is_the_same(visit: Visit) -> None:
    form = visit.form("Ada")
    del visit.client.headers["origin"]
    assert visit.client.post("/order", data=form).status_code == 403
    assert visit.client.post("/order", data=form, headers={"sec-fetch-site": "cross-site"}).status_code == 403
    assert (
        visit.client.post("/order", data=form, headers={"sec-fetch-site": "same-origin"}).status_code == 303
    )


def test_a_form_is_bound_to_its_visit(visit: Visit, works: Works) -> None:
    token = visit.token()
    other = client_of(works)
    wish = {"token": token, "thing": "pet-tag", "style": "roboto-slab", "name": "Ada"}
    assert other.post("/draw", data=wish).status_code == 400
    assert visit.client.post("/draw", data=wish).status_code == 200


def test_too_much_at_once_is_refused(visit: Visit) -> None:
    big = b"name=" + b"x" * MOST_BYTES
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert visit.client.post("/draw", content=big, headers=kind).status_code == 413
    chunks = (b"x" * 1000 for _ in range(20))
    assert visit.client.post("/draw", content=chunks, headers=kind).status_code == 413
    assert visit.client.get("/?" + "x" * 2000).status_code == 414


def test_too_many_requests_are_slowed_down(works: Works) -> None:
    client = client_of(works, requests=(0.001, 5))
    codes = [client.get("/alive").status_code for _ in range(8)]
    assert codes == [200] * 5 + [429] * 3


def test_a_bucket_fills_again_and_keeps_sources_apart() -> None:
    now = 0.0
    bucket = Bucket(1.0, 2, clock=lambda: now)
    assert [bucket.takes("a") for _ in range(3)] == [True, True, False]
    assert bucket.takes("b")
    now = 1.5
    assert [bucket.takes("a") for _ in range(2)] == [True, False]


@pytest.mark.parametrize(
    "path", ["/own/../guard.py", "/own/guard.py", "/own/%2e%2e/guard.py", "/own/stall.css/../../x", "/own/"]
)
def test_no_path_of_a_request_is_a_path_on_the_disk(visit: Visit, path: str) -> None:
    answer = visit.client.get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text


def test_on_a_network_the_token_is_needed_once(shop: Path) -> None:
    works = Works.open(shop, Door(frozenset({HOST}), token="a" * 24), PASSPHRASE)
    client = client_of(works)
    assert client.get("/").status_code == 403
    assert client.get("/own/stall.js").status_code == 403
    assert client.get("/?t=" + "b" * 24).status_code == 403
    answer = client.get("/?t=" + "a" * 24)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert client.get("/").status_code == 200
    works.close()


def test_the_secret_is_kept_and_nobody_else_may_read_it(shop: Path) -> None:
    first = stall_secret(shop)
    assert stall_secret(shop) == first
    assert (shop / ".stall-secret").stat().st_mode & 0o077 == 0


def test_the_maker_needs_the_passphrase_and_wrong_ones_are_slowed_down(works: Works) -> None:
    maker = MakerVisit(client_of(works))
    assert maker.client.get("/maker/board").status_code == 403
    assert maker.client.get("/maker/events").status_code == 403
    assert maker.client.post("/maker/do", data={"act": "undo"}).status_code == 403
    assert [maker.enter("wrong") for _ in range(6)] == [403] * 5 + [429]
    assert maker.enter() == 429


def test_the_makers_cookie_cannot_be_read_or_sent_from_elsewhere(works: Works) -> None:
    maker = MakerVisit(client_of(works))
    answer = maker.client.post("/maker/enter", data={"passphrase": PASSPHRASE})
    cookie = next(c for c in answer.headers.get_list("set-cookie") if c.startswith("maker="))
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert PASSPHRASE not in cookie
    assert maker.client.post("/maker/do", data={"act": "undo", "token": "x"}).status_code == 403
    assert ORIGIN.startswith("http://127")
