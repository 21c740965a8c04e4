"""The commands on the demo orders and small tables."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree
from PIL import Image

from render import resources

SVG = "{http://www.w3.org/2000/svg}"
DEMO = resources.folder("demo")


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "names.csv"
    path.write_text("Name,Table\nAna Morel,Oak\nBo Tanaka,Oak\nZoë O'Neill,Elm\n", encoding="utf-8")
    return path


def test_batch_writes_sheet_proof_report_and_summary(monikerf, table, tmp_path) -> None:
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out")
    assert answer.code == 0, answer
    assert {p.name for p in (tmp_path / "out").iterdir()} == {
        "sheet-1.svg", "proof.png", "report.json", "summary.txt",
    }  # fmt: skip
    root = etree.parse(tmp_path / "out" / "sheet-1.svg").getroot()
    ids = [g.get("id") for g in root.iter(f"{SVG}g")]
    assert [i for i in ids if "-" not in i] == ["engrave", "cut"]
    assert {i.split("-")[0] for i in ids if "-" in i} == {"p002", "p003", "p004"}
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert report["counts"] == {"pieces": 3, "made": 3, "held_back": 0, "sheets": 1}
    assert report["pieces"][2]["lettering"][0]["lines"][0]["text"] == "Zoë O’Neill"
    assert report["cautions"]
    with Image.open(tmp_path / "out" / "proof.png") as proof:
        assert proof.width == 2400


def test_the_report_names_the_font_of_every_run(monikerf, tmp_path) -> None:
    (tmp_path / "two.csv").write_text("name\nDavid & דוד\nIda\n", "utf-8")
    answer = monikerf("batch", tmp_path / "two.csv", "-t", "place-card", "-o", tmp_path / "out")
    assert answer.code == 0, answer
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    mixed, plain = (p["lettering"][0]["lines"][0]["set_in"] for p in report["pieces"])
    own = plain[0]["font"]
    assert plain == [{"font": own, "text": "Ida"}]
    assert mixed == [{"font": own, "text": "David &"}, {"font": "frank-ruhl-libre", "text": "דוד"}]


def test_the_same_order_twice_gives_the_same_bytes(monikerf, table, tmp_path) -> None:
    for name in ("one", "two"):
        assert monikerf("batch", table, "-t", "place-card", "-o", tmp_path / name).code == 0
    for path in (tmp_path / "one").iterdir():
        if path.suffix != ".png":
            assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name


def test_what_is_kept_from_run_to_run_changes_no_byte(monikerf, table, tmp_path, monkeypatch) -> None:
    for name, cache in (("none", ""), ("cold", tmp_path / "kept"), ("warm", tmp_path / "kept")):
        monkeypatch.setenv("MONIKERF_CACHE", str(cache))
        assert monikerf("batch", table, "-t", "place-card", "-o", tmp_path / name).code == 0
    assert list((tmp_path / "kept").glob("*.npz"))
    sheets = {(tmp_path / name / "sheet-1.svg").read_bytes() for name in ("none", "cold", "warm")}
    assert len(sheets) == 1


def test_several_workers_give_the_same_bytes(monikerf, table, tmp_path) -> None:
    table.write_text("Name\n" + "".join(f"Ana Morel {chr(65 + n)}\n" for n in range(26)), encoding="utf-8")
    for name, workers in (("one", 1), ("two", 2)):
        words = ("-o", tmp_path / name, "--workers", workers)
        assert monikerf("batch", table, "-t", "place-card", *words).code == 0
    for number in (1, 2, 3):
        sheet = f"sheet-{number}.svg"
        assert (tmp_path / "one" / sheet).read_bytes() == (tmp_path / "two" / sheet).read_bytes()


def test_a_dry_run_writes_nothing_and_says_what_it_would(monikerf, table, tmp_path) -> None:
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out", "--dry-run")
    assert answer.code == 0
    assert "would be written" in answer.out
    assert "sheet-1.svg" in answer.out
    assert not (tmp_path / "out").exists()


def test_what_an_earlier_run_left_is_cleared_away(monikerf, table, tmp_path) -> None:
    """A sheet of an older run beside the new ones would be burned by mistake; other files are not touched."""
    out = tmp_path / "out"
    long = tmp_path / "long.csv"
    long.write_text("Name\n" + "".join(f"Ana {chr(65 + n)}\n" for n in range(12)), encoding="utf-8")
    assert monikerf("batch", long, "-t", "place-card", "-o", out).code == 0
    (out / "sheet-9.svg").write_text("mine", encoding="utf-8")
    assert (out / "sheet-2.svg").exists()
    assert monikerf("batch", table, "-t", "place-card", "-o", out).code == 0
    assert sorted(p.name for p in out.glob("sheet-*")) == ["sheet-1.svg", "sheet-9.svg"]


def test_a_missing_glyph_holds_its_piece_back(monikerf, table, tmp_path) -> None:
    table.write_text("Name\nAna Morel\n山田 花子\n", encoding="utf-8")
    answer = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "out", "--json")
    assert answer.code == 1
    assert answer.values["held_back"] == ["p003"]
    (problem,) = [p for p in answer.values["problems"] if p["code"] == "missing-glyph"]
    assert problem["row"] == 3
    assert "CJK UNIFIED IDEOGRAPH-5C71" in problem["message"] + problem["hint"]


def test_what_holds_for_equal_copies_is_told_once(monikerf, table, tmp_path) -> None:
    table.write_text("Name,Qty\nAna Morel,1\n山,3\n", encoding="utf-8")
    answer = monikerf("batch", table, "-t", "key-tag", "-o", tmp_path / "out")
    assert answer.out.count("IDEOGRAPH-5C71") == 1
    summary = (tmp_path / "out" / "summary.txt").read_text(encoding="utf-8")
    assert summary.count("IDEOGRAPH-5C71") == 1


@pytest.mark.parametrize(
    ("table", "template", "pieces", "sheets"),
    [
        ("wedding/guests.csv", "place-card", 120, 12),
        ("market/tags.csv", "key-tag", 40, 1),
        ("staff/staff.xlsx", "tumbler-two-sides", 60, 60),
    ],
)
def test_the_demo_orders(monikerf, tmp_path, table, template, pieces, sheets) -> None:
    answer = monikerf("batch", DEMO / table, "-t", template, "-o", tmp_path / "out", "--json")
    assert answer.code == 0, answer.values["problems"]
    counts = answer.values["counts"]
    assert (counts["pieces"], counts["made"], counts["sheets"]) == (pieces, pieces, sheets)
    assert len(list((tmp_path / "out").glob("sheet-*.svg"))) == sheets


def test_exactly_the_five_awkward_guests_need_a_look(monikerf, tmp_path) -> None:
    answer = monikerf("batch", DEMO / "wedding" / "guests.csv", "-t", "place-card", "-o", tmp_path, "--json")
    rows = {p["row"] for p in answer.values["problems"] if p["severity"] == "look"}
    assert rows - {82} == {14, 36, 62, 83, 112}  # 82 is the other Hannah Whitcombe
    assert all(p["hint"] for p in answer.values["problems"] if p["severity"] == "look")


def test_the_tumblers_report_both_lengths_of_a_turn(monikerf, tmp_path) -> None:
    words = ("batch", DEMO / "staff" / "staff.xlsx", "-t", "tumbler-two-sides", "-o", tmp_path, "--json")
    chuck = monikerf(*words, "--column", "line2=Department", "--machine", "co2").values["rotary"]
    roller = monikerf(*words, "--column", "line2=Department", "--machine", "diode-roller").values["rotary"]
    assert (chuck["circumference"], chuck["turn"]) == (250, 360)
    assert chuck["factor"] == pytest.approx(360 / 250, abs=1e-3)
    # rollers touch a taper where it is thickest, 276 mm round
    assert (roller["turn"], roller["set_circumference"]) == (276, 276)
    # by hand: half the difference of the radii of 276 and 224 mm over 150 mm of slant
    assert chuck["tilt"] == pytest.approx(3.163, abs=1e-3)
    assert (chuck["focus_change"], roller["tilt"]) == (0, 0)
    assert roller["focus_change"] > 3


def test_check_reads_and_makes_nothing(monikerf, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = monikerf("check", DEMO / "wedding" / "guests.csv")
    assert answer.code == 0
    assert "120 pieces" in answer.out
    assert "Zoë Vandenbroucke" in answer.out
    assert not list(tmp_path.iterdir())
    values = monikerf("check", DEMO / "wedding" / "guests.csv", "--json").values
    assert len(values["pieces"]) == 120


@pytest.mark.parametrize(
    ("kind", "id_"),
    [("fonts", "great-vibes"), ("templates", "coaster"), ("blanks", "pet-tag"), ("machines", "diode")],
)
def test_show_lists_and_draws(monikerf, tmp_path, kind, id_) -> None:
    picture = tmp_path / "new" / "picture.png"
    answer = monikerf("show", kind, "--picture", picture)
    assert answer.code == 0
    assert id_ in answer.out
    with Image.open(picture) as drawn:
        assert len(drawn.convert("RGB").getcolors(1 << 24) or ()) > 20
    assert id_ in {row["id"] for row in monikerf("show", kind, "--json").values}


def test_doctor_finds_everything_in_order(monikerf) -> None:
    answer = monikerf("doctor", "--json")
    assert answer.code == 0
    assert all(found["ok"] for found in answer.values["findings"])


def test_doctor_names_what_is_wrong(monikerf, tmp_path) -> None:
    (tmp_path / "templates").mkdir()
    (tmp_path / "templates" / "mine.svg").write_text("<svg/>", encoding="utf-8")
    answer = monikerf("doctor", "--shop", tmp_path)
    assert answer.code == 1
    assert "mine" in answer.out


def test_version(monikerf) -> None:
    assert monikerf("--version").out.startswith("monikerf 0.")


def test_check_reads_all_sheets_of_a_workbook(monikerf) -> None:
    answer = monikerf("check", DEMO / "staff" / "staff.xlsx", "--all-sheets", "--json")
    assert [facts["sheet"] for facts in answer.values["read_as"]] == ["Staff"]
    assert len(answer.values["pieces"]) == 60
    assert answer.values["pieces"][0]["id"].startswith("s1")


def test_a_command_in_a_shop_folder_takes_that_shop(monikerf, tmp_path, monkeypatch) -> None:
    assert monikerf("open-shop", tmp_path / "shop").code == 0
    monkeypatch.chdir(tmp_path / "shop")
    assert monikerf("calibrate-rotary", "co2", "--marks", "100=99.2").code == 0
    assert (tmp_path / "shop" / "library" / "machines" / "co2.toml").is_file()
