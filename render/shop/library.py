"""The shop library: blanks, machines, materials and the like, read from folders of TOML."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from render.errors import LibraryError
from render.model import Blank, Hazard, Jig, Light, Machine, Material, Operation
from render.resources import folder

if TYPE_CHECKING:
    from render.shop.outlines import Table
    from render.shop.stocks import StockEntry

T = TypeVar("T", bound="Table")

_KINDS: Final = {
    "blanks": "blank",
    "machines": "machine",
    "materials": "material",
    "jigs": "jig",
    "colours": "colour set",
    "lights": "light source",
    "hazards": "hazard",
    "stock": "sheet of stock",
}
"""Folder of the library: what one entry of it is called."""

_SHOWN: Final = ("blanks", "machines", "materials", "stock")
"""What ``monikerf show`` lists."""

_FEW: Final = 8
_NEAREST: Final = 3
"""More ids than a few are not listed in a message, but so many of the nearest are."""


class Library:
    """Blanks, machines, materials and jigs by id; one TOML file is one entry, its name is its id.

    Nothing is read before it is asked for; nothing is read twice.
    """

    def __init__(self, folders: Iterable[Path]) -> None:
        """Look in `folders` (each with ``blanks/``, ``machines/`` ...); a later one overrides an earlier."""
        self._files: dict[str, dict[str, Path]] = {}
        self._tables: dict[tuple[str, str], Table] = {}
        every = list(folders)
        for kind in _KINDS:
            files = (file for top in every for file in sorted((top / kind).glob("*.toml")))
            self._files[kind] = {file.stem: file for file in files}

    @classmethod
    def standard(cls, *shop: Path) -> Library:
        """The library that travels with Monikerf, and over it the folders of a shop of one's own."""
        return cls((folder("shared"), *shop))

    def blank(self, id_: str) -> Blank:
        """The blank of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.schema import BlankTable

        table = self._table("blanks", id_, BlankTable)
        place = self._place("blanks", id_)
        self._known("materials", table.material, f"{place}, key material")
        if table.jig:
            self._known("jigs", table.jig, f"{place}, key jig")
        for hazard in table.hazards:
            self._known("hazards", hazard, f"{place}, key hazards")
        try:
            return table.value(id_)
        except ValueError as error:
            raise LibraryError(f"the blank {id_!r} is wrong: {error}", place=place) from error

    def machine(self, id_: str) -> Machine:
        """The machine of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.schema import MachineTable

        table = self._table("machines", id_, MachineTable)
        self._known("colours", table.colours, f"{self._place('machines', id_)}, key colours")
        if table.light_source:
            self._known("lights", table.light_source, f"{self._place('machines', id_)}, key light_source")
        return table.value(id_, dict(self.colours(table.colours)))

    def material(self, id_: str) -> Material:
        """The material of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.substances import MaterialTable

        table = self._table("materials", id_, MaterialTable)
        for light in table.lights:
            self._known("lights", light, f"{self._place('materials', id_)}, key lights")
        return table.value(id_)

    def light(self, id_: str) -> Light:
        """The light source of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.substances import LightTable

        return self._table("lights", id_, LightTable).value(id_)

    def hazard(self, id_: str) -> Hazard:
        """The hazard of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.substances import HazardTable

        return self._table("hazards", id_, HazardTable).value(id_)

    def jig(self, id_: str) -> Jig:
        """The jig of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.schema import JigTable

        return self._table("jigs", id_, JigTable).value(id_)

    def stock(self, id_: str) -> StockEntry:
        """The sheet of stock of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.stocks import StockFile

        table = self._table("stock", id_, StockFile)
        self._known("materials", table.material, f"{self._place('stock', id_)}, key material")
        return table.value(id_)

    def colours(self, id_: str) -> Mapping[Operation, str]:
        """The colours, ``#rrggbb`` by operation, of the set of that id.

        Raises:
            LibraryError: there is none, or its file is wrong.
        """
        from render.shop.schema import ColoursTable

        return self._table("colours", id_, ColoursTable).value(id_)

    def blanks(self) -> tuple[Blank, ...]:
        """All blanks, by id."""
        return tuple(self.blank(id_) for id_ in self.ids("blanks"))

    def machines(self) -> tuple[Machine, ...]:
        """All machines, by id."""
        return tuple(self.machine(id_) for id_ in self.ids("machines"))

    def materials(self) -> tuple[Material, ...]:
        """All materials, by id."""
        return tuple(self.material(id_) for id_ in self.ids("materials"))

    def jigs(self) -> tuple[Jig, ...]:
        """All jigs, by id."""
        return tuple(self.jig(id_) for id_ in self.ids("jigs"))

    def ids(self, kind: str) -> tuple[str, ...]:
        """The ids of a kind (the name of its folder, such as ``blanks``), in order."""
        return tuple(sorted(self._files[kind]))

    def file(self, kind: str, id_: str) -> Path:
        """The file of an entry.

        Raises:
            LibraryError: there is none.
        """
        return self._known(kind, id_)

    def _place(self, kind: str, id_: str) -> str:
        return str(self._files[kind][id_])

    def _known(self, kind: str, id_: str, place: str = "") -> Path:
        """The file of an entry, or an error that helps."""
        files = self._files[kind]
        if id_ in files:
            return files[id_]
        raise LibraryError(f"there is no {_KINDS[kind]} {id_!r}", hint=_near(kind, id_, files), place=place)

    def _table(self, kind: str, id_: str, model: type[T]) -> T:
        """The checked table of an entry, read once."""
        file = self._known(kind, id_)
        cached = self._tables.get((kind, id_))
        if isinstance(cached, model):
            return cached
        table = checked(file, model)
        self._tables[kind, id_] = table
        return table


def _near(kind: str, id_: str, ids: Iterable[str]) -> str:
    """The ids most like one that is not there; all where there are few, else what lists them."""
    known, word = sorted(ids), id_.casefold()
    holding = [each for each in known if len(word) > 2 and word in each]
    near = list(dict.fromkeys([*difflib.get_close_matches(word, known, n=_NEAREST), *holding]))[:_NEAREST]
    several = f"{', '.join(near[:-1])} or {near[-1]}" if len(near) > 1 else "".join(near)
    meant = f"did you mean {several}? " if near else ""
    listed = f"monikerf show {kind} lists them" if kind in _SHOWN and len(known) > _FEW else ""
    told = listed or f"known: {', '.join(known) or 'none'}"
    return meant + (told[:1].upper() + told[1:] if meant and not listed else told)


def checked(file: Path, model: type[T]) -> T:
    """The table of one file.

    Raises:
        LibraryError: with the file, the key and what is allowed.
    """
    from pydantic import ValidationError

    from render.shop.schema import first_complaint

    try:
        raw = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        hint = "save it as text in UTF-8 and make it readable"
        raise LibraryError(f"cannot be read as text ({error})", hint=hint, place=str(file)) from error
    except tomllib.TOMLDecodeError as error:
        hint = 'a line is: key = value, text in "quotes", a number without a unit'
        raise LibraryError(f"is not TOML: {error}", hint=hint, place=str(file)) from error
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        key, words, hint = first_complaint(error, model)
        raise LibraryError(words, hint=hint, place=f"{file}, key {key}" if key else str(file)) from error
