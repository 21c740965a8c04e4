"""What light marks and cuts what, what is refused, and the safety list of a job."""

from __future__ import annotations

from dataclasses import replace

import pytest

from render.errors import LibraryError, MonikerfError
from render.model import BURN_ORDER, Machine, Operation, Recipe, Severity, Works
from render.resources import folder
from render.shop.library import Library
from render.shop.safety import safety
from render.shop.suitability import suitability

LIBRARY = Library.standard()
ENGRAVE, SCORE, CUT = BURN_ORDER


def judged(material: str, machine: str, *operations: Operation, thickness: float = 3.0, **more: object):
    laser = LIBRARY.machine(machine)
    return suitability(
        operations,
        LIBRARY.material(material),
        thickness,
        laser,
        LIBRARY.light(laser.light_source),
        others=LIBRARY.machines(),
        **more,
    )


def codes(*words: object, **more: object) -> list[str]:
    return [problem.code for problem in judged(*words, **more)]


@pytest.mark.parametrize(
    ("material", "machine", "operation", "found"),
    [
        # all: common practice, no source
        ("plywood", "diode", CUT, []),
        ("acrylic-cast", "diode", ENGRAVE, ["light-does-not-suit"]),  # the blue light goes through
        ("acrylic-cast", "diode", CUT, ["light-does-not-suit"]),
        ("acrylic-coloured", "diode", CUT, []),
        ("acrylic-cast", "co2", CUT, []),
        ("steel", "co2", ENGRAVE, ["needs-a-coating"]),  # bare metal throws CO2 light back
        ("brass", "co2", ENGRAVE, ["needs-a-coating"]),
        ("anodised-aluminium", "co2", ENGRAVE, []),
        *((metal, "infrared", ENGRAVE, []) for metal in ("steel", "brass", "silver", "gold", "coated-steel")),
        ("wood", "infrared", ENGRAVE, ["light-does-not-suit"]),
        ("steel", "infrared", CUT, ["light-does-not-suit"]),
        ("glass", "diode", ENGRAVE, ["needs-a-coating"]),
        ("glass", "co2", ENGRAVE, []),
        ("glass", "infrared", ENGRAVE, ["light-does-not-suit"]),
        ("slate", "diode", ENGRAVE, []),
        ("ceramic", "co2", SCORE, ["needs-a-test"]),
        ("mdf", "co2", CUT, ["material-warning"]),
        ("steel-galvanised", "infrared", ENGRAVE, ["material-warning"]),
    ],
)
def test_what_marks_and_cuts_what(material, machine, operation, found) -> None:
    assert codes(material, machine, operation) == found


def test_the_reason_and_what_would_work_are_told() -> None:
    (problem,) = judged("acrylic-cast", "diode", ENGRAVE)
    assert problem.severity is Severity.STOP
    assert "passes through clear acrylic" in problem.message
    assert "co2" in problem.hint
    alone = suitability(
        [ENGRAVE], LIBRARY.material("acrylic-cast"), 3, LIBRARY.machine("diode"), LIBRARY.light("blue-diode")
    )
    assert "co2" in alone[0].hint  # the light source, where the shop has no such machine
    (metal,) = judged("gold", "infrared", CUT)
    assert "another way" in metal.hint


def test_a_diode_of_ten_watts_cuts_best_up_to_an_eighth_of_an_inch() -> None:
    # 1/8 in = 3.175 mm, 3.2 rounded: common practice, no source
    assert codes("plywood", "diode", CUT, thickness=3.175) == []
    assert codes("plywood", "diode", CUT, thickness=4) == ["thick-for-this-light"]
    assert codes("plywood", "diode", ENGRAVE, thickness=18) == []
    assert codes("plywood", "co2", CUT, thickness=6) == []
    recipe = Recipe("r", "diode", "plywood", CUT, 1.0, 1.0, "2026-01-01", thickness=4)
    assert codes("plywood", "diode", CUT, thickness=4, recipes={CUT: recipe}) == []
    assert codes("plywood", "diode", CUT, thickness=6, recipes={CUT: recipe}) == ["thick-for-this-light"]
    strong = replace(LIBRARY.machine("diode"), watts=40.0)
    assert not suitability([CUT], LIBRARY.material("plywood"), 6, strong, LIBRARY.light("blue-diode"))


def test_the_shops_own_test_counts_for_more() -> None:
    recipe = Recipe("r", "co2", "steel", ENGRAVE, 1.0, 1.0, "2026-01-01", interval=0.1)
    assert codes("steel", "co2", ENGRAVE, recipes={ENGRAVE: recipe}) == []
    (still,) = judged("acrylic-cast", "diode", ENGRAVE, recipes={ENGRAVE: recipe})
    assert (still.severity, still.code) == (Severity.LOOK, "against-practice")


@pytest.mark.parametrize(
    "id_", ["pvc", "leather-imitation", "chlorinated", "ptfe", "plastic-unknown", "beryllium"]
)
def test_what_must_never_burn_is_refused(id_: str) -> None:
    with pytest.raises(MonikerfError, match="must never go under a beam") as caught:
        codes(id_, "co2", ENGRAVE)
    assert LIBRARY.material(id_).refuse in caught.value.message
    assert "supplier" in caught.value.hint


