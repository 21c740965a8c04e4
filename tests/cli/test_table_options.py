"""The options about tables: the same wherever a table is read, and none for an order of the ledger."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest
import typer

from render.cli.app import app
from render.cli.options import TABLE

EVERY = {
    "--column",
    "--quantity",
    "--mend",
    "--encoding",
    "--delimiter",
    "--table-sheet",
    "--all-sheets",
}
READERS = ("batch", "check", "packing-list", "proof", "quote", "take-order")


@pytest.fixture
def cp1252(tmp_path: Path) -> Path:
    """A table that needs two options to be read right."""
    file = tmp_path / "guests.csv"
    file.write_bytes("Name|Table\nZoë Lind|1\nJosé Gil|2\n".encode("cp1252"))
    return file


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Two sheets of names, and one of something else."""
    made = openpyxl.Workbook()
    for title, names in (("Office", ["Ana Morel"]), ("Sales", ["Bo Tanaka", "Cy Obi"])):
        sheet = made.create_sheet(title)
        for row in (["Name"], *([name] for name in names)):
            sheet.append(row)
    made.create_sheet("Rooms").append(["Room"])
    made["Rooms"].append(["12"])
    del made["Sheet"]
    file = tmp_path / "staff.xlsx"
    made.save(file)
    return file


def test_every_command_that_reads_a_table_has_all_of_them() -> None:
    commands = typer.main.get_command(app).commands
    found = {
        name: {
            option
            for parameter in command.params
            if getattr(parameter, "rich_help_panel", None) == TABLE or "--quantity" in parameter.opts
            for option in parameter.opts
        }
        for name, command in commands.items()
    }
    assert {name for name, options in found.items() if "--column" in options} == set(READERS)
    assert {name: EVERY - found[name] for name in READERS} == {name: set() for name in READERS}


def test_they_reach_the_reader(monikerf, cp1252: Path, tmp_path: Path) -> None:
    how = ("--encoding", "cp1252", "--delimiter", "|")
    shown = monikerf(
        "proof", cp1252, "-t", "place-card", "-o", tmp_path / "p", "--no-pictures", *how, "--json"
    )
    assert [piece["text"] for piece in shown.values["shown"]] == ["Zoë Lind", "José Gil"]
    packed = monikerf("packing-list", cp1252, *how, "--quantity", "2", "--json").values["parcels"]
    assert [piece["text"] for parcel in packed for piece in parcel["pieces"]].count("José Gil") == 2


def test_a_proof_shows_all_sheets_of_a_workbook(monikerf, book: Path, tmp_path: Path) -> None:
    words = ("-t", "place-card", "-o", tmp_path / "out", "--no-pictures", "--json")
    one = monikerf("proof", book, *words, "--table-sheet", "Sales").values
    every = monikerf("proof", book, *words, "--all-sheets").values
    assert [piece["text"] for piece in one["shown"]] == ["Bo Tanaka", "Cy Obi"]
    assert [piece["text"] for piece in every["shown"]] == ["Ana Morel", "Bo Tanaka", "Cy Obi"]


@pytest.mark.parametrize(
    "words",
    [
        ("proof", "--encoding", "utf-8"),
        ("proof", "--all-sheets"),
        ("proof", "--quantity", "2"),
        ("proof", "--font", "allura"),
        ("quote", "--delimiter", ";"),
        ("packing-list", "--quantity", "2"),
    ],
)
def test_none_of_them_goes_with_an_order(monikerf, cp1252: Path, tmp_path: Path, words) -> None:
    shop = tmp_path / "shop"
    monikerf("open-shop", shop)
    how = ("--encoding", "cp1252", "--delimiter", "|", "--order", "lind", "--shop", shop)
    assert monikerf("take-order", cp1252, "-t", "place-card", *how).code == 0
    answer = monikerf(words[0], "lind", *words[1:], "--shop", shop, "--json")
    assert answer.code == 2
    told = json.loads(answer.out)["error"]
    assert told == {
        "message": f"{words[1]} is about tables, and lind is an order of the ledger",
        "hint": "leave it out",
        "place": "",
    }
