"""The command `monikerf`: its commands put together, and what happens when one of them fails."""

from __future__ import annotations

import sys
from typing import Annotated, Final

import typer

from render import __version__
from render.cli import loads, orders, recipe, shopping, show
from render.cli.answers import answer
from render.cli.batch import batch
from render.cli.calibrate import calibrate_time
from render.cli.check import check
from render.cli.doctor import doctor
from render.cli.jig import jig, jig_fit
from render.cli.packing import packing_list
from render.cli.prices import actual, price_list, prices
from render.cli.proof import proof
from render.cli.quote import quote
from render.cli.stall import stall
from render.cli.tell import tell_error
from render.cli.testcard import draw_card, read_card
from render.cli.wrap import calibrate_rotary, wrap
from render.errors import MonikerfError

_INTERRUPTED: Final = 130
"""The exit code of what was stopped with Ctrl+C (128 and the signal's number, POSIX)."""

app = typer.Typer(
    name="monikerf",
    help="From a table of names to finished, fitted lettering on real things, and files a laser can run.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"monikerf {__version__}")
        raise typer.Exit


@app.callback()
def _common(
    _version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version and stop.")
    ] = False,
) -> None:
    """From a table of names to finished, fitted lettering on real things, and files a laser can run."""


app.command("batch")(batch)
app.command("check")(check)
app.add_typer(show.app, name="show")
app.command("doctor")(doctor)
app.command("quote")(quote)
app.command("price-list")(price_list)
app.command("prices")(prices)
app.command("actual")(actual)
app.add_typer(recipe.app, name="recipe")
app.command("test-card")(draw_card)
app.command("test-read")(read_card)
app.command("calibrate-time")(calibrate_time)
app.command("wrap")(wrap)
app.command("jig")(jig)
app.command("jig-fit")(jig_fit)
app.command("calibrate-rotary")(calibrate_rotary)
app.command("open-shop")(shopping.open_shop)
app.command("take-order")(orders.take_order)
app.command("proof")(proof)
app.command("answer")(answer)
app.command("correct")(orders.correct)
app.command("load")(loads.load)
app.command("made")(loads.made)
app.command("packed")(loads.packed)
app.command("packing-list")(packing_list)
app.command("today")(orders.today)
app.command("history")(orders.history)
app.command("note")(orders.note)
app.command("backup")(shopping.backup)
app.command("stall")(stall)


def run() -> None:
    """Run the command that was typed; a failure is told in words, with exit code 2.

    Where JSON was asked for, whatever goes wrong is JSON too, what was mistyped included.
    """
    as_json = "--json" in sys.argv[1:]
    try:
        code = app(standalone_mode=False) if as_json else app()
    except MonikerfError as error:
        tell_error(error, as_json=as_json)
        code = 2
    except OSError as error:
        tell_error(_refused(error), as_json=as_json)
        code = 2
    except SystemExit as stop:
        code = stop.code
    except typer.Abort:
        code = 1
    except Exception as error:
        if not (as_json and hasattr(error, "format_message")):  # that is: what was mistyped
            raise
        tell_error(MonikerfError(error.format_message(), hint="see --help"), as_json=True)
        code = 2
    if code == _INTERRUPTED:
        typer.echo("\nStopped. Finished files are whole; nothing is half-written.", err=True)
    sys.exit(code)


def _refused(error: OSError) -> MonikerfError:
    """What the system would not do, in words."""
    why = error.strerror or str(error)
    hint = "see that the folder may be written to, and that the disk is neither full nor away"
    return MonikerfError(f"the system refused: {why}", hint=hint, place=str(error.filename or ""))
