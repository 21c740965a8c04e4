"""Entries of the shop's own library, written without losing what stands in them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from render.errors import LibraryError
from render.shop.library import Library


def own_entry(
    library: Library, kind: str, id_: str, shop: Path, changes: Mapping[str, Any]
) -> tuple[Path, str]:
    """The text of the shop's own file of an entry, with some values changed.

    Where the shop has no file of its own yet, it becomes a copy of the one that travels with Monikerf;
    comments and order stay. A key of `changes` may be dotted: ``rotary.turn``.

    Returns:
        Where the file goes, ``SHOP/library/KIND/ID.toml``, and its text.

    Raises:
        LibraryError: there is no such entry, or its file cannot be read.
    """
    import tomlkit

    source = library.file(kind, id_)
    try:
        document = tomlkit.parse(source.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise LibraryError(f"cannot be read: {error}", place=str(source)) from error
    for key, value in changes.items():
        table: Any = document
        *tables, last = key.split(".")
        for name in tables:
            if name not in table:
                table[name] = tomlkit.table()
            table = table[name]
        table[last] = value
    return shop / "library" / kind / f"{id_}.toml", tomlkit.dumps(document)


def toml_text(values: Mapping[str, Any]) -> str:
    """A new TOML file of plain values, in their order; what is None is left out."""
    import tomlkit

    return tomlkit.dumps({key: value for key, value in values.items() if value is not None})