@pytest.mark.parametrize(
    "id_",
    [
        "polycarbonate",
        "abs",
        "steel-galvanised",
        "leather-chrome-tanned",
        "foam",
        "mdf",
        "carbon-fibre",
        "epoxy",
    ],
)
def test_strong_warnings_come_before_the_job_and_stand_in_the_list(id_: str) -> None:
    material, laser = LIBRARY.material(id_), LIBRARY.machine("co2")
    assert "material-warning" in codes(id_, "co2", ENGRAVE)
    assert any(material.warning in line for line in safety(laser, LIBRARY.light("co2"), material))


def test_things_that_can_hurt_whatever_they_are_made_of() -> None:
    hazards = [LIBRARY.hazard(id_) for id_ in LIBRARY.ids("hazards")]
    found = codes("coated-steel", "co2", ENGRAVE, hazards=hazards)
    assert {"hazard-battery", "hazard-blade", "hazard-pressure", "hazard-sealed"} <= set(found)
    assert "hazard-hollow" not in found  # a reminder in the list is enough
    told = " ".join(safety(LIBRARY.machine("co2"), None, LIBRARY.material("steel"), hazards=hazards))
    assert all(hazard.caution in told for hazard in hazards)
    assert LIBRARY.blank("straight-tumbler").hazards == ("hollow", "drinkware")


def test_the_library_is_complete() -> None:
    """Every material says what each light source does to it, or why it is refused."""
    names = (
        "wood plywood mdf bamboo acrylic-cast acrylic-extruded paper card leather-veg-tanned cork felt slate"
    )
    names += " glass ceramic anodised-aluminium steel coated-steel brass silver gold laser-rubber cotton"
    assert set(names.split()) <= set(LIBRARY.ids("materials"))
    assert set(LIBRARY.ids("lights")) == {"blue-diode", "co2", "near-infrared"}
    for material in LIBRARY.materials():
        assert bool(material.refuse) != (set(material.lights) == set(LIBRARY.ids("lights"))), material.id
        assert material.refuse or material.fumes, material.id


def test_an_unknown_light_is_said_not_guessed() -> None:
    mine = Machine("mine", "Mine", (100.0, 100.0), "some light", 0.1, {}, cautions=("Mind the door.",))
    (note,) = suitability([ENGRAVE], LIBRARY.material("card"), 0.3, mine, None)
    assert (note.severity, note.code) == (Severity.NOTE, "light-unknown")
    untried = replace(LIBRARY.material("card"), lights={})
    (note,) = suitability([CUT], untried, 0.3, LIBRARY.machine("co2"), LIBRARY.light("co2"))
    assert note.code == "light-untried"
    told = safety(mine, None, LIBRARY.material("card"))
    assert "some light" in told[0]
    assert any("Mind the door." in line for line in told)


@pytest.mark.parametrize("id_", LIBRARY.ids("machines"))
def test_the_list_names_what_holds_and_stays_short(id_: str) -> None:
    machine = LIBRARY.machine(id_)
    light = LIBRARY.light(machine.light_source)
    flat = safety(machine, light, LIBRARY.material("slate"), operations=[CUT])
    told = " ".join(flat)
    for words in (
        *("IEC 60825-1", "EN 207", "ask the supplier", "unattended", "extinguisher", "interlocks"),
        *("stone dust", "hot", "sharp", "data sheets, local codes and licensed practice"),
        f"{light.wavelength[0]:.0f}",
    ):
        assert words in told
    assert "Rotary" not in told
    assert len(flat) <= 8
    turning = safety(machine, light, LIBRARY.material("coated-steel"), rotary=True)
    assert any(line.startswith("Rotary: secure") for line in turning)
    assert max(map(len, turning)) < 260


LIGHTS = '\n[lights.co2]\nmark = "yes"\ncut = "no"\n'
OWN = 'title = "Mine"\nsource = "measured"\ntone = "#112233"\nmark_tone = "#445566"\n'
OWN += 'smallest_stroke = 0.2\nsmallest_gap = 0.2\ncautions = ["Mind it."]\n'


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (OWN + LIGHTS, "needs a reason"),
        (OWN + LIGHTS.replace("co2", "moonlight") + 'why = "w"\n', "no light source 'moonlight'"),
        (OWN + LIGHTS.replace('"no"', '"perhaps"') + 'why = "w"\n', "lights.co2.cut"),
        (OWN.replace("tone =", "tune =", 1), "not known here"),
        (OWN.replace("smallest_gap = 0.2\n", ""), "missing: smallest_gap"),
        (OWN.replace("cautions", "refuse = 3 #"), "refuse"),
    ],
)
def test_a_material_that_is_wrong(tmp_path, text, told) -> None:
    (tmp_path / "materials").mkdir()
    (tmp_path / "materials" / "mine.toml").write_text(text, encoding="utf-8")
    with pytest.raises(LibraryError, match=told):
        Library.standard(tmp_path).material("mine")


def test_a_material_of_ones_own_from_before_lights_were_known(tmp_path) -> None:
    (tmp_path / "materials").mkdir()
    (tmp_path / "materials" / "mine.toml").write_text(OWN, encoding="utf-8")
    assert Library.standard(tmp_path).material("mine").lights == {}
    assert Works.YES == "yes"


def test_the_material_of_the_readme_is_one(tmp_path) -> None:
    readme = (folder("shared") / "README.md").read_text("utf-8")
    text = readme.split("```toml\n")[2].split("```")[0]
    (tmp_path / "materials").mkdir()
    (tmp_path / "materials" / "mine.toml").write_text(text, encoding="utf-8")
    assert Library.standard(tmp_path).material("mine").lights["near-infrared"].cut is Works.NO
