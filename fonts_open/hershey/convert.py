"""Turn two of the Hershey hands into the files beside this: python convert.py FOLDER.

FOLDER holds the .jhf files of Debian's hershey-fonts-data. In them a glyph is a number, a count of pairs and
as many pairs of letters, each letter a number told from R; the first pair is the left and right edge, the
pair " R" lifts the pen, and y runs down with the baseline at 9.
"""

import sys
from pathlib import Path

BASELINE = 9


def glyphs(text):
    rows, whole = [], ""
    for line in text.splitlines():
        whole += line if whole else line
        count = int(whole[5:8])
        if len(whole) >= 8 + 2 * count:
            rows.append(whole[8 : 8 + 2 * count])
            whole = ""
    return rows


def main(folder):
    for name in ("rowmans", "cursive"):
        lines = []
        for code, row in enumerate(glyphs((folder / f"{name}.jhf").read_text(encoding="ascii")), 32):
            left, right = (ord(c) - ord("R") for c in row[:2])
            strokes = [
                " ".join(f"{ord(s[k]) - 82},{BASELINE - (ord(s[k + 1]) - 82)}" for k in range(0, len(s), 2))
                for s in pen_lifts(row[2:])
            ]
            lines.append(f"{code:04X} {left} {right}|{'/'.join(strokes)}")
        head = f"# Hershey {name}; see LICENSE.txt. Code, left and right edge | strokes; y up from the baseline.\n"
        Path(__file__).with_name(f"{name}.txt").write_text(head + "\n".join(lines) + "\n", encoding="ascii")


def pen_lifts(pairs):
    strokes, stroke = [], ""
    for k in range(0, len(pairs), 2):
        if pairs[k : k + 2] == " R":
            strokes.append(stroke)
            stroke = ""
        else:
            stroke += pairs[k : k + 2]
    return [s for s in (*strokes, stroke) if len(s) > 2]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
