"""The settings of a shop, from ``shop.toml`` in its folder: read, checked, and written once to begin with."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError

from render.errors import LibraryError
from render.shop.outlines import Table
from render.shop.prices.money import currency

FILE: Final = "shop.toml"
"""Name of the file that makes a folder a shop."""

Text = Annotated[str, Field(max_length=500)]

BEGIN: Final = """\
# The settings of your shop. Lines that begin with # are remarks; delete the # to use one.

# Stands on proofs, packing lists and labels.
name = {name}
# Where customers send their answers: an e-mail address, a telephone number, a web page.
contact = ""
# ISO 4217: EUR, GBP, USD, SEK, JPY ...
currency = "EUR"

[proof]
# Lies across proof pictures; empty: nothing does.
watermark = "PROOF"
# How many days a proof holds; 0: no end.
expiry_days = 14

[work]
# Ids, as monikerf show machines and monikerf show fonts list them; empty: Monikerf chooses, and says what.
machine = ""
font = ""
# What bags are sorted by: a column of the table, such as table, department or surname; empty: the first
# usual one that an order has.
pack_by = ""
"""
"""What a new shop's file says."""


class ProofTable(Table):
    """How proofs look and how long they hold."""

    watermark: Text = "PROOF"
    expiry_days: Annotated[int, Field(ge=0, le=3650)] = 14


class WorkTable(Table):
    """What is taken where a command does not say."""

    machine: Text = ""
    font: Text = ""
    pack_by: Text = ""


class Settings(Table):
    """The whole file."""

    name: Text = ""
    contact: Text = ""
    currency: Text = "EUR"
    proof: ProofTable = ProofTable()
    work: WorkTable = WorkTable()


def read_settings(shop: Path | None) -> Settings:
    """The settings of a shop; the usual ones where there is none, or where it has no file.

    Raises:
        LibraryError: the file cannot be read, or says what cannot be.
    """
    file = shop / FILE if shop is not None else None
    if file is None or not file.is_file():
        return Settings()
    try:
        settings = Settings.model_validate(tomllib.loads(file.read_text(encoding="utf-8-sig")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise LibraryError(f"it cannot be read: {error}", hint="see TOML's own page", place=FILE) from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        message = f"{where}: {first['msg']}"
        raise LibraryError(message, hint="mend that line, or delete it", place=FILE) from error
    currency(settings.currency)
    return settings
