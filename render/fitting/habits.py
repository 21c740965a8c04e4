"""What a script bears where its letters are cut out in one piece.

A sign writer knows of each script which letters may meet. Those of Latin, Greek, Cyrillic and Georgian may
touch: each is told by its own shape. Letters of Hebrew, Armenian or Thai differ by small gaps and by strokes
at their feet (a tie at the foot of a Hebrew resh makes a bet of it). So they keep apart and stand on a bar
below the whole run of them, as a word is underlined; what does not reach it is tied near the top. Arabic
letters are joined by the font or else must stay unjoined: ties between these keep off the line on which they
would join. Devanagari hangs from its line. Which script does what is our own reading of names in each of
them, cut in the faces that we carry; no source is known to us.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final


class Keeping(Enum):
    """How the letters of a script are kept together."""

    TOUCH = 1
    """They may be brought together until they overlap."""
    APART = 2
    """They keep a gap and stand on a bar."""
    SHAPED = 3
    """They stay where the font has put them."""


@dataclass(frozen=True, slots=True)
class Habit:
    """What a script bears.

    Attributes:
        keeping: how its letters are kept together.
        word_gap: what is left of the gap between two words at least, em.
        aloft: whether ties join its letters near their tops, since at their feet they would make others.
    """

    keeping: Keeping
    word_gap: float = 0.2
    aloft: bool = False


WORD_GAP_EM: Final = 0.14
"""The gap between words of scripts with capitals, which show where a word begins."""

LEAST_GAP_EM: Final = 0.07
"""What is kept free between letters that keep apart, if there is room for it, em."""

_CASED: Final = Habit(Keeping.TOUCH, WORD_GAP_EM)
_APART: Final = Habit(Keeping.APART, aloft=True)
_SHAPED: Final = Habit(Keeping.SHAPED)
_HABITS: Final = {
    **dict.fromkeys(("Latn", "Grek", "Cyrl"), _CASED),
    "Geor": Habit(Keeping.TOUCH),
    **dict.fromkeys(("Deva", "Beng", "Guru", "Mong"), _SHAPED),
    **dict.fromkeys(("Arab", "Syrc", "Nkoo", "Adlm", "Rohg"), Habit(Keeping.SHAPED, aloft=True)),
}


def habit_of(script: str) -> Habit:
    """What a script (ISO 15924) bears; a script that is not known keeps apart."""
    return _HABITS.get(script, _APART)
