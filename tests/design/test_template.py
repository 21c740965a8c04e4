"""Loading and composing: what a template gives for a piece."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from render.design import Apostrophe, Template, find_template, list_templates, load_template
from render.errors import TemplateError
from render.geometry import Box
from render.model import Align, Anchor, FitRule, Mark, Operation, Paragraph, Setting, Severity, SizePolicy

SOURCE = """<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:ours="urn:monikerf:template:1" xmlns:ed="urn:some:editor"
     width="8cm" height="40mm" viewBox="0,0,80,40" ours:title="Test" ours:blank="place-card"
     ours:apostrophe="typographic" ours:sample="name: Ida Vale; table: 4" ed:zoom="2">
  <title>ignored</title>
  <desc>What it
    is.</desc>
  <ed:view><ed:anything href="http://x.invalid"/></ed:view>
  <metadata><rect width="1" height="1"/></metadata>
  <defs><path id="arc" d="M10 30 Q40 10 70 30"/></defs>
  <rect ours:area="name" x="5" y="5" width="70" height="20" display="none"/>
  <g ours:operation="score" transform="translate(10 0)" fill="none">
    <path d="M0 1 H9"/>
    <g ours:operation="engrave" fill="black" transform="scale(-1 1)">
      <rect x="-8" y="2" width="4" height="2"/>
      <rect style="display:none" width="4" height="2"/>
      <circle visibility="hidden" r="1"/>
    </g>
    <path ours:operation="guide" d="M-90 1 H9"/>
  </g>
  <ellipse ours:operation="cut" ours:when="table" cx="40" cy="36" rx="3" ry="2" fill="none"/>
  <g style="font-family:'Great Vibes',cursive;text-anchor:middle" xml:lang="tr">
    <text id="name" ours:operation="engrave" style="font-size:14px" letter-spacing="0.7"
          ours:fit-in="#name" ours:lines="2" ours:smallest="7" ours:leading="0.9" ours:tightest="-0.05"
          ours:narrower="Barlow Condensed, caveat" ours:sizing="each" ours:stands="ink"
          font-feature-settings="'swsh' 1, &quot;liga&quot; off"><tspan>{{ name }}</tspan></text>
    <text ours:operation="score" ours:when="table" font-family="Source Sans 3" font-size="4"
          letter-spacing="0.1em" text-anchor="end" xml:lang="" ours:fit-in="name">
      <textPath href="#arc" startOffset="25%">Table {{ table }}</textPath>
    </text>
  </g>
