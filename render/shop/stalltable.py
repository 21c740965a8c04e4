"""What is put out at the stall today, from ``stall.toml`` in the shop folder: read and checked."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, ValidationError

from render.errors import LibraryError
from render.shop.outlines import Table

FILE: Final = "stall.toml"
"""Name of the file that says what the stall offers."""

BEGIN: Final = """\
# What is put out at the stall today. One [[thing]] each; lines that begin with # are remarks.

# How long a page may stand untouched before it goes back to the start, in seconds.
idle_seconds = 60

# The stall's time zone, such as "Europe/Lisbon"; empty: this machine's. Numbers begin anew at its midnight.
zone = ""

[[thing]]
id = "pet-tag"
title = "Pet tag"
template = "pet-tag"
# In whole minor units of the shop's currency: 900 is 9.00.
price = 900
# How many lie there this morning; leave it out where nobody counts.
count = 24
# Fonts that suit this thing, the usual one first; monikerf show fonts lists them.
styles = ["roboto-slab", "playfair-display", "pacifico"]
# Minutes that one takes, all told: for the waiting time that customers are told.
minutes = 4
# A second line, where the template has one: its field, and what the customer is asked.
second = "phone"
second_label = "Telephone number"

# A coaster can bear initials instead of the whole name: templates that make them, for the same thing.
# [[thing]]
# id = "coaster"
# title = "Coaster"
# template = "coaster"
# price = 1200
# styles = ["montserrat", "cinzel"]
# monograms = ["monogram-coaster", "ring-coaster"]
"""
"""A first ``stall.toml``."""

Id = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Words = Annotated[str, Field(min_length=1, max_length=60)]


class ThingTable(Table):
    """One thing that customers can have."""

    id: Id
    title: Words
    template: Id
    price: Annotated[int, Field(ge=0, le=10**9)]
    styles: Annotated[tuple[Id, ...], Field(min_length=1, max_length=6)]
    count: Annotated[int, Field(ge=0, le=100_000)] | None = None
    minutes: Annotated[float, Field(gt=0, le=600)] = 5
    blank: str = ""
    machine: str = ""
    second: str = ""
    second_label: Annotated[str, Field(max_length=60)] = "Second line"
    monograms: Annotated[tuple[Id, ...], Field(max_length=5)] = ()


class StallTable(Table):
    """The whole file.

    Attributes:
        zone: the stall's time zone (IANA, such as ``Europe/Lisbon``); empty: this machine's. Its days are the
            stall's: numbers begin anew at its midnight.
        accent: colour of the buttons, ``#rrggbb``; dark enough for white words on it.
    """

    thing: Annotated[tuple[ThingTable, ...], Field(min_length=1, max_length=40)]
    greeting: Annotated[str, Field(max_length=80)] = "Your name on it"
    zone: Annotated[str, Field(max_length=60)] = ""
    accent: Annotated[str, Field(pattern=r"^#[0-9A-Fa-f]{6}$")] = "#8A3B12"
    idle_seconds: Annotated[int, Field(ge=15, le=3600)] = 60

    def named(self, id_: str) -> ThingTable | None:
        """The thing of that id; None where there is none."""
        return next((thing for thing in self.thing if thing.id == id_), None)


def read_stall(shop: Path) -> StallTable:
    """What the stall offers.

    Raises:
        LibraryError: there is no such file, it cannot be read, or says what cannot be.
    """
    file = shop / FILE
    try:
        stall = StallTable.model_validate(tomllib.loads(file.read_text(encoding="utf-8-sig")))
    except FileNotFoundError as error:
        hint = "begin one with monikerf stall --begin, then say what is put out today"
        raise LibraryError("nothing is put out at the stall", hint=hint, place=str(file)) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise LibraryError(f"it cannot be read: {error}", hint="see TOML's own page", place=FILE) from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise LibraryError(f"{where}: {first['msg']}", hint="mend that line", place=FILE) from error
    ids = [thing.id for thing in stall.thing]
    twice = next((id_ for id_ in ids if ids.count(id_) > 1), "")
    if twice:
        raise LibraryError(f"two things are called {twice}", hint="give each its own id", place=FILE)
    _check_contrast(stall.accent)
    zone_of(stall)
    return stall


def zone_of(stall: StallTable) -> ZoneInfo | None:
    """The stall's time zone; None for this machine's own.

    Raises:
        LibraryError: there is no such zone.
    """
    if not stall.zone:
        return None
    try:
        return ZoneInfo(stall.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        hint = "name it as Europe/Lisbon is named, or leave it out"
        raise LibraryError(f"there is no time zone {stall.zone}", hint=hint, place=FILE) from error


def _check_contrast(accent: str) -> None:
    """White words must be legible on the accent: 4.5 to 1 (WCAG 2.2, success criterion 1.4.3)."""
    parts = [int(accent[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    if 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05) < 4.5:
        raise LibraryError(f"white words cannot be read on {accent}", hint="take a darker accent", place=FILE)
