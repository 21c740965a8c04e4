"""The scripts that set up, run and test, and what they say where they cannot go on; the demo orders."""

from __future__ import annotations

import csv
import os
import re
import shutil
import subprocess
import tomllib
from collections import Counter
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]
SCRIPTS = ("demo/run", "demo/prepare.sh", "tests/run", ".ci/run")
needs_sh = pytest.mark.skipif(shutil.which("sh") is None, reason="there is no sh here")


def sh(text: str, folder: Path, commands: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """Run shell text where only `commands` (name and what each does) and a few plain tools can be found."""
    tools = folder / "tools"
    tools.mkdir()
    for name, body in commands.items():
        (tools / name).write_text(f"#!{shutil.which('sh')}\n{body}\n")
        (tools / name).chmod(0o755)
    for name in ("cat", "sh", "uname", "env"):
        if name not in commands:
            (tools / name).symlink_to(shutil.which(name) or name)
    env = {"PATH": str(tools)}
    return subprocess.run(["sh", "-ceu", text], cwd=folder, env=env, capture_output=True, text=True)


@needs_sh
@pytest.mark.parametrize("script", SCRIPTS)
def test_scripts_are_plain_sh(script: str) -> None:
    done = subprocess.run(["sh", "-n", script], cwd=TOP, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert script.endswith(".sh") or os.access(TOP / script, os.X_OK)


@needs_sh
def test_without_a_python_that_is_new_enough(tmp_path: Path) -> None:
    done = sh(f'. {TOP}/demo/prepare.sh\nprepare_python ""', tmp_path, {"python3": "exit 1"})
    assert done.returncode == 2
    assert "needs Python 3.11 or newer" in done.stderr
    assert not (tmp_path / ".venv").exists()


REFUSED = {"id": "echo 1000", "sudo": "exit 1"}


@needs_sh
@pytest.mark.parametrize(
    ("manager", "line"),
    [
        ("apt-get", "sudo apt-get install libcairo2"),
        ("dnf", "sudo dnf install cairo"),
        ("pacman", "sudo pacman -S cairo"),
        ("zypper", "sudo zypper install libcairo2"),
        ("apk", "sudo apk add cairo"),
        ("brew", "brew install cairo"),
        ("nothing", "install the package of your system that holds libcairo"),
    ],
)
def test_without_cairo_and_without_rights_one_line_is_told(tmp_path: Path, manager: str, line: str) -> None:
    text = f". {TOP}/demo/prepare.sh\nhas_cairo() {{ false; }}\nprepare_cairo\necho went on"
    done = sh(text, tmp_path, REFUSED | {manager: "exit 1"})
    assert line in done.stderr
    assert done.stdout == "went on\n"  # proofs are then drawn by resvg


@needs_sh
def test_with_rights_cairo_is_installed(tmp_path: Path) -> None:
    text = f". {TOP}/demo/prepare.sh\nhas_cairo() {{ [ -e {tmp_path}/cairo ]; }}\nprepare_cairo"
    waits = '"-o DPkg::Lock::Timeout=300 "*'  # where another program installs something just now
    apt = f'case "$*" in {waits}"install"*libcairo2) : >{tmp_path}/cairo ;; esac'
    done = sh(text, tmp_path, {"id": "echo 0", "apt-get": apt})
    assert done.returncode == 0
    assert (tmp_path / "cairo").exists()
    assert "sudo" not in done.stderr


def test_nothing_names_a_place_outside_the_project() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True).stdout.splitlines()
    if not listed:
        pytest.skip("not a checkout")
    suffixes = (".py", ".md", ".toml", ".svg", ".sh", "run")
    outside = re.compile("|".join(("[.][.]/" + "shared", *(f"/{top}/" for top in ("home", "root", "work")))))
    found = {
        name
        for name in listed
        if name.endswith(suffixes) and outside.search((TOP / name.strip('"')).read_text(encoding="utf-8"))
    }
    assert found <= {".ci/run"}


def test_what_the_tests_need_is_declared() -> None:
    extras = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]["optional-dependencies"][
        "dev"
    ]
    names = {re.split(r"[>=]", line)[0] for line in extras}
    assert {"pytest", "pytest-xdist", "hypothesis", "ruff", "mypy", "build", "hatchling"} <= names


# ---------------------------------------------------------------- the demo orders


def test_the_wedding_has_120_guests_at_twelve_tables_and_five_doubts() -> None:
    with (TOP / "demo/wedding/guests.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["Guest name", "Table", "Menu", "Notes"]
    assert len(rows) == 120
    assert set(Counter(row["Table"] for row in rows).values()) == {10}
    names = [row["Guest name"] for row in rows]
    doubts = {
        "long": [name for name in names if len(name) > 30],
        "capitals": [name for name in names if name.isupper()],
        "mojibake": [name for name in names if "Ã" in name],
        "twice": [name for name, count in Counter(names).items() if count > 1],
        "Cyrillic": [name for name in names if re.search("[\u0400-\u04ff]", name)],
    }
    assert {doubt: len(found) for doubt, found in doubts.items()} == dict.fromkeys(doubts, 1)


def test_the_market_has_40_tags_and_the_company_60_people() -> None:
    from openpyxl import load_workbook

    with (TOP / "demo/market/tags.csv").open(encoding="utf-8", newline="") as file:
        assert sum(int(row["Quantity"]) for row in csv.DictReader(file)) == 40
    sheet = load_workbook(TOP / "demo/staff/staff.xlsx").active
    rows = list(sheet.values)
    assert rows[0] == ("First name", "Surname", "Department")
    assert len(set(rows[1:])) == 60
    assert ("Beatrix", "Null") in {row[:2] for row in rows}
