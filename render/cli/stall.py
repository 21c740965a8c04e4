"""`monikerf stall`: the market stall's pages, for customers and the maker."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Annotated

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json

if TYPE_CHECKING:
    from render.stall.serving import Opened


def stall(
    lan: Annotated[
        bool, typer.Option("--lan", help="Open it to tablets and phones in your network.")
    ] = False,
    address: Annotated[
        str,
        typer.Option(metavar="ADDRESS", help="With --lan: this machine's address there, if it has several."),
    ] = "",
    port: Annotated[int, typer.Option(min=1024, max=65535, help="Where it listens.")] = 8317,
    begin: Annotated[bool, typer.Option("--begin", help="Write a first stall.toml, and stop.")] = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Open the market stall: customers type a name and see it on the thing; you see the queue grow.

    What is put out stands in stall.toml in the shop folder. The maker's passphrase is asked for, or taken
    from the variable MONIKERF_STALL_PASSPHRASE.
    """
    from render.pipeline.shopfolder import find_shop
    from render.shop import stalltable
    from render.stall.serving import Way, open_stall

    folder = find_shop(shop)
    if begin:
        file = folder / stalltable.FILE
        made = not file.exists()
        if made:
            file.write_text(stalltable.BEGIN, encoding="utf-8")
        if as_json:
            print_json({"file": str(file), "made": made})
        else:
            console().print(f"{file}: {'written' if made else 'was there'}", markup=False)
        return
    passphrase = os.environ.get("MONIKERF_STALL_PASSPHRASE", "") or _asked()
    open_stall(folder, passphrase, Way(port, lan or bool(address), address), lambda o: _tell(o, as_json))


def _asked() -> str:
    from render.errors import MonikerfError

    if not sys.stdin.isatty():
        raise MonikerfError(
            "there is no passphrase for the maker's side",
            hint="set MONIKERF_STALL_PASSPHRASE for this command",
        )
    return str(typer.prompt("Passphrase for the maker's side", hide_input=True, err=True))


def _tell(opened: Opened, as_json: bool) -> None:
    if as_json:
        print_json({"here": opened.here, "maker": opened.maker, "tablets": opened.tablets or None})
        sys.stdout.flush()
        return
    say = console()
    say.print(f"The stall is open: {opened.here}", markup=False)
    say.print(f"The maker's side:  {opened.maker}", markup=False)
    if opened.tablets:
        import segno

        say.print(f"For tablets and phones in your network: {opened.tablets}", markup=False)
        with suppress(UnicodeEncodeError):  # a terminal without block letters: the maker's side shows it too
            segno.make(opened.tablets, error="m", micro=False).terminal(out=sys.stdout, compact=True)
        say.print("Whoever has this address can order; show it only at the stall.")
        say.print("It is plain HTTP: others in the same network can read along. Use a network of your own.")
    say.print("Stop it with Ctrl-C. What was ordered is in the ledger.")
