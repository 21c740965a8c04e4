"""The ledger: orders, their pieces, what was shown, approved, made and packed; and how all that came about.

One SQLite file. Every change is a state and an event appended to the history, written in one whole step.
"""

from render.shop.ledger.loads import NewLoad
from render.shop.ledger.states import MOVES, SETTLED, UNSETTLED, State, WrongMoveError
from render.shop.ledger.store import FILE, LedgerError, utc_now
from render.shop.ledger.telling import Telling
from render.shop.ledger.values import (
    About,
    Change,
    Drawn,
    Event,
    LedgerOrder,
    LedgerPiece,
    Load,
    Making,
    Place,
    Recorded,
    Reply,
    RowChange,
    Taken,
    Terms,
    Version,
)

__all__ = [
    "FILE",
    "MOVES",
    "SETTLED",
    "UNSETTLED",
    "About",
    "Change",
    "Drawn",
    "Event",
    "Ledger",
    "LedgerError",
    "LedgerOrder",
    "LedgerPiece",
    "Load",
    "Making",
    "NewLoad",
    "Place",
    "Recorded",
    "Reply",
    "RowChange",
    "State",
    "Taken",
    "Terms",
    "Version",
    "WrongMoveError",
    "utc_now",
]


class Ledger(Telling):
    """The ledger of a shop: open it with :meth:`Ledger.open`, use it as a context."""
