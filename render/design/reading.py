"""A template's file in, an XML tree out: bounded in size, nothing fetched, nothing expanded."""

from __future__ import annotations

import pyexpat
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import TemplateError

if TYPE_CHECKING:
    from lxml.etree import _Element

MOST_BYTES: Final = 1_000_000
MOST_ELEMENTS: Final = 5_000
MOST_DEPTH: Final = 48


def read_tree(path: Path) -> _Element:
    """The root element of an XML file that is safe to walk.

    The file is first run through expat, which stops at the first sign of a declaration of entities or of too
    much; only then is a tree built (lxml, entities unresolved, no network, no DTD).

    Raises:
        TemplateError: the file cannot be read, is too large, is not XML, or declares what templates may not.
    """
    data = _read_bytes(path)
    _survey(path, data)
    from lxml import etree

    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        huge_tree=False,
        load_dtd=False,
        dtd_validation=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        return etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise _not_xml(path, str(error)) from error


def _read_bytes(path: Path) -> bytes:
    if path.is_dir():
        hint = "Name the template's SVG file."
        raise TemplateError("this is a folder, not a template", hint=hint, place=str(path))
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        hint = "`monikerf show templates` lists those there are."
        raise TemplateError("there is no such template file", hint=hint, place=str(path)) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        hint = "See that the file may be read."
        raise TemplateError(f"the file cannot be read: {reason}", hint=hint, place=str(path)) from error
    if len(data) > MOST_BYTES:
        hint = "Simplify its paths, and take out pictures and unused definitions."
        message = f"the file is larger than {MOST_BYTES // 1_000_000} MB"
        raise TemplateError(message, hint=hint, place=path.name)
    return data


def _not_xml(path: Path, reason: str, line: int = 0) -> TemplateError:
    place = f"{path.name}, line {line}" if line else path.name
    hint = "Save the drawing as plain SVG from a vector editor."
    return TemplateError(f"this is not an SVG file: {reason}", hint=hint, place=place)


class _Survey:
    """Expat handlers that stop at the first thing no template needs."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.depth = 0
        self.elements = 0
        self.parser = pyexpat.ParserCreate()
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.StartDoctypeDeclHandler = self.doctype
        self.parser.EntityDeclHandler = self.entity

    def stop(self, message: str, hint: str) -> None:
        place = f"{self.name}, line {self.parser.CurrentLineNumber}"
        raise TemplateError(message, hint=hint, place=place)

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        del tag, attributes
        self.depth += 1
        self.elements += 1
        if self.depth > MOST_DEPTH:
            self.stop(f"groups are nested more than {MOST_DEPTH} deep", "Ungroup the drawing.")
        if self.elements > MOST_ELEMENTS:
            self.stop(f"the drawing has more than {MOST_ELEMENTS:,} elements", "Join its shapes.")

    def end(self, tag: str) -> None:
        del tag
        self.depth -= 1

    def doctype(self, name: str, system: str | None, public: str | None, internal: int) -> None:
        del name, system, public
        if internal:
            self.entity()

    def entity(self, *declared: object) -> None:
        del declared
        hint = "Remove everything between <!DOCTYPE and its closing >."
        self.stop("the file declares entities or defaults in a DOCTYPE, which templates may not", hint)


def _survey(path: Path, data: bytes) -> None:
    survey = _Survey(path.name)
    try:
        survey.parser.Parse(data, True)
    except pyexpat.ExpatError as error:
        raise _not_xml(path, pyexpat.ErrorString(error.code), error.lineno) from error
    except (LookupError, ValueError) as error:  # an encoding that is unknown or has several bytes a character
        raise _not_xml(path, str(error)) from error
