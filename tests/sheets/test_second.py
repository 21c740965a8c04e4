"""svgpathtools in a process of its own gives the answers that it gives here."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.sheets import second
from render.sheets.second import SecondReader, read_with_svgpathtools

SQUARE = ("M0 0L10 0L10 10L0 10Z", True)
BOW = ("M0 0Q5 10 10 0C12 1 14 1 16 0", True)
BARE = ("M0 0L3 4", False)


def test_known_figures():
    square, bow, bare = read_with_svgpathtools([SQUARE, BOW, BARE])
    assert (square["box"], square["length"], square["area"]) == ([0, 0, 10, 10], 40, 100)
    assert square["segments"][-1] == [0, 10, 0, 0]
    assert [len(s) for s in bow["segments"]] == [6, 8]
    assert (bow["box"], bow["area"]) == (pytest.approx([0, 0, 16, 5]), None)
    assert bare == {"segments": [[0, 0, 3, 4]]}


def test_answers_come_in_the_order_of_the_questions():
    with SecondReader() as reader:
        reader.ask([SQUARE, BARE])
        reader.ask([BOW])
        reader.ask([])
        assert [reader.collect() for _ in range(3)] == [
            read_with_svgpathtools([SQUARE, BARE]),
            read_with_svgpathtools([BOW]),
            [],
        ]


def test_the_reading_goes_on_here_if_the_process_dies(monkeypatch):
    with SecondReader() as reader:
        reader.ask([SQUARE])
        reader._process.kill()
        reader._process.wait()
        assert reader.collect() == read_with_svgpathtools([SQUARE])
        reader.ask([BOW])
        assert reader.collect() == read_with_svgpathtools([BOW])


def test_the_reading_is_done_here_if_no_process_can_start(monkeypatch):
    def refuse(*_, **__):
        raise OSError("no more processes")

    monkeypatch.setattr(second.subprocess, "Popen", refuse)
    with SecondReader() as reader:
        reader.ask([SQUARE])
        assert reader.collect() == read_with_svgpathtools([SQUARE])


def test_it_loads_nothing_of_monikerf():
    source = Path(second.__file__).read_text("utf-8")
    assert "render." not in source.split('"""', 2)[2]
