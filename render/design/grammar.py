"""What a template may hold: tables of elements and attributes, and what is wrong with the others."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from render.design import forms
from render.design.refusal import Refusal, short, suggest
from render.design.shapes import SHAPES

SVG: Final = "http://www.w3.org/2000/svg"
XLINK: Final = "http://www.w3.org/1999/xlink"
XML: Final = "http://www.w3.org/XML/1998/namespace"
OURS: Final = "urn:monikerf:template:1"
"""The namespace of our own attributes, by custom bound to the prefix ``mk``."""

CONTAINERS: Final = frozenset({"svg", "g", "defs"})
UNDRAWN: Final = frozenset({"title", "desc", "metadata"})
LETTERING: Final = frozenset({"text", "tspan", "textPath"})

OUR_ATTRIBUTES: Final[Mapping[str, frozenset[str]]] = {
    "title": frozenset({"svg"}),
    "blank": frozenset({"svg"}),
    "apostrophe": frozenset({"svg"}),
    "sample": frozenset({"svg"}),
    "operation": frozenset({"svg", "g", "text", *SHAPES}),
    "when": frozenset({"g", "text", *SHAPES}),
    "area": frozenset({*SHAPES}),
    "fit-in": frozenset({"text"}),
    "sizing": frozenset({"text"}),
    "stands": frozenset({"text"}),
    "balance": frozenset({"text"}),
    "smallest": frozenset({"text"}),
    "lines": frozenset({"text"}),
    "leading": frozenset({"text"}),
    "tightest": frozenset({"text"}),
    "narrower": frozenset({"text"}),
    "swash": frozenset({"text"}),
    "monogram": frozenset({"text"}),
    "frame": frozenset({"text"}),
    "name-font": frozenset({"text"}),
    "envelope": frozenset({"text"}),
    "bend": frozenset({"text"}),
    "raised-from": frozenset({"text"}),
    "shoulder": frozenset({"text"}),
    "mirror": frozenset({"svg"}),
    "hangs": frozenset({"text"}),
    "closes": frozenset({"text"}),
    "curve-spacing": frozenset({"text"}),
    "arc": frozenset({"line"}),
    "wave": frozenset({"line"}),
    "spiral": frozenset({"circle"}),
    "side": frozenset({"text", *SHAPES}),
    "follows": frozenset({*SHAPES}),
    "level-with": frozenset({*SHAPES}),
    "neck": frozenset({"text"}),
    "closer": frozenset({"text"}),
    "thicken": frozenset({"text"}),
    "bridges": frozenset({"text"}),
    "stakes": frozenset({"text"}),
    "stakes-in": frozenset({"text"}),
    "stake-width": frozenset({"text"}),
    "free-standing": frozenset({"text"}),
    "play": frozenset({"text"}),
    "halo": frozenset({"text"}),
}
"""Our attributes, and the elements that may bear each."""

_REFUSED_ELEMENTS: Final[Mapping[str, tuple[str, str]]] = {
    "script": ("scripts are not allowed in templates", "Remove it."),
    "foreignObject": ("foreign content is not allowed in templates", "Remove it."),
    "image": ("pictures are not allowed in templates", "Trace it to paths in the vector editor."),
    "use": ("clones (<use>) are not allowed in templates", "Unlink the clone, so that it becomes a shape."),
    "symbol": ("symbols are not allowed in templates", "Turn it into a plain group of shapes."),
    "style": ("style sheets are not allowed in templates", "Let each element bear its own attributes."),
    "a": ("links are not allowed in templates", "Ungroup the link and keep what is in it."),
    "switch": ("alternatives (<switch>) are not allowed in templates", "Keep one of them."),
    "tref": ("borrowed text is not allowed in templates", "Write the text itself."),
}

_REFUSED_PROPERTIES: Final[Mapping[str, tuple[str, str]]] = {
    "clip-path": ("is clipped, which a beam does not see", "Cut the shape itself in the vector editor."),
    "mask": ("is masked, which a beam does not see", "Cut the shape itself in the vector editor."),
    "filter": ("has a filter, which a beam cannot make", "Remove the filter."),
    "stroke-dasharray": ("is dashed, but the beam follows a whole line", "Draw the dashes as lines."),
    "marker-start": ("has markers, which are not drawn", "Draw them as shapes."),
    "marker-mid": ("has markers, which are not drawn", "Draw them as shapes."),
    "marker-end": ("has markers, which are not drawn", "Draw them as shapes."),
}

_REFUSED_ATTRIBUTES: Final[Mapping[str, tuple[str, str]]] = {
    **dict.fromkeys(
        ("dx", "dy", "rotate", "textLength", "lengthAdjust"),
        ("moves or squeezes letters by hand", "Remove it: letters are placed by their font, and by the fit."),
    ),
    "src": ("names a file, and templates may not", "Remove it."),
}

PROPERTIES: Final = frozenset(
    {
        "display",
        "visibility",
        "fill",
        "stroke",
        "fill-rule",
        "font-family",
        "font-size",
        "letter-spacing",
        "text-anchor",
        "writing-mode",
        "text-orientation",
        "direction",
        "unicode-bidi",
        *forms.PROPERTIES,
    }
)
"""Style properties that change what is made; the others are for the editor's eye and are not read."""

