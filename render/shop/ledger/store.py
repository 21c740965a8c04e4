"""The file that the ledger is kept in: opened, brought up to date, written to whole steps at a time."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, Self

from render.errors import MonikerfError
from render.shop.ledger.schema import MIGRATIONS, Migration

FILE: Final = "ledger.sqlite"
"""Name of the ledger in the shop folder."""

WAIT_S: Final = 10.0
"""How long to wait for another Monikerf that is writing."""

_AT_ONCE_S: Final = 0.25
"""After so long a wait somebody is told of it."""

_WHY: Final[dict[int, tuple[str, str]]] = {
    sqlite3.SQLITE_BUSY: ("another Monikerf is writing", "wait until it is done, then try again"),
    sqlite3.SQLITE_LOCKED: ("another Monikerf is writing", "wait until it is done, then try again"),
    sqlite3.SQLITE_FULL: ("the disk is full", "free some space; nothing was changed"),
    sqlite3.SQLITE_READONLY: ("you may not write there", "allow writing to the shop folder, or move it"),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "check that the shop folder can be written to"),
    sqlite3.SQLITE_PERM: ("you may not use it", "allow writing to the shop folder, or move it"),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "keep the file as it is and put a backup in its place"),
    sqlite3.SQLITE_NOTADB: ("it is no ledger", "put a backup in its place"),
    sqlite3.SQLITE_IOERR: ("the disk refuses (full, or faulty)", "check the disk; nothing was changed"),
}
"""SQLite's primary result codes (sqlite.org, "Result and Error Codes") as a maker would put them."""

Clock = Callable[[], str]
"""Tells the time as ISO 8601 in UTC, to the second."""


class LedgerError(MonikerfError):
    """The ledger cannot be used, or does not hold what was asked for."""


