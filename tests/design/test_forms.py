"""Forms of letters as a template and a piece ask for them."""

from __future__ import annotations

from pathlib import Path

import pytest

from render.design import Template, load_template
from render.design.forms import axes, features, spacing, wishes
from render.design.refusal import Refusal
from render.errors import TemplateError
from render.model import Setting, Severity, Swash

SOURCE = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1"
     width="80mm" height="40mm" viewBox="0 0 80 40" mk:title="Test" mk:blank="place-card">
  <rect mk:area="a" x="5" y="5" width="70" height="20"/>
  <text id="name" mk:operation="engrave" font-family="Allura" font-size="10" mk:fit-in="#a"
        {0}>{{{{ name }}}}</text>
  <text id="more" mk:operation="engrave" font-family="Source Serif" font-size="10" mk:fit-in="#a"
        {1}>{{{{ name }}}}</text>
</svg>
"""


def template(tmp_path: Path, one: str = "", other: str = "") -> Template:
    file = tmp_path / "test.svg"
    file.write_text(SOURCE.format(one, other), encoding="utf-8")
    return load_template(file)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", ()),
        ("swsh", ("swsh=1",)),
        ("ss01, ss02;salt=2", ("ss01=1", "ss02=1", "salt=2")),
        ("+ss01 -liga", ("ss01=1", "liga=0")),
        ("'swsh' 1, \"liga\" off, 'salt' 3", ("swsh=1", "liga=0", "salt=3")),
        ("swsh[0] fina[3:5]=1", ("swsh[0]=1", "fina[3:5]=1")),
        ("  cv05 on  ", ("cv05=1",)),
    ],
)
def test_what_a_piece_wishes_for(text: str, found: tuple[str, ...]) -> None:
    assert wishes(text) == found


@pytest.mark.parametrize("text", ["waterproof", "ss01!", "1234", "swsh=yes", "ss", "'swsh\" 1", "ss01=1000"])
def test_what_no_one_understands(text: str) -> None:
    with pytest.raises(Refusal, match="not understood") as caught:
        wishes(text)
    assert "show font" in caught.value.hint


def test_css_words_stand_for_features() -> None:
    """CSS Fonts Module Level 4, sections 6.4 to 6.7 (from memory): small-caps is smcp, and so on."""
    look = {"font-variant-caps": "all-small-caps", "font-variant-numeric": "oldstyle-nums slashed-zero",
            "font-feature-settings": "'smcp' off"}  # fmt: skip
    assert features(look) == ("c2sc=1", "smcp=1", "onum=1", "zero=1", "smcp=0")
    assert features({"font-variant": "small-caps"}) == ("smcp=1",)
    assert features({"font-variant": "normal", "font-variant-ligatures": "no-contextual"}) == ("calt=0",)
    with pytest.raises(Refusal, match="font-variant-caps"):
        features({"font-variant-caps": "tiny"})


def test_axes() -> None:
    assert axes({}) == {}
    assert axes({"font-variation-settings": "'wght' 650, \"opsz\" 12.50"}) == {"wght": "650", "opsz": "12.5"}
    assert axes({"font-optical-sizing": "none"}) == {"opsz": "usual"}
    assert axes({"font-optical-sizing": "auto"}) == {}
    for wrong in ({"font-variation-settings": "wght 600"}, {"font-optical-sizing": "yes"}):
        with pytest.raises(Refusal):
            axes(wrong)


def test_spaces_in_em() -> None:
    assert spacing("0.2em", "10", "word-spacing", -0.5) == 0.2
    assert spacing("2", "10", "word-spacing", -0.5) == pytest.approx(0.2)
    assert spacing("normal", "", "word-spacing", -0.5) == 0
    for text, size in (("2", "0"), ("2", ""), ("3em", "10"), ("-1em", "10")):
        with pytest.raises(Refusal):
            spacing(text, size, "word-spacing", -0.5)


def test_a_template_names_its_forms(tmp_path: Path) -> None:
    made = template(
        tmp_path,
        """font-variant-numeric="oldstyle-nums" word-spacing="0.3em" mk:swash="end" """,
        """font-variation-settings="'wght' 600, 'opsz' 12" font-feature-settings="'smcp' 1" """,
    )
    name, more = made.slots
    assert name.setting == Setting("allura", features=("onum=1",), word_space=0.3)
    assert (name.rule.swash, more.rule.swash) == (Swash.END, Swash.NONE)
    assert more.setting == Setting("source-serif:opsz=12,wght=600", features=("smcp=1",))
    with pytest.raises(TemplateError, match="mk:swash"):
        template(tmp_path, 'mk:swash="ends"')


def test_a_piece_adds_its_wishes_to_the_leading_font(tmp_path: Path) -> None:
    made = template(tmp_path, """font-feature-settings="'onum' 1" """)
    drawing = made.compose({"name": "Ana", "features": "swsh, -liga"}, "p1")
    name, more = drawing.requests
    assert name.setting.features == ("onum=1", "swsh=1", "liga=0")
    assert more.setting.features == ()
    assert not drawing.problems
    assert made.compose({"name": "Ana", "features": ""}, "p1").requests[0].setting is made.slots[0].setting


def test_a_template_may_say_where_wishes_go(tmp_path: Path) -> None:
    made = template(tmp_path, "", """font-feature-settings="'onum' 1, {{ features|default('') }}" """)
    name, more = made.compose({"name": "Ana", "features": "smcp"}, "p1").requests
    assert (name.setting.features, more.setting.features) == ((), ("onum=1", "smcp=1"))
    assert made.compose({"name": "Ana"}, "p1").requests[1].setting.features == ("onum=1",)
    assert "features" in made.optional_fields
    strict = template(tmp_path, """font-feature-settings="{{ wish }}" """)
    (problem,) = strict.compose({"name": "Ana"}, "p1").problems
    assert (problem.code, problem.value) == ("missing-field", "wish")


def test_wishes_survive_another_font(tmp_path: Path) -> None:
    made = template(tmp_path, """font-feature-settings="'onum' 1" """)
    (name, _) = made.compose({"name": "Ana", "features": "ss01"}, "p1", font="caveat").requests
    assert name.setting == Setting("caveat", features=("ss01=1",))


def test_an_unclear_wish_is_told_and_left_out(tmp_path: Path) -> None:
    drawing = template(tmp_path).compose({"name": "Ana", "features": "nice curls"}, "p1")
    (problem,) = drawing.problems
    assert (problem.severity, problem.code, problem.value) == (
        Severity.LOOK,
        "unclear-features",
        "nice curls",
    )
    assert drawing.requests[0].setting.features == ()
