"""Turn Newstroke's glyph sources into the one file beside this: python convert.py FOLDER.

FOLDER holds `font.lib`, `symbol.lib` and `charlist_without_CJK.txt` of the Debian source package kicad 6.0.11
(helpers/tools_to_build_newstroke-font), which its README puts under CC0 1.0. Written from the sources alone:
a glyph is a list of lines and of named places; a character is a glyph, or several put together so that a
place of one lies on a place of another. Only what is understood is converted: plain characters of the Latin,
Greek and Cyrillic blocks and common signs.
"""

import sys
from pathlib import Path

WANTED = ((0x20, 0x7E), (0xA1, 0x24F), (0x386, 0x3CE), (0x400, 0x45F), (0x490, 0x491), (0x1E80, 0x1EF9),
          (0x2010, 0x2026), (0x20AC, 0x20AC))  # fmt: skip
UNIT = 50


def glyphs(text):
    found, name = {}, ""
    for line in text.splitlines():
        part = line.split()
        if line.startswith("DEF "):
            name = part[1].lstrip("~")
            found[name] = ([], {}, [])
        elif line.startswith("P ") and name:
            count = int(part[1])
            numbers = [round(int(n) / UNIT) for n in part[5 : 5 + 2 * count]]
            found[name][0].append(list(zip(numbers[::2], numbers[1::2])))
        elif line.startswith("X ") and name:
            x, y = round(int(part[3]) / UNIT), round(int(part[4]) / UNIT)
            if part[6] == "U":
                found[name][2].append(x)
            if part[1] != "~":
                found[name][1][part[1]] = (x, y)
    return found


def put_together(words, known):
    strokes, sides, base = [], None, None
    k = 0
    while k < len(words):
        name, dx, dy = words[k], 0, 0
        flip = name[:1] if name[:1] in "!+" and name not in known else ""
        name = name[len(flip) :]
        if name not in known:
            return None
        lines, places, edges = known[name]
        if k + 1 < len(words) and "=" in words[k + 1]:
            there, here = words[k + 1].split("=")
            if base is None or there not in base or here not in places:
                return None
            dx, dy = base[there][0] - places[here][0], base[there][1] - places[here][1]
            k += 1
        if flip == "!":
            lines = [[(-x, y) for x, y in line] for line in lines]
            edges = [-x for x in edges]
        elif flip == "+":
            lines = [[(-x, 14 - y) for x, y in line] for line in lines]
            edges = [-x for x in edges]
        strokes += [[(x + dx, y + dy) for x, y in line] for line in lines]
        if base is None:
            base, sides = places, sorted(edges)
        k += 1
    if not sides or len(sides) < 2:
        return None
    return sides[0], sides[-1], strokes, base


def side_by_side(one, two):
    shift = one[1] - two[0]
    strokes = [[(x + shift, y) for x, y in line] for line in two[2]]
    return one[0], two[1] + shift, [*one[2], *strokes], {}


def main(folder):
    known = {}
    for name in ("symbol.lib", "font.lib"):
        known |= glyphs((folder / name).read_text(encoding="utf-8"))
    code, rows, half = 32, [], None
    for line in (folder / "charlist_without_CJK.txt").read_text(encoding="utf-8").splitlines():
        words = line.split("#")[0].split()
        if not words:
            continue
        if words[0] == "startchar":
            code = int(words[1])
        elif words[0] == "skipcodes":
            code += int(words[1])
        elif words[0].startswith("+"):
            plain = words[0] in ("+", "+w", "+(", "+)") and len(words) > 1
            made = put_together(words[1:], known) if plain else None
            if words[0] == "+(":
                half = made
                continue
            if words[0] == "+)":
                made = made and half and side_by_side(half, made)
            if made and any(a <= code <= b for a, b in WANTED) and (made[2] or code in (32, 0xA0)):
                left, right, strokes, places = made
                drawn = "/".join(" ".join(f"{x},{y}" for x, y in stroke) for stroke in strokes)
                marks = "".join(f" {n.lower()}={places[n][0]},{places[n][1]}" for n in ("ABOVE", "BELOW") if n in places)
                rows.append(f"{code:04X} {left} {right}{marks}|{drawn}")
            code += 1
    head = "# Newstroke, CC0 1.0. Code, left and right edge, places of marks | strokes; y up from the baseline.\n"
    Path(__file__).with_name("newstroke.txt").write_text(head + "\n".join(rows) + "\n", encoding="ascii")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
