"""Variable fonts: their axes, and fixed instances of them.

An instance has an id of its own, so that whatever takes a font takes one too: the font's id, a colon, and the
axes with their values, such as ``source-serif:opsz=12,wght=600``. It is made by HarfBuzz's subsetter, which
takes some hundredths of a second, and has a content of its own: whatever is measured on it or learned of its
outlines is kept by that content's SHA-256, as for any font.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from render.errors import FontError

if TYPE_CHECKING:
    from render.lettering.shelf import Shelf

OPTICAL: Final = "opsz"
"""The registered axis whose value is the size, in points, that the letters are drawn for (OpenType 1.9)."""

USUAL: Final = "usual"
"""Stands for the value that an axis has by itself."""

AXIS_NAMES: Final = {
    "wght": "weight",
    "wdth": "width",
    "opsz": "optical size",
    "slnt": "slant",
    "ital": "italic",
}
"""The registered axes (OpenType 1.9, "Design-Variation Axis Tag Registry") in words."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a variable font: its tag, its name in words, and its values."""

    tag: str
    name: str
    least: float
    usual: float
    most: float

    def __str__(self) -> str:
        return f"{self.tag} ({self.name}) {self.least:g} to {self.most:g}"


def axes_of(face: Any) -> tuple[Axis, ...]:
    """The axes of a HarfBuzz face, none for a fixed font."""
    if not face.has_var_data:
        return ()
    return tuple(
        Axis(
            info.tag,
            AXIS_NAMES.get(info.tag) or face.get_name(info.name_id) or info.tag,
            info.min_value,
            info.default_value,
            info.max_value,
        )
        for info in face.axis_infos
    )


def split_id(name: str) -> tuple[str, Mapping[str, str]]:
    """A font's own id, and the axes named behind it, as written.

    >>> split_id("source-serif:opsz=12,wght=600")
    ('source-serif', {'opsz': '12', 'wght': '600'})
    """
    base, _, values = name.partition(":")
    pairs = (part.partition("=") for part in values.split(",") if part.strip())
    return base, {tag.strip(): value.strip() for tag, _, value in pairs}


def instance_id(base: str, values: Mapping[str, str]) -> str:
    """The id of an instance: axes in order of their tags; the font's own id where none is named."""
    return f"{base}:{','.join(f'{tag}={values[tag]}' for tag in sorted(values))}" if values else base


def settled(name: str, axes: Sequence[Axis], wanted: Mapping[str, str]) -> dict[str, float]:
    """The value of every axis of the font `name`: those wanted, else the usual one.

    Raises:
        FontError: the font has no such axis, or a value is no number or beyond what the font is drawn for.
    """
    if not axes:
        hint = "Leave font-variation-settings out, or choose a variable font: monikerf show font NAME tells."
        raise FontError(f"the font {name} is drawn in one weight and width only", hint=hint)
    known = {axis.tag: axis for axis in axes}
    values = {axis.tag: axis.usual for axis in axes}
    for tag, text in wanted.items():
        axis = known.get(tag)
        if axis is None:
            listed = "; ".join(map(str, axes))
            raise FontError(f"the font {name} has no axis {tag!r}", hint=f"It has: {listed}.")
        if text == USUAL:
            continue
        values[tag] = _number(text)
        if not axis.least <= values[tag] <= axis.most:
            raise FontError(f"the font {name} cannot be set with {tag} {text}", hint=f"It has {axis}.")
    return values


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def instance(face: Any, values: Mapping[str, float]) -> bytes:
    """The file of a fixed font: a variable one with all its axes at these values.

    Raises:
        FontError: HarfBuzz cannot make it.
    """
    import uharfbuzz as hb

    wanted = hb.SubsetInput()
    wanted.keep_everything()
    pinned = [wanted.pin_axis_location(face, tag, value) for tag, value in values.items()]
    try:
        made = hb.subset(face, wanted) if all(pinned) else None
    except RuntimeError:
        made = None
    if made is None:
        raise FontError("no instance of this variable font can be made", hint="The file may be damaged.")
    return bytes(made.blob.data)


def follows_size(shelf: Shelf, name: str) -> bool:
    """Whether a font has an optical size that nobody has chosen.

    Raises:
        FontError: there is no such font.
    """
    base, values = split_id(name)
    return OPTICAL not in values and any(axis.tag == OPTICAL for axis in shelf.find(base).axes)


def drawn_for(shelf: Shelf, name: str, points: float) -> str:
    """The id of a font's instance drawn for letters of that size, or as near as its axis goes.

    The font's own id where it has no optical size, or where one was chosen.
    """
    base, values = split_id(name)
    axis = next((axis for axis in shelf.find(base).axes if axis.tag == OPTICAL), None)
    if axis is None or OPTICAL in values:
        return name
    return instance_id(base, {**values, OPTICAL: f"{min(max(points, axis.least), axis.most):g}"})
