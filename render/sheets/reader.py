"""A written sheet file, read back: its size, its groups and their paths, and nothing it may not hold."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from render.sheets.pathpool import Pool, UnreadableError, read_paths

if TYPE_CHECKING:
    from lxml.etree import _Element

_SVG: Final = "{http://www.w3.org/2000/svg}"
_LOOK: Final = frozenset({"fill", "fill-rule", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin"})
_MAY_HAVE: Final[Mapping[str, frozenset[str]]] = {
    "svg": frozenset({"version", "width", "height", "viewBox"}),
    "g": _LOOK | {"id"},
    "path": _LOOK | {"d"},
    "title": frozenset(),
    "desc": frozenset(),
}
"""The elements that a sheet file may hold, and their attributes: SVG 1.1 without transforms, styles, text,
clips, images, scripts or links."""
_PLAIN_START: Final = re.compile(rb"(<\?xml version=.1\.0.( encoding=.(?i:utf-8).)?\?>)?\s*<(?!\?)")
_MAY_HOLD: Final = {
    "svg": ("g", "title", "desc"),
    "g": ("g", "path", "title", "desc"),
}


@dataclass(frozen=True, slots=True)
class Group:
    """One piece in one operation.

    Attributes:
        operation: id of the group of the operation it lies in.
        paths: the range of its paths in the pool.
        looks: for each of its paths fill, stroke and fill rule, as inherited.
    """

    operation: str
    id: str
    title: str
    paths: range
    looks: frozenset[tuple[str, str, str]]


@dataclass(frozen=True, slots=True)
class SheetFile:
    """What a file says: `attributes` of its root, its words, the operations' ids in order, groups and paths.

    Attributes:
        titles, descriptions: of the root, one of each as a rule.
    """

    attributes: Mapping[str, str]
    titles: tuple[str, ...]
    descriptions: tuple[str, ...]
    operations: tuple[str, ...]
    groups: tuple[Group, ...]
    data: tuple[str, ...]
    pool: Pool


def read_sheet(data: bytes) -> SheetFile:
    """Read a sheet file.

    Raises:
        UnreadableError: it is not XML, or holds what a sheet file may not hold.
    """
    from lxml import etree

    if not _PLAIN_START.match(data) or b"\0" in data or data.count(b"<?") > 1:
        raise UnreadableError("the file does not begin as XML in UTF-8, or holds a processing instruction")
    if b"<!" in data.replace(b"<!--", b""):
        raise UnreadableError("the file holds a document type, an entity or raw character data")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=True)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise UnreadableError(f"the file is not well-formed XML: {error.msg}") from error
    if root.tag != _SVG + "svg":
        raise UnreadableError("the file is not an SVG file")
    _allowed(root)
    operations: list[str] = []
    groups: list[Group] = []
    paths: list[str] = []
    words: dict[str, list[str]] = {"title": [], "desc": []}
    for outer in _children(root):
        if outer.tag == _SVG + "g":
            operations.append(outer.get("id", ""))
            groups += [_group(outer, inner, paths) for inner in _inner_groups(outer)]
        else:
            words[str(outer.tag).removeprefix(_SVG)].append(outer.text or "")
    attributes = {str(k): str(v) for k, v in root.attrib.items()}
    said = (tuple(words["title"]), tuple(words["desc"]))
    return SheetFile(attributes, *said, tuple(operations), tuple(groups), tuple(paths), read_paths(paths))


def _children(element: _Element) -> Iterator[_Element]:
    """Child elements, each checked against what may be held here."""
    from lxml import etree

    name = str(element.tag).removeprefix(_SVG)
    for child in element:
        if isinstance(child, etree._Comment):
            continue
        if child.tag.removeprefix(_SVG) not in _MAY_HOLD.get(name, ()) or not child.tag.startswith(_SVG):
            raise UnreadableError(
                f"<{name}> holds <{child.tag.removeprefix(_SVG)}>, which a sheet may not hold"
            )
        _allowed(child)
        yield child


def _allowed(element: _Element) -> None:
    """Only attributes of the list; loose text only where it is a title."""
    name = str(element.tag).removeprefix(_SVG)
    for attribute in element.attrib:
        if attribute not in _MAY_HAVE[name]:
            raise UnreadableError(f"<{name}> has the attribute {attribute!s}, which a sheet may not have")
    loose = (element.tail or "").strip()
    if name not in ("title", "desc"):
        loose += (element.text or "").strip()
    elif len(element):
        raise UnreadableError(f"<{name}> holds more than text")
    if loose:
        raise UnreadableError(f"loose text beside <{name}>: {loose[:20]!r}")


def _inner_groups(outer: _Element) -> Iterator[_Element]:
    for inner in _children(outer):
        if inner.tag == _SVG + "path":
            raise UnreadableError("a path lies outside every piece's group")
        if inner.tag == _SVG + "g":
            yield inner


def _group(outer: _Element, inner: _Element, paths: list[str]) -> Group:
    """Read one piece's group; its path data are added to `paths`."""
    begin, looks, chain = len(paths), set(), (outer, inner)
    for child in _children(inner):
        if child.tag == _SVG + "g":
            raise UnreadableError("a group lies inside a piece's group")
        if child.tag == _SVG + "path":
            if len(child):
                raise UnreadableError("a path holds something")
            looks.add(_look((*chain, child)))
            paths.append(child.get("d", ""))
    ids = (outer.get("id", ""), inner.get("id", ""))
    return Group(*ids, _title(inner), range(begin, len(paths)), frozenset(looks))


def _look(chain: tuple[_Element, ...]) -> tuple[str, str, str]:
    """Fill, stroke and fill rule at the end of a chain of elements (SVG 1.1: all three are inherited)."""
    found = {"fill": "black", "stroke": "none", "fill-rule": "nonzero"}
    for element in chain:
        for name in found:
            found[name] = str(element.get(name, found[name]))
    return found["fill"], found["stroke"], found["fill-rule"]


def _title(element: _Element) -> str:
    child = element.find(_SVG + "title")
    return "" if child is None else child.text or ""
