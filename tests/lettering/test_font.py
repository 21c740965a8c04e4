"""Opening fonts: what is refused and how it is said, and what is measured, against FreeType."""

from __future__ import annotations

import struct
from pathlib import Path

import freetype
import pytest

from render.errors import FontError
from render.lettering.font import open_font
from render.resources import folder

FONTS = folder("fonts_open")
EVERY = sorted(FONTS.rglob("*.ttf"))
PATRICK = FONTS / "patrick-hand" / "PatrickHand_400Regular.ttf"


def table_place(data: bytes, tag: bytes) -> int:
    """Offset of a table's record in the directory."""
    count = struct.unpack_from(">H", data, 4)[0]
    return next(12 + 16 * k for k in range(count) if data[12 + 16 * k : 16 + 16 * k] == tag)


def without(data: bytes, tag: bytes) -> bytes:
    """The font with one table's length set to nothing."""
    place = table_place(data, tag)
    return data[: place + 12] + b"\0\0\0\0" + data[place + 16 :]


def with_permission(data: bytes, permission: int) -> bytes:
    offset = struct.unpack_from(">L", data, table_place(data, b"OS/2") + 8)[0]
    return data[: offset + 8] + struct.pack(">H", permission) + data[offset + 10 :]


def renamed(data: bytes, tag: bytes, new: bytes) -> bytes:
    place = table_place(data, tag)
    return data[:place] + new + data[place + 4 :]


GOOD = PATRICK.read_bytes()
BAD = {
    "nothing": (b"", "is not a font, or it is encrypted"),
    "noise": (bytes(range(7, 256)) * 40, "is not a font, or it is encrypted"),
    "text": (b"Dear customer, here is the font.", "is not a font, or it is encrypted"),
    "web font": (b"wOFF" + GOOD[4:], "web font (WOFF)"),
    "web font 2": (b"wOF2" + GOOD[4:], "web font (WOFF2)"),
    "collection of none": (b"ttcf\0\1\0\0" + GOOD, "its list of fonts is missing"),
    "collection cut off": (b"ttcf\0\1\0\0\0\0\0\2\0\0\0\x20", "part of the file is missing"),
    "collection in name": (b"ttcf\0\1\0\0\0\0\0\1\0\0\0\x10\0\1\0\0\xff", "part of the file is missing"),
    "type 1": (b"%!PS-AdobeFont-1.0: Invented", "PostScript Type 1"),
    "zip": (b"PK\x03\x04" + bytes(60), "zip archive"),
    "page": (b"\n<!DOCTYPE html><html></html>", "web page"),
    "bitmaps": (b"STARTFONT 2.1\nFONT invented\n", "only pictures of its letters"),
    "cut off": (GOOD[: len(GOOD) // 2], "part of the file is missing"),
    "head only": (GOOD[:12], "part of the file is missing"),
    "no outlines": (without(GOOD, b"glyf"), "has no outlines"),
    "pictures only": (renamed(without(GOOD, b"glyf"), b"GPOS", b"CBDT"), "only pictures"),
    "no metrics": (without(GOOD, b"hmtx"), "its table 'hmtx' is missing"),
    "no characters": (renamed(GOOD, b"cmap", b"cmaq"), "its table 'cmap' is missing"),
    "restricted": (with_permission(GOOD, 2), "may not be used in other documents"),
    "bitmaps only": (with_permission(GOOD, 0x0204), "may not be used in other documents"),
}


@pytest.mark.parametrize("case", BAD)
def test_refused_with_message_and_hint(case: str, tmp_path: Path) -> None:
    data, words = BAD[case]
    path = tmp_path / "Invented.ttf"
    path.write_bytes(data)
    with pytest.raises(FontError) as caught:
        open_font(path)
    assert words in caught.value.message
    assert "Invented.ttf" in caught.value.message
    assert caught.value.hint


def test_cmap_of_no_use(tmp_path: Path) -> None:
    offset, length = struct.unpack_from(">LL", GOOD, table_place(GOOD, b"cmap") + 8)
    path = tmp_path / "Invented.ttf"
    path.write_bytes(GOOD[:offset] + bytes(length) + GOOD[offset + length :])
    with pytest.raises(FontError, match="assigns no characters"):
        open_font(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(FontError, match="cannot be read"):
        open_font(tmp_path / "none.ttf")
    with pytest.raises(FontError, match="is a folder"):
        open_font(tmp_path)


@pytest.mark.parametrize("permission", [0, 4, 8, 0x0104])
def test_permissions_that_allow_it(permission: int, tmp_path: Path) -> None:
    """OpenType 1.9, OS/2 fsType: installable, preview, editable, and one that forbids subsetting."""
    path = tmp_path / "Invented.ttf"
    path.write_bytes(with_permission(GOOD, permission))
    assert open_font(path).family == "Patrick Hand"


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.stem)
def test_measures_agree_with_freetype(path: Path) -> None:
    font = open_font(path)
    face = freetype.Face(str(path))
    assert font.upem == face.units_per_EM
    for letter, height in (("H", font.cap_height), ("x", font.x_height)):
        face.load_char(letter, freetype.FT_LOAD_NO_SCALE)
        assert height * font.upem == pytest.approx(face.glyph.metrics.horiBearingY, abs=1)
    mapped = {chr(code) for code, gid in face.get_chars() if gid and code}
    assert font.covered == mapped


def test_stated_heights_can_lie() -> None:
    """Caveat states capitals of 610 units; FreeType draws them over 710 high."""
    assert open_font(FONTS / "caveat" / "Caveat_700Bold.ttf").cap_height > 0.71


def test_wrong_letters_are_not_covered() -> None:
    path = FONTS / "cinzel" / "Cinzel_400Regular.ttf"
    font = open_font(path, font_id="cinzel", not_covered="Đđ€")
    assert font.wrong == {"Đ", "đ", "€"} & open_font(path).covered
    assert font.lacks("Đorđe") == ("Đ", "đ")
    assert open_font(path).lacks("Đorđe") == ()


def test_features() -> None:
    assert {"liga", "smcp"} <= set(open_font(PATRICK).features)
    assert open_font(FONTS / "cinzel-decorative" / "CinzelDecorative_700Bold.ttf").features == ()
