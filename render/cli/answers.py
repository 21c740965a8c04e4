"""`monikerf answer`: what the customer said to a proof, written down piece by piece."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from render.cli.asking import open_shop_ledger
from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json, printable
from render.errors import MonikerfError


def answer(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="The answer's text; - or nothing: standard input.")
    ] = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Record a customer's answer: paste the message as it came, with whatever stands round it.

    What was said of an older version is refused, piece by piece, with the reason; the rest counts.
    """
    from render.proof.answers import read_answer

    text = _text(file)
    with open_shop_ledger(shop) as (_, ledger):
        recorded = ledger.record_answer(read_answer(text), text)
    values: list[dict[str, Any]] = [
        {"piece": r.piece, "outcome": r.outcome, "reason": r.reason or None, "wish": r.wish or None}
        for r in recorded.replies
    ]
    if as_json:
        print_json(
            {
                "order": recorded.order,
                "again": recorded.again,
                "note": recorded.note or None,
                "pieces": values,
            }
        )
    else:
        say = console()
        counts = {k: sum(r.outcome == k for r in recorded.replies) for k in ("approved", "wish", "refused")}
        told = ", ".join(
            f"{n} {word}"
            for word, n in zip(("approved", "to change", "refused"), counts.values(), strict=True)
            if n
        )
        again = "was recorded before; nothing changed: " if recorded.again else ""
        say.print(f"{recorded.order}: {again}{told or 'it says nothing of any piece'}", markup=False)
        for reply in recorded.replies:
            if reply.outcome != "approved":
                said = reply.reason if reply.outcome == "refused" else f"wishes {reply.wish or '(no words)'}"
                say.print(f"  {reply.piece}: {printable(said)}", markup=False)
        if recorded.note:
            say.print(f"note: {printable(recorded.note)}", markup=False)
    if any(reply.outcome == "refused" for reply in recorded.replies):
        raise typer.Exit(1)


def _text(file: Path | None) -> str:
    """What was given, as text."""
    try:
        data = sys.stdin.buffer.read() if file is None or str(file) == "-" else file.read_bytes()
    except FileNotFoundError as error:
        hint = "name the file that you saved the message in; or paste it: monikerf answer -"
        raise MonikerfError("there is no such file", hint=hint, place=str(file)) from error
    except IsADirectoryError as error:
        raise MonikerfError("this is a folder", hint="name the file inside it", place=str(file)) from error
    except OSError as error:
        why = error.strerror or "the system refused"
        hint = "see that you may read it, and that it is not open elsewhere"
        raise MonikerfError(f"the answer cannot be read: {why}", hint=hint, place=str(file)) from error
    for encoding in (
        ("utf-8-sig", "utf-16") if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    ):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise MonikerfError("the answer is no text", hint="save the message as plain text", place=str(file or ""))
