"""Invented names for benchmarks: distinct, pronounceable, about sixteen letters, the same every time."""

from __future__ import annotations

import random

STARTS = """
Al An Be Bo Ca Co Da De El Em Fa Fi Ga Gwe Ha He Il Is Ja Jo Ka Ke La Le Ma Mi Na No Ol Or Pa Pe Qui
Ra Ri Sa So Ta Tho Ul Va Ve Wa Wi Xa Ya Yo Za Ze
"""
MIDDLES = """
bel ber dan dor fen gar gol hil kan kel lan len lin mar mer min nal nor pel ral ran rel rin sel sten
tal tam ter tin vel ven wal wen zel
"""
ENDS = """
a ah ard as da den do el en er es ett i ia ick in is la ley lo ma na nor o on or ra ris sa son ta
ton us win wyn
"""


def invented(count: int, seed: int = 7) -> list[str]:
    """That many distinct names of two words each."""
    starts, middles, ends = STARTS.split(), MIDDLES.split(), ENDS.split()
    pick = random.Random(seed)
    found: dict[str, None] = {}
    while len(found) < count:
        given = pick.choice(starts) + pick.choice(middles) + pick.choice(ends)
        surname = (
            pick.choice(starts) + "".join(pick.sample(middles, pick.choice((1, 1, 2)))) + pick.choice(ends)
        )
        found[f"{given} {surname}"] = None
    return list(found)
