"""What the sheets of a load are called, and the sum over them that the ledger keeps."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import Final

SECTION: Final = "sheet-{}-of-{}.svg"
"""File name of a section, by its number and how many there are."""

_FIRST_SECTION: Final = re.compile(r"sheet-1-of-(\d+)\.svg")


def sheet_files(file: str) -> tuple[str, ...]:
    """The files of a load: the one that the ledger names, and the sections that follow it if it is a first.

    >>> sheet_files("out/load-0001/sheet-1-of-2.svg")
    ('out/load-0001/sheet-1-of-2.svg', 'out/load-0001/sheet-2-of-2.svg')
    """
    head, name = file.rpartition("/")[::2]
    first = _FIRST_SECTION.fullmatch(name)
    if first is None:
        return (file,)
    home = f"{head}/" if head else ""
    return tuple(home + SECTION.format(n, first[1]) for n in range(1, int(first[1]) + 1))


def sheets_sha256(folder: Path, file: str) -> str:
    """The SHA-256 of a load's sheets, one after another, in hexadecimal.

    Raises:
        OSError: one of them is not there.
    """
    sha = hashlib.sha256()
    for each in sheet_files(file):
        sha.update((folder / each).read_bytes())
    return sha.hexdigest()
