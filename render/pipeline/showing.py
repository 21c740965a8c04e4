"""Pictures of the fonts, templates, blanks and machines there are, drawn as the pieces would be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from render.design import load_template
from render.geometry import shapes
from render.model import (
    Artwork,
    Blank,
    Hold,
    Machine,
    Mark,
    Material,
    Operation,
    Order,
    Piece,
    SetLine,
    Setting,
)
from render.pipeline.artworks import letter_order
from render.pipeline.proofs import Captions
from render.pipeline.seeing import seen_thing
from render.proof.gallery import Specimen, Tile, gallery, specimen
from render.units import format_mm

if TYPE_CHECKING:
    from render.lettering.shelf import Entry
    from render.pipeline.workshop import Workshop

SAMPLE: Final = "Marguerite & Søren"
_SAMPLES: Final = {
    "Hebr": "מרגלית ושלום",
    "Arab": "مريم وسالم",
    "Deva": "मीरा और अर्जुन",
    "Thai": "มาลีและสมชาย",
    "Armn": "Անահիտ և Արամ",
    "Geor": "ნინო და გიორგი",
    "Beng": "মীরা ও অর্জুন",
    "Taml": "மீராவும் அருணும்",
}
"""Samples for fonts that are there for the sake of another script than Latin (invented names)."""


def picture_of_fonts(workshop: Workshop, text: str = "") -> bytes:
    """A specimen of every font on the shelf and every single-stroke hand, as SVG."""
    from render.lettering.single_stroke import HANDS

    letterer = workshop.letterer()
    rows = []
    for id_ in letterer.shelf.ids():
        entry = letterer.shelf.entry(id_)
        sample = text or sample_for(entry)
        line = letterer.line(sample, Setting(id_))
        (path,) = letterer.outlines([(SetLine(line, 1.0, 0j),)])
        note = "lacks " + " ".join(line.missing) if line.missing else entry.use
        rows.append(Specimen(id_, note, path, line.cap_height or 0.7))
    for id_, about in HANDS.items():
        line = letterer.line(text or SAMPLE, Setting(id_))
        (path,) = letterer.outlines([(SetLine(line, 1.0, 0j),)])
        rows.append(Specimen(id_, f"{about.title}; single strokes", path, line.cap_height, line=True))
    return specimen(rows, Captions(letterer), title="Fonts")


def sample_for(entry: Entry) -> str:
    """What a font is shown with where nobody said: a couple of invented names in its script."""
    own = () if "Cyrl" in entry.scripts else entry.scripts
    return next((_SAMPLES[script] for script in own if script in _SAMPLES), SAMPLE)


def picture_of_templates(workshop: Workshop) -> bytes:
    """Every template with its sample on its blank, as SVG."""
    from render.design import list_templates

    letterer = workshop.letterer()
    tiles = []
    for id_, file in list_templates(workshop.templates).items():
        template = load_template(file)
        job = workshop.job(id_)
        order = Order(id_, (Piece("p002", 2, template.sample or {"name": SAMPLE}),))
        lettered = letter_order(order, job, letterer, workshop, 1, lambda *_: None)
        artwork = lettered.seen[0] if lettered.seen else Artwork("", "", ())
        tiles.append(Tile(id_, template.description or template.title, *seen_thing(job), artwork))
    return gallery(tiles, Captions(letterer), title="Templates")


def picture_of_blanks(workshop: Workshop) -> bytes:
    """Every blank, unmarked, with the area that may be marked, as SVG."""
    library = workshop.library
    tiles = []
    for blank in library.blanks():
        material = library.material(blank.material)
        box = blank.outline.bounds()
        note = f"{blank.title}: {format_mm(box.width, 1)} × {format_mm(box.height, 1)} mm, {material.title}"
        area = Artwork("", "", (Mark(Operation.SCORE, blank.markable),))
        tiles.append(Tile(blank.id, f"{note}; the line bounds what may be marked", blank, material, area))
    return gallery(tiles, Captions(workshop.letterer()), title="Blanks")


def picture_of_machines(workshop: Workshop) -> bytes:
    """The bed of every machine, drawn with a sheet of A4 paper on it for comparison, as SVG."""
    tiles = [_machine_tile(machine) for machine in workshop.library.machines()]
    return gallery(tiles, Captions(workshop.letterer()), title="Machines")


_BED: Final = Material("bed", "bed", "#DAD6CC", "#3B3A36", 0, 0)


def _machine_tile(machine: Machine) -> Tile:
    width, height = machine.bed
    bed = shapes.rectangle(0, 0, width, height, 4)
    blank = Blank("bed", machine.title, bed, (), (), bed, "bed", 0, Hold.JIG)
    a4 = (
        shapes.rectangle(0, 0, 297, 210)
        if width >= 297 and height >= 210
        else shapes.rectangle(0, 0, 105, 74)
    )
    name = "A4" if width >= 297 and height >= 210 else "A7"
    note = f"{machine.title}; bed {width:g} × {height:g} mm, {machine.light}; the line is a sheet of {name}"
    return Tile(machine.id, note, blank, _BED, Artwork("", "", (Mark(Operation.SCORE, a4),)))
