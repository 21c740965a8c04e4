"""Pieces a second: monograms by form, names on a circle and a wave, envelopes, ovals, single strokes.

Run it by hand, alone on the machine::

    python tests/bench/shapes.py [--pieces 1000] [--cpu]

*Cold* starts with nothing known but the fonts; *warm* is the same again with other pieces. Each piece is
fitted and drawn, not written. With ``--cpu`` the time of the processor is counted instead of the clock's.
"""

from __future__ import annotations

import argparse
import string
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.fitting import Limits, fit_order  # noqa: E402
from render.geometry import Affine  # noqa: E402
from render.geometry import Path as Outline  # noqa: E402
from render.geometry.shapes import circle, ellipse, rectangle  # noqa: E402
from render.lettering import Letterer, Shelf  # noqa: E402
from render.lettering.monograms import FORMS  # noqa: E402
from render.model import FitRule, LetterRequest, Operation, Setting, Shaping, SizePolicy  # noqa: E402
from render.pipeline.emblems import emblems  # noqa: E402
from render.pipeline.shaped import bend_into, set_straight  # noqa: E402
from render.resources import folder  # noqa: E402

now = process_time if "--cpu" in sys.argv else perf_counter
RIM = circle(0j, 34.3).transformed(Affine.rotation(90))
WAVE = Outline.of((0, 3, 3), (-60 + 0j, -40 - 25j, -20 - 25j, 0j, 20 + 25j, 40 + 25j, 60 + 0j))
ROOM = rectangle(-80, -80, 160, 160)


def timed(work: Callable[[list[str]], int], names: list[str], again: list[str]) -> tuple[float, float]:
    """Pieces a second, cold and warm."""
    rates = []
    for some in (names, again):
        begin = now()
        done = work(some)
        rates.append(done / (now() - begin))
    return rates[0], rates[1]


def some_letters(k: int, count: int) -> str:
    """Letters that come in many pairs."""
    return "".join(string.ascii_uppercase[(k * 7 + j * (k // 26 + 5)) % 26] for j in range(count))


def monogram(form: str, letterer: Letterer, font: str) -> Callable[[list[str]], int]:
    rule = FitRule(largest=60, smallest=1)
    shaping = Shaping(form, "ring" if form in ("circle", "diamond") else "")

    def work(names: list[str]) -> int:
        count = FORMS[form].counts[-1]
        requests = [
            LetterRequest(
                f"p{k}", "m", name, Setting(font), Operation.ENGRAVE, rule, rectangle(0, 0, 60, 60),
                shaping=replace(shaping, letters=some_letters(k, count)),
            )
            for k, name in enumerate(names)
        ]  # fmt: skip
        return sum(bool(path) for _, path in emblems(requests, letterer, Limits()))

    return work


def along(path: Outline, letterer: Letterer, font: str) -> Callable[[list[str]], int]:
    rule = FitRule(largest=5, smallest=1.5, optical=0.5, joined=letterer.joined(font))

    def work(names: list[str]) -> int:
        operation = Operation.SCORE if letterer.single_stroke(font) else Operation.ENGRAVE
        requests = [
            LetterRequest(f"p{k}", "n", name, Setting(font), operation, rule, ROOM, path)
            for k, name in enumerate(names)
        ]
        fitted = fit_order(requests, letterer.line, letterer.skyline)
        return sum(bool(p) for p in letterer.outlines([f.lines for f in fitted]))

    return work


def bent(kind: str, letterer: Letterer, font: str) -> Callable[[list[str]], int]:
    rule = FitRule(largest=30, smallest=2, joined=letterer.joined(font))
    area = rectangle(0, 0, 80, 30)

    def work(names: list[str]) -> int:
        asked = [
            LetterRequest(
                f"p{k}",
                "n",
                name,
                Setting(font),
                Operation.ENGRAVE,
                rule,
                area,
                shaping=Shaping(envelope=kind),
            )
            for k, name in enumerate(names)
        ]
        requests, _ = set_straight(asked)
        fitted = fit_order(requests, letterer.line, letterer.skyline)
        paths = letterer.outlines([f.lines for f in fitted])
        return sum(bool(bend_into(f, p, area)) for f, p in zip(fitted, paths, strict=True))

    return work


def straight(letterer: Letterer, font: str) -> Callable[[list[str]], int]:
    rule = FitRule(largest=12, smallest=2, joined=True)

    def work(names: list[str]) -> int:
        requests = [
            LetterRequest(f"p{k}", "n", name, Setting(font), Operation.SCORE, rule, rectangle(0, 0, 80, 15))
            for k, name in enumerate(names)
        ]
        fitted = fit_order(requests, letterer.line, letterer.skyline)
        return sum(bool(p) for p in letterer.outlines([f.lines for f in fitted]))

    return work


def in_oval(letterer: Letterer, font: str) -> Callable[[list[str]], int]:
    """Names of three words, broken into as many lines as suits and as large as the oval allows."""
    rule = FitRule(SizePolicy.EACH, largest=40, smallest=2, most_lines=3, joined=letterer.joined(font))
    area = ellipse(45 + 30j, 42, 27)

    def work(names: list[str]) -> int:
        requests = [
            LetterRequest(f"p{k}", "n", f"{a} {b.split()[-1]}", Setting(font), Operation.ENGRAVE, rule, area)
            for k, (a, b) in enumerate(zip(names, names[1:] + names[:1], strict=True))
        ]
        fitted = fit_order(requests, letterer.line, letterer.skyline)
        return sum(bool(p) for p in letterer.outlines([f.lines for f in fitted]))

    return work


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pieces", type=int, default=1000)
    parser.add_argument("--cpu", action="store_true", help="count the time of the processor")
    asked = parser.parse_args()
    every = list(invented(2 * asked.pieces))
    names, again = every[: asked.pieces], every[asked.pieces :]
    shelf = Shelf((folder("fonts_open"),))
    kinds: list[tuple[str, Callable[[Letterer], Callable[[list[str]], int]]]] = [
        *((f"monogram {form}", lambda on, form=form: monogram(form, on, "montserrat")) for form in FORMS),
        *(
            (f"on a {what}, {font}", lambda on, path=path, font=font: along(path, on, font))
            for what, path in (("circle", RIM), ("wave", WAVE))
            for font in ("montserrat", "great-vibes", "plain-hand")
        ),
        *(
            (f"envelope {kind}", lambda on, kind=kind: bent(kind, on, "montserrat"))
            for kind in ("arch", "bulge", "flag")
        ),
        *(
            (f"three words in an oval, {font}", lambda on, font=font: in_oval(on, font))
            for font in ("montserrat", "great-vibes")
        ),
        *(
            (f"single stroke, {hand}", lambda on, hand=hand: straight(on, hand))
            for hand in ("plain-hand", "joined-hand")
        ),
    ]
    print(f"{'':32}{'cold':>10}{'warm':>10}   pieces a second")
    forms: list[tuple[float, float]] = []
    for title, kind in kinds:
        rates = timed(kind(Letterer(shelf)), names, again)
        if title.startswith("monogram"):
            forms.append(rates)
        print(f"{title:32}{rates[0]:10,.0f}{rates[1]:10,.0f}", flush=True)
    cold, warm = (len(forms) / sum(1 / rate[k] for rate in forms) for k in (0, 1))
    print(f"{f'all {len(forms)} forms, in turn':32}{cold:10,.0f}{warm:10,.0f}")


if __name__ == "__main__":
    main()
