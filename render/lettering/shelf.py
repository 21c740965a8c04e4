"""The shelf: every font at hand, those that travel with Monikerf and the user's own."""

from __future__ import annotations

import difflib
import re
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from render.errors import FontError
from render.lettering.axes import instance, instance_id, settled, split_id
from render.lettering.collection import faces_in
from render.lettering.font import Font, open_font
from render.model import Problem, Severity

LIST: Final = "fonts.toml"
"""A folder's own table of its fonts; files it does not name stand on the shelf all the same."""

_SUFFIXES: Final = (".ttf", ".otf", ".ttc", ".otc")
_COLLECTIONS: Final = (".ttc", ".otc")
_TEXTS: Final = ("file", "use", "licence", "reserved", "not_covered")
_LISTS: Final = ("scripts", "narrower", "swash_end", "swash_start", "ornaments")
_KEYS: Final = frozenset((*_TEXTS, *_LISTS, "face"))
_NAMED_FONTS: Final = 4


@dataclass(frozen=True, slots=True)
class Entry:
    """What is known of a font before it is opened.

    Attributes:
        id: how it is asked for.
        use: what it is good for, in a few words.
        licence: SPDX name, or empty where the user must know.
        reserved: reserved font name that a changed file must not carry.
        scripts: ISO 15924 codes of the scripts it is offered for; empty when unknown.
        narrower: ids of fonts of a like character that take less room, to be tried in this order.
        not_covered: characters that the file maps but draws wrongly.
        swash_end, swash_start: features that hold swashes for the end and start of a name, in this order.
        ornaments: features that put ornaments in the place of letters.
        face: which font of a collection it is, counted from 1.
    """

    id: str
    path: Path
    use: str = ""
    licence: str = ""
    reserved: str = ""
    scripts: tuple[str, ...] = ()
    narrower: tuple[str, ...] = ()
    not_covered: str = ""
    swash_end: tuple[str, ...] = ()
    swash_start: tuple[str, ...] = ()
    ornaments: tuple[str, ...] = ()
    face: int = 1

    @property
    def licence_file(self) -> Path | None:
        """The text of the licence beside the font, if it is there."""
        path = self.path.parent / "LICENSE.txt"
        return path if path.is_file() else None


