"""Whether a machine can do to a material what a job asks, before anything is written.

What marks and cuts what is common practice, kept in the library; it says nothing of power or speed. Where the
shop has a recipe of its own, its test counts for more than common practice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Final

from render.errors import MonikerfError
from render.model import (
    BURN_ORDER,
    Hazard,
    Light,
    LightRule,
    Machine,
    Material,
    Operation,
    Problem,
    Recipe,
    Severity,
    Works,
)
from render.units import format_mm

_DONE: Final = {Operation.ENGRAVE: "engraved", Operation.SCORE: "scored", Operation.CUT: "cut"}
_SLACK_MM: Final = 0.05
_ASK: Final = "ask the supplier for the safety data sheet, and take a material meant for this work"


def refuse_material(material: Material) -> None:
    """See that a material may go under a beam at all.

    Raises:
        MonikerfError: it must not; with the reason.
    """
    if material.refuse:
        raise MonikerfError(
            f"{material.title} must never go under a beam. {material.refuse}",
            hint=_ASK,
            place=f"material {material.id}",
        )


def suitability(
    operations: Collection[Operation],
    material: Material,
    thickness: float,
    machine: Machine,
    light: Light | None,
    *,
    hazards: Sequence[Hazard] = (),
    others: Sequence[Machine] = (),
    recipes: Mapping[Operation, Recipe] | None = None,
) -> tuple[Problem, ...]:
    """What speaks against a job, worst first: STOP where it cannot work, LOOK where a person must decide.

    Args:
        operations: that the job asks for.
        material: of the thing.
        thickness: mm.
        machine: that shall do it.
        light: the machine's light source; None where nobody said which.
        hazards: of the thing.
        others: machines of the shop, to say which would work.
        recipes: the shop's own for this material on this machine.

    Raises:
        MonikerfError: the material is refused outright.
    """
    refuse_material(material)
    known = recipes or {}
    found = []
    if material.warning:
        found.append(Problem(Severity.LOOK, "material-warning", material.warning, _capital(_ASK) + "."))
    found += [
        Problem(h.severity, f"hazard-{h.id}", f"{h.title}: {h.caution}", "Decide before each job.")
        for h in hazards
        if h.severity is not Severity.NOTE
    ]
    if light is None:
        found.append(_no_light(machine))
    elif light.id not in material.lights:
        found.append(_no_rule(material, light))
    else:
        rule = material.lights[light.id]
        for operation in (o for o in BURN_ORDER if o in operations):
            found += _judged(operation, rule, material, light, others, operation in known)
        if Operation.CUT in operations and rule.cut is Works.YES:
            found += _too_thick(material, thickness, machine, light, known.get(Operation.CUT))
    return tuple(sorted(found, key=lambda p: p.severity is not Severity.STOP))


def verdict(rule: LightRule, operation: Operation) -> Works:
    """What a rule says of an operation."""
    return rule.cut if operation is Operation.CUT else rule.mark


_DOUBT: Final = (Works.YES, Works.TEST, Works.COATED, Works.NO)


def doubt(machine: Machine, material: Material, operations: Iterable[Operation]) -> int:
    """How much of common practice speaks against these operations with the machine's light.

    0 is nothing; then comes what a test must tell, or what the library has no word on; then what marks only
    through a coating; then what does not work.
    """
    rule = material.lights.get(machine.light_source)
    if rule is None:
        return _DOUBT.index(Works.TEST)
    return max((_DOUBT.index(verdict(rule, o)) for o in operations if o in _DONE), default=0)


def works_on(machine: Machine, material: Material, operations: Iterable[Operation]) -> bool:
    """Whether nothing of common practice speaks against these operations with the machine's light."""
    rule = material.lights.get(machine.light_source)
    return rule is None or all(verdict(rule, o) is not Works.NO for o in operations if o in _DONE)


def _judged(
    operation: Operation,
    rule: LightRule,
    material: Material,
    light: Light,
    others: Sequence[Machine],
    tested: bool,
) -> Iterable[Problem]:
    """The problem that common practice has with one operation, if any; a recipe of its own settles it."""
    says, done = verdict(rule, operation), _DONE[operation]
    why = f": {rule.why}" if rule.why else ""
    by = f"by this machine's light ({_low(light.title)})"
    instead = _instead(operation, material, others)
    if says is Works.YES or (tested and says is not Works.NO):
        return
    if tested:
        message = f"{material.title} is commonly not {done} {by}{why}; yet there is a recipe of yours for it."
        yield Problem(Severity.LOOK, "against-practice", message, "Make sure that the recipe is right.")
    elif says is Works.NO:
        message = f"{material.title} cannot be {done} {by}{why}."
        yield Problem(Severity.STOP, "light-does-not-suit", message, instead)
    elif says is Works.COATED:
        message = f"{material.title} is {done} {by} only through a marking compound or a coating{why}."
        hint = f"Coat it as the compound's maker says and burn a test card. {instead}"
        yield Problem(Severity.LOOK, "needs-a-coating", message, hint)
    else:
        message = f"Whether {_low(material.title)} can be {done} {by} is for a test to tell{why}."
        hint = f"Burn a test card on an offcut and keep its recipe. {instead}"
        yield Problem(Severity.LOOK, "needs-a-test", message, hint)


def _instead(operation: Operation, material: Material, others: Sequence[Machine]) -> str:
    """What would work: machines of the shop, else light sources, else another way."""
    good = [name for name, rule in material.lights.items() if verdict(rule, operation) is Works.YES]
    machines = [machine.id for machine in others if machine.light_source in good]
    done = _DONE[operation]
    if machines:
        return f"It is {done} by the light of: {', '.join(machines)}."
    if good:
        return f"It is {done} by another light source: {', '.join(good)}."
    return "No light source of the library is sure to do it: take another material or another way."


def _too_thick(
    material: Material, thickness: float, machine: Machine, light: Light, recipe: Recipe | None
) -> Iterable[Problem]:
    """Where a source of about that strength goes through less than the thickness."""
    if not light.cuts_to or thickness <= light.cuts_to + _SLACK_MM:
        return
    if recipe is not None and recipe.thickness + _SLACK_MM >= thickness:
        return
    if machine.watts > light.cuts_to_watts:
        return
    message = (
        f"{material.title} is {format_mm(thickness, 2)} mm thick; a {_low(light.title)}, of "
        f"{format_mm(light.cuts_to_watts, 1)} W cuts best up to {format_mm(light.cuts_to, 2)} mm."
    )
    hint = "Take thinner stock or a CO2 laser, or burn a test card in this thickness and keep its recipe."
    yield Problem(Severity.LOOK, "thick-for-this-light", message, hint)


def _no_light(machine: Machine) -> Problem:
    message = f"Nobody has said which light source {machine.title} has, and so not what it can mark."
    hint = 'Add light_source = "blue-diode", "co2" or "near-infrared" to its file.'
    return Problem(Severity.NOTE, "light-unknown", message, hint)


def _no_rule(material: Material, light: Light) -> Problem:
    message = f"The library does not say what {_low(light.title)}, does to {_low(material.title)}."
    hint = f"Burn a test card, and add [lights.{light.id}] to the material's file."
    return Problem(Severity.NOTE, "light-untried", message, hint)


def _low(text: str) -> str:
    """Within a sentence: the first letter small, unless it begins an abbreviation such as CO2."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
