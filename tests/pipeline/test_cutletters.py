"""The letters of cut-through lettering before they are joined: stout where they must be, open elsewhere."""

from __future__ import annotations

import pytest

from render.fitting.legible import closed_whites
from render.model import Operation, Order, Piece, Severity
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.cutletters import CutTerms, clusters, cut_letters, plain_letters
from render.pipeline.workshop import Workshop

WORKSHOP = Workshop.open()
LETTERER = WORKSHOP.letterer()


def made(template: str, *names: str, font: str = "") -> Lettered:
    pieces = tuple(Piece(f"p{n:03}", n, {"name": name}) for n, name in enumerate(names, 2))
    job = WORKSHOP.job(template, font=font or None)
    return letter_order(Order("test", pieces), job, LETTERER, WORKSHOP, 1, lambda *_: None)


def test_small_letters_are_stouter_only_where_they_are_thin_and_stay_open() -> None:
    """On the insert of an inlaid tag, whose necks are wide for its letters."""
    done = made("inlaid-tag-insert", "Margarethe")
    (fitted,) = done.fitted
    rule = fitted.request.cut
    assert rule is not None
    plain = plain_letters(fitted, LETTERER)
    terms = CutTerms(rule.neck, 0.25).settled([(line, rule) for line in fitted.lines], plain)
    assert terms.stouter
    assert terms.grow < 0.2 < rule.thicken
    letters = cut_letters(fitted, LETTERER.outlines([fitted.lines])[0], plain, terms, LETTERER)
    artwork = done.artworks[0].burned(Operation.CUT)
    shares = [share for share in closed_whites(letters.plain, artwork) if share == share]
    assert sum(shares) / len(shares) < 0.3  # moved outward all round it was 0.5
    assert not [p for p in done.problems if p.code == "hard-to-read"]
    assert LETTERER.finest(fitted.lines[0], 1.0).stroke < rule.neck  # so it had to become stouter


def test_large_letters_are_moved_all_round_by_little_or_not_at_all() -> None:
    done = made("cake-topper", "Ottilie & Bram")
    (fitted,) = done.fitted
    rule = fitted.request.cut
    assert rule is not None
    plain = plain_letters(fitted, LETTERER)
    terms = CutTerms(1.5, 0.25).settled([(line, rule) for line in fitted.lines], plain)
    assert terms == CutTerms(1.5, 0.25)
    letters = cut_letters(fitted, LETTERER.outlines([fitted.lines])[0], plain, terms, LETTERER)
    assert letters.drawn == letters.plain


def test_each_cluster_stands_where_the_line_has_it() -> None:
    (fitted,) = made("cake-topper", "Io").fitted
    (line,) = fitted.lines
    whole = LETTERER.outlines([(line,)])[0].bounds()
    parts = [path.bounds() for path in clusters(line, LETTERER) if path]
    assert min(p.x0 for p in parts) == pytest.approx(whole.x0, abs=0.002)
    assert max(p.x1 for p in parts) == pytest.approx(whole.x1, abs=0.002)


def test_what_closes_up_is_told() -> None:
    """Hairlines of a copperplate on necks as wide as its letters' eyes."""
    done = made("inlaid-tag-insert", "William Jefferson", font="pinyon-script")
    told = [p for p in done.problems if p.code == "hard-to-read"]
    assert told
    assert told[0].severity is Severity.LOOK
    assert "%" in told[0].message
