"""Names for files, and files that appear whole or not at all."""

from __future__ import annotations

import errno
import os
import re
import secrets
import unicodedata
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Final

from render.errors import OutputError

LONGEST_STEM: Final = 150
"""Bytes of UTF-8 in a stem, so that suffixes and numbers still fit the 255 that file systems allow."""

_RESERVED: Final = frozenset(
    ["con", "prn", "aux", "nul", "conin$", "conout$"]
    + [device + digit for device in ("com", "lpt") for digit in "0123456789¹²³"]
)
"""Names that mean devices on Windows, whatever follows a dot (Microsoft Learn, "Naming Files, Paths, and
Namespaces")."""

_UNSAFE = re.compile(r'[<>:"/\\|?*\s]+')

_WHY: Final[dict[int, tuple[str, str]]] = {
    errno.ENOSPC: ("the disk is full", "free some space, or write to another disk"),
    errno.EDQUOT: ("your share of the disk is used up", "free some space, or write to another disk"),
    errno.EFBIG: ("the file is larger than this disk or account allows", "write to another disk"),
    errno.EACCES: ("you may not write there", "choose another folder, or close the file in other programs"),
    errno.EPERM: ("you may not write there", "choose another folder, or close the file in other programs"),
    errno.EROFS: ("that disk is read-only", "choose a folder on another disk"),
    errno.ENOENT: ("its folder does not exist", "make the folder first, or choose another"),
    errno.ENOTDIR: ("a part of the path is a file, not a folder", "choose another folder"),
    errno.EEXIST: ("a part of the path is a file, not a folder", "choose another folder"),
    errno.EISDIR: ("it is a folder", "choose a file name, or move the folder away"),
    errno.ENAMETOOLONG: ("its name is too long", "choose a shorter name"),
    errno.EIO: ("the disk reports a fault", "check the disk, and write to another one meanwhile"),
}
"""What the system's error numbers (POSIX.1-2017, errno.h) mean to a maker: the reason and what mends it."""

_UNKNOWN: Final = ("the system refused", "try another folder")

Writer = Callable[[BinaryIO], object]
"""Writes a file's content to the stream it is given."""


def safe_stem(text: str, fallback: str = "unnamed") -> str:
    """A file name without suffix that every usual file system takes, as near to `text` as can be.

    Letters of every script stay (in NFC); what is forbidden somewhere, and blank space, becomes one hyphen;
    control, format and unassigned characters go; at most :data:`LONGEST_STEM` bytes. Different texts may
    give equal stems.

    >>> safe_stem("Zoë & Łukasz: table 4/5"), safe_stem("nul"), safe_stem("...")
    ('Zoë-&-Łukasz-table-4-5', 'nul-', 'unnamed')
    """
    spaced = _UNSAFE.sub("-", unicodedata.normalize("NFC", text))
    kept = "".join(c for c in spaced if unicodedata.category(c)[0] != "C")
    stem = re.sub(r"-{2,}", "-", kept).strip("-. ")
    stem = _shortened(stem).rstrip("-. ")
    if stem.split(".", 1)[0].rstrip(" ").lower() in _RESERVED:
        first, dot, rest = stem.partition(".")
        stem = f"{first}-{dot}{rest}"
    return stem or fallback


def _shortened(stem: str) -> str:
    """At most the allowed bytes, never cut within a character or before a mark that belongs to one."""
    if len(stem.encode()) <= LONGEST_STEM:
        return stem
    short = stem.encode()[:LONGEST_STEM].decode(errors="ignore")
    if unicodedata.category(stem[len(short)])[0] == "M":
        while short and unicodedata.category(short[-1])[0] == "M":
            short = short[:-1]
        short = short[:-1]
    return short


def ready_folder(folder: Path) -> Path:
    """Make sure that `folder` exists and can be written to, before any work is done; return it.

    Raises:
        OutputError: it cannot be made, or nothing can be written there.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        trial = folder / f".monikerf-{secrets.token_hex(6)}.part"
        os.close(os.open(trial, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
        trial.unlink()
    except OSError as error:
        raise _refused(folder, error, "the folder cannot be used") from error
    return folder


def write_atomically(
    path: Path, data: bytes | Writer, verify: Callable[[Path], object] | None = None
) -> None:
    """Write a file so that it appears whole under its name, or not at all.

    A temporary file in the same folder is written, flushed to the disk, handed to `verify`, and renamed; a
    file already there is replaced in that one step. Whatever goes wrong, the temporary file is removed and
    what was there stays.

    Args:
        path: the final name, in a folder that exists.
        data: the content, or what writes it.
        verify: reads the temporary file (it has the final suffix) and raises
            :class:`render.errors.VerificationError` if it is not what was meant.

    Raises:
        OutputError: the file cannot be written; the message says why, the hint what to do.
    """
    if path.is_dir():
        raise _refused(path, OSError(errno.EISDIR, ""))
    part = path.parent / f".monikerf-{secrets.token_hex(6)}.part{path.suffix}"
    try:
        _write(part, data, path)
        if verify is not None:
            verify(part)
        move(part, path)
    finally:
        with suppress(OSError):
            part.unlink()


def move(source: Path, path: Path) -> None:
    """Rename a file within one disk, in one step and for good; what was at `path` is replaced.

    Raises:
        OutputError: it cannot be done.
    """
    try:
        os.replace(source, path)
    except OSError as error:
        raise _refused(path, error) from error
    _flush_folder(path.parent)


def _write(part: Path, data: bytes | Writer, path: Path) -> None:
    """Fill the temporary file and have it on the disk when this returns."""
    try:
        descriptor = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0), 0o666)
        with os.fdopen(descriptor, "wb") as stream:
            if isinstance(data, bytes):
                stream.write(data)
            else:
                data(stream)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as error:
        raise _refused(path, error) from error


def _flush_folder(folder: Path) -> None:
    """Have the rename itself on the disk, where the system can (Windows cannot open folders)."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(descriptor)
    except OSError:
        pass  # some network file systems refuse; the file itself is already safe
    finally:
        os.close(descriptor)


def _refused(path: Path, error: OSError, what: str = "the file cannot be written") -> OutputError:
    """What to tell the user."""
    why, hint = _WHY.get(error.errno or 0, _UNKNOWN)
    detail = f" ({error.strerror})" if (why, hint) == _UNKNOWN and error.strerror else ""
    return OutputError(f"{what}: {why}{detail}", hint=hint, place=str(path))
