"""Invented names for benchmarks: distinct, about sixteen letters, the same every time.

Syllables are put together at random from many beginnings, vowels and ends, so that letters follow each other
in more ways than in a list of real names: the hard case for anything that remembers pairs.
"""

from __future__ import annotations

import random

ONSETS = "b br c ch cl d dr f fr g gl gr h j k kn l m n p ph pr qu r s sc sh st t th tr v w wr z"
VOWELS = "a ai au e ea ee ei i ia ie o oa oo ou u ue y"
CODAS = "b ck d ff g l ll lm m n nd ng nt p r rd rk rn s sk ss st t tt v w x z"


def invented(count: int, seed: int = 7) -> list[str]:
    """That many distinct names of two words each."""
    pick = random.Random(seed)
    onsets, vowels, codas = ONSETS.split(), VOWELS.split(), CODAS.split()

    def word() -> str:
        first = pick.choice(onsets) + pick.choice(vowels) + pick.choice(codas)
        return (first + pick.choice((pick.choice(vowels), pick.choice(onsets) + pick.choice(vowels)))).title()

    found: dict[str, None] = {}
    while len(found) < count:
        found[f"{word()} {word()}{pick.choice(codas)}"] = None
    return list(found)
