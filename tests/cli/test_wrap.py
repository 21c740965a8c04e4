"""Round things through the command line: figures, check marks, pictures, calibration, every round design."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from render.resources import folder

ROUND = {
    "tumbler-two-sides": "co2",
    "tumbler-all-round": "co2",
    "tumbler-monogram": "co2",
    "mug": "co2",
    "wine-glass": "co2",
    "pen": "co2",
    "ring-outside": "co2",
    "ring-inside": "co2",
    "bat": "co2",
    "flat-bottle": "diode",
    "bowl": "diode",
    "spoon": "diode",
    "cup-sleeve": "diode",
}
"""Each round design, and a machine that can hold its thing."""


@pytest.mark.parametrize("template", ROUND)
def test_every_round_design_is_made_and_verified(monikerf, tmp_path: Path, template: str) -> None:
    table = tmp_path / "names.csv"
    table.write_text("Name,Line2\nIda Vale,Alder\nMarguerite Okonkwo,Birch\n", encoding="utf-8")
    answer = monikerf(
        "batch", table, "-t", template, "-o", tmp_path / "out", "--machine", ROUND[template], "--json"
    )
    assert answer.code == 0, answer.values["problems"]
    assert answer.values["counts"]["made"] == 2
    for sheet in answer.values["sheets"]:
        assert sheet["verified"]["points"] > 50
        text = (tmp_path / "out" / sheet["file"]).read_text(encoding="utf-8")
        if ROUND[template] == "co2":
            assert 'id="guide"' in text  # where the turn begins
            said = text.partition("<desc>")[2].partition("</desc>")[0]
            for words in ("360 mm of the machine's y axis", "not mirrored", "Start:", "sealed or filled"):
                assert words in said or (template == "ring-inside" and "mirrored" in said)
    figures = answer.values["rotary"]
    assert (figures["turn"] == 360) == (ROUND[template] == "co2")
    assert figures["residual"] in (0, 0.02)


def test_wrap_tells_what_to_set_and_makes_check_marks(monikerf, tmp_path: Path) -> None:
    file = tmp_path / "check.svg"
    answer = monikerf("wrap", "tapered-tumbler", "--machine", "co2", "-o", file)
    assert answer.code == 0
    told = " ".join(answer.out.split())
    for words in (
        "360 mm of the machine's y axis",
        "tilt the axis by 3.2°",
        "20 mm below the rim",
        "the seam",
    ):
        assert words in told
    for words in (
        "neither slip nor fall",
        "closed or filled",
        "both hands",
        "head and lens",
        "Fumes",
        "Eyes",
    ):
        assert words in told
    # five scores along the thing, one at each quarter of 360 mm
    text = file.read_text(encoding="utf-8")
    ys = {float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", text)}
    assert ys == {0, 90, 180, 270, 360}
    assert "one turn is 250 mm on the surface and 360 mm of the machine's y axis" in text


def test_wrap_answers_in_json(monikerf) -> None:
    values = monikerf("wrap", "tapered-tumbler", "--machine", "diode-roller", "--json").values
    assert values["rotary"]["turn"] == 276
    assert [m["degrees"] for m in values["check_marks"]] == [0, 90, 180, 270, 360]
    assert values["check_marks"][-1]["machine_y"] == 276
    assert values["check_marks"][2]["surface_mm"] == pytest.approx(125)
    bowl = monikerf("wrap", "bowl", "--json").values
    assert (bowl["heights"][-1]["across"], bowl["heights"][-1]["drop"]) == (55, 14)  # as it was measured
    assert bowl["check_marks"] == []


def test_wrap_draws(monikerf, tmp_path: Path) -> None:
    from PIL import Image

    for blank in ("mug", "pen"):
        file = tmp_path / f"{blank}.png"
        assert monikerf("wrap", blank, "--picture", file, "--name", "Ida").code == 0
        picture = Image.open(file).convert("RGB")
        assert picture.width == 1600
        assert len(picture.getcolors(1 << 24) or ()) > 200  # shaded, not a bare page


def test_wrap_refuses_what_is_not_round(monikerf) -> None:
    answer = monikerf("wrap", "place-card")
    assert answer.code == 2
    assert "flat" in answer.err
    answer = monikerf("wrap", "mug", "--machine", "diode")
    assert answer.code == 2
    assert "no rotary" in answer.err
    assert monikerf("wrap", "nothing").code == 2


def test_calibration_is_kept_shown_and_used(monikerf, tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    words = ("calibrate-rotary", "diode-roller", "--shop", shop, "--date", "2026-02-03")
    answer = monikerf(*words, "--marks", "200=198", "--marks", "100=99", "--json")
    assert answer.code == 0
    assert answer.values["calibration"]["factor"] == pytest.approx(200 / 198)
    kept = tomllib.loads((shop / "library" / "machines" / "diode-roller.toml").read_text("utf-8"))
    assert kept["rotary"]["calibration"] == {
        "factor": pytest.approx(200 / 198, abs=1e-6),
        "error": pytest.approx(answer.values["calibration"]["error"], abs=1e-6),
        "marks": 2,
        "date": "2026-02-03",
    }
    assert kept["cautions"]
    found = monikerf("wrap", "straight-tumbler", "--machine", "diode-roller", "--shop", shop, "--json").values
    assert found["rotary"]["turn"] == pytest.approx(228.6 * 200 / 198, abs=1e-3)
    assert found["rotary"]["closing_error"] > 0
    again = monikerf(*words, "--turn", "250=0")  # measured with the correction in force: nothing to mend
    assert "1.0101 times" in again.out
    assert "95 %" in again.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--marks", "200"), "not understood"),
        (("--marks", "200=100"), "no matter of calibration"),
        ((), "lengths above 0"),
    ],
)
def test_calibration_refuses_what_cannot_be(
    monikerf, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    answer = monikerf("calibrate-rotary", "diode-roller", "--shop", tmp_path, *words)
    assert answer.code == 2
    assert told in answer.err
    assert not list(tmp_path.iterdir())
    assert monikerf("calibrate-rotary", "diode", "--shop", tmp_path, "--marks", "9=9").code == 2


def test_a_thing_too_long_for_the_rotary_holds_every_piece_back(monikerf, tmp_path: Path) -> None:
    shop, table = tmp_path / "shop", tmp_path / "names.csv"
    (shop / "library" / "machines").mkdir(parents=True)
    own = (folder("shared") / "machines" / "co2.toml").read_text("utf-8")
    own = own.replace('kind = "chuck"', 'kind = "chuck"\nlongest = 120')
    (shop / "library" / "machines" / "co2.toml").write_text(own, encoding="utf-8")
    table.write_text("Name\nIda Vale\nJo Reed\n", encoding="utf-8")
    answer = monikerf(
        "batch", table, "-t", "tumbler-two-sides", "-o", tmp_path / "out", "--machine", "co2",
        "--shop", shop, "--json",
    )  # fmt: skip
    assert answer.code == 1
    assert answer.values["held_back"] == ["p002", "p003"]
    assert {p["code"] for p in answer.values["problems"]} >= {"longer-than-the-rotary"}
