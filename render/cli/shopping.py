"""`monikerf open-shop` and `monikerf backup`: the shop folder itself."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from render.cli.asking import open_shop_ledger
from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json


def open_shop(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the shop is to be.")],
    name: Annotated[str, typer.Option(help="The shop's name; else the folder's.")] = "",
    as_json: AsJson = False,
) -> None:
    """Make a shop folder: settings, a ledger, and places for your own templates, fonts and library.

    What is there already stays as it is.
    """
    from render.pipeline import shopfolder
    from render.shop.settings import FILE

    made = shopfolder.open_shop(folder, name)
    if as_json:
        print_json({"shop": str(folder), "made": list(made)})
        return
    say = console()
    say.print(
        f"{folder} is your shop: " + (f"made {', '.join(made)}" if made else "all was there"), markup=False
    )
    if made:
        say.print(f"Look into {folder / FILE}; then work in that folder, or name it with --shop.")


def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where the copy goes.")],
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Copy the ledger, whole and of one moment, even while it is in use; the copy is checked."""
    from render.pipeline.shopfolder import back_up

    with open_shop_ledger(shop) as (_, ledger):
        size, events = back_up(ledger, file)
    if as_json:
        print_json({"file": str(file), "bytes": size, "events": events})
    else:
        console().print(f"written and checked: {file} ({size // 1024} KiB, {events} events)", markup=False)
