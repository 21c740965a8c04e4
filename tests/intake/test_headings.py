"""Which column is which."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import Environment

from render.errors import TableError
from render.intake.headings import SYNONYMS, match_columns, names_someone, slug


def fields(*headings: str, **wanted: str) -> dict[str, str]:
    columns = match_columns(headings, wanted, "t.csv")
    return {field: headings[number] for field, number in columns.fields.items()}


@pytest.mark.parametrize("field", SYNONYMS)
def test_every_synonym_is_known_in_any_case(field: str) -> None:
    for word in SYNONYMS[field].split():
        for heading in (word, word.upper(), word.replace("-", " ").title(), f" {word.replace('-', '_')}: "):
            beside = ("Whole",) if field != "name" else ()
            columns = match_columns((heading, *beside), {"name": "Whole"} if beside else {}, "t.csv")
            assert columns.matched[field] == heading


def test_no_word_stands_for_two_fields() -> None:
    words = [word for line in SYNONYMS.values() for word in line.split()]
    assert sorted(set(words)) == sorted(words)


@pytest.mark.parametrize(
    ("headings", "found"),
    [
        (("Nombre", "Apellidos"), {"given": "Nombre", "surname": "Apellidos"}),
        (("Nombre", "Mesa"), {"name": "Nombre", "table": "Mesa"}),
        (("Nome", "Cognome"), {"given": "Nome", "surname": "Cognome"}),
        (("Nom", "Prénom"), {"given": "Prénom", "surname": "Nom"}),
        (("Nom", "Table"), {"name": "Nom", "table": "Table"}),
        (("Vorname", "Nachname", "Menge"), {"given": "Vorname", "surname": "Nachname", "quantity": "Menge"}),
        (("Имя", "Фамилия"), {"given": "Имя", "surname": "Фамилия"}),
        (
            ("Guest", "First name", "Last name"),
            {"name": "Guest", "given": "First name", "surname": "Last name"},
        ),
    ],
)
def test_words_of_two_meanings_look_at_their_neighbours(
    headings: tuple[str, ...], found: dict[str, str]
) -> None:
    assert fields(*headings) == found


def test_the_user_decides_before_the_synonyms() -> None:
    assert fields("Guest", "Text", name="Text") == {"guest": "Guest", "name": "Text"}
    assert fields("Name", "Vorname", name="name") == {"name": "Name", "given": "Vorname"}
    assert fields("Who", motto="who", name="Who") == {"motto": "Who", "name": "Who"}


def test_every_column_is_kept_under_a_name_templates_can_use() -> None:
    headings = (
        "Name",
        "Shirt size",
        "T-shirt",
        "t shirt",
        "2nd choice",
        "#",
        "Größe",
        "席",
        "Notes",
        "note_2",
        "Line",
    )
    found = fields(*headings, note="Notes")
    assert set(found.values()) == set(headings)
    assert found["shirt_size"] == "Shirt size"
    assert (found["t_shirt"], found["t_shirt_2"]) == ("T-shirt", "t shirt")
    for name in found:
        template = Environment(autoescape=True).from_string("{{ " + name + " }}")
        assert template.render({name: "x"}) == "x"


@given(st.text(max_size=20), st.integers(0, 9))
def test_a_slug_is_always_an_identifier(heading: str, number: int) -> None:
    assert slug(heading, number).isidentifier()


@given(
    st.lists(
        st.text(st.characters(categories=["L", "N", "P", "Z"]), min_size=1, max_size=8),
        unique=True,
        max_size=6,
    )
)
def test_any_headings_are_all_kept_or_asked_about(headings: list[str]) -> None:
    try:
        found = fields("Guest of honour", *headings, name="Guest of honour")
    except TableError as error:
        refused = error
    else:
        assert sorted(found.values()) == sorted({"Guest of honour", *headings})
        return
    assert "--column" in refused.hint


def test_a_sheet_with_a_heading_for_names_is_known() -> None:
    assert names_someone(["Seat", "GÄSTE"])
    assert not names_someone(["Dish", "Price"])
