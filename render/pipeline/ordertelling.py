"""Events of the ledger in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from render.shop.ledger import Event, Taken

_WORDS: Final = {
    "taken in": "taken in from the table",
    "told": "told: {told}",
    "terms changed": "made otherwise from now on: {terms}",
    "row changed": "changed by a corrected table: {changed}{looks}",
    "row gone": "its row is gone from the table",
    "corrected": "corrected: {changed}{why}{wish}",
    "drawn": "drawn, version {version} ({digest:.12}; in {font}; largest line {size} mm){why}",
    "drawn anew": "drawn anew, version {version} ({digest:.12}; in {font}; largest line {size} mm){why}",
    "held back": "held back: {reason}",
    "shown": "shown to the customer, proof {proof}, version {version}",
    "shown again": "shown again, proof {proof}, version {version}",
    "answered": "the customer answered{note}",
    "approved": "approved by the customer ({digest:.12})",
    "approved unasked": "approved without the customer's answer: {reason} ({digest:.12})",
    "wished": "the customer wishes: {wish_said}",
    "answer refused": "the answer was refused: {reason}",
    "laid out": "laid out on load {load}, place {place}{again}",
    "load dropped": "load {load} given up: {reason}",
    "made": "made, on load {load}, place {place}",
    "failed": "failed, on load {load}, place {place}",
    "failed again": "failed again, on load {load}, place {place}",
    "packed": "packed{bag}",
    "unpacked": "taken out of its bag",
    "noted": "note: {text}",
}
"""How each kind of event is told."""


def event_words(event: Event) -> str:
    """What happened, in one line."""
    return _WORDS.get(event.kind, event.kind).format_map(_Detail(event.detail))


class _Detail(dict[str, Any]):
    """An event's details, and what can be said with them."""

    def __init__(self, detail: Mapping[str, Any]) -> None:
        super().__init__(detail)
        pairs = detail.get("changed", {})
        self["changed"] = ", ".join(f"{k} “{a}” → “{b}”" for k, (a, b) in pairs.items()) or "drawn anew"
        self["terms"] = ", ".join(
            f"{k} {v[0] or '(none)'} → {v[1] or '(none)'}" for k, v in detail.items() if isinstance(v, list)
        )
        self["told"] = ", ".join(_told(detail))
        self["looks"] = "; it looks the same" if detail.get("looks") else ""
        self["why"] = f" ({detail['why']})" if detail.get("why") else ""
        self["wish_said"] = detail.get("wish") or "(no words)"
        self["wish"] = f"; the customer had wished: {detail['wish']}" if detail.get("wish") else ""
        self["note"] = f": {detail['note']}" if detail.get("note") else ""
        self["size"] = f"{detail.get('size_um', 0) / 1000:g}"
        self["again"] = ", to be made again" if detail.get("remake") else ""
        self["bag"] = f" into {detail['bag']}" if detail.get("bag") else ""

    def __missing__(self, key: str) -> str:
        return "?"


def _told(detail: Mapping[str, Any]) -> Iterator[str]:
    """What was said of an order: whose it is, when it is due, what was agreed to be paid."""
    for key, value in detail.items():
        if key == "price_minor":
            yield f"price agreed {price_text(value, detail['currency'])}"
        elif key != "currency":
            yield f"{key} {value}"


def price_text(price: int | None, code: str) -> str:
    """A price of the ledger in words; empty where none was agreed."""
    from render.shop.prices.money import currency

    return "" if price is None else currency(code).text(price)


def price_values(price: int | None, code: str) -> dict[str, str] | None:
    """A price of the ledger as plain values; None where none was agreed."""
    from render.shop.prices.money import currency

    return None if price is None else {"amount": currency(code).plain(price), "currency": code}


def event_values(event: Event) -> dict[str, Any]:
    """An event as plain values."""
    return {
        "at": event.at,
        "order": event.order,
        "piece": event.piece or None,
        "kind": event.kind,
        "detail": dict(event.detail),
        "told": event_words(event),
    }


def taken_values(taken: Taken) -> dict[str, Any]:
    """What taking a table in did, as plain values."""
    return {
        "order": taken.order,
        "new": taken.new,
        "applied": taken.applied,
        "differs": taken.differs,
        "pieces": taken.pieces,
        "terms": [{"what": what, "before": a, "after": b} for what, a, b in taken.terms],
        "changes": [
            {
                "kind": str(change.kind),
                "piece": change.piece,
                "row": change.row,
                "before": {f: change.before.get(f, "") for f in change.fields},
                "after": {f: change.after.get(f, "") for f in change.fields},
                "state": str(change.state) if change.state else None,
                "kept": change.kept or None,
                "looks_the_same": change.alike,
            }
            for change in taken.changes
        ],
    }


def taken_lines(taken: Taken) -> list[str]:
    """What differs, row by row, for a person."""
    lines = [f"{what}: {before or '(none)'} → {after or '(none)'}" for what, before, after in taken.terms]
    for change in taken.changes:
        who = change.after.get("name") or change.before.get("name") or change.piece
        if change.kind == "changed":
            said = ", ".join(
                f"{f} “{change.before.get(f, '')}” → “{change.after.get(f, '')}”" for f in change.fields
            )
            said += "; it looks the same" if change.alike else ""
        else:
            said = f"“{who}”"
        kept = f" — stays as it is: {change.kept}" if change.kept else ""
        lines.append(f"row {change.row}, {change.piece}, {change.kind}: {said}{kept}")
    return lines
