"""How the command line speaks: messages with their place and hint, problems, progress."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from rich.console import Console

    from render.errors import MonikerfError
    from render.model import Problem

Progress = Callable[[str, int, int], None]
"""Told of the stage's name, how many are done and how many there are."""

_MARKS: Final = {"stop": ("✗", "red"), "look": ("!", "yellow"), "note": ("·", "dim")}
_QUOTED: Final = re.compile("“([^”]{60})[^”]{20,}”")
_WORDS: Final = {"stop": "held back", "look": "needs a look", "note": "noted"}


def console(*, stderr: bool = False) -> Console:
    """A rich console on standard output or error, without automatic highlighting."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=True)


def tell_error(error: MonikerfError, *, as_json: bool = False) -> None:
    """Say why the job cannot run: the message, where, and what would mend it."""
    if as_json:
        print_json({"error": {"message": error.message, "hint": error.hint, "place": error.place}})
        return
    from rich.text import Text

    out = console(stderr=True)
    out.print(Text.assemble(("✗ ", "bold red"), (error.message, "bold")))
    if error.place:
        out.print(Text(f"  where: {error.place}"))
    if error.hint:
        out.print(Text(f"  what to do: {error.hint}"))


def tell_problems(problems: Sequence[Problem], *, most: int = 40) -> None:
    """List problems, worst first, each with its place, reason and remedy; those of equal copies once."""
    from rich.text import Text

    out = console()
    order = list(_MARKS)
    once = dict.fromkeys(replace(problem, piece="") for problem in problems)
    ranked = sorted(once, key=lambda p: order.index(p.severity))
    for problem in ranked[:most]:
        mark, style = _MARKS[problem.severity]
        where = ", ".join(_place(problem))
        said = brief(problem.message)
        out.print(Text.assemble((f"{mark} ", style), (where, "bold"), ": " if where else "", said))
        if problem.hint:
            out.print(Text(f"    {brief(problem.hint)}", style="dim"))
    if len(ranked) > most:
        out.print(f"… and {len(ranked) - most} more; report.json and --json have them all.")


def _place(problem: Problem) -> Iterator[str]:
    if problem.row is not None:
        yield f"row {problem.row}"
    if problem.column:
        yield problem.column
    if problem.value:
        yield brief(f"“{printable(problem.value)}”")


def brief(text: str) -> str:
    """The text with every long quotation in it cut short; reports have them whole."""
    return _QUOTED.sub(lambda found: f"“{found[1]}…”", text)


def printable(text: str) -> str:
    """The text on one line, with what a terminal could take for a command shown as its code point."""
    return "".join(c if c.isprintable() else f"<U+{ord(c):04X}>" for c in text)


def count_by_severity(problems: Iterable[Problem]) -> str:
    """Such as ``2 held back, 5 need a look, 1 noted``; empty if there are none."""
    counts = dict.fromkeys(_MARKS, 0)
    for problem in problems:
        counts[problem.severity] += 1
    words = _WORDS | ({"look": "need a look"} if counts["look"] != 1 else {})
    return ", ".join(f"{n} {words[name]}" for name, n in counts.items() if n)


def print_json(value: Any) -> None:
    """One JSON document on standard output, UTF-8, stable order."""
    sys.stdout.write(json.dumps(value, ensure_ascii=False, indent=2) + "\n")


@contextmanager
def progress_bar(*, shown: bool) -> Iterator[Progress]:
    """A progress bar on standard error while the block runs; silent unless `shown` and a person watches."""
    if not (shown and sys.stderr.isatty()):
        yield lambda _stage, _done, _total: None
        return
    from rich.progress import Progress as Bars

    with Bars(console=console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def advance(stage: str, done: int, total: int) -> None:
            if stage not in tasks:
                tasks[stage] = bars.add_task(stage, total=total)
            bars.update(tasks[stage], completed=done, total=total)

        yield advance
