"""What the ledger promises when things go wrong: kills, two writers at once, full disks, closed folders."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import textwrap
import threading
import time
from pathlib import Path

import pytest

from render.model import Piece
from render.pipeline.shopfolder import open_shop
from render.shop.ledger import Ledger, LedgerError, Terms
from render.shop.ledger.schema import Migration
from render.shop.ledger.store import MIGRATIONS

TOP = Path(__file__).resolve().parents[3]
DAY = Path(__file__).with_name("day.py")
TERMS = Terms("pet-tag", "pet-tag", "co2")
KILLS = os.environ.get("MONIKERF_KILLS", "")
"""``all`` kills at every write of the day and at 300 random moments (some ten minutes); else a sample."""


FORKS = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork, which Windows has not")


def run_day(points: int, moments: int) -> dict[str, float]:
    told = subprocess.run(
        [sys.executable, "-W", "error", str(DAY), str(points), str(moments), "20260615"],
        capture_output=True, text=True, cwd=TOP, env={**os.environ, "PYTHONPATH": str(TOP)}, timeout=3600,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr[-3000:]
    return json.loads(told.stdout.splitlines()[-1])


@FORKS
def test_killed_before_a_write_nothing_is_corrupt_torn_or_lost_and_the_day_goes_on() -> None:
    found = run_day(0 if KILLS == "all" else 14, 0)
    assert found["writes"] > 200
    assert found["killed_at_writes"] == (found["writes"] if KILLS == "all" else 14)


@FORKS
def test_killed_at_a_random_moment_nothing_is_corrupt_torn_or_lost_and_the_day_goes_on() -> None:
    moments = 300 if KILLS == "all" else 10
    assert run_day(1, moments)["killed_at_moments"] == moments


def pieces(count: int, first: int = 2) -> list[Piece]:
    return [Piece(f"p{n:03d}", n, {"name": f"Guest {n}"}) for n in range(first, first + count)]


WRITER = """
import sys
from pathlib import Path
from render.model import Piece
from render.shop.ledger import Ledger, Terms
who, path = sys.argv[1], Path(sys.argv[2])
with Ledger.open(path) as ledger:
    for n in range(25):
        rows = [Piece("p002", 2, {"name": f"{who} {n}"})]
        ledger.take(f"{who}-{n}", Terms("pet-tag", "pet-tag", "co2"), rows)
        ledger.note(f"{who}-{n}", None, "noted")
"""


def test_two_processes_write_at_once_and_nothing_of_either_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    Ledger.open(path, create=True).close()
    both = [
        subprocess.Popen([sys.executable, "-c", WRITER, who, str(path)], cwd=TOP, stderr=subprocess.PIPE)
        for who in ("anna", "bert")
    ]
    for process in both:
        _, said = process.communicate(timeout=60)
        assert process.returncode == 0, said.decode()
    with Ledger.open(path) as ledger:
        assert sorted(ledger.order_ids()) == sorted(f"{w}-{n}" for w in ("anna", "bert") for n in range(25))
        assert not list(ledger.check())
        assert len(ledger.rows("SELECT id FROM notes")) == 50


def test_who_waits_is_told_and_goes_on_when_the_other_is_done(tmp_path: Path) -> None:
    path, told = tmp_path / "ledger.sqlite", []
    Ledger.open(path, create=True).close()
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    timer = threading.Timer(0.8, lambda: other.execute("COMMIT"))
    timer.start()
    with Ledger.open(path, told=told.append) as ledger:
        assert ledger.take("feast", TERMS, pieces(2)).new
    timer.join()
    other.close()
    assert told == ["another Monikerf is writing; waiting for it"]


def test_who_waits_too_long_is_refused_and_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    Ledger.open(path, create=True).close()
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with Ledger.open(path, wait=0.4) as ledger:
        begun = time.monotonic()
        with pytest.raises(LedgerError, match="another Monikerf is writing"):
            ledger.take("feast", TERMS, pieces(2))
        assert time.monotonic() - begun < 5
        other.execute("ROLLBACK")
        assert ledger.order_ids() == ()
    other.close()


def test_a_full_disk_is_one_clear_message_and_nothing_is_half_written(tmp_path: Path) -> None:
    """SQLite's own limit on pages makes it say SQLITE_FULL, as a full disk does."""
    with Ledger.open(tmp_path / "ledger.sqlite", create=True) as ledger:
        ledger.take("small", TERMS, pieces(3))
        used = ledger.rows("PRAGMA page_count")[0][0]
        ledger.rows(f"PRAGMA max_page_count = {used + 2}")
        before = ledger.last_event()
        with pytest.raises(LedgerError, match="the disk is full") as caught:
            ledger.take("large", TERMS, pieces(2000))
        assert "free some space" in caught.value.hint
        assert ledger.last_event() == before
        assert ledger.order_ids() == ("small",)
        assert not list(ledger.check())


