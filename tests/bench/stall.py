"""From a keystroke to its picture, in the browser, while several tablets type at once.

Run it by hand, alone on the machine (or, on a busy Linux machine, before all others: ``chrt -r 1``)::

    python tests/bench/stall.py [--tablets 4] [--seconds 60] [--thing pet-tag]

A crowd on loopback, bounded: each tablet is a page of one headless Chromium, and types invented names at a
person's pace, 140 ms a key, in every style of the thing. A keystroke's time ends with the frame in which
its picture stands; one that is overtaken by the next counts until the picture that shows both.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.pipeline.shopfolder import open_shop  # noqa: E402
from tests.stall.test_crash import free_port, start  # noqa: E402
from tests.stall.test_screens import STALL  # noqa: E402

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

KEY_S = 0.14
WARM_S = 15
"""A stall is open before its first customer comes."""
WATCH = """() => {
  window.times = [];
  let waiting = [];
  const name = document.getElementById("name"), drawn = document.getElementById("drawn");
  name.addEventListener("input", () => waiting.push(performance.now()), true);
  new MutationObserver(() => requestAnimationFrame((frame) => {
    if (drawn.dataset.shown !== name.value) return;
    for (const began of waiting) window.times.push(performance.now() - began);
    waiting = [];
  })).observe(drawn, { attributes: true });
}"""


def main() -> None:
    """Measure and tell."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--tablets", type=int, default=4, choices=range(1, 9))
    words.add_argument("--seconds", type=int, default=60)
    words.add_argument("--thing", default="pet-tag", choices=["pet-tag", "coaster", "mug"])
    chosen = words.parse_args()
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        shop, port = Path(folder) / "shop", free_port()
        open_shop(shop, "Bench")
        (shop / "stall.toml").write_text(STALL)
        server = start(shop, port)
        try:
            time.sleep(WARM_S)
            path = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
            times = crowd(
                browser, f"http://127.0.0.1:{port}/thing/{chosen.thing}", chosen.tablets, chosen.seconds
            )
        finally:
            server.kill()
            server.wait()
    cuts = statistics.quantiles(times, n=100)
    print(f"{chosen.tablets} tablets, {chosen.seconds} s, {chosen.thing}: {len(times)} keystrokes")
    print(
        f"median {cuts[49]:.0f} ms, 95 % {cuts[94]:.0f} ms, 99 % {cuts[98]:.0f} ms, worst {max(times):.0f} ms"
    )


def crowd(browser: Browser, address: str, tablets: int, seconds: int) -> list[float]:
    """Milliseconds of all keystrokes; each tablet types a key in turn, so that all keep their pace."""
    pages = [browser.new_context(viewport={"width": 768, "height": 1024}).new_page() for _ in range(tablets)]
    for page in pages:
        page.goto(address)
        page.evaluate(WATCH)
    typists = [typing(page, names) for page, names in zip(pages, shares(tablets), strict=True)]
    end = time.monotonic() + seconds
    due = time.monotonic()
    while time.monotonic() < end:
        for typist in typists:
            next(typist)
            due += KEY_S / tablets
            time.sleep(max(0.0, due - time.monotonic()))
    pages[0].wait_for_timeout(1000)
    return [ms for page in pages for ms in page.evaluate("window.times")]


def shares(tablets: int) -> list[list[str]]:
    """Names for each tablet, none twice."""
    names = [name[:14] for name in invented(400 * tablets)]
    return [names[k::tablets] for k in range(tablets)]


def typing(page: Page, names: list[str]) -> Iterator[None]:
    """Type the names, a key at each step, each in another style."""
    for turn, name in enumerate(names):
        page.evaluate(
            """(turn) => {
              const name = document.getElementById("name");
              name.focus(); name.value = "";
              const styles = document.querySelectorAll("[name=style]");
              styles[turn % styles.length].checked = true;
            }""",
            turn,
        )
        yield
        for letter in name:
            page.keyboard.insert_text(letter)
            yield


if __name__ == "__main__":
    main()
