"""Corrections: a customer's wish turned into the text of a field, without anybody typing it again."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.shop.ledger import LedgerPiece, State

if TYPE_CHECKING:
    from render.shop.ledger import Ledger

_QUOTED: Final = re.compile('\\s*["“”„«»](.+)["“”„«»]\\s*\\Z', re.DOTALL)


def wished_text(wish: str, *, whole: bool = False) -> str:
    """The new text that a wish asks for: what stands in quotation marks, if that is all the wish says.

    With `whole` a wish without quotation marks is the new text itself.
    """
    match = _QUOTED.match(wish)
    return match[1].strip() if match else wish.strip() if whole else ""


def correct_as_wished(
    ledger: Ledger, order: str, pieces: Collection[str], drawn: Collection[str]
) -> tuple[tuple[LedgerPiece, ...], tuple[LedgerPiece, ...]]:
    """Take the texts that customers wish for as names: of the pieces named, or of all with a wish in quotes.

    Args:
        ledger: where the order is.
        order: its id.
        pieces: ids; a person has read their wishes, so those count without quotation marks too. None: all.
        drawn: the fields that the template uses.

    Returns:
        The pieces corrected, and those whose wish a person must read.

    Raises:
        MonikerfError: the template does not draw the name as a whole.
    """
    wishing = [p for p in ledger.pieces(order, State.DRAFTED) if p.wish]
    if pieces:
        unknown = [id_ for id_ in pieces if id_ not in {p.id for p in wishing}]
        if unknown:
            raise MonikerfError(f"nothing is wished for {order}/{unknown[0]}", hint="see monikerf today")
        wishing = [p for p in wishing if p.id in set(pieces)]
    if wishing and "name" not in drawn:
        hint = f"say which field: monikerf correct {order} {wishing[0].id} {next(iter(drawn), 'field')}=…"
        raise MonikerfError("the template does not draw names as a whole", hint=hint)
    done, left = [], []
    with ledger.atomic():
        for piece in wishing:
            text = wished_text(piece.wish, whole=bool(pieces))
            if text:
                done.append(ledger.correct(order, piece.id, {"name": text}, why="as wished"))
            else:
                left.append(piece)
    return tuple(done), tuple(left)
