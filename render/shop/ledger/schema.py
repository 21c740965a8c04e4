"""The ledger's tables, as named steps from an empty file to the newest form.

``PRAGMA user_version`` counts the steps that a file has taken. A step that was released is never changed:
what comes later is a step of its own.
"""

from __future__ import annotations

from typing import Final, NamedTuple


class Migration(NamedTuple):
    """One step: its name, and the statements that make it."""

    name: str
    statements: tuple[str, ...]


_ORDERS = """CREATE TABLE orders (
    id TEXT PRIMARY KEY,
    customer TEXT NOT NULL DEFAULT '',
    due TEXT NOT NULL DEFAULT '',
    template TEXT NOT NULL,
    blank TEXT NOT NULL,
    machine TEXT NOT NULL,
    font TEXT NOT NULL DEFAULT '',
    table_name TEXT NOT NULL,
    problems TEXT NOT NULL DEFAULT '[]',
    price_minor INTEGER,
    currency TEXT NOT NULL DEFAULT '',
    taken_at TEXT NOT NULL,
    CHECK ((price_minor IS NULL) = (currency = ''))
) STRICT"""

_PIECES = """CREATE TABLE pieces (
    order_id TEXT NOT NULL REFERENCES orders (id),
    id TEXT NOT NULL,
    position INTEGER NOT NULL,
    row INTEGER NOT NULL,
    fields TEXT NOT NULL,
    state TEXT NOT NULL
        CHECK (state IN ('drafted', 'proofed', 'approved', 'made', 'failed', 'packed', 'gone')),
    version INTEGER,
    approved TEXT NOT NULL DEFAULT '',
    held TEXT NOT NULL DEFAULT '',
    wish TEXT NOT NULL DEFAULT '',
    load_id INTEGER REFERENCES loads (id),
    PRIMARY KEY (order_id, id),
    FOREIGN KEY (order_id, id, version) REFERENCES artworks (order_id, piece_id, version)
        DEFERRABLE INITIALLY DEFERRED,
    CHECK (state NOT IN ('approved', 'made', 'failed', 'packed') OR approved <> '')
) STRICT, WITHOUT ROWID"""

_MAKINGS = """CREATE TABLE makings (
    id INTEGER PRIMARY KEY,
    order_id TEXT NOT NULL REFERENCES orders (id),
    key TEXT NOT NULL,
    template TEXT NOT NULL,
    blank TEXT NOT NULL,
    machine TEXT NOT NULL,
    font TEXT NOT NULL,
    pins TEXT NOT NULL,
    sizes TEXT NOT NULL,
    texts BLOB NOT NULL,
    made_at TEXT NOT NULL,
    UNIQUE (order_id, key)
) STRICT"""

_ARTWORKS = """CREATE TABLE artworks (
    order_id TEXT NOT NULL,
    piece_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    making_id INTEGER NOT NULL REFERENCES makings (id),
    digest TEXT NOT NULL,
    title TEXT NOT NULL,
    template TEXT NOT NULL,
    font TEXT NOT NULL,
    size_um INTEGER NOT NULL,
    geometry BLOB NOT NULL,
    drawn_at TEXT NOT NULL,
    PRIMARY KEY (order_id, piece_id, version),
    FOREIGN KEY (order_id, piece_id) REFERENCES pieces (order_id, id)
) STRICT, WITHOUT ROWID"""

_PROOFS = (
    """CREATE TABLE proofs (
    id INTEGER PRIMARY KEY,
    order_id TEXT NOT NULL REFERENCES orders (id),
    files TEXT NOT NULL,
    shown_at TEXT NOT NULL
) STRICT""",
    """CREATE TABLE shown (
    proof_id INTEGER NOT NULL REFERENCES proofs (id),
    order_id TEXT NOT NULL,
    piece_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    PRIMARY KEY (proof_id, piece_id),
    FOREIGN KEY (order_id, piece_id, version) REFERENCES artworks (order_id, piece_id, version)
) STRICT, WITHOUT ROWID""",
    """CREATE TABLE answers (
    id INTEGER PRIMARY KEY,
    order_id TEXT NOT NULL REFERENCES orders (id),
    digest TEXT NOT NULL UNIQUE,
    text TEXT NOT NULL,
    note TEXT NOT NULL,
    answered_at TEXT NOT NULL
) STRICT""",
    """CREATE TABLE answered (
    answer_id INTEGER NOT NULL REFERENCES answers (id),
    piece_id TEXT NOT NULL,
    digest_prefix TEXT NOT NULL,
    right INTEGER NOT NULL CHECK (right IN (0, 1)),
    wish TEXT NOT NULL,
    outcome TEXT NOT NULL CHECK (outcome IN ('approved', 'wish', 'refused')),
    reason TEXT NOT NULL,
    PRIMARY KEY (answer_id, piece_id)
) STRICT, WITHOUT ROWID""",
)

_LOADS = (
    """CREATE TABLE loads (
    id INTEGER PRIMARY KEY,
    machine TEXT NOT NULL,
    blank TEXT NOT NULL,
    material TEXT NOT NULL,
    file TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    aside TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('open', 'done', 'dropped')),
    made_at TEXT NOT NULL
) STRICT""",
    """CREATE TABLE places (
    load_id INTEGER NOT NULL REFERENCES loads (id),
    place INTEGER NOT NULL CHECK (place > 0),
    order_id TEXT NOT NULL,
    piece_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    PRIMARY KEY (load_id, place),
    UNIQUE (load_id, order_id, piece_id),
    FOREIGN KEY (order_id, piece_id, version) REFERENCES artworks (order_id, piece_id, version)
) STRICT, WITHOUT ROWID""",
    """CREATE TABLE outcomes (
    id INTEGER PRIMARY KEY,
    load_id INTEGER NOT NULL,
    place INTEGER NOT NULL,
    result TEXT NOT NULL CHECK (result IN ('made', 'failed')),
    told_at TEXT NOT NULL,
    FOREIGN KEY (load_id, place) REFERENCES places (load_id, place)
) STRICT""",
)

_TELLING = (
    """CREATE TABLE notes (
    id INTEGER PRIMARY KEY,
    order_id TEXT NOT NULL REFERENCES orders (id),
    piece_id TEXT,
    text TEXT NOT NULL,
    noted_at TEXT NOT NULL,
    FOREIGN KEY (order_id, piece_id) REFERENCES pieces (order_id, id)
) STRICT""",
    """CREATE TABLE events (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    order_id TEXT NOT NULL,
    piece_id TEXT,
    kind TEXT NOT NULL,
    detail TEXT NOT NULL
) STRICT""",
    "CREATE INDEX events_of_piece ON events (order_id, piece_id)",
    "CREATE INDEX pieces_by_state ON pieces (state)",
    "CREATE INDEX places_of_piece ON places (order_id, piece_id)",
    """CREATE TRIGGER events_stay BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'what happened is never rewritten'); END""",
    """CREATE TRIGGER events_last BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'what happened is never forgotten'); END""",
)

MIGRATIONS: Final = (
    Migration("the first ledger", (_ORDERS, _MAKINGS, *_LOADS, _PIECES, _ARTWORKS, *_PROOFS, *_TELLING)),
)
"""Every step, in order."""
