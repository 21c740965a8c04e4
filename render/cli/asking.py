"""What the commands of a shop have in common: its folder, its ledger, questions at a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.shop.ledger import Ledger

OrderId = Annotated[str, typer.Argument(metavar="ORDER", help="The order's id; monikerf today lists them.")]
PieceName = Annotated[str, typer.Argument(metavar="PIECE", help="A piece, as ORDER/PIECE or its id alone.")]
MOST_NUMBERS = 100_000


@contextmanager
def open_shop_ledger(shop: Path | None) -> Iterator[tuple[Path, Ledger]]:
    """The shop folder and its ledger; whoever waits for another Monikerf is told on standard error.

    Raises:
        MonikerfError: there is no shop folder, or its ledger cannot be used.
    """
    from render.pipeline.shopfolder import find_shop, open_ledger

    folder = find_shop(shop)
    with open_ledger(folder, lambda text: typer.echo(f"({text})", err=True)) as ledger:
        yield folder, ledger


def confirmed(question: str) -> bool:
    """Ask a person at a terminal; where nobody sits at one the answer is no."""
    return sys.stdin.isatty() and sys.stderr.isatty() and typer.confirm(question, err=True)


def numbers_in(text: str, option: str) -> tuple[int, ...]:
    """The numbers of a list such as ``7,12`` or ``3-6,9``.

    Raises:
        MonikerfError: it is no such list.
    """
    numbers: dict[int, None] = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        first, _, last = part.partition("-")
        bounds = (first.strip(), (last or first).strip())
        if not all(b.isascii() and b.isdigit() and len(b) < 7 for b in bounds):
            raise MonikerfError(
                f"{option} {text!r} is not a list of numbers", hint="write it like 7,12 or 3-6"
            )
        begin, end = map(int, bounds)
        if not 0 < begin <= end or len(numbers) + end - begin > MOST_NUMBERS:
            raise MonikerfError(
                f"{option} {part!r} is no range", hint="count from 1, the smaller number first"
            )
        numbers.update(dict.fromkeys(range(begin, end + 1)))
    if not numbers:
        raise MonikerfError(f"{option} names nothing", hint="write it like 7,12 or 3-6")
    return tuple(numbers)


def fields_in(words: list[str]) -> dict[str, str]:
    """Fields and their new texts from words such as ``name=Zoë``.

    Raises:
        MonikerfError: a word is not FIELD=TEXT.
    """
    fields: dict[str, str] = {}
    for word in words:
        field, equals, text = word.partition("=")
        if not equals or not field.strip():
            raise MonikerfError(f"{word!r} does not say which field is meant", hint='write name="Zoë Lind"')
        fields[field.strip()] = text
    return fields
