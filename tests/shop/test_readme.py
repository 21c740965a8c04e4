"""The library's README names every key that its files may have."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, get_args

import pytest

from render.resources import folder
from render.shop.library import _KINDS
from render.shop.outlines import Table
from render.shop.schema import BlankTable, ColoursTable, JigTable, MachineTable
from render.shop.stocks import StockFile
from render.shop.substances import HazardTable, LightTable, MaterialTable

README = (folder("shared") / "README.md").read_text("utf-8")
CODE = " ".join(
    block or span for block, span in re.findall(r"```toml\n(.*?)```|`([^`\n]+)`", README, re.DOTALL)
)
"""What stands in it as an example or as a word of code."""

FILES = {
    "blanks": BlankTable,
    "machines": MachineTable,
    "materials": MaterialTable,
    "lights": LightTable,
    "hazards": HazardTable,
    "jigs": JigTable,
    "stock": StockFile,
    "colours": ColoursTable,
}


def tables_in(kind: Any) -> Iterator[type[Table]]:
    """The tables that a type is made of, at any depth."""
    if isinstance(kind, type) and issubclass(kind, Table):
        yield kind
        for field in kind.model_fields.values():
            yield from tables_in(field.annotation)
    for part in get_args(kind):
        yield from tables_in(part)


def keys_of(table: type[Table]) -> set[str]:
    """The keys of a file and of all tables in it, as they are written."""
    found = {table, *tables_in(table)}
    return {field.alias or name for each in found for name, field in each.model_fields.items()}


def test_every_kind_of_file_is_here() -> None:
    assert set(_KINDS) == set(FILES)
    assert {"inset", "corner", "from", "sagitta", "pitch", "tilt"} <= keys_of(BlankTable) | keys_of(
        MachineTable
    )


@pytest.mark.parametrize("kind", FILES)
def test_every_key_is_named(kind: str) -> None:
    assert f"`{kind}/`" in README
    assert keys_of(FILES[kind]) - set(re.findall(r"[a-z_]+", CODE)) == set()
