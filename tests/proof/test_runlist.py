"""The run list: safety words first, every place numbered and named once, on as many pages as it takes."""

from __future__ import annotations

from render.geometry import Path
from render.geometry.shapes import rectangle
from render.model import Artwork, Mark, Operation, Placement, Sheet
from render.proof.papers import Head
from render.proof.pieces import Wording
from render.proof.runlist import RunLoad, draw_run_list

HEAD = Head("", (), "Run list", (("Loads", "2"),), "Guests")


def load(number: int, count: int) -> RunLoad:
    art = [
        Artwork(f"p{n}", f"Name {n}", (Mark(Operation.CUT, rectangle(0, 0, 20, 10)),)) for n in range(count)
    ]
    placed = [Placement(a, n + 1, n % 20 * 25_000, n // 20 * 15_000) for n, a in enumerate(art)]
    return RunLoad(Sheet(number, "T", (500, 300), 2, tuple(placed), {}), f"sheet-{number}.svg")


def drawn(cautions: tuple[str, ...], *loads: RunLoad) -> tuple[tuple[bytes, ...], list[str]]:
    said: list[str] = []

    def letter(text: str, strong: bool = False) -> Wording:
        said.append(text)
        return Wording(
            Path.empty() if not text.strip() else rectangle(0, -0.7, 0.5 * len(text), 0.7), 0.5 * len(text)
        )

    return draw_run_list(HEAD, cautions, loads, letter), said


def test_safety_comes_before_the_first_load() -> None:
    _, said = drawn(("Fire: stay beside it.",), load(1, 3))
    first = {text: said.index(text) for text in ("Fire: stay beside it.", "sheet-1.svg: 3 pieces", "Name 0")}
    assert list(first.values()) == sorted(first.values())


def test_every_piece_is_named_and_numbered() -> None:
    pages, said = drawn(("Fire: stay.",), load(1, 300), load(2, 1))
    assert len(pages) > 2
    for n in range(300):
        assert f"Name {n}" in said
        assert str(n + 1) in said
    assert "sheet-2.svg: 1 piece" in said
    assert f"{len(pages)} / {len(pages)}" in said


def test_many_cautions_run_on() -> None:
    pages, said = drawn(tuple(f"Caution {n}: mind it." for n in range(80)), load(1, 2))
    assert len(pages) > 1
    assert "Caution 79: mind it." in said
