"""The command line, run in this process as a person would run it."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from render.cli import main


@dataclass(frozen=True)
class Answer:
    """What a command said, and its exit code."""

    code: int
    out: str
    err: str

    @property
    def values(self) -> Any:
        return json.loads(self.out)


Run = Callable[..., Answer]


@pytest.fixture
def monikerf(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*words: object) -> Answer:
        monkeypatch.setattr(sys, "argv", ["monikerf", *map(str, words)])
        monkeypatch.setenv("COLUMNS", "200")
        code = 0
        try:
            main()
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 0 if stop.code is None else 1
        said = capsys.readouterr()
        return Answer(code, said.out, said.err)

    return run
