"""Names of the world in every font, run by run, against HarfBuzz's own tool (Debian package libharfbuzz-bin).

Each pair of a name and a font is lettered as the program does it, with fonts that take over where the first
lacks a script; then every run is shaped by ``hb-shape`` by itself, and glyphs and places are compared. Names:
PyPI `Faker`, seeded, by locale; two of different scripts side by side; and invented ones with what is hard.
"""

from __future__ import annotations

import itertools
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from functools import cache

import pytest

from render.lettering import Letterer, Shelf
from render.lettering.mixed import Covers, MixedRun, fonts_of, runs_of
from render.lettering.scripts import Stretch, prepare, stretches
from render.lettering.shaping import feature_ranges
from render.lettering.standins import stand_in
from render.model import Setting
from render.resources import folder

LETTERER = Letterer(Shelf((folder("fonts_open"),)), kept=1 << 16)
COMPLETE = "MONIKERF_COMPLETE"
"""Environment variable that makes long comparisons complete."""

MANY, SOME = 5_000, 300
LOCALES = {
    "en_US": "en", "de_DE": "de", "nl_NL": "nl", "fr_FR": "fr", "pl_PL": "pl", "cs_CZ": "cs", "lt_LT": "lt",
    "tr_TR": "tr", "az_AZ": "az", "ro_RO": "ro", "vi_VN": "vi", "hr_HR": "hr", "is_IS": "is", "yo_NG": "yo",
    "el_GR": "el", "ru_RU": "ru", "bg_BG": "bg", "uk_UA": "uk", "mk_MK": "mk", "he_IL": "he", "ar_SA": "ar",
    "fa_IR": "fa", "hi_IN": "hi", "ne_NP": "ne", "th_TH": "th", "hy_AM": "hy", "ka_GE": "ka", "bn_BD": "bn",
    "ta_IN": "ta",
}  # fmt: skip
HARD = [
    ("tr", "Fırat İnci Afife"), ("vi", "Đặng Thị Ngọc Ánh"), ("lt", "Žydrūnė Į\u0301"), ("ro", "Ştefan Țurc"),
    ("he", "יִצְחָק בֶּן־דָּוִד"), ("he", "Anna (דוד) 12"), ("ur", "گلاره ژاله ۓ"), ("ar", "لالا نور الهدى 12"),
    ("hi", "क्षितिज श्री ढूँढा"), ("th", "น้ำฝน ปิ่นโต"), ("sr", "Ђорђе Његуш пт"), ("de", "GROẞ & Söhne"),
    ("el", "ΆΛΦΑ Ἀλέξης ς"), ("en", "\u202bנוי Lee\u202c"), ("en", "O’Neill-Affleck, 1st"),
]  # fmt: skip
"""Invented, by language."""

GLYPH = re.compile(r"(\d+)=(\d+)(?:@(-?\d+),(-?\d+))?\+(-?\d+)")
Glyphs = list[tuple[int, ...]]


@cache
def names() -> list[tuple[str, str]]:
    faker = pytest.importorskip("faker")
    found: list[list[tuple[str, str]]] = []
    for locale, language in LOCALES.items():
        maker = faker.Faker(locale)
        maker.seed_instance(15)
        found.append([(language, f"{maker.first_name()} {maker.last_name()}") for _ in range(60)])
    rounds = [name for some in zip(*found, strict=True) for name in some]
    mixed = [
        (a[0], f"{a[1].split()[0]} {b[1].split()[0]}")
        for a, b in zip(rounds[::5], rounds[3::5], strict=False)
    ]
    return HARD + [
        name for some in itertools.zip_longest(rounds[::3], rounds[1::3], mixed) for name in some if name
    ]


def pairs(count: int) -> Iterator[tuple[Setting, str]]:
    """So many settings and texts, every font in turn; texts that no fonts can draw are passed over."""
    fonts = LETTERER.shelf.ids()
    every, told = names(), 0
    for turn in itertools.count():
        for at, font in enumerate(fonts):
            language, text = every[(turn * len(fonts) + at * 7 + turn) % len(every)]
            setting: Setting | None = Setting(font, language)
            line = LETTERER.line(text, setting)  # type: ignore[arg-type]
            setting = stand_in(LETTERER, line) if line.missing else setting
            if setting is not None:
                yield setting, text
                told += 1
                if told == count:
                    return


def itemised(setting: Setting, text: str) -> Iterator[tuple[str, str, list[Stretch], Glyphs]]:
    """The runs of a text: font, prepared text, stretches, and our glyphs with their places."""
    run = LETTERER._set(text, setting)[1]
    faces = LETTERER._faces_of(setting)
    prepared = prepare(text, Covers(faces), setting.language)
    if isinstance(run, MixedRun):
        fonts = fonts_of(prepared, setting.font, dict(setting.stand_ins), faces)
        for (font, parts), part in zip(runs_of(prepared, fonts), run.parts, strict=True):
            yield font, prepared, list(parts), list(zip(part.run.gids, part.run.xs, part.run.ys, strict=True))
    else:
        glyphs = list(zip(run.gids, run.xs, run.ys, strict=True))  # type: ignore[union-attr]
        yield setting.font, prepared, list(stretches(prepared)), glyphs


def command(font: str, text: str, part: Stretch, language: str) -> str:
    """One stretch for the tool's batch mode, the rest of the text as its context."""

    def codes(some: str) -> str:
        return ",".join(f"{ord(c):X}" for c in some)

    features = [
        f"{tag}[{max(a - part.start, 0)}:{b - part.start}]={value}"
        for tag, ranges in feature_ranges(text, language, (), tracked=False).items()
        for a, b, value in ranges
        if a >= part.start
    ]
    words = [
        str(LETTERER.shelf.entry(font).path),
        "--no-glyph-names",
        f"--script={part.script}",
        f"--direction={'rtl' if part.backward else 'ltr'}",
        f"--unicodes={codes(text[part.start : part.stop])}",
        f"--language={language}",
        *([f"--features={','.join(features)}"] if features else []),
        *([f"--unicodes-before={codes(text[: part.start])}"] if part.start else []),
        *([f"--unicodes-after={codes(text[part.stop :])}"] if part.stop < len(text) else []),
    ]
    return ";".join(words)


def test_every_run_is_shaped_as_the_tool_shapes_it() -> None:
    """300 pairs; 5,000 with MONIKERF_COMPLETE."""
    if shutil.which("hb-shape") is None:
        pytest.skip("the system has no hb-shape (package libharfbuzz-bin)")
    count = MANY if os.environ.get(COMPLETE) else SOME
    work = [(setting, text, *run) for setting, text in pairs(count) for run in itemised(setting, text)]
    asked = [
        command(font, prepared, part, setting.language)
        for setting, _, font, prepared, parts, _ in work
        for part in parts
    ]
    done = subprocess.run(
        ["hb-shape", "--batch"], input="\n".join(asked) + "\n", capture_output=True, text=True, check=True
    )
    answers = iter(done.stdout.splitlines())
    several = 0
    for setting, text, font, _, parts, ours in work:
        x = y = 0
        theirs = []
        for _ in parts:
            for gid, _, dx, dy, advance in GLYPH.findall(next(answers)):
                theirs.append((int(gid), x + int(dx or 0), y + int(dy or 0)))
                x += int(advance)
        assert ours == theirs, (setting, text, font)
        several += len(parts) > 1 or bool(setting.stand_ins)
    assert next(answers, None) is None
    assert len({(setting.font, setting.language, text) for setting, text, *_ in work}) > 0.95 * count
    assert {setting.font for setting, *_ in work} == set(LETTERER.shelf.ids())
    assert several > count / 4
