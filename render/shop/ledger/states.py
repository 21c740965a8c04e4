"""What can be the matter with a piece, and which way it may go from there."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from render.errors import MonikerfError


class State(StrEnum):
    """How far a piece has come."""

    DRAFTED = "drafted"
    """Taken in, or corrected: the customer has not seen it as it is now."""
    PROOFED = "proofed"
    """Shown; an answer is awaited."""
    APPROVED = "approved"
    """The customer said that exactly this is right."""
    MADE = "made"
    """It came off the machine well."""
    FAILED = "failed"
    """It came off the machine spoilt: to be made again."""
    PACKED = "packed"
    """In its bag."""
    GONE = "gone"
    """The customer took its row out of the table."""


MOVES: Final[Mapping[State, Mapping[State, str]]] = {
    State.DRAFTED: {
        State.PROOFED: "show it: monikerf proof",
        State.APPROVED: "make it unasked: monikerf load --without-approval",
        State.GONE: "take its row out of the table: monikerf take-order --apply",
    },
    State.PROOFED: {
        State.APPROVED: "record the customer's answer: monikerf answer",
        State.DRAFTED: "correct it: monikerf correct",
        State.GONE: "take its row out of the table: monikerf take-order --apply",
    },
    State.APPROVED: {
        State.MADE: "make it: monikerf load, then monikerf made",
        State.FAILED: "mark its place as failed: monikerf made --failed",
        State.DRAFTED: "correct it: monikerf correct",
    },
    State.MADE: {
        State.PACKED: "pack it: monikerf packed",
        State.FAILED: "mark its place as failed: monikerf made --failed",
        State.DRAFTED: "correct it, so that it is made anew: monikerf correct",
    },
    State.FAILED: {
        State.MADE: "make it again: monikerf load --remake, then monikerf made",
        State.DRAFTED: "correct it: monikerf correct",
    },
    State.PACKED: {
        State.MADE: "take it out of its bag: monikerf packed --undo",
    },
    State.GONE: {},
}
"""From each state the states that it may be followed by, and how a person brings that about."""

SETTLED: Final = frozenset({State.APPROVED, State.MADE, State.FAILED, State.PACKED})
"""What a customer has approved is never changed without a word."""

UNSETTLED: Final = frozenset({State.DRAFTED, State.PROOFED})


class WrongMoveError(MonikerfError):
    """A piece cannot go from the state it is in to the one that was asked for."""


def check_move(name: str, old: State, new: State) -> None:
    """Make sure that a piece may go from one state to another.

    Raises:
        WrongMoveError: it may not; the hint says what it may do.
    """
    if new not in MOVES[old]:
        allowed = "; or ".join(MOVES[old].values()) or "take its row in again: monikerf take-order"
        raise WrongMoveError(
            f"{name} is {old}, and cannot become {new} from there", hint=f"you can {allowed}"
        )
