"""`monikerf show`: what there is to choose from, as a list, as JSON or as a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from render.cli.options import AsJson, Shop
from render.cli.tell import console, print_json
from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.pipeline import Workshop
    from render.pipeline.fontcard import FontCard

app = typer.Typer(
    help="List fonts, templates, blanks, machines, materials or stock, with a picture on request.",
    no_args_is_help=True,
)


def _picture_name(picture: Path | None) -> Path | None:
    """The picture's name, if it says which kind of picture is wanted.

    Raises:
        MonikerfError: it does not.
    """
    if picture is not None and picture.suffix.lower() not in (".png", ".svg"):
        stem = picture.stem or "picture"
        hint = f"name it {stem}.png or {stem}.svg"
        raise MonikerfError(f"a picture is PNG or SVG, and {picture.name} is neither", hint=hint)
    return picture


Picture = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE.png", callback=_picture_name, help="Draw them into this picture as well (PNG or SVG)."
    ),
]
Row = Mapping[str, Any]


@app.command()
def fonts(
    text: Annotated[str, typer.Option("--sample", help="What the picture shows; else a name.")] = "",
    picture: Picture = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """The fonts, what each is good for, and the capital height from which its thin strokes are 0.3 mm."""
    from render.pipeline import Workshop
    from render.pipeline.showing import picture_of_fonts

    workshop = Workshop.open(shop)
    _draw(picture, lambda: picture_of_fonts(workshop, text))
    show_rows(_font_rows(workshop), as_json, picture)


@app.command()
def font(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="Its id or family; monikerf show fonts lists them.")
    ],
    text: Annotated[
        str, typer.Option("--sample", help="A name to show all its forms with; else single letters.")
    ] = "",
    language: Annotated[str, typer.Option("--language", help="Of the sample, such as tr or sr.")] = "",
    picture: Picture = None,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """All about one font: the forms of its letters with codes, its alphabets, axes and smallest sizes."""
    from render.pipeline import Workshop
    from render.pipeline.fontcard import font_card, picture_of_font

    workshop = Workshop.open(shop)
    letterer = workshop.letterer()
    card = font_card(workshop, letterer, name, text, language)
    _draw(picture, lambda: picture_of_font(card, letterer))
    letterer.keep()
    if as_json:
        print_json(card.values())
        return
    _tell_card(card)
    _tell_picture(picture)


@app.command()
def templates(picture: Picture = None, shop: Shop = None, as_json: AsJson = False) -> None:
    """The templates, the thing each is drawn for, and the fields it uses."""
    from render.design import list_templates, load_template
    from render.pipeline import Workshop
    from render.pipeline.showing import picture_of_templates

    workshop = Workshop.open(shop)
    loaded = [load_template(file) for file in list_templates(workshop.templates).values()]
    rows = [
        {"id": t.id, "title": t.title, "blank": t.blank, "needs": ", ".join(t.fields),
         "may use": ", ".join(t.optional_fields)}
        for t in loaded
    ]  # fmt: skip
    _draw(picture, lambda: picture_of_templates(workshop))
    show_rows(rows, as_json, picture)


@app.command()
def blanks(picture: Picture = None, shop: Shop = None, as_json: AsJson = False) -> None:
    """The things that can be marked: size, material, and how each is held."""
    from render.pipeline import Workshop
    from render.pipeline.showing import picture_of_blanks

    workshop = Workshop.open(shop)
    rows = []
    for blank in workshop.library.blanks():
        box = blank.outline.bounds()
        size = f"{box.width:g} × {box.height:g}"
        rows.append({"id": blank.id, "title": blank.title, "mm": size, "material": blank.material,
                     "held": str(blank.hold)})  # fmt: skip
    _draw(picture, lambda: picture_of_blanks(workshop))
    show_rows(rows, as_json, picture)


@app.command()
def machines(picture: Picture = None, shop: Shop = None, as_json: AsJson = False) -> None:
    """The machines: bed, light, spot and rotary."""
    from render.pipeline import Workshop
    from render.pipeline.showing import picture_of_machines

    workshop = Workshop.open(shop)
    rows = [
        {"id": m.id, "title": m.title, "bed mm": f"{m.bed[0]:g} × {m.bed[1]:g}", "light": m.light,
         "spot mm": f"{m.spot:g}", "rotary": str(m.rotary.kind) if m.rotary else ""}
        for m in workshop.library.machines()
    ]  # fmt: skip
    _draw(picture, lambda: picture_of_machines(workshop))
    show_rows(rows, as_json, picture)


@app.command()
def materials(shop: Shop = None, as_json: AsJson = False) -> None:
    """The materials: what each light source does, marking / cutting (common practice); what must not burn."""
    from render.pipeline import Workshop

    library = Workshop.open(shop).library
    lights = library.ids("lights")
    rows = []
    for material in library.materials():
        row = {"id": material.id, "title": material.title}
        for light in lights:
            rule = material.lights.get(light)
            row[light] = f"{rule.mark} / {rule.cut}" if rule else ""
        warned = "strong warning" if material.warning else ""
        row["mind"] = f"REFUSED: {material.refuse}" if material.refuse else warned
        rows.append(row)
    show_rows(rows, as_json)


@app.command()
def stock(shop: Shop = None, as_json: AsJson = False) -> None:
    """The sheets of stock and the offcuts: size, material, how many, and what of each is clear."""
    from render.pipeline import Workshop
    from render.pipeline.stocktell import stock_rows

    rows = stock_rows(Workshop.open(shop).library)
    show_rows(rows, as_json)
    if not rows and not as_json:
        console().print(
            "No sheets yet: each is a file in library/stock of your shop folder; offcuts come by."
        )


def _font_rows(workshop: Workshop) -> list[Row]:
    from render.lettering.single_stroke import HANDS
    from render.model import Setting

    letterer = workshop.letterer()
    rows: list[Row] = []
    for id_ in letterer.shelf.ids():
        entry, line = letterer.shelf.entry(id_), letterer.line("H", Setting(id_))
        safe = 0.3 * line.cap_height / line.thinnest if line.thinnest else 0.0
        rows.append({"id": id_, "use": entry.use, "licence": entry.licence, "joins": letterer.joined(id_),
                     "0.3 mm at capitals of": f"{safe:.1f} mm" if safe else ""})  # fmt: skip
    for id_, about in HANDS.items():
        rows.append({"id": id_, "use": f"single strokes, for scoring: {about.title}", "licence": "",
                     "joins": about.joined, "0.3 mm at capitals of": ""})  # fmt: skip
    return rows


def _tell_card(card: FontCard) -> None:
    out = console()
    out.print(f"[bold]{card.id}[/]  {card.title}: {card.use}{', joins its letters' if card.joins else ''}")
    facts = {
        "licence": card.licence,
        "alphabets": card.alphabets,
        "axes": "; ".join(map(str, card.axes)),
    }
    for what, value in facts.items():
        if value:
            out.print(f"{what}: {value}", markup=False)
    if card.thinnest:
        out.print(f"thinnest stroke: {card.thinnest:.1%} of the height of capitals".replace("%", " %"))
    for each in card.smallest:
        out.print(
            f"  holds from capitals of {each.capitals:.1f} mm (size {each.em:.1f} mm) where "
            f"{each.stroke:g} mm is the least: {', '.join(each.materials)}",
            markup=False,
        )
    if card.smallest:
        out.print("  (the materials' limits are common practice: try it on scrap first)", markup=False)
    if len(card.ways) > 1:
        out.print("forms, by code:")
    for way in card.ways[1:]:
        out.print(f"  {', '.join(way.codes):<16} {way.title}: {way.text}", markup=False)
    if card.others:
        out.print(f"further features, without effect here: {', '.join(card.others)}", markup=False)


def show_rows(rows: Sequence[Row], as_json: bool, picture: Path | None = None) -> None:
    """Rows as a table for people, and which picture shows them; or as JSON."""
    if as_json:
        print_json(list(rows))
        return
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in rows[0] if rows else ():
        table.add_column(heading, overflow="fold")
    for row in rows:
        table.add_row(*(("yes" if v else "") if isinstance(v, bool) else str(v) for v in row.values()))
    console().print(table, soft_wrap=False)
    _tell_picture(picture)


def _draw(picture: Path | None, draw: Any) -> None:
    """Draw what was asked for, before anything is told: if that fails, it is the answer."""
    if picture is None:
        return
    from render.writers.files import ready_folder, write_atomically
    from render.writers.png import render_png

    ready_folder(picture.parent)
    svg = draw()
    write_atomically(picture, svg if picture.suffix.lower() == ".svg" else render_png(svg, width_px=2000).png)


def _tell_picture(picture: Path | None) -> None:
    if picture is not None:
        console().print(f"picture: {picture}", markup=False)