_UNSAFE: Final = re.compile(r"url\s*\(|@|\\|expression\s*\(", re.IGNORECASE)
_HARMLESS: Final = ("", "none", "normal", "horizontal-tb", "lr", "lr-tb")


def check_element(tag: str) -> None:
    """Hold an SVG element's name against what may stand in a template.

    Raises:
        Refusal: it may not.
    """
    if tag in _REFUSED_ELEMENTS:
        raise Refusal(*_REFUSED_ELEMENTS[tag])
    known = sorted(CONTAINERS | UNDRAWN | LETTERING | frozenset(SHAPES))
    if tag not in known:
        raise Refusal(f"<{tag}> is not something a template can hold", suggest(tag, known))


def check_attributes(tag: str, attributes: Mapping[str, str]) -> None:
    """Hold all attributes of an element (names as ``{namespace}local``) against what it may bear.

    Raises:
        Refusal: one of them is not allowed, or is not one of ours though it is in our namespace.
    """
    for key, value in attributes.items():
        space, _, name = key[1:].rpartition("}") if key.startswith("{") else ("", "", key)
        if space == OURS:
            _check_ours(tag, name)
        elif space.startswith("urn:monikerf:"):
            raise Refusal(f"its attribute {name} belongs to {space}", f"This Monikerf reads {OURS}.")
        elif name == "href" and space in ("", XLINK):
            if tag != "textPath" or not value.strip().startswith("#"):
                hint = "Only a textPath may refer to anything, and only to a shape of the same file."
                raise Refusal(f"it refers to {short(value)}, and templates may not", hint)
        elif space == XML and name == "base":
            raise Refusal("xml:base is not allowed in templates", "Remove it.")
        elif not space:
            _check_plain(name, value)


def _check_ours(tag: str, name: str) -> None:
    if name not in OUR_ATTRIBUTES:
        raise Refusal(f"there is no attribute mk:{name}", suggest(name, OUR_ATTRIBUTES))
    if tag not in OUR_ATTRIBUTES[name]:
        where = ", ".join(f"<{t}>" for t in sorted(OUR_ATTRIBUTES[name]))
        raise Refusal(f"mk:{name} has no meaning on <{tag}>", f"It belongs on {where}.")


def _check_plain(name: str, value: str) -> None:
    if name.lower().startswith("on"):
        raise Refusal(f"{name} would run a script, and templates may not", "Remove it.")
    if name in _REFUSED_ATTRIBUTES:
        what, hint = _REFUSED_ATTRIBUTES[name]
        raise Refusal(f"{name} {what}", hint)
    if name != "d" and name != "points" and _UNSAFE.search(value):
        hint = "Use plain colours and values; templates may not refer to anything outside themselves."
        raise Refusal(f"{name} is {short(value)}", hint)


def properties(attributes: Mapping[str, str]) -> dict[str, str]:
    """The style properties of an element; those in ``style`` win over attributes of the same name (CSS).

    Raises:
        Refusal: a property would be seen in an editor but not be made.
    """
    found = {key: value.strip() for key, value in attributes.items() if not key.startswith("{")}
    for declaration in attributes.get("style", "").split(";"):
        name, colon, value = declaration.partition(":")
        if colon:
            found[name.strip().lower()] = value.removesuffix("!important").strip()
    for name, (what, hint) in _REFUSED_PROPERTIES.items():
        if found.get(name, "") not in _HARMLESS:
            raise Refusal(f"it {what}", hint)
    return {name: value for name, value in found.items() if name in PROPERTIES}
