"""One font file: opened, checked and measured.

Only what the file itself says is read here, by HarfBuzz and a few fixed offsets of the OpenType specification
1.9 (chapters "Font file", "OS/2", "GSUB"); what we know about it beyond that stands on the shelf.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from render.errors import FontError
from render.lettering.axes import Axis, axes_of
from render.lettering.collection import SIGNATURE, one_of
from render.lettering.scripts import has_marks, uncovered

NOT_FONTS: Final = (
    (b"wOFF", "is a web font (WOFF)", "Convert it to TTF or OTF, or take the TTF its maker offers."),
    (b"wOF2", "is a web font (WOFF2)", "Convert it to TTF or OTF, or take the TTF its maker offers."),
    (b"%!PS", "is a PostScript Type 1 font", "Use the TTF or OTF version of this font."),
    (b"\x80\x01", "is a PostScript Type 1 font", "Use the TTF or OTF version of this font."),
    (b"PK\x03\x04", "is a zip archive, not a font", "Unpack it and use the TTF or OTF inside."),
    (b"<", "is a web page or drawing, not a font", "The download may have gone wrong; fetch the font again."),
    (b"STARTFONT", "has only pictures of its letters", "Use a font with outlines (TTF or OTF)."),
)
"""First bytes of files that people take for fonts, what they are and what to do."""

_SFNT: Final = (b"\0\1\0\0", b"OTTO", b"true", SIGNATURE)
_OUTLINES: Final = ("glyf", "CFF ", "CFF2")
_BITMAPS: Final = ("EBDT", "CBDT", "bdat", "sbix")
_CAPITALS: Final = "HНΗהاकก가国"
"""Letters whose height stands for the height of capitals, first covered one: H, or its like elsewhere."""

_RESTRICTED, _BITMAP_ONLY = 0x0002, 0x0200
_DAMAGED: Final = "Fetch the file again from where it came from."


@dataclass(frozen=True, slots=True, eq=False)
class Font:
    """An open font.

    Attributes:
        id: how it is asked for, such as ``great-vibes``.
        family, style: names from the file.
        sha256: of the whole file, in hexadecimal; of a font from a collection, of what is taken out.
        upem: font units to the em.
        cap_height, x_height: in em, measured on the letters; the heights a file states can be wrong.
        covered: the characters it draws rightly.
        wrong: the characters it draws wrongly, though it says it has them.
        features: OpenType features it offers for substitution, sorted.
        shaper: the uharfbuzz font.
        axes: of a variable font; empty for a fixed one, and for an instance.
    """

    id: str
    path: Path
    family: str
    style: str
    sha256: str
    upem: int
    cap_height: float
    x_height: float
    covered: frozenset[str]
    wrong: frozenset[str]
    features: tuple[str, ...]
    shaper: Any = field(repr=False)
    axes: tuple[Axis, ...] = ()
    _placed: dict[str, bool] = field(init=False, repr=False, default_factory=dict)

    def lacks(self, text: str) -> tuple[str, ...]:
        """The characters of a prepared text that it cannot draw rightly, each once, in order."""
        if self.covered.issuperset(text) and not has_marks(text):
            return ()
        return uncovered(text, self.covered, wrong=self.wrong, places=self.places_marks)

    def places_marks(self, letter: str) -> bool:
        """Whether the font itself says where the marks of a letter belong, or has a drawing of the whole.

        Where it does not, HarfBuzz guesses, and the guess is seen to lie beside the letter.
        """
        known = self._placed.get(letter)
        if known is None:
            gids, guided = _marks(self.shaper, letter, {})
            _, unguided = _marks(self.shaper, letter, {"mark": False, "mkmk": False})
            known = 0 not in gids and all(a != b for a, b in zip(guided, unguided, strict=True))
            self._placed[letter] = known
        return known

    @property
    def data(self) -> bytes:
        """The bytes of the file."""
        return bytes(self.shaper.face.blob.data)


def open_font(
    path: Path,
    *,
    font_id: str = "",
    not_covered: Iterable[str] = (),
    data: bytes | None = None,
    face_number: int = 1,
) -> Font:
    """Open and check one TTF or OTF file, or a font of a collection.

    Args:
        path: the file.
        font_id: its id; the file's name without suffix if empty.
        not_covered: characters that the file maps but draws wrongly.
        data: what to take in the file's stead, such as an instance of it.
        face_number: which font of a collection, counted from 1.

    Raises:
        FontError: the file cannot be read, is no font, is damaged, has no outlines or no characters, or its
            maker does not allow the outlines to be used in other documents.
    """
    import uharfbuzz as hb

    data = one_of(path, _read(path), face_number) if data is None else data
    tables = _directory(path, data)
    _check_tables(path, data, tables)
    face = hb.Face(hb.Blob(data))
    shaper = hb.Font(face)
    mapped = frozenset(chr(code) for code in face.unicodes if code)
    wrong = mapped & frozenset(not_covered)
    covered = mapped - wrong
    if not covered:
        raise FontError(f"{path.name} assigns no characters to its drawings", hint=_DAMAGED)
    cap_height = _height(shaper, next((c for c in _CAPITALS if c in covered), ""))
    x_height = _height(shaper, "x" if "x" in covered else "") or cap_height
    return Font(
        id=font_id or path.stem.lower(),
        path=path,
        family=face.get_name(16) or face.get_name(1) or path.stem,
        style=face.get_name(17) or face.get_name(2) or "",
        sha256=hashlib.sha256(data).hexdigest(),
        upem=face.upem,
        cap_height=cap_height / face.upem,
        x_height=x_height / face.upem,
        covered=covered,
        wrong=wrong,
        features=_features(tables, data),
        shaper=shaper,
        axes=axes_of(face),
    )


def _read(path: Path) -> bytes:
    """The bytes of the file, which must look like a font."""
    if path.is_dir():
        raise FontError(f"{path} is a folder, not a font", hint="Name a TTF or OTF file in it.")
    try:
        data = path.read_bytes()
    except OSError as error:
        raise FontError(f"{path} cannot be read: {error.strerror}", hint="Check the file's name.") from error
    if data[:4] in _SFNT:
        return data
    for signature, what, hint in NOT_FONTS:
        if data.lstrip()[: len(signature)] == signature:
            raise FontError(f"{path.name} {what}", hint=hint)
    raise FontError(
        f"{path.name} is not a font, or it is encrypted", hint="Use a plain TTF or OTF file of the font."
    )


def _directory(path: Path, data: bytes) -> dict[str, tuple[int, int]]:
    """Offset and length of each table (OpenType 1.9, "Table directory")."""
    try:
        (count,) = struct.unpack_from(">H", data, 4)
        records = [struct.unpack_from(">4sLLL", data, 12 + 16 * k) for k in range(count)]
    except struct.error:
        records = []
    if not records or any(offset + length > len(data) for _, _, offset, length in records):
        raise FontError(f"{path.name} is damaged: part of the file is missing", hint=_DAMAGED)
    return {tag.decode("latin-1"): (offset, length) for tag, _, offset, length in records}


def _check_tables(path: Path, data: bytes, tables: dict[str, tuple[int, int]]) -> None:
    """Refuse fonts that cannot or may not be turned into outlines."""
    if not any(tables.get(tag, (0, 0))[1] for tag in _OUTLINES):
        if any(tag in tables for tag in _BITMAPS):
            hint = "Use a font with outlines (TTF or OTF)."
            raise FontError(f"{path.name} has only pictures of its letters, no outlines", hint=hint)
        raise FontError(f"{path.name} has no outlines", hint=_DAMAGED)
    for tag in ("head", "cmap", "hmtx", "maxp"):
        if not tables.get(tag, (0, 0))[1]:
            raise FontError(f"{path.name} is damaged: its table {tag!r} is missing", hint=_DAMAGED)
    offset, length = tables.get("OS/2", (0, 0))
    permission = struct.unpack_from(">H", data, offset + 8)[0] if length >= 10 else 0
    if permission & _BITMAP_ONLY or permission & 0x000F == _RESTRICTED:
        raise FontError(
            f"{path.name} says that its outlines may not be used in other documents (fsType {permission})",
            hint="Ask its maker for a licence and a file that allow it, or choose an open font.",
        )


def _marks(shaper: Any, letter: str, features: dict[str, bool]) -> tuple[list[int], list[tuple[int, int]]]:
    """The glyphs of a letter with its marks, and the offsets of all but the first."""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_str(letter)
    buffer.guess_segment_properties()
    hb.shape(shaper, buffer, features)
    offsets = [position.position[:2] for position in buffer.glyph_positions]
    return [info.codepoint for info in buffer.glyph_infos], offsets[1:]


def _height(shaper: Any, letter: str) -> float:
    """How far a letter's ink rises above the baseline, in font units; 0 without a letter."""
    glyph = shaper.get_nominal_glyph(ord(letter)) if letter else None
    extents = shaper.get_glyph_extents(glyph) if glyph else None
    return float(extents.y_bearing) if extents else 0.0


def _features(tables: dict[str, tuple[int, int]], data: bytes) -> tuple[str, ...]:
    """Feature tags of the GSUB table (OpenType 1.9, "FeatureList table"); none if it is damaged."""
    if "GSUB" not in tables:
        return ()
    start, length = tables["GSUB"]
    gsub = data[start : start + length]
    try:
        (begin,) = struct.unpack_from(">H", gsub, 6)
        (count,) = struct.unpack_from(">H", gsub, begin)
        tags = {struct.unpack_from(">4s", gsub, begin + 2 + 6 * k)[0].decode("latin-1") for k in range(count)}
    except struct.error:
        return ()
    return tuple(sorted(tags))
