"""A shop's day, killed again and again; run as a program by test_trust.py.

It plays one day of a shop (an order in, a proof, an answer, corrections, a second proof, loads, a failure,
its remake, packing, papers, a backup) in a child process and kills that (SIGKILL) just before its n-th write,
or at some moment. What "a write" is, the system itself says: Python's audit events for files (PEP 578), and
every statement that SQLite is about to run. Then it looks at what is left, and plays the day to its end.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from render.model import Order, Piece
from render.pipeline import Workshop, loadfiles
from render.pipeline.loading import LoadOptions, finish_loads, make_loads
from render.pipeline.orders import order_artworks
from render.pipeline.packing import ToPack, write_papers
from render.pipeline.shopfolder import back_up, look_over, open_ledger, open_shop
from render.pipeline.taking import Wanted, take_in
from render.shop.ledger import About, Ledger, State

NAMES = ("Zoë Lindqvist", "Kwame Boateng", "Siobhán Daly", "Łukasz Wrona")
ORDER = "feast"
Ack = Callable[[str, Ledger], None]


@contextmanager
def _no_second() -> Iterator[None]:
    """The second reading is done in this process, which has loaded what it needs."""
    yield None


loadfiles.SecondReader = _no_second  # type: ignore[assignment,misc]


def play(shop: Path, ack: Ack) -> None:
    """The day, from wherever it was interrupted: every step asks first whether it has been done."""
    open_shop(shop, "Kerf & Co")
    workshop = Workshop.open(shop)
    with open_ledger(shop) as ledger:
        pieces = tuple(
            Piece(f"p{n:03d}", n, {"name": name, "table": "Oak"}) for n, name in enumerate(NAMES, 2)
        )
        about = About("Lindqvist", "2026-06-19", 4800, "EUR")
        take_in(ledger, ORDER, Order(ORDER, pieces), "feast.csv", workshop, Wanted("pet-tag"), about)
        ack("taken", ledger)
        for _ in range(2):
            _show_and_ask(ledger, workshop, ack)
        _make(ledger, workshop, shop, ack)
        ledger.pack(ORDER)
        ack("packed", ledger)
        rows = ledger.pieces(ORDER)
        order = Order(ORDER, tuple(row.as_piece() for row in rows))
        bags = ToPack.of_ledger(ledger.order(ORDER), order, rows)
        write_papers(bags, workshop.letterer(), "Kerf & Co", "table", ledger.now[:10], shop / "out")
        back_up(ledger, shop / "copy.sqlite")
        ack("end", ledger)


def _show_and_ask(ledger: Ledger, workshop: Workshop, ack: Ack) -> None:
    drawn = order_artworks(ledger, ORDER, workshop)
    if drawn.to_show:
        ledger.record_proof(ORDER, {id_: drawn.digests[id_] for id_ in drawn.to_show}, ["proof.html"])
        ack("shown", ledger)
        said = [
            SimpleNamespace(piece=id_, digest_prefix=drawn.digests[id_][:8], right=not wish, wish=wish)
            for id_ in drawn.to_show
            for wish in ['"Łukasz Wrona-Daly"' if (id_, drawn.versions[id_]) == ("p005", 1) else ""]
        ]
        ledger.record_answer(SimpleNamespace(order=ORDER, note="", pieces=said), "as it came")  # type: ignore[arg-type]
        ack("answered", ledger)
    for piece in ledger.pieces(ORDER, State.DRAFTED):
        if piece.wish:
            ledger.correct(ORDER, piece.id, {"name": piece.wish.strip('"')})
            ack("corrected", ledger)


def _make(ledger: Ledger, workshop: Workshop, shop: Path, ack: Ack) -> None:
    finish_loads(ledger, shop)
    for remake in (False, True):
        state = State.FAILED if remake else State.APPROVED
        if any(not piece.load for piece in ledger.pieces(ORDER, state)):
            make_loads(ledger, [ORDER], workshop, shop, LoadOptions(remake=remake), lambda *_: None)
            ack("loaded", ledger)
        for load in ledger.loads("open"):
            ledger.record_outcomes(load.id, failed=(2,) if load.id == 1 else ())
            ack("marked", ledger)


# ---------------------------------------------------------------- killing

_FILE_EVENTS = {"os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.truncate", "shutil.rmtree"}


class Killer:
    """Counts the writes of this process, and ends it before one of them."""

    def __init__(self, at: int) -> None:
        self.at, self.count, self.on = at, 0, False
        sys.addaudithook(self._hear)
        connect = sqlite3.connect

        def connected(*args: Any, **options: Any) -> sqlite3.Connection:
            db = connect(*args, **options)
            db.set_trace_callback(self._statement)
            return db

        sqlite3.connect = connected  # type: ignore[assignment]

    def _hear(self, event: str, args: tuple[Any, ...]) -> None:
        if not self.on:
            return
        if event in _FILE_EVENTS or (event == "open" and isinstance(args[2], int) and args[2] & 3):
            self._write()

    def _statement(self, sql: str) -> None:
        if self.on and not sql.lstrip().upper().startswith(("SELECT", "PRAGMA", "--")):
            self._write()

    def _write(self) -> None:
        self.count += 1
        if self.count == self.at:
            os.kill(os.getpid(), signal.SIGKILL)


def _child(shop: Path, pipe: int, at: int) -> None:
    """Play the day in this process, telling the pipe of every step that was acknowledged."""
    killer = Killer(at)

    def ack(step: str, ledger: Ledger) -> None:
        killer.on = False
        os.write(pipe, json.dumps([step, ledger.last_event()]).encode() + b"\n")
        killer.on = True

    killer.on = True
    play(shop, ack)
    killer.on = False
    os.write(pipe, json.dumps(["writes", killer.count]).encode() + b"\n")


def kill_once(shop: Path, at: int, after: float | None = None) -> list[list[Any]]:
    """Play the day in a child, killed before its write `at` or after some seconds; what it had said."""
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        code = 1
        try:
            os.close(read)
            _child(shop, write, at)
            code = 0
        except BaseException as error:
            sys.stderr.write(f"{type(error).__name__}: {error}\n")
        finally:
            os._exit(code)
    os.close(write)
    if after is not None:
        time.sleep(after)
        os.kill(pid, signal.SIGKILL)
    with os.fdopen(read) as stream:
        said = [json.loads(line) for line in stream.read().splitlines() if line.endswith("]")]
    _, status = os.waitpid(pid, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise AssertionError(f"the day failed by itself (killed at {at}, after {after})")
    return said


def look(shop: Path, said: list[list[Any]]) -> None:
    """What must hold after any kill; then the day is played to its end, and what must hold then."""
    acknowledged = max((n for step, n in said if step != "writes"), default=0)
    if acknowledged:
        with open_ledger(shop) as ledger:
            wrong = list(ledger.check())
            assert not wrong, wrong
            assert ledger.last_event() >= acknowledged, "an acknowledged step is lost"
            answers = ledger.rows("SELECT COUNT(*) AS n FROM answers")[0]["n"]
            assert answers >= sum(step == "answered" for step, _ in said), "an acknowledged answer is lost"
            missing = finish_loads(ledger, shop)
            assert not missing, f"a sheet that the ledger knows is not there: {missing}"
            known = {load.file for load in ledger.loads()}
        for sheet in (shop / "out").glob("load-*/*.svg"):
            assert sheet.relative_to(shop).as_posix() in known, "a sheet that the ledger does not know"
        assert not look_over(shop)[1], look_over(shop)[1]
    for file in (shop / "out").glob("[!.]*.pdf"):
        assert file.read_bytes().rstrip().endswith(b"%%EOF"), f"{file} is torn"
    if (shop / "copy.sqlite").exists():
        with Ledger.open(shop / "copy.sqlite", keep=True) as copy:
            assert not list(copy.check()), "the backup is torn"
    play(shop, lambda *_: None)
    with open_ledger(shop) as ledger:
        assert {p.state for p in ledger.pieces(ORDER)} == {State.PACKED}
        assert [p.title for p in ledger.pieces(ORDER)] == [*NAMES[:3], "Łukasz Wrona-Daly"]
        assert not list(ledger.check())
    assert not look_over(shop)[1]


def _killed(shop: Path, at: int, after: float | None) -> bool:
    """Kill, look, clear away; whether the kill came before the day's end."""
    said = kill_once(shop, at, after)
    try:
        look(shop, said)
    except Exception as error:
        raise AssertionError(f"killed before write {at}, or after {after} s: {error}") from error
    shutil.rmtree(shop)
    return not any(step == "writes" for step, _ in said)


def main(points: int, moments: int, seed: int) -> dict[str, Any]:
    """Kill at `points` writes spread evenly over the day (0: every one) and at `moments` random moments."""
    top = Path(tempfile.mkdtemp(prefix="monikerf-day-"))
    try:
        play(top / "warm", lambda *_: None)
        begun = time.monotonic()
        said = kill_once(top / "whole", 0)
        length = time.monotonic() - begun
        look(top / "whole", said)
        (writes,) = (n for step, n in said if step == "writes")
        chosen = (
            range(1, writes + 1) if not points else sorted({1 + writes * k // points for k in range(points)})
        )
        wild = random.Random(seed)
        at_writes = sum(_killed(top / f"write-{at}", at, None) for at in chosen)
        at_moments = tried = 0
        while at_moments < moments and tried < 5 * moments:  # some moments come after the day's end
            at_moments += _killed(top / f"moment-{tried}", 0, wild.uniform(0, length))
            tried += 1
        return {
            "writes": writes,
            "killed_at_writes": at_writes,
            "killed_at_moments": at_moments,
            "seconds_a_day": round(length, 3),
        }
    finally:
        shutil.rmtree(top, ignore_errors=True)


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(*map(int, sys.argv[1:4]))) + "\n")
