"""All about one font: its forms of letters drawn with their codes, its axes, alphabets and smallest sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from render.model import SetLine, Setting
from render.pipeline.proofs import Captions
from render.pipeline.showing import SAMPLE, sample_for
from render.proof.forms import Form, draw_forms
from render.units import format_mm

if TYPE_CHECKING:
    from render.lettering import Letterer
    from render.lettering.axes import Axis
    from render.pipeline.workshop import Workshop


@dataclass(frozen=True, slots=True)
class Way:
    """One way in which the font sets the sample.

    Attributes:
        codes: to ask for it by; empty for the plain way. Those of an axis hold a ``=`` and a value.
        title: in words.
        text: what it is shown with.
        setting: how that is set.
    """

    codes: tuple[str, ...]
    title: str
    text: str
    setting: Setting


@dataclass(frozen=True, slots=True)
class Smallest:
    """The smallest size at which a font's thin strokes hold on some materials.

    Attributes:
        stroke: the thinnest stroke that they hold, mm.
        capitals, em: height of capitals, and size, from which the font's thinnest stroke is that wide, mm.
        materials: their titles.
    """

    stroke: float
    capitals: float
    em: float
    materials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FontCard:
    """What there is to know of one font.

    Attributes:
        hand: whether its letters come as single strokes.
        thinnest: thinnest stroke as a share of the capitals' height; 0 for a hand.
        ways: in which it sets the sample, the plain one first.
        others: features that change nothing in the sample.
        axes: of a variable font.
        alphabets: that it has, in words.
    """

    id: str
    title: str
    use: str
    licence: str
    joins: bool
    hand: bool
    thinnest: float
    ways: tuple[Way, ...]
    others: tuple[str, ...]
    axes: tuple[Axis, ...]
    alphabets: str
    smallest: tuple[Smallest, ...]

    def values(self) -> dict[str, Any]:
        """It all, as plain values."""
        return {
            "id": self.id,
            "title": self.title,
            "use": self.use,
            "licence": self.licence,
            "joins": self.joins,
            "single_strokes": self.hand,
            "thinnest_share_of_capitals": round(self.thinnest, 4),
            "alphabets": self.alphabets,
            "forms": [{"codes": list(way.codes), "title": way.title, "text": way.text} for way in self.ways],
            "other_features": list(self.others),
            "axes": [
                {"tag": a.tag, "name": a.name, "least": a.least, "usual": a.usual, "most": a.most}
                for a in self.axes
            ],
            "smallest": [
                {
                    "stroke_mm": each.stroke,
                    "capitals_mm": round(each.capitals, 2),
                    "em_mm": round(each.em, 2),
                    "materials": list(each.materials),
                }
                for each in self.smallest
            ],
        }


def font_card(
    workshop: Workshop, letterer: Letterer, name: str, sample: str = "", language: str = ""
) -> FontCard:
    """Find out all about a font, or an instance of one, or a single-stroke hand.

    Args:
        workshop: its materials say how thin a stroke may be.
        letterer: measures.
        name: id or family.
        sample: what its forms are shown with; if empty each feature is shown with the letters it changes.
        language: BCP 47 tag of the sample.

    Raises:
        FontError: there is no such font.
    """
    if letterer.single_stroke(name):
        return _hand_card(letterer, name, sample)
    from render.lettering.alternates import alternates, letters_changed, not_shown
    from render.lettering.catalogue import alphabets_of

    shelf = letterer.shelf
    font, entry = shelf.find(name), shelf.entry(name)
    shown = sample or sample_for(entry)
    some = alternates(font, shown, language)
    if not sample:
        some = (some[0], *letters_changed(font))
    ways = [
        Way(each.codes, each.title, each.text, Setting(font.id, language, each.features)) for each in some
    ]
    line = letterer.line("H", Setting(font.id))
    return FontCard(
        font.id,
        f"{font.family} {font.style}".strip(),
        entry.use,
        entry.licence,
        letterer.joined(font.id),
        hand=False,
        thinnest=line.thinnest / line.cap_height,
        ways=(*ways, *_axis_ways(font.id, font.axes, shown, language)),
        others=not_shown(font, some),
        axes=font.axes,
        alphabets=alphabets_of(font),
        smallest=_smallest(workshop, line.thinnest, line.cap_height),
    )


def _hand_card(letterer: Letterer, name: str, sample: str) -> FontCard:
    from render.lettering.catalogue import ALPHABETS
    from render.lettering.single_stroke import HANDS

    plain = Setting(name)
    alphabets = (a for a, letters in ALPHABETS.items() if not letterer.line(letters, plain).missing)
    way, about = Way((), "as it is", sample or SAMPLE, plain), HANDS[name]
    return FontCard(
        name, about.title, "single strokes, for scoring", "", about.joined, hand=True, thinnest=0.0,
        ways=(way,), others=(), axes=(), alphabets=", ".join(alphabets), smallest=(),
    )  # fmt: skip


def _axis_ways(name: str, axes: tuple[Axis, ...], sample: str, language: str) -> list[Way]:
    """Each axis at its ends."""
    from render.lettering.axes import instance_id

    return [
        Way((f"{axis.tag}={value:g}",), f"{axis.name} {word}", sample,
            Setting(instance_id(name, {axis.tag: f"{value:g}"}), language))
        for axis in axes
        for value, word in ((axis.least, "at its least"), (axis.most, "at its most"))
        if value != axis.usual
    ]  # fmt: skip


def _smallest(workshop: Workshop, thinnest: float, cap_height: float) -> tuple[Smallest, ...]:
    """The smallest sizes, by the stroke that materials hold; those with a strong warning are left out."""
    by_stroke: dict[float, list[str]] = {}
    for material in workshop.library.materials():
        if material.smallest_stroke and not material.refuse and not material.warning:
            by_stroke.setdefault(material.smallest_stroke, []).append(material.title)
    return tuple(
        Smallest(stroke, stroke * cap_height / thinnest, stroke / thinnest, tuple(titles))
        for stroke, titles in sorted(by_stroke.items())
        if thinnest
    )


def picture_of_font(card: FontCard, letterer: Letterer) -> bytes:
    """The card's forms, drawn, as SVG."""
    settings = [letterer.line(way.text, way.setting) for way in card.ways]
    paths = letterer.outlines([(SetLine(line, 1.0, 0j),) for line in settings])
    cap_height = settings[0].cap_height or 0.7
    forms = [
        Form(", ".join(way.codes) or "plain", way.title, path, cap_height, line=card.hand)
        for way, path in zip(card.ways, paths, strict=True)
    ]
    facts = ["; ".join(filter(None, (card.use, card.alphabets)))]
    facts += [f"axes: {'; '.join(map(str, card.axes))}"] if card.axes else []
    if card.smallest:
        sizes = (f"{format_mm(e.stroke, 2)} mm: {format_mm(e.capitals, 1)} mm" for e in card.smallest)
        facts.append(f"Height of capitals needed where a material holds strokes of {'; '.join(sizes)}")
    return draw_forms(forms, Captions(letterer), title=f"{card.title}  ({card.id})", facts=facts)
