"""How long a customer's proof takes, and how large its page is.

Run it by hand, alone on the machine::

    python tests/bench/proofs.py [--pieces 120] [--template place-card]

The page, the contact sheet's drawing, the true-size PDF and the pictures of the pieces, each by itself, then
everything as the command does it, pictures beside the rest.
"""

from __future__ import annotations

import argparse
import gzip
import sys
import tempfile
from pathlib import Path
from time import perf_counter

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.model import Order, Piece  # noqa: E402
from render.pipeline import Workshop  # noqa: E402
from render.pipeline.proofing import proof_of_table, write_proof  # noqa: E402
from render.proof import ProofPiece, contact_sheet  # noqa: E402
from render.proof.page import proof_page  # noqa: E402
from render.proof.picture import piece_picture  # noqa: E402
from render.proof.shown import ShopWords  # noqa: E402
from render.proof.truesize import true_size_pages  # noqa: E402
from render.writers.pages import pages_pdf  # noqa: E402
from render.writers.png import render_png  # noqa: E402


def nobody(_stage: str, _done: int, _total: int) -> None:
    """Progress that nobody watches."""


def main() -> None:
    """Measure and tell."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--pieces", type=int, default=120)
    words.add_argument("--template", default="place-card")
    chosen = words.parse_args()
    names = invented(chosen.pieces)
    order = Order("bench", tuple(Piece(f"p{n:03d}", n, {"name": name}) for n, name in enumerate(names, 2)))
    workshop = Workshop.open()
    job = workshop.job(chosen.template)
    shop = ShopWords("Shop", "shop@example.org", "PROOF", "12 June 2026")
    begin = perf_counter()

    def told(what: str, more: str = "") -> None:
        nonlocal begin
        print(f"{what:28} {perf_counter() - begin:7.2f} s  {more}")
        begin = perf_counter()

    proof = proof_of_table(order, job, workshop, shop, 1, nobody)
    shown, letter = proof.shown, proof.letter
    told("lettering", f"{len(shown.drawn)} of {len(shown.pieces)} pieces can be shown")
    page = proof_page(shown, letter)
    told("page", f"{len(page) / 1e6:.2f} MB, packed {len(gzip.compress(page)) / 1e6:.2f} MB")
    pieces = [ProofPiece(p.id, p.title, p.artwork) for p in shown.pieces]
    for sheet in contact_sheet(pieces, shown.blank, shown.material, letter, title=shown.title):
        render_png(sheet, width_px=2400)
    told("contact sheet, 2400 px")
    pdf = pages_pdf(true_size_pages(shown, letter), title=shown.title)
    told("true-size PDF", f"{len(pdf) / 1e6:.2f} MB")
    for piece in shown.drawn:
        render_png(piece_picture(shown, piece, letter), width_px=1000)
    told("pictures of all pieces")
    with tempfile.TemporaryDirectory() as folder:
        begin = perf_counter()
        write_proof(proof, Path(folder), nobody)
    told("everything, as the command")


if __name__ == "__main__":
    main()
