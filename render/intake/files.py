"""What kind of file it is, told by its content and not by its name; what is not a table is refused here."""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path
from typing import Final

from render.errors import TableError

LARGEST_FILE: Final = 32 * 2**20
"""Bytes of the largest file that is read: some hundred thousand rows, far beyond any order."""

LARGEST_UNPACKED: Final = 256 * 2**20
"""Bytes of the largest workbook, unpacked."""

SAVE_AS: Final = "open it in a spreadsheet program and save it as CSV (UTF-8) or XLSX"

_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")

# First bytes by the formats' own published specifications.
_OTHER_KINDS: Final = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"II*\0", "a TIFF picture"),
    (b"MM\0*", "a TIFF picture"),
    (b"{\\rtf", "a rich text document"),
    (b"\x1f\x8b", "a packed file"),
    (b"7z\xbc\xaf", "a packed file"),
    (b"Rar!", "a packed file"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90", "a program"),
    (b"SQLite format 3\0", "a database"),
)
_MARKUP: Final = (
    (b"<?xml", "an XML file"),
    (b"<html", "a web page"),
    (b"<!doctype", "a web page"),
    (b"<table", "a web page"),
    (b"<svg", "an SVG drawing"),
)
_TABLES: Final = (".csv", ".ods", ".tsv", ".txt", ".xls", ".xlsm", ".xlsx")
_ALIKE: Final = 0.75
"""From here on, names without their suffix are so alike that one may be a slip for the other."""
_CONTROLS: Final = bytes(set(range(32)) - set(b"\t\n\r"))


def load(path: Path) -> bytes:
    """The file's bytes.

    Raises:
        TableError: it is missing, a folder, unreadable, empty or larger than :data:`LARGEST_FILE`.
    """
    place = str(path)
    if path.is_dir():
        raise TableError("This is a folder, not a table.", hint="Name the file inside it.", place=place)
    if not path.exists():
        raise TableError("There is no such file.", hint=_near(path), place=place)
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise TableError(
                f"The file has {size / 2**20:.0f} MB; tables up to {LARGEST_FILE // 2**20} MB are read.",
                hint="Is it the right file? If it is, split it into several orders.",
                place=place,
            )
        data = path.read_bytes()
    except OSError as error:
        why = error.strerror or str(error)
        raise TableError(
            f"The file cannot be read: {why}.", hint="Is it open elsewhere?", place=place
        ) from error
    if not data.strip(b"\0 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise TableError("The file is empty.", hint="Save the table again, then retry.", place=place)
    return data


def _near(path: Path) -> str:
    """A hint naming a file of nearly that name in the same folder."""
    from difflib import get_close_matches

    if not path.parent.is_dir():
        return f"The folder {path.parent} does not exist either."
    tables = (e for e in path.parent.iterdir() if e.suffix.lower() in _TABLES and e.is_file())
    names = {entry.stem.casefold(): entry.name for entry in sorted(tables, reverse=True)}
    close = get_close_matches(path.stem.casefold(), names, n=1, cutoff=_ALIKE)
    return f"Did you mean {names[close[0]]}?" if close else "Check the name and the folder."


def kind_of(data: bytes, place: str) -> str:
    """``text``, ``xlsx``, ``ods`` or ``xls``, told by the content.

    Raises:
        TableError: it is something else, locked by a password, or damaged.
    """
    if data.startswith(_OLE):
        return _kind_of_ole(data, place)
    if data.startswith(_ZIP):
        return _kind_of_zip(data, place)
    head = data[:256].lstrip(b"\xef\xbb\xbf \t\r\n")
    for magic, kind in _OTHER_KINDS:
        if head.startswith(magic):
            raise not_a_table(kind, place)
    for tag, kind in _MARKUP:
        if head.lower().startswith(tag):
            raise not_a_table(kind, place)
    if _is_binary(data):
        raise not_a_table("a binary file", place)
    return "text"


def _is_binary(data: bytes) -> bool:
    """More than one byte in twenty is a control character, in what is not wide text."""
    sample = data[: 2**20]
    if sample[:2] in (b"\xff\xfe", b"\xfe\xff") or sample[:4] == b"\0\0\xfe\xff":
        return False
    if 0 in (sample[::2].count(0), sample[1::2].count(0)) and sample.count(0) > len(sample) // 6:
        return False
    return len(sample) - len(sample.translate(None, _CONTROLS)) > max(8, len(sample) // 20)


def not_a_table(kind: str, place: str) -> TableError:
    """The error for a file that is `kind` and not a table."""
    return TableError(f"This is {kind}, not a table.", hint=f"If it holds a table, {SAVE_AS}.", place=place)


def _kind_of_ole(data: bytes, place: str) -> str:
    """Compound files ([MS-CFB]): old workbooks, or a wrapping round an encrypted new one ([MS-OFFCRYPTO])."""
    if "EncryptedPackage".encode("utf-16-le") in data:
        raise locked(place)
    if any(name.encode("utf-16-le") in data for name in ("Workbook\0", "Book\0")):
        return "xls"
    raise not_a_table("an old office document", place)


def locked(place: str) -> TableError:
    """The error for a workbook locked by a password."""
    return TableError(
        "The workbook is locked with a password.",
        hint="Open it with the password and save it without one, or ask the customer to.",
        place=place,
    )


def _kind_of_zip(data: bytes, place: str) -> str:
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            infos = archive.infolist()
            names = {info.filename for info in infos}
            if sum(info.file_size for info in infos) > LARGEST_UNPACKED:
                raise TableError(
                    f"Unpacked, the workbook has more than {LARGEST_UNPACKED // 2**20} MB.",
                    hint="Is it the right file? If it is, save only the sheet with the names as CSV.",
                    place=place,
                )
            if "xl/workbook.xml" in names:
                return "xlsx"
            if "xl/workbook.bin" in names:
                raise not_a_table("a binary workbook (XLSB)", place)
            if "content.xml" in names and b"spreadsheet" in archive.read("mimetype"):
                if b"encryption-data" in archive.read("META-INF/manifest.xml"):
                    raise locked(place)
                return "ods"
    except (zipfile.BadZipFile, KeyError, RuntimeError, NotImplementedError, OSError, EOFError) as error:
        raise damaged(place) from error
    kind = "a text document" if "word/document.xml" in names or "content.xml" in names else "a packed file"
    raise not_a_table(kind, place)


def damaged(place: str) -> TableError:
    """The error for a workbook that cannot be read."""
    return TableError(
        "The workbook is damaged: it cannot be unpacked.",
        hint="Ask for the file again, or open it in a spreadsheet program and save it anew.",
        place=place,
    )
