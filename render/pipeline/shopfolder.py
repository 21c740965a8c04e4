"""The folder of a shop: made, found, its ledger opened."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from render.errors import LibraryError
from render.pipeline.loadnames import sheet_files, sheets_sha256
from render.pipeline.workshop import OWN_FOLDERS
from render.shop.ledger import FILE as LEDGER
from render.shop.ledger import Ledger, utc_now
from render.shop.settings import BEGIN, FILE, read_settings
from render.writers.files import ready_folder, write_atomically

FILE_OF_COPY: Final = "copy.sqlite"

OUT: Final = "out"
"""Folder for what the shop makes."""

FOLDERS: Final = (*OWN_FOLDERS, "recipes", OUT)
"""What a shop folder has."""


def open_shop(folder: Path, name: str = "") -> tuple[str, ...]:
    """Make a folder a shop's: its settings, its own folders, its ledger. What is there already stays.

    Returns:
        Names of what was made; none if all of it was there.

    Raises:
        OutputError: the folder cannot be used.
        LedgerError: there is a ledger, and it cannot be used.
    """
    made: list[str] = []
    ready_folder(folder)
    for part in FOLDERS:
        if not (folder / part).is_dir():
            ready_folder(folder / part)
            made.append(f"{part}/")
    if not (folder / LEDGER).is_file():
        made.append(LEDGER)
    Ledger.open(folder / LEDGER, create=True).close()
    if not (folder / FILE).is_file():
        title = name or folder.resolve().name
        quoted = '"' + "".join(f"\\{c}" if c in '"\\' else c for c in title if c.isprintable()) + '"'
        write_atomically(folder / FILE, BEGIN.format(name=quoted).encode())
        made.append(FILE)
    return tuple(made)


def find_shop(folder: Path | None) -> Path:
    """The shop folder that was named, or the current folder if it is one.

    Raises:
        LibraryError: neither is a shop's.
    """
    here = folder if folder is not None else Path.cwd()
    try:
        if (here / FILE).is_file():
            return here
    except OSError as error:
        hint = "make the folder readable, or name another with --shop"
        raise LibraryError(
            f"the shop folder cannot be read: {error.strerror}", hint=hint, place=str(here)
        ) from error
    hint = "make one with monikerf open-shop, or name yours with --shop or the variable MONIKERF_SHOP"
    raise LibraryError("this is no shop folder", hint=hint, place=str(here))


def open_ledger(shop: Path, told: Callable[[str], None] | None = None) -> Ledger:
    """The ledger of a shop folder. The variable MONIKERF_NOW (ISO 8601, UTC) stands in for the clock.

    Raises:
        LedgerError: it cannot be used.
    """
    fixed = os.environ.get("MONIKERF_NOW", "")
    clock = (lambda: fixed) if fixed else utc_now
    return Ledger.open(shop / LEDGER, clock=clock, told=told or (lambda _: None))


def back_up(ledger: Ledger, file: Path) -> tuple[int, int]:
    """Copy the ledger into a file, check the copy, and give it its name only then.

    Returns:
        Its size in bytes, and how many events it tells of.

    Raises:
        LedgerError: the ledger or the copy is damaged, or the copy cannot be written.
        OutputError: the file cannot be written.
    """
    ready_folder(file.parent)
    if file.resolve() == ledger.path.resolve():
        raise LibraryError("that is the ledger itself", hint="name another file", place=str(file))
    with tempfile.TemporaryDirectory(prefix=".monikerf-", dir=file.parent) as aside:
        part = Path(aside) / FILE_OF_COPY
        ledger.backup(part)
        with Ledger.open(part, keep=True) as copy:
            wrong = next(iter(copy.check()), "")
            events = copy.last_event()
        if wrong:
            raise LibraryError(f"the ledger is damaged: {wrong}", hint="run monikerf doctor", place=str(file))
        write_atomically(file, part.read_bytes())
        return file.stat().st_size, events


def look_over(shop: Path) -> tuple[str, list[str]]:
    """Check a shop's settings and its ledger, and that the sheets of open loads are there, unchanged.

    Returns:
        What was seen, and all that is wrong.

    Raises:
        LedgerError: the ledger cannot be used.
        LibraryError: the settings are wrong.
    """
    read_settings(shop)
    with open_ledger(shop) as ledger:
        wrong = list(ledger.check())
        for load in ledger.loads("open"):
            if not all((shop / file).is_file() for file in sheet_files(load.file)):
                again = f"write it with monikerf load --again {load.id}"
                wrong.append(f"the sheet of load {load.id} is not there: {again}")
            elif sheets_sha256(shop, load.file) != load.sha256:
                wrong.append(f"the sheet of load {load.id} has been changed since it was verified")
        return f"{len(ledger.order_ids())} orders, {ledger.last_event()} events, all sound", wrong
