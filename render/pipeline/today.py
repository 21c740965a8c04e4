"""What the day asks for: what is due, what waits for whom, what can be made, made again, packed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from render.shop.ledger import LedgerOrder, LedgerPiece, Load, State

if TYPE_CHECKING:
    from render.shop.ledger import Ledger


@dataclass(frozen=True, slots=True)
class Task:
    """Pieces that wait for the same thing: what that is, and which command does it."""

    key: str
    title: str
    command: str
    pieces: tuple[LedgerPiece, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """What there is to do.

    Attributes:
        date: ISO 8601, where this machine is.
        due: orders that are not packed yet and have a day, the soonest first, with counts by state.
        tasks: those that have pieces.
        loads: laid out and not yet marked.
    """

    date: str
    due: tuple[tuple[LedgerOrder, Mapping[str, int]], ...]
    tasks: tuple[Task, ...]
    loads: tuple[Load, ...]


TASKS: Final = (
    ("correct", "to correct, as customers wish", "monikerf correct"),
    ("held", "cannot be made as they are", "monikerf correct"),
    ("show", "to show to the customer", "monikerf proof"),
    ("waiting", "waiting for an answer", "monikerf answer"),
    ("make", "ready to make", "monikerf load"),
    ("loaded", "laid out, not yet marked", "monikerf made"),
    ("remake", "to make again", "monikerf load --remake"),
    ("pack", "to pack", "monikerf packed"),
)
"""Every task: its key, what it is, what does it; in the order of the work."""

_BY_STATE: Final = {
    State.DRAFTED: "show",
    State.PROOFED: "waiting",
    State.APPROVED: "make",
    State.FAILED: "remake",
    State.MADE: "pack",
}


def today(ledger: Ledger) -> Today:
    """Everything that waits, by what it waits for."""
    date = datetime.fromisoformat(ledger.now).astimezone().date().isoformat()
    waiting: dict[str, list[LedgerPiece]] = {key: [] for key, _, _ in TASKS}
    for piece in ledger.everywhere(*_BY_STATE):
        waiting[_task_of(piece)].append(piece)
    tasks = tuple(Task(k, title, does, tuple(waiting[k])) for k, title, does in TASKS if waiting[k])
    due = []
    for id_ in ledger.order_ids():
        order, pieces = ledger.order(id_), ledger.pieces(id_)
        counts = Counter(str(piece.state) for piece in pieces)
        if order.due and any(piece.state is not State.PACKED for piece in pieces):
            due.append((order, dict(counts)))
    due.sort(key=lambda pair: (pair[0].due, pair[0].id))
    return Today(date, tuple(due), tasks, ledger.loads("open"))


def _task_of(piece: LedgerPiece) -> str:
    if piece.load:
        return "loaded"
    if piece.state is State.DRAFTED and piece.wish:
        return "correct"
    if piece.state is State.DRAFTED and piece.held:
        return "held"
    return _BY_STATE[piece.state]
