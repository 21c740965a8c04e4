"""The wedding's cards from the first e-mail to the packed bags: every command a shop would type.

Run it from a checkout (``.venv/bin/python demo/wedding/story.py``), or name the folder where it may make a
shop: ``python story.py FOLDER``. The customer of this story is invented, and answers by program: what the
proof page makes of a few taps, the story writes itself.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

from render.cli import main
from render.proof.answers import Answer, PieceAnswer, write_answer

GUESTS = Path(__file__).with_name("guests.csv")
ORDER = "ropewalk"
WISHES = {"p036": '"Agata Kwiatkowska"', "p062": '"Zoë Vandenbroucke"', "p083": '"Josie Adeyemi"'}
"""What the couple mends: a letter that looks right and is not, one lost between computers, one shouting."""


def type_in(*words: object, quiet: bool = False) -> str:
    """Type a command as in a terminal; what it says. A story goes on when something is held back (code 1)."""
    sys.argv = ["monikerf", *map(str, words)]
    said, code = io.StringIO(), 0
    with contextlib.redirect_stdout(said):
        try:
            main()
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 0
    if not quiet:
        print("\n$ monikerf " + " ".join(_shown(word) for word in words))
        lines = said.getvalue().rstrip().splitlines()
        print(
            "\n".join(lines if len(lines) <= 12 else [*lines[:3], f"… {len(lines) - 6} lines …", *lines[-3:]])
        )
    if code > 1:
        raise SystemExit(f"the story ends here: monikerf {' '.join(map(str, words))}")
    return said.getvalue()


def now(time: str) -> None:
    """Set the story's clock."""
    os.environ["MONIKERF_NOW"] = time


def _shown(word: object) -> str:
    text = str(word)
    return f'"{text}"' if " " in text or "=" in text else text


def values(*words: object) -> Any:
    """A command's answer as values."""
    return json.loads(type_in(*words, "--json", quiet=True))


def answer_to(shown: list[dict[str, str]], note: str = "") -> str:
    """What the proof page makes of the couple's taps: all is right but for the wishes."""
    said = [
        PieceAnswer(p["id"], p["digest"][:8], not wish, wish)
        for p in shown
        for wish in [WISHES.get(p["id"], "") if p["text"] != WISHES.get(p["id"], "").strip('"') else ""]
    ]
    return "\n".join("> " + line for line in write_answer(Answer(ORDER, note, tuple(said))).splitlines())


def tell(shop: Path) -> None:
    """The whole story, in a shop of its own."""
    os.environ["MONIKERF_SHOP"] = str(shop)
    now("2026-06-15T09:10:00Z")
    type_in("open-shop", shop, "--name", "Kerf & Daughter")
    about = ("--customer", "Marguerite and Tobias", "--due", "2026-06-19", "--price", "264.00")
    type_in("take-order", GUESTS, "--template", "place-card", "--order", ORDER, *about)
    type_in("take-order", GUESTS, "--order", ORDER)  # the same e-mail, taken in by mistake once more
    for number, note in enumerate(("Lovely! We fetch them on Friday.", ""), 1):
        proof = values("proof", ORDER, "--out", shop / f"proof-{number}", "--no-pictures")
        print(f"\n$ monikerf proof {ORDER}\n{len(proof['shown'])} pieces shown; files in {proof['folder']}")
        now(f"2026-06-{15 + number}T08:30:00Z")
        mail = shop / f"answer-{number}.txt"
        mail.write_text(
            f"Hello, here is our answer:\n\n{answer_to(proof['shown'], note)}\n", encoding="utf-8"
        )
        type_in("answer", mail)
        if number == 1:
            type_in("correct", ORDER, "--as-wished")
    type_in("today")
    now("2026-06-18T10:00:00Z")
    loads = values("load", ORDER)["loads"]
    print(f"\n$ monikerf load {ORDER}\n{len(loads)} loads, {loads[0]['file']} to {loads[-1]['file']}")
    type_in("made", loads[0]["load"], "--failed", "3,7")
    type_in("made", f"{loads[1]['load']}-{loads[-1]['load']}")
    again = values("load", ORDER, "--remake")["loads"]
    print(f"\n$ monikerf load {ORDER} --remake\n{len(again[0]['places'])} pieces on load {again[0]['load']}")
    type_in("made", again[0]["load"])
    now("2026-06-18T16:45:00Z")
    type_in("packing-list", ORDER, "--by", "table", "--out", shop / "papers")
    type_in("packed", ORDER)
    type_in("history", f"{ORDER}/{again[0]['places'][0]['piece']}")
    type_in("history", f"{ORDER}/p062")
    type_in("backup", shop / "backup.sqlite")
    type_in("today")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        tell(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory(prefix="monikerf-story-") as folder:
            tell(Path(folder) / "shop")
