"""Which row of a corrected table is which piece of the ledger."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import SequenceMatcher

ALIKE = 0.5
"""Names that share so much are taken for one that was mended, where a row's neighbours leave it open."""

Fields = Mapping[str, str]
Pair = tuple[int | None, int | None]


def pair_up(old: Sequence[Fields], new: Sequence[Fields]) -> list[Pair]:
    """Pairs of indices into the two tables; None where a row has no counterpart.

    Rows that are equal belong together, first those in the same order, then those that moved. Between rows
    that stayed, as many changed rows as stand in the same gap are paired in order; where a gap grew or
    shrank, the most alike names are. The rest is gone or new.
    """
    old_keys, new_keys = ([tuple(sorted(row.items())) for row in rows] for rows in (old, new))
    pairs: list[Pair] = []
    gaps: list[tuple[list[int], list[int]]] = []
    for tag, a0, a1, b0, b1 in SequenceMatcher(None, old_keys, new_keys, autojunk=False).get_opcodes():
        if tag == "equal":
            pairs += zip(range(a0, a1), range(b0, b1), strict=True)
        else:
            gaps.append((list(range(a0, a1)), list(range(b0, b1))))
    moved = _moved(gaps, old_keys, new_keys)
    taken_old, taken_new = {a for a, _ in moved}, {b for _, b in moved}
    pairs += moved
    for before, after in gaps:
        left = [a for a in before if a not in taken_old]
        right = [b for b in after if b not in taken_new]
        pairs += _pair_gap(left, right, old, new)
    return sorted(pairs, key=lambda p: (p[1] is None, p[1] if p[1] is not None else p[0] or 0))


def _moved(
    gaps: Sequence[tuple[list[int], list[int]]], old_keys: Sequence[object], new_keys: Sequence[object]
) -> list[tuple[int, int]]:
    """Equal rows that stand elsewhere."""
    where: dict[object, list[int]] = {}
    for before, _ in gaps:
        for a in before:
            where.setdefault(old_keys[a], []).append(a)
    return [(where[new_keys[b]].pop(0), b) for _, after in gaps for b in after if where.get(new_keys[b])]


def _pair_gap(
    left: list[int], right: list[int], old: Sequence[Fields], new: Sequence[Fields]
) -> Iterable[Pair]:
    """Rows between the same neighbours."""
    if len(left) == len(right):
        return list(zip(left, right, strict=True))
    pairs: list[Pair] = []
    if len(left) * len(right) <= 250_000:
        ranked = sorted(((_likeness(old[a], new[b]), -a, -b) for a in left for b in right), reverse=True)
        for likeness, minus_a, minus_b in ranked:
            if likeness >= ALIKE and -minus_a in left and -minus_b in right:
                pairs.append((-minus_a, -minus_b))
                left.remove(-minus_a)
                right.remove(-minus_b)
    return [*pairs, *((a, None) for a in left), *((None, b) for b in right)]


def _likeness(before: Fields, after: Fields) -> float:
    """How alike two rows' names are, from 0 to 1."""
    return SequenceMatcher(None, before.get("name", ""), after.get("name", "")).ratio()
