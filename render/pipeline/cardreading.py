"""What a person read off a burned test card, kept in the shop folder, where it is used."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Final

from render.errors import LibraryError, MonikerfError
from render.model import Calibration, Operation, Recipe, Rotary
from render.pipeline.roundcheck import calibration_values
from render.shop.gauges import SQUARE, SQUARES
from render.shop.recipes import FOLDER, checked_recipe, new_id, read_recipes, recipe_text
from render.shop.records import own_entry
from render.units import format_mm, round_mm
from render.wrap.calibration import calibrated, full_turn
from render.writers import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Workshop

_LARGEST_KERF: Final = 2.0


@dataclass(frozen=True, slots=True)
class CardReading:
    """What was read; None or empty where it was not.

    Attributes:
        best: id of the best cell.
        settings: what the card does not know, such as the interval.
        kerf: mm.
        row: length of the ten squares pushed together, mm.
        stroke, gap: smallest that hold, mm.
        overshoot: how far one full turn went too far (+) or fell short (−) on the surface, mm.
    """

    best: str = ""
    settings: Mapping[str, float] | None = None
    date: str = ""
    batch: str = ""
    photo: str = ""
    note: str = ""
    kerf: float | None = None
    row: float | None = None
    stroke: float | None = None
    gap: float | None = None
    overshoot: float | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """One thing that was kept: in words, and the file that holds it."""

    what: str
    file: FilePath


def load_card(path: FilePath) -> Mapping[str, Any]:
    """The values that were written beside a test card.

    Raises:
        MonikerfError: it is not such a file.
    """
    hint = "name the file test-card-….json that was written beside the card"
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise MonikerfError("The card's values cannot be read.", hint=hint, place=str(path)) from error
    texts = ("card", "machine", "material", "operation")
    if not isinstance(values, dict) or not all(isinstance(values.get(key), str) for key in texts):
        raise MonikerfError("This is not a test card's file.", hint=hint, place=str(path))
    return values


def keep_reading(card: Mapping[str, Any], reading: CardReading, workshop: Workshop) -> tuple[Kept, ...]:
    """Write what was read into the shop folder; all of it, or nothing.

    Raises:
        MonikerfError: there is no shop folder, nothing was read, or what was read cannot be.
    """
    shop = workshop.shop
    if shop is None:
        raise LibraryError("There is no shop folder to keep it in.", hint="name it with --shop")
    machine = workshop.library.machine(card["machine"])
    material = workshop.library.material(card["material"])
    recipe = _recipe(card, reading, read_recipes(shop)) if reading.best else None
    changes: dict[tuple[str, str], dict[str, Any]] = {}
    told: dict[tuple[str, str], list[str]] = {}

    def change(kind: str, id_: str, key: str, value: float, words: str) -> None:
        changes.setdefault((kind, id_), {})[key] = round_mm(value)
        told.setdefault((kind, id_), []).append(words)

    kerf = _kerf(reading)
    if kerf is not None:
        change(
            "machines",
            machine.id,
            f"kerfs.{material.id}",
            kerf,
            f"kerf in {material.id} {format_mm(kerf)} mm",
        )
    for name, value in (("stroke", reading.stroke), ("gap", reading.gap)):
        if value is not None:
            _positive(name, value)
            change(
                "materials", material.id, f"smallest_{name}", value, f"smallest {name} {format_mm(value)} mm"
            )
    if reading.overshoot is not None:
        solved = _calibration(card, reading, machine.rotary)
        changes.setdefault(("machines", machine.id), {}).update(calibration_values(solved))
        told.setdefault(("machines", machine.id), []).append(
            f"the rotary is sent {solved.factor:.4f} times what it would be, true within "
            f"{100 * solved.error:.2f} % in 95 % of cases"
        )
    if recipe is None and not changes:
        raise MonikerfError("Nothing was read off the card.", hint="say --best, --kerf, --stroke or the like")
    files = {key: own_entry(workshop.library, *key, shop, values) for key, values in changes.items()}
    kept = []
    for key, (path, text) in files.items():
        ready_folder(path.parent)
        write_atomically(path, text.encode())
        kept.append(Kept("; ".join(told[key]), path))
    if recipe is not None:
        kept.append(keep_recipe(recipe, shop))
    return tuple(kept)


def keep_new_recipe(values: Mapping[str, object], workshop: Workshop) -> Kept:
    """Check plain values as a recipe for a machine and a material of the library, and keep it.

    Raises:
        MonikerfError: there is no shop folder, no such machine or material, the material must never burn, or
            a value is wrong.
    """
    from render.shop.suitability import refuse_material

    if workshop.shop is None:
        raise LibraryError("There is no shop folder to keep it in.", hint="name it with --shop")
    recipe = checked_recipe("new", values)
    workshop.library.machine(recipe.machine)
    refuse_material(workshop.library.material(recipe.material))
    taken = (known.id for known in read_recipes(workshop.shop))
    return keep_recipe(replace(recipe, id=new_id(recipe, taken)), workshop.shop)


def keep_recipe(recipe: Recipe, shop: FilePath) -> Kept:
    """Write a recipe into the shop folder.

    Raises:
        OutputError: it cannot be written.
    """
    path = ready_folder(shop / FOLDER) / f"{recipe.id}.toml"
    write_atomically(path, recipe_text(recipe).encode())
    return Kept(f"recipe {recipe.id}", path)


def _recipe(card: Mapping[str, Any], reading: CardReading, known: tuple[Recipe, ...]) -> Recipe:
    """The recipe of the best cell, with the settings that the card or the reading add.

    Raises:
        MonikerfError: there is no such cell, or a setting is missing or wrong.
    """
    cells = card.get("cells") or {}
    if reading.best not in cells:
        raise MonikerfError(
            f"The card has no cell {reading.best!r}.", hint=f"its cells: {', '.join(cells) or 'none'}"
        )
    settings = {**card.get("fixed", {}), **cells[reading.best], **(reading.settings or {})}
    operation = Operation(card["operation"])
    lacking = [name for name in ("power", "speed") if name not in settings]
    lacking += ["interval"] if operation is Operation.ENGRAVE and "interval" not in settings else []
    if lacking:
        raise MonikerfError(
            f"The recipe still needs {' and '.join(lacking)}.",
            hint="say what the cell was burned with: " + " ".join(f"--set {name}=…" for name in lacking),
        )
    values = {
        "machine": card["machine"],
        "material": card["material"],
        "operation": str(operation),
        **settings,
        "thickness": float(card.get("thickness") or 0.0),
        **{key: getattr(reading, key) for key in ("date", "batch", "photo", "note")},
    }
    if "passes" in values:
        values["passes"] = int(values["passes"])
    recipe = checked_recipe("new", values)
    return replace(recipe, id=new_id(recipe, (r.id for r in known)))


def _kerf(reading: CardReading) -> float | None:
    """The kerf as read off the comb, or from the row of squares.

    Raises:
        MonikerfError: it cannot be one.
    """
    kerf = reading.kerf
    if kerf is None and reading.row is not None:
        kerf = (SQUARES * SQUARE - reading.row) / SQUARES
    if kerf is not None and not 0 <= kerf <= _LARGEST_KERF:
        raise MonikerfError(
            f"A kerf of {kerf:g} mm cannot be.", hint="measure again: it is some tenths of a mm"
        )
    return kerf


def _calibration(card: Mapping[str, Any], reading: CardReading, rotary: Rotary | None) -> Calibration:
    """What the rotary must be sent from now on; the card was drawn with what it says, not with what is now.

    Raises:
        MonikerfError: the machine has no rotary, or the figures cannot be.
    """
    if rotary is None or reading.overshoot is None:
        raise MonikerfError("This machine has no rotary.", hint="name the card of one that has")
    round_, over = float(card.get("circumference") or 0.0), reading.overshoot
    if not math.isfinite(over) or abs(over) > round_ / 4:
        raise MonikerfError(
            f"A turn that is off by {over:g} mm on {round_:g} mm cannot be.", hint="measure again"
        )
    factor = float(card.get("calibration") or rotary.calibration.factor)
    before = replace(rotary.calibration, factor=factor)
    return calibrated([full_turn(round_, over)], before, reading.date)


def _positive(name: str, value: float) -> None:
    if not 0 < value < 10:
        raise MonikerfError(f"A smallest {name} of {value:g} mm cannot be.", hint="measure again, in mm")
