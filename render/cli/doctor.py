"""`monikerf doctor`: is everything here that the work needs?"""

from __future__ import annotations

import platform
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

import typer

from render import __version__
from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json
from render.errors import MonikerfError


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: what it is, whether it is as it should be, what was seen, what to do."""

    what: str
    ok: bool
    seen: str
    hint: str = ""


def doctor(shop: Shop = None, as_json: AsJson = False) -> None:
    """Check this installation: Python, libraries, fonts, templates, library, renderer for pictures."""
    findings = [finding for look in _LOOKS for finding in look(shop)]
    if as_json:
        print_json({"monikerf": __version__, "findings": [asdict(f) for f in findings]})
    else:
        from rich.text import Text

        say = console()
        for found in findings:
            mark, style = ("✓", "green") if found.ok else ("✗", "bold red")
            say.print(Text.assemble((f"{mark} ", style), (found.what, "bold"), f": {found.seen}"))
            if found.hint:
                say.print(Text(f"    {found.hint}", style="dim"))
    if not all(found.ok for found in findings):
        raise typer.Exit(1)


def _python(_: Path | None) -> Iterator[Finding]:
    version = platform.python_version()
    ok = sys.version_info >= (3, 11)
    yield Finding("Python", ok, version, "" if ok else "Monikerf needs Python 3.11 or newer.")


def _libraries(_: Path | None) -> Iterator[Finding]:
    from importlib.metadata import PackageNotFoundError, requires, version

    missing, seen = [], 0
    for line in requires("monikerf") or ():
        if "extra ==" in line:
            continue
        name = line.split(";")[0].split(">")[0].split("=")[0].split("<")[0].strip()
        try:
            version(name)
            seen += 1
        except PackageNotFoundError:
            missing.append(name)
    hint = f"Install Monikerf again; missing: {', '.join(missing)}" if missing else ""
    yield Finding("Libraries", not missing, f"{seen} found", hint)


def _pictures(_: Path | None) -> Iterator[Finding]:
    from render.writers.png import cairo_hint, usual_engine, why_no_cairo

    try:
        engine, _note = usual_engine()
    except MonikerfError as error:
        yield Finding("Pictures", ok=False, seen=error.message, hint=error.hint)
        return
    why = why_no_cairo()
    yield Finding("Pictures", ok=True, seen=f"drawn by {engine}", hint=cairo_hint() if why else "")


def _shelves(shop: Path | None) -> Iterator[Finding]:
    """Every font opens, every template loads, every entry of the library is right."""
    from render.design import list_templates, load_template
    from render.lettering import Shelf
    from render.pipeline import Workshop

    try:
        workshop = Workshop.open(shop)
    except MonikerfError as error:
        yield Finding("Shop folder", ok=False, seen=str(error), hint=error.hint)
        return
    shelf = Shelf(tuple(f for f in workshop.fonts if f.is_dir()))
    library = workshop.library
    yield _all("Fonts", shelf.ids(), shelf.find)
    files = list_templates(workshop.templates)
    yield _all("Templates", files, lambda id_: load_template(files[id_]))
    for kind, read in (
        ("blanks", library.blank),
        ("machines", library.machine),
        ("materials", library.material),
        ("jigs", library.jig),
        ("lights", library.light),
        ("hazards", library.hazard),
    ):
        yield _all(kind.capitalize(), library.ids(kind), read)


def _ledger(shop: Path | None) -> Iterator[Finding]:
    """The shop's ledger: sound in itself, artworks as their digests say, sheets where they should be."""
    from render.pipeline.shopfolder import find_shop, look_over

    try:
        folder = find_shop(shop)
    except MonikerfError:
        return  # not in a shop: nothing to check
    try:
        seen, wrong = look_over(folder)
    except MonikerfError as error:
        yield Finding("Ledger", ok=False, seen=error.message, hint=error.hint)
        return
    hint = "Keep the file as it is, and put your last backup in its place." if wrong else ""
    yield Finding("Ledger", not wrong, "; ".join(wrong[:3]) or seen, hint)


def _all(what: str, ids: Iterable[str], read: Callable[[str], object]) -> Finding:
    """Whether each of the ids can be read."""
    names = list(ids)
    for name in names:
        try:
            read(name)
        except MonikerfError as error:
            return Finding(what, ok=False, seen=f"{name}: {error.message}", hint=error.hint or error.place)
    return Finding(what, bool(names), f"{len(names)} in order", "" if names else "Install Monikerf again.")


_LOOKS: Final = (_python, _libraries, _pictures, _shelves, _ledger)
