"""`monikerf load`, `made` and `packed`: from what is approved to what is in the bag."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from render.cli.asking import OrderId, numbers_in, open_shop_ledger
from render.cli.cutwords import Apart, Kerf, LeadIn, Tabs, cut_options
from render.cli.filewords import Formats, RunList, SplitBy, file_options
from render.cli.laywords import ArrangeWord, ByField, Seconds, StockIds, TurnWord, layout_options
from render.cli.options import AsJson, Shop
from render.cli.orders import piece_values
from render.cli.tell import console, print_json, printable, progress_bar, tell_problems
from render.errors import MonikerfError, counted

if TYPE_CHECKING:
    from render.shop.ledger import Ledger, Load


def load(
    orders: Annotated[
        list[str] | None, typer.Argument(metavar="ORDER…", help="Orders; alike ones share loads.")
    ] = None,
    machine: Annotated[str, typer.Option(metavar="ID", help="The machine; else each order's own.")] = "",
    without_approval: Annotated[
        str, typer.Option(metavar="REASON", help="Make what nobody approved, and write down why.")
    ] = "",
    remake: Annotated[bool, typer.Option("--remake", help="Lay out what failed.")] = False,
    first_place: Annotated[
        int, typer.Option(min=1, metavar="N", help="Begin at this place: those before it are used up.")
    ] = 1,
    arrange: ArrangeWord = "auto",
    turn: TurnWord = "auto",
    seconds: Seconds = 0.0,
    stock: StockIds = None,
    by: ByField = "",
    kerf: Kerf = None,
    tabs: Tabs = None,
    lead_in: LeadIn = None,
    apart: Apart = None,
    formats: Formats = "svg",
    split: SplitBy = None,
    run_list: RunList = False,
    again: Annotated[int, typer.Option(metavar="LOAD", help="Write an open load's sheet once more.")] = 0,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Make sheets of what was approved, exactly as it was approved, and of nothing else.

    If a font, a template or a thing has changed since, it says for which pieces, draws old and new beside
    each other, and stops.
    """
    from render.pipeline import Workshop
    from render.pipeline.loading import Loaded, LoadOptions, make_loads, write_again
    from render.pipeline.loadnames import sheet_files
    from render.pipeline.report import problem_values

    files = file_options(formats, split, run_list)
    with open_shop_ledger(shop) as (folder, ledger):
        workshop = Workshop.open(folder)
        if again:
            written = write_again(ledger, again, workshop, folder, files)
            loaded = Loaded((written,), (), ())
        elif not orders:
            raise MonikerfError("no order is named", hint="monikerf today lists what is ready to make")
        else:
            cutting = cut_options(kerf, tabs, lead_in, apart)
            layout = layout_options(arrange, turn, seconds, first_place)
            sheets = tuple(stock or ())
            options = LoadOptions(machine, without_approval, remake, cutting, layout, sheets, by, files)
            with progress_bar(shown=not as_json) as progress:
                loaded = make_loads(ledger, orders, workshop, folder, options, progress)
        waiting = _waiting(ledger, orders or ())
    if as_json:
        print_json({
            "loads": [load_values(each) for each in loaded.loads],
            "left_out": [{"piece": name, "reason": why} for name, why in loaded.left],
            "not_approved": waiting,
            "problems": [problem_values(p) for p in loaded.problems],
        })  # fmt: skip
    else:
        tell_problems(loaded.problems)
        say = console()
        for name, why in loaded.left:
            say.print(f"left out: {name}: {printable(why)}", markup=False)
        for each in loaded.loads:
            many = counted(len(each.places), "piece")
            say.print(f"load {each.id}: {many} on {each.machine}: {folder / each.file}", markup=False)
            sections = sheet_files(each.file)
            if len(sections) > 1:
                say.print(f"  the first of {len(sections)} sections, burned one after another", markup=False)
        say.print(
            "Each sheet was read back and verified; beside it stands what to mind and which place is whose."
        )
        for order, count in waiting.items():
            told = "1 piece is not approved yet" if count == 1 else f"{count} pieces are not approved yet"
            say.print(f"{order}: {told}, and not on these sheets; see monikerf today", markup=False)
    if loaded.left:
        raise typer.Exit(1)


def _waiting(ledger: Ledger, orders: Sequence[str]) -> dict[str, int]:
    """How many pieces of each order its customer has yet to approve; those that have none are left out."""
    from render.shop.ledger import UNSETTLED

    counts = {order: len(ledger.pieces(order, *UNSETTLED)) for order in dict.fromkeys(orders)}
    return {order: count for order, count in counts.items() if count}


