"""Makes the pictures of the README anew: python demo/pictures/make.py."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

if TYPE_CHECKING:
    from playwright.sync_api import Page

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent


def monikerf(*words: object) -> None:
    """Run a command of this checkout."""
    subprocess.run([sys.executable, "-m", "render.cli", *map(str, words)], check=True, cwd=DEMO.parent,
                   stdout=subprocess.DEVNULL)  # fmt: skip


def keep(source: Path, name: str, width: int, box: tuple[float, float, float, float] = (0, 0, 1, 1)) -> None:
    """A part of a picture (shares of its width and height), `width` pixels wide, in few colours."""
    with Image.open(source) as picture:
        w, h = picture.size
        part = picture.convert("RGB").crop(
            (int(box[0] * w), int(box[1] * h), int(box[2] * w), int(box[3] * h))
        )
    part = part.resize((width, round(width * part.height / part.width)), Image.Resampling.LANCZOS)
    part.quantize(128, dither=Image.Dither.NONE).save(HERE / name, optimize=True)


def main() -> None:
    """Make all of them."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        for kind in ("templates", "fonts"):
            monikerf("show", kind, "--picture", out / f"{kind}.png")
            keep(out / f"{kind}.png", f"{kind}.png", 1100)
        monikerf("batch", "demo/wedding/guests.csv", "-t", "place-card", "-o", out / "w")
        keep(out / "w" / "proof.png", "wedding-proof.png", 1100, (0, 0, 1, 0.38))
        draw_sheet(out / "w" / "sheet-2.svg", out / "sheet.png")
        keep(out / "sheet.png", "wedding-sheet.png", 1100)
        draw_papers(out)
        draw_changed(out)
        draw_stall(out)


def draw_papers(out: Path) -> None:
    """The wedding's packing list and labels beside each other."""
    shop = out / "wedding-shop"
    subprocess.run(
        [sys.executable, DEMO / "wedding" / "story.py", shop], check=True, stdout=subprocess.DEVNULL
    )
    both = Image.new("RGB", (1280, 890), "#B9B6AD")
    for number, paper in enumerate(("packing", "labels")):
        page = out / paper
        pdf = shop / "papers" / f"ropewalk-{paper}.pdf"
        subprocess.run(["pdftoppm", "-r", "150", "-singlefile", "-png", pdf, page], check=True)
        with Image.open(page.with_suffix(".png")) as picture:
            small = picture.convert("RGB").resize((610, 863), Image.Resampling.LANCZOS)
        both.paste(small, (20 + number * 630, 14))
    both.save(out / "papers.png")
    keep(out / "papers.png", "wedding-papers.png", 1100)


def draw_changed(out: Path) -> None:
    """What a load shows where a template was changed after the customer approved."""
    shop, table = out / "shop", out / "tags.csv"
    table.write_text("Name\nBiscuit\nMörkö\n", encoding="utf-8")
    monikerf("open-shop", shop)
    template = shop / "templates" / "pet-tag.svg"
    template.write_bytes((DEMO.parent / "templates" / "pet-tag.svg").read_bytes())
    monikerf("take-order", table, "-t", "pet-tag", "--shop", shop)
    monikerf("load", "tags", "--without-approval", "for the picture", "--shop", shop)
    monikerf("made", "1", "--drop", "for the picture", "--shop", shop)
    changed = re.sub(r'font-family="[^"]*"', 'font-family="pacifico"', template.read_text(encoding="utf-8"))
    template.write_text(changed, encoding="utf-8")
    words = [sys.executable, "-m", "render.cli", "load", "tags", "--shop", str(shop)]
    subprocess.run(words, check=False, cwd=DEMO.parent, capture_output=True)
    keep(shop / "out" / "changed.png", "not-as-approved.png", 900)


def draw_stall(out: Path) -> None:
    """The market stall: a customer's tablet, and the maker's side with the morning's orders."""
    from playwright.sync_api import sync_playwright

    shop, port = out / "market", 8319
    monikerf("open-shop", shop, "--name", "Harbour Lettering")
    (shop / "stall.toml").write_bytes((DEMO / "market" / "stall.toml").read_bytes())
    words = [sys.executable, "-m", "render.cli", "stall", "--json", "--shop", shop, "--port", str(port)]
    env = {**os.environ, "MONIKERF_STALL_PASSPHRASE": "harbour lamp nine"}
    with (
        subprocess.Popen(words, cwd=DEMO.parent, env=env, stdout=subprocess.PIPE, text=True) as server,
        sync_playwright() as play,
    ):
        try:
            assert server.stdout is not None  # noqa: S101 - asked for above
            while "}" not in server.stdout.readline():
                pass
            browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1024, "height": 768})
            base = f"http://127.0.0.1:{port}"
            for thing, name in ORDERS:
                visit(page, base, thing, name)
                for _ in range(4):
                    page.click("#go")
                    if page.url.endswith("/check"):
                        break
                page.wait_for_url("**/check")
                page.click("#order .go")
                page.wait_for_url("**/number/*")
            visit(page, base, "coaster", "Mira Helene Tallis")
            page.click("#go")
            page.wait_for_selector("#wish[data-compared='Mira Helene Tallis|']")
            page.check("[value=ring-coaster]")
            page.wait_for_timeout(1500)
            page.evaluate("document.activeElement.blur()")
            page.screenshot(path=out / "customer.png")
            page.goto(f"{base}/maker")
            page.fill("#passphrase", "harbour lamp nine")
            page.keyboard.press("Enter")
            page.click("text=Make this load >> nth=1")
            page.wait_for_selector("h3 >> text=Load 1", timeout=60_000)
            page.evaluate("document.getElementById('said').hidden = true")
            page.evaluate("document.querySelector('.file').textContent = 'market/out/load-0001/sheet.svg'")
            page.screenshot(path=out / "maker.png", full_page=True)
        finally:
            server.terminate()
    keep(out / "customer.png", "stall-customer.png", 900)
    keep(out / "maker.png", "stall-maker.png", 900, (0, 0, 1, 0.475))


ORDERS = (
    ("pet-tag", "Biscuit"),
    ("coaster", "Ida Vale"),
    ("pet-tag", "Zoë"),
    ("coaster", "Otis & Juno"),
    ("pet-tag", "Mörkö"),
    ("wallet-patch", "Signe Ødegård"),
)
"""A morning at the stall; its customers are invented."""


def visit(page: Page, base: str, thing: str, name: str) -> None:
    """Type a name for a thing, and wait for its picture."""
    page.goto(f"{base}/thing/{thing}")
    page.fill("#name", name)
    page.wait_for_selector(f"#drawn[data-shown='{name}']")


def draw_sheet(sheet: Path, png: Path) -> None:
    """A sheet as a picture on white, its hairlines thick enough to be seen."""
    from render.writers.png import render_png

    svg = sheet.read_bytes().replace(b'stroke-width="0.1"', b'stroke-width="0.35"')
    head, _, rest = svg.partition(b"<title>")
    svg = head + b'<rect width="100%" height="100%" fill="#ffffff"/><title>' + rest
    png.write_bytes(render_png(svg, width_px=2200).png)


if __name__ == "__main__":
    main()