LIMITED = """
import resource, signal, sys
from pathlib import Path
from render.model import Piece
from render.shop.ledger import Ledger, Terms
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
ledger = Ledger.open(Path(sys.argv[1]))
resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))
try:
    ledger.take("large", Terms("a", "b", "c"), [Piece(f"p{n}", n, {"name": "x" * 50}) for n in range(9000)])
except Exception as error:
    print(type(error).__name__, error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such limit")
def test_a_file_that_may_not_grow_leaves_the_ledger_as_it_was(tmp_path: Path) -> None:
    """The operating system itself refuses to write on (RLIMIT_FSIZE, POSIX.1-2017)."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path, create=True) as ledger:
        ledger.take("small", TERMS, pieces(3))
    said = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)], cwd=TOP, capture_output=True, text=True, check=True
    )
    assert said.stdout.startswith("LedgerError"), said.stdout
    assert "the disk" in said.stdout
    with Ledger.open(path) as ledger:
        assert ledger.order_ids() == ("small",)
        assert not list(ledger.check())


CLOSED = """
import contextlib, io, os, sys
from render.cli import main
shop, opened = sys.argv[1:3]
sys.argv = ["monikerf", "note", "feast", "hello", "--shop", opened]
with contextlib.suppress(SystemExit), contextlib.redirect_stderr(io.StringIO()):
    main()  # on an open folder first: whoever is nobody cannot load the libraries any more
sys.argv[-1] = shop
if os.getuid() == 0:
    os.setgid(65534); os.setuid(65534)  # root may write anywhere
main()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are another matter on Windows")
def test_a_read_only_folder_is_one_clear_message(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    open_shop(shop)
    open_shop(tmp_path / "open")
    before = {f.name: f.read_bytes() for f in shop.iterdir() if f.is_file() and f.suffix != ".sqlite-shm"}
    for folder in (
        tmp_path,
        *list(tmp_path.parents)[:-2],
    ):  # up to the system's own folder of temporary files
        folder.chmod(folder.stat().st_mode | 0o055)
    for file in shop.iterdir():
        file.chmod(0o555 if file.is_dir() else 0o444)
    shop.chmod(0o555)
    try:
        said = subprocess.run(
            [sys.executable, "-W", "ignore", "-c", CLOSED, str(shop), str(tmp_path / "open")],
            cwd=TOP, capture_output=True, text=True, env={**os.environ, "MONIKERF_CACHE": ""},
        )  # fmt: skip
    finally:
        shop.chmod(0o755)
    assert said.returncode == 2, said.stderr
    assert "the ledger cannot be used" in said.stderr
    assert "what to do" in said.stderr
    assert "Traceback" not in said.stderr
    after = {f.name: f.read_bytes() for f in shop.iterdir() if f.is_file() and f.suffix != ".sqlite-shm"}
    assert after == before


def test_a_ledger_of_a_newer_monikerf_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    Ledger.open(path, create=True).close()
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    db.close()
    with pytest.raises(LedgerError, match="newer Monikerf"):
        Ledger.open(path)


def test_a_step_to_a_newer_form_is_taken_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path, create=True) as ledger:
        ledger.take("feast", TERMS, pieces(2))
    bad = Migration("bad", ("CREATE TABLE extra (id INTEGER) STRICT", "CREATE TABLE extra (id INTEGER)"))
    with pytest.raises(LedgerError):
        Ledger.open(path, migrations=(*MIGRATIONS, bad))
    good = Migration("good", ("CREATE TABLE extra (id INTEGER) STRICT",))
    with Ledger.open(path, migrations=(*MIGRATIONS, good)) as ledger:
        assert ledger.order_ids() == ("feast",)
        assert ledger.rows("SELECT * FROM extra") == []


@pytest.mark.parametrize("damage", [textwrap.dedent, lambda _: "no ledger at all " * 400])
def test_what_is_no_ledger_is_refused_in_words(tmp_path: Path, damage) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "ledger.sqlite"
    path.write_text(damage("this is a letter to the customer\n" * 300))
    with pytest.raises(LedgerError, match="it is no ledger"):
        Ledger.open(path)


def test_history_is_never_rewritten(tmp_path: Path) -> None:
    with Ledger.open(tmp_path / "ledger.sqlite", create=True) as ledger:
        ledger.take("feast", TERMS, pieces(1))
        for sql in ("UPDATE events SET kind = 'x'", "DELETE FROM events"):
            with pytest.raises(LedgerError, match="what happened is never"), ledger.atomic():
                ledger.write(sql)
        assert ledger.last_event() == 2