@dataclass(slots=True)
class Shelf:
    """Fonts by id over several folders; a later folder adds to the earlier ones or takes their place.

    Raises:
        FontError: a folder's list of fonts is wrong.
    """

    folders: Sequence[Path]
    _entries: dict[str, Entry] = field(init=False, repr=False)
    _open: dict[str, Font] = field(init=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._entries = {}
        for folder in self.folders:
            self._entries |= {entry.id: entry for entry in read_folder(folder)}

    def ids(self) -> tuple[str, ...]:
        """The ids of all fonts, in the order of the folders and their lists."""
        return tuple(self._entries)

    def entry(self, name: str) -> Entry:
        """What is known of a font, by its id or family; for an instance, of the font that it comes from.

        Raises:
            FontError: there is no such font; the hint names those with a like name.
        """
        name = split_id(name)[0]
        entry = self._entries.get(name) or self._entries.get(slug(name)) or self._by_family(name)
        if entry is None:
            raise FontError(f"there is no font {name!r}", hint=self._alike(name))
        return entry

    def find(self, name: str) -> Font:
        """The open font, by its id or family; with axes behind a colon, that instance of a variable font.

        Raises:
            FontError: there is no such font, its file cannot be used, or it has no such axis or value.
        """
        entry = self.entry(name)
        wanted = split_id(name)[1]
        key = instance_id(entry.id, wanted)
        font = self._open.get(key)
        if font is None:
            data = None
            if wanted:
                whole = self.find(entry.id)
                data = instance(whole.shaper.face, settled(entry.id, whole.axes, wanted))
            font = open_font(
                entry.path, font_id=key, not_covered=entry.not_covered, data=data, face_number=entry.face
            )
            self._open[key] = font
        return font

    def fonts_with(self, characters: str) -> tuple[str, ...]:
        """Ids of the fonts that draw all of these characters; fonts that cannot be opened are passed over."""
        return tuple(font.id for font in self._usable() if not font.lacks(characters))

    def describe_missing(
        self,
        characters: Iterable[str],
        font: str,
        *,
        row: int | None = None,
        column: str = "",
        value: str = "",
        piece: str = "",
    ) -> Problem:
        """The problem that a font lacks characters: their names, and the fonts that have them."""
        every = "".join(dict.fromkeys(characters))
        named = ", ".join(f"{c!r} ({character_name(c)})" for c in every)
        others = self.fonts_with(every)
        if others:
            more = f" and {len(others) - _NAMED_FONTS} more" if len(others) > _NAMED_FONTS else ""
            hint = f"Set it in one of the fonts that have it: {', '.join(others[:_NAMED_FONTS])}{more}."
        else:
            hint = "None of the fonts at hand has it: add a font that does, or spell the name without it."
        message = f"The font {font} has no {named}."
        return Problem(Severity.STOP, "missing-glyph", message, hint, row, column, value, piece)

    def _usable(self) -> list[Font]:
        fonts = []
        for name in self._entries:
            try:
                fonts.append(self.find(name))
            except FontError:  # told when it is asked for by name
                continue
        return fonts

    def _by_family(self, name: str) -> Entry | None:
        wanted = slug(name)
        for font in self._usable():
            if wanted in (slug(font.family), slug(f"{font.family} {font.style}")):
                return self._entries[font.id]
        return None

    def _alike(self, name: str) -> str:
        near = difflib.get_close_matches(slug(name), self._entries, n=3, cutoff=0.5)
        if near:
            return f"Did you mean {' or '.join(near)}?"
        return "List the fonts at hand with: monikerf show fonts"


def character_name(character: str) -> str:
    """A character's code point and Unicode name, such as ``U+0142 LATIN SMALL LETTER L WITH STROKE``."""
    name = unicodedata.name(character, "")
    return f"U+{ord(character):04X} {name}".rstrip()


def slug(name: str) -> str:
    """A name as an id: small letters and digits, words joined by hyphens."""
    return re.sub(r"[^\w]+", "-", name.strip().strip("'\"").lower()).strip("-")


def read_folder(folder: Path) -> tuple[Entry, ...]:
    """The fonts of a folder: those on its list in that order, then the files beside, by name.

    Raises:
        FontError: the list is not TOML, or an entry is wrong.
    """
    listed = _read_list(folder / LIST)
    known = {entry.path for entry in listed}
    loose = (
        path
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in _SUFFIXES and path not in known and path.is_file()
    )
    return (*listed, *(_loose(path) for path in loose))


def _loose(path: Path) -> Entry:
    """A file that is on no list: of a collection its first font."""
    faces = faces_in(path) if path.suffix.lower() in _COLLECTIONS else 1
    return Entry(slug(path.stem), path, f"the first of {faces} in its collection" if faces > 1 else "")


def _read_list(path: Path) -> tuple[Entry, ...]:
    if not path.is_file():
        return ()
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        hint = "Mend the line named."
        raise FontError(f"not a list of fonts: {error}", place=str(path), hint=hint) from error
    return tuple(_entry(path, name, values) for name, values in table.items())


def _entry(path: Path, name: str, values: Any) -> Entry:
    place = f"{path}, [{name}]"
    if not isinstance(values, dict) or not isinstance(values.get("file"), str):
        raise FontError("the font has no file", place=place, hint='Add a line such as file = "name.ttf".')
    if unknown := sorted(values.keys() - _KEYS):
        hint = f"Known: {', '.join(sorted(_KEYS))}."
        raise FontError(f"unknown key {unknown[0]!r}", place=place, hint=hint)
    face = values.get("face", 1)
    if type(face) is not int or face < 1:
        hint = "Write face = 2 for the second font of a collection."
        raise FontError("face is not a whole number from 1", place=place, hint=hint)
    for key in (_KEYS - {"face"}) & values.keys():
        wanted = list if key in _LISTS else str
        if not isinstance(values[key], wanted) or not all(isinstance(item, str) for item in values[key]):
            kind = "a list of texts" if wanted is list else "a text"
            raise FontError(f"{key} is not {kind}", place=place, hint=f"Write {key} as {kind}.")
    text = {key: str(values.get(key, "")) for key in _TEXTS if key != "file"}
    lists = {key: tuple(map(str, values.get(key, ()))) for key in _LISTS}
    return Entry(name, path.parent / values["file"], face=face, **text, **lists)  # type: ignore[arg-type]
