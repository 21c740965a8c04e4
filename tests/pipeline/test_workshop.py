"""Which machine a job goes to where none is named."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from render.model import Operation
from render.pipeline.workshop import Workshop
from render.shop.suitability import doubt, suitability

WORKSHOP = Workshop.open()


@pytest.mark.parametrize("blank", ["ring-inside", "ring-outside", "cutlery-handle"])
def test_bare_metal_goes_to_the_infrared_light(blank: str) -> None:
    """Bare metal throws the other lights back (common practice, no source)."""
    thing = WORKSHOP.library.blank(blank)
    machine = WORKSHOP.machine_for(thing)
    assert machine.light_source == "near-infrared"
    assert (machine.rotary is not None) == (thing.body is not None)


def test_no_thing_gets_a_worse_machine_than_there_is() -> None:
    asked = {}
    for blank in WORKSHOP.library.blanks():
        job = WORKSHOP.machine_for(blank)
        material = WORKSHOP.library.material(blank.material)
        found = suitability(_operations(blank.hold), material, blank.thickness, job, WORKSHOP.light_of(job))
        asked[blank.id] = {p.code for p in found} & {"light-does-not-suit", "needs-a-coating"}
    worse = {id_: codes for id_, codes in asked.items() if codes}
    assert worse == {"flat-bottle": {"needs-a-coating"}, "spoon": {"needs-a-coating"}}
    small = WORKSHOP.library.machine("infrared").bed
    for id_ in worse:  # their jigs are too large for the machine that would do it
        jig = WORKSHOP.library.jig(WORKSHOP.library.blank(id_).jig)
        box = WORKSHOP.library.blank(id_).outline.bounds()
        assert jig.origin[0] + jig.pitch[0] * (jig.columns - 1) + box.width > small[0]


def _operations(hold: str) -> tuple[Operation, ...]:
    return (Operation.ENGRAVE, Operation.CUT) if hold == "stock" else (Operation.ENGRAVE,)


def test_what_is_longer_than_the_bed_along_the_axis_is_not_given_to_it() -> None:
    ring = WORKSHOP.library.blank("ring-outside")
    assert ring.body is not None
    long = replace(ring, body=replace(ring.body, height=150.0))
    assert WORKSHOP.machine_for(ring).id == "infrared-chuck"
    assert WORKSHOP.machine_for(long).id == "co2"


def test_a_machine_of_the_shop_is_chosen_by_its_light(tmp_path: Path) -> None:
    folder = tmp_path / "library" / "materials"
    folder.mkdir(parents=True)
    text = 'title = "Pewter"\nsource = "made up"\nkind = "metal"\ntone = "#999999"\nmark_tone = "#444444"\n'
    text += 'smallest_stroke = 0.1\nsmallest_gap = 0.1\nfumes = "made up"\ncautions = ["made up"]\n'
    for light, mark in (("blue-diode", "test"), ("co2", "no"), ("near-infrared", "coated")):
        text += f'[lights.{light}]\nmark = "{mark}"\ncut = "no"\nwhy = "made up"\n'
    (folder / "pewter.toml").write_text(text, "utf-8")
    workshop = Workshop.open(tmp_path)
    pewter = replace(workshop.library.blank("ring-outside"), material="pewter")
    assert workshop.machine_for(pewter).id == "diode-roller"
    ranks = [doubt(workshop.library.machine(id_), workshop.library.material("pewter"), (Operation.ENGRAVE,))
             for id_ in ("diode-roller", "infrared-chuck", "co2")]  # fmt: skip
    assert ranks == [1, 2, 3]