def made(
    load_numbers: Annotated[str, typer.Argument(metavar="LOAD", help="Number of a load; or several: 3-6,9.")],
    failed: Annotated[str, typer.Option(metavar="PLACES", help="Places that came out spoilt: 7,12.")] = "",
    places: Annotated[str, typer.Option(metavar="PLACES", help="Only these came off the machine.")] = "",
    drop: Annotated[str, typer.Option(metavar="REASON", help="Give the load up; nothing was burned.")] = "",
    scrap: Annotated[
        bool, typer.Option("--scrap", help="Throw away what is left of its stock: no offcut is kept.")
    ] = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Mark what came off the machine: the whole load as made, but for the places that failed.

    Of a load that is done and was cut from stock, what is left is kept as an offcut, if it is of use.
    """
    from render.pipeline.leftovers import keep_all_that_is_left

    numbers = numbers_in(load_numbers, "LOAD")
    if len(numbers) > 1 and (failed or places):
        raise MonikerfError("places belong to one load", hint="mark the loads one by one")
    if drop and (failed or places):
        raise MonikerfError("a dropped load has no outcomes", hint="give either --drop or places")
    bad = numbers_in(failed, "--failed") if failed else ()
    some = numbers_in(places, "--places") if places else None
    changed: list[dict[str, Any]] = []
    with open_shop_ledger(shop) as (folder, ledger), ledger.atomic():
        before = {number: ledger.load(number).state for number in numbers}
        for number in numbers:
            if drop:
                ledger.drop_load(number, drop)
                continue
            only = bad if some is None and bad and ledger.load(number).state == "done" else some
            for place, result in ledger.record_outcomes(number, failed=bad, places=only):
                changed.append({"load": number, "place": place.place, "piece": f"{place.order}/{place.piece}",
                                "text": place.title, "result": result})  # fmt: skip
        loads = [ledger.load(number) for number in numbers]
    states = {load.id: load.state for load in loads}
    done = [load for load in loads if (before[load.id], load.state) == ("open", "done")]
    left = keep_all_that_is_left(done, folder, scrap=scrap)
    if as_json:
        print_json({"loads": {str(k): v for k, v in states.items()}, "changed": changed, "left": list(left)})
        return
    say = console()
    count = sum(c["result"] == "made" for c in changed)
    told = f"{count} made, {len(changed) - count} failed" if changed else "nothing was new"
    which = f"load {load_numbers}" if len(numbers) == 1 else f"loads {load_numbers}"
    say.print(f"{which}: {'given up' if drop else told}", markup=False)
    for number, state in states.items():
        if state == "open":
            say.print(f"  load {number} is still open: some places are not marked", markup=False)
    for c in changed:
        if c["result"] == "failed":
            say.print(f"  failed: place {c['place']}, {c['piece']}, {printable(c['text'])}", markup=False)
    for line in left:
        say.print(f"  {line}", markup=False)


def packed(
    order: OrderId,
    pieces: Annotated[
        list[str] | None, typer.Argument(metavar="PIECE", help="Ids; without any, all that is made.")
    ] = None,
    bag: Annotated[str, typer.Option(help="Into which bag; kept in the history.")] = "",
    undo: Annotated[bool, typer.Option("--undo", help="Take these pieces out of their bag again.")] = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Mark pieces as packed."""
    if undo and not pieces:
        raise MonikerfError("it is not said which pieces", hint="name them after the order: p012")
    with open_shop_ledger(shop) as (_, ledger):
        done = ledger.unpack(order, pieces or ()) if undo else ledger.pack(order, pieces, bag=bag)
        left = [p for p in ledger.pieces(order) if p.state != "packed"]
    if as_json:
        print_json(
            {"changed": [piece_values(p) for p in done], "not_packed": [piece_values(p) for p in left]}
        )
        return
    say = console()
    word = "taken out" if undo else "packed"
    say.print(
        f"{order}: {len(done)} {word}" + (f"; {len(left)} not packed" if left else "; all is packed"),
        markup=False,
    )
    for piece in [] if undo else left[:20]:
        say.print(f"  {piece.id}, {printable(piece.title)}: {piece.state}", markup=False)


def load_values(load: Load) -> dict[str, Any]:
    """A load as plain values."""
    from render.pipeline.loadnames import sheet_files

    return {
        "load": load.id,
        "state": load.state,
        "machine": load.machine,
        "blank": load.blank,
        "material": load.material,
        "file": load.file,
        "files": list(sheet_files(load.file)),
        "sha256": load.sha256,
        "places": [
            {
                "place": p.place,
                "order": p.order,
                "piece": p.piece,
                "text": p.title,
                "result": p.result or None,
            }
            for p in load.places
        ],
    }