</svg>
"""


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Template:
    file = tmp_path_factory.mktemp("templates") / "test-card.svg"
    file.write_text(SOURCE, encoding="utf-8")
    return load_template(file)


def test_the_head(template: Template) -> None:
    assert (template.id, template.title, template.blank) == ("test-card", "Test", "place-card")
    assert template.description == "What it is."
    assert template.size == (80, 40)
    assert template.apostrophe is Apostrophe.TYPOGRAPHIC
    assert template.sample == {"name": "Ida Vale", "table": "4"}
    assert template.fields == ("name",)
    assert template.optional_fields == ("table",)
    assert template.fonts == ("great-vibes", "barlow-condensed", "caveat", "source-sans-3")


def test_texts_carry_their_setting_and_rule(template: Template) -> None:
    name, table = template.compose({"name": "Ida", "table": "4"}, "p2").requests
    assert name.setting == Setting("great-vibes", "tr", ("swsh=1", "liga=0"), pytest.approx(0.05))
    assert name.rule == FitRule(
        policy=SizePolicy.EACH,
        align=Align.MIDDLE,
        anchor=Anchor.INK,
        largest=14,
        smallest=7,
        leading=0.9,
        most_lines=2,
        tightest=-0.05,
        narrower=("barlow-condensed", "caveat"),
    )
    assert (name.piece, name.slot, name.text, name.operation) == ("p2", "name", "Ida", Operation.ENGRAVE)
    assert name.area.bounds() == Box(5, 5, 75, 25)
    assert name.along is None
    assert table.setting == Setting("source-sans-3", "", (), 0.1)
    assert (table.slot, table.text, table.start, table.rule.align) == ("text-2", "Table 4", 0.25, Align.END)
    assert table.rule.smallest == 3
    assert table.along is not None
    assert table.along.points.tolist() == [10 + 30j, 40 + 10j, 70 + 30j]


def test_marks_are_joined_by_operation_and_shared(template: Template) -> None:
    one, two = (template.compose({"name": name}, "p") for name in ("Ida", "Abe"))
    assert one.marks is two.marks
    boxes = {mark.operation: mark.path.bounds() for mark in one.marks}
    assert boxes == {
        Operation.ENGRAVE: Box(14, 2, 18, 4),
        Operation.SCORE: Box(10, 1, 19, 1),
        Operation.GUIDE: Box(-80, 1, 19, 1),
    }


def test_conditions_take_marks_and_texts_away(template: Template) -> None:
    with_table = template.compose({"name": "Ida", "table": "4"}, "p")
    for fields in ({"name": "Ida"}, {"name": "Ida", "table": ""}):
        without = template.compose(fields, "p")
        assert [request.slot for request in without.requests] == ["name"]
        assert not without.problems
        assert with_table.marks[:-1] == without.marks
    assert isinstance(with_table.marks[-1], Mark)
    assert with_table.marks[-1].operation is Operation.CUT


def test_apostrophes_and_nothing_else_change(template: Template) -> None:
    (request,) = template.compose({"name": "  Mirela  O'Dow-Smith “x” ʻ {{ y }} & <b>  "}, "p").requests
    assert request.text == "Mirela  O’Dow-Smith “x” ʻ {{ y }} & <b>"


def test_a_missing_field_is_a_problem_that_names_those_there_are(template: Template) -> None:
    drawing = template.compose({"nam": "Ida", "table": "4"}, "p7")
    assert [request.slot for request in drawing.requests] == ["text-2"]
    (problem,) = drawing.problems
    assert (problem.severity, problem.code, problem.piece) == (Severity.STOP, "missing-field", "p7")
    assert "'name'" in problem.message
    assert problem.hint == "Did you mean nam? The table has: nam, table."
    assert template.check_fields(["name"]) == ()
    assert [p.value for p in template.check_fields(["guest"])] == ["name"]


@pytest.mark.parametrize(
    ("name", "code"), [("", "empty-text"), ("  ", "empty-text"), ("x" * 401, "text-too-long")]
)
def test_a_text_that_cannot_be_lettered_stops_the_piece(template: Template, name: str, code: str) -> None:
    drawing = template.compose({"name": name}, "p")
    assert not drawing.requests
    assert [(p.severity, p.code) for p in drawing.problems] == [(Severity.STOP, code)]
    assert drawing.problems[0].hint


def test_another_font_takes_the_place_of_the_leading_one(template: Template) -> None:
    fields = {"name": "Ida", "table": "4"}
    name, table = template.compose(fields, "p", font="pacifico").requests
    assert (name.setting.font, name.setting.features) == ("pacifico", ())
    assert table.setting.font == "source-sans-3"
    assert template.compose(fields, "p").requests[0].setting.font == "great-vibes"
    same = template.compose(fields, "p", font="great-vibes").requests[0]
    assert same.setting.features == ("swsh=1", "liga=0")


def test_templates_travel_to_other_processes(template: Template) -> None:
    again = pickle.loads(pickle.dumps(template))
    fields = {"name": "Ida", "table": "4"}
    assert again.compose(fields, "p") == template.compose(fields, "p")


def test_scaled_text_is_as_large_as_it_looks(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    file.write_text(
        SOURCE.replace('<g style="font-family', '<g transform="translate(3,3) scale(.5)" style="font-family'),
        encoding="utf-8",
    )
    assert load_template(file).slots[0].rule.largest == 7


def test_templates_are_found_by_name_only(tmp_path: Path) -> None:
    own, ours = tmp_path / "own", tmp_path / "ours"
    for folder, names in ((own, ["b.svg"]), (ours, ["a.svg", "b.svg", "notes.txt", "bad name.svg"])):
        folder.mkdir()
        for name in names:
            (folder / name).write_text(SOURCE, encoding="utf-8")
    (tmp_path / "secret.svg").write_text(SOURCE, encoding="utf-8")
    folders = (own, ours, tmp_path / "nowhere")
    assert list_templates(folders) == {"a": ours / "a.svg", "b": own / "b.svg"}
    assert find_template("b", folders) == own / "b.svg"
    for name in ("../secret", "../secret.svg", "/etc/passwd", "", "a.svg", "place-crad"):
        with pytest.raises(TemplateError, match="no template") as caught:
            find_template(name, folders)
        assert caught.value.hint


@pytest.mark.parametrize(
    ("style", "stand"),
    [
        ("writing-mode:vertical-rl", "mixed"),
        ("writing-mode:tb;text-orientation:upright", "upright"),
        ("writing-mode:horizontal-tb;text-orientation:upright", ""),
    ],
)
def test_text_that_runs_down(tmp_path: Path, style: str, stand: str) -> None:
    """CSS Writing Modes Level 4: writing-mode and text-orientation; a column is centred by its ink."""
    source = SOURCE.replace("font-size:14px", f"font-size:14px;{style}").replace('ours:lines="2"', "")
    file = tmp_path / "down.svg"
    file.write_text(source.replace('ours:stands="ink"', ""), encoding="utf-8")
    slot = load_template(file).slots[0]
    assert slot.setting.vertical == stand
    assert slot.rule.anchor is (Anchor.INK if stand else Anchor.BASELINE)
    assert slot.rule.align is Align.MIDDLE


@pytest.mark.parametrize(
    ("style", "align", "paragraph"),
    [
        ("text-anchor:start", Align.START, None),
        ("text-anchor:start;direction:ltr", Align.START, Paragraph("ltr")),
        ("text-anchor:start;direction:rtl", Align.END, Paragraph("rtl")),
        ("text-anchor:end;direction:rtl;unicode-bidi:embed", Align.START, Paragraph("rtl")),
        ("text-anchor:middle;direction:rtl", Align.MIDDLE, Paragraph("rtl")),
        ("text-anchor:start;direction:rtl;unicode-bidi:plaintext", Align.END, None),
    ],
)
def test_text_that_runs_from_right_to_left(
    tmp_path: Path, style: str, align: Align, paragraph: Paragraph | None
) -> None:
    """SVG 2, text-anchor and direction: the start of what runs from right to left is its right end."""
    file = tmp_path / "backward.svg"
    file.write_text(SOURCE.replace("font-size:14px", f"font-size:14px;{style}"), encoding="utf-8")
    slot = load_template(file).slots[0]
    assert (slot.rule.align, slot.setting.paragraph) == (align, paragraph)
