"""A ledger with a clock of its own."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from render.shop.ledger import Ledger


@pytest.fixture
def clock() -> Callable[[], str]:
    ticks = itertools.count()
    return lambda: f"2026-06-15T09:{next(ticks) // 60 % 60:02d}:00Z"


@pytest.fixture
def ledger(tmp_path: Path, clock: Callable[[], str]) -> Iterator[Ledger]:
    with Ledger.open(tmp_path / "ledger.sqlite", clock=clock, create=True) as opened:
        yield opened