def utc_now() -> str:
    """The time, as the ledger writes it."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _silent(_: str) -> None:
    """Whoever waits is not told."""


class Store:
    """An open ledger file.

    Every write happens inside :meth:`atomic`: all of it is on the disk when the block ends, or none of it is.
    """

    def __init__(self, db: sqlite3.Connection, path: Path, clock: Clock, told: Callable[[str], None]) -> None:
        """See :meth:`open`."""
        self._db, self.path, self._clock, self._told = db, path, clock, told
        self._inside = False

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        clock: Clock = utc_now,
        told: Callable[[str], None] = _silent,
        wait: float = WAIT_S,
        create: bool = False,
        keep: bool = False,
        migrations: Sequence[Migration] = MIGRATIONS,
    ) -> Self:
        """Open the ledger at `path` and bring it up to date.

        Args:
            path: the file.
            clock: tells the time that is written down.
            told: is told in words when another process is waited for.
            wait: how long at most, in seconds.
            create: make the file if there is none.
            keep: only read it, and leave the file as it is.
            migrations: the steps to the newest form.

        Raises:
            LedgerError: there is none, it is damaged, or newer than this Monikerf.
        """
        if not create and not path.is_file():
            raise LedgerError(
                "there is no ledger here",
                hint="make a shop folder with monikerf open-shop, or name yours with --shop",
                place=str(path),
            )
        try:
            db = sqlite3.connect(path, timeout=wait, isolation_level=None)
        except sqlite3.Error as error:
            raise refused(error, path) from error
        store = cls(db, path, clock, told)
        try:
            with store.careful():
                db.row_factory = sqlite3.Row
                store._settle(wait, keep=keep)
                if not keep:
                    store._migrate(migrations)
        except BaseException:
            db.close()
            raise
        return store

    def _settle(self, wait: float, *, keep: bool) -> None:
        """How this connection works: nothing that was acknowledged is lost, even when the power fails."""
        self._wait = wait
        if keep:
            self._db.execute("PRAGMA query_only = ON")
        elif self._db.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("PRAGMA foreign_keys = ON")

    def _migrate(self, migrations: Sequence[Migration]) -> None:
        version = self._version()
        if version > len(migrations):
            raise LedgerError(
                "this ledger was written by a newer Monikerf", hint="update Monikerf", place=str(self.path)
            )
        if version == len(migrations):
            return
        with self.atomic():
            for number in range(self._version(), len(migrations)):  # another process may have been quicker
                for statement in migrations[number].statements:
                    self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {number + 1}")

    def _version(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def now(self) -> str:
        """The time that is written down."""
        return self._clock()

    @contextmanager
    def careful(self) -> Iterator[None]:
        """Turn SQLite's refusals into words.

        Raises:
            LedgerError: SQLite refused.
        """
        try:
            yield
        except sqlite3.DatabaseError as error:
            raise refused(error, self.path) from error

    @contextmanager
    def atomic(self) -> Iterator[None]:
        """A whole step: written down completely when the block ends, or, if anything is raised, not at all.

        Inside another such block it is part of that one.

        Raises:
            LedgerError: the disk is full, may not be written to, or another Monikerf writes for too long.
        """
        if self._inside:
            yield
            return
        with self.careful():
            self._begin()
            self._inside = True
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise
            finally:
                self._inside = False

    def _begin(self) -> None:
        """Become the one who writes; whoever waits long is told."""
        try:
            self._db.execute(f"PRAGMA busy_timeout = {round(1000 * min(_AT_ONCE_S, self._wait))}")
            self._db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            if primary(error) != sqlite3.SQLITE_BUSY or self._wait <= _AT_ONCE_S:
                raise
            self._told("another Monikerf is writing; waiting for it")
            self._db.execute(f"PRAGMA busy_timeout = {round(1000 * self._wait)}")
            self._db.execute("BEGIN IMMEDIATE")
        finally:
            self._db.execute(f"PRAGMA busy_timeout = {round(1000 * self._wait)}")

    def rows(self, sql: str, *values: object) -> list[sqlite3.Row]:
        """What a query finds."""
        with self.careful():
            return self._db.execute(sql, values).fetchall()

    def one(self, sql: str, *values: object) -> sqlite3.Row | None:
        """The first that a query finds."""
        with self.careful():
            found: sqlite3.Row | None = self._db.execute(sql, values).fetchone()
            return found

    def write(self, sql: str, *values: object) -> int:
        """Change something, inside :meth:`atomic`; the id of the row that was added."""
        assert self._inside, "writing outside a whole step"  # noqa: S101 - a fault of the caller
        return int(self._db.execute(sql, values).lastrowid or 0)

    def write_many(self, sql: str, values: Sequence[Sequence[object]]) -> None:
        """Change many things alike, inside :meth:`atomic`."""
        assert self._inside, "writing outside a whole step"  # noqa: S101 - a fault of the caller
        self._db.executemany(sql, values)

    def happened(self, order: str, piece: str | None, kind: str, **detail: Any) -> None:
        """Append to the history."""
        self.write(
            "INSERT INTO events (at, order_id, piece_id, kind, detail) VALUES (?, ?, ?, ?, ?)",
            *(self.now, order, piece, kind, to_json(detail)),
        )

    def backup(self, file: Path) -> None:
        """Copy the whole ledger into another file while it may be in use (SQLite's online backup).

        Raises:
            LedgerError: it cannot be done.
        """
        with self.careful():
            copy = sqlite3.connect(file, isolation_level=None)
            try:
                self._db.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")  # one file, without companions
            finally:
                copy.close()


def primary(error: sqlite3.Error) -> int:
    """SQLite's primary result code: the low byte of the extended one."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def refused(error: sqlite3.Error, path: Path) -> LedgerError:
    """What to tell the user."""
    why, hint = _WHY.get(primary(error), (str(error), "run monikerf doctor"))
    return LedgerError(f"the ledger cannot be used: {why}", hint=hint, place=str(path))


def to_json(value: object) -> str:
    """One line, the same for the same value."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
