"""The wheel, installed in a fresh environment outside the checkout, is whole and runs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

from render.resources import NAMES

TOP = Path(__file__).resolve().parents[1]
pytestmark = [pytest.mark.slow, pytest.mark.xdist_group("package")]


def run(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "COV_"))}
    return subprocess.run(
        [str(word) for word in words], cwd=cwd, capture_output=True, text=True, env=clean, timeout=300
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    done = run(
        sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, TOP, cwd=folder
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (file,) = folder.glob("*.whl")
    return file


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of an environment that holds the wheel; libraries come from this environment.

    Those are reached by a plain path, so that the editable Monikerf of this environment (which comes by way
    of a .pth file) is not. That each of them is declared is for tests/test_rooms.py.
    """
    home = tmp_path_factory.mktemp("away")
    venv.create(home / "venv", with_pip=False)
    (python,) = [p for p in (home / "venv").glob("*/python*") if p.stem == "python"]
    scheme = {"base": str(home / "venv"), "platbase": str(home / "venv")}
    site = Path(sysconfig.get_path("purelib", "venv", scheme))
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n")
    pip = ("-m", "pip", "--python", python, "install", "--no-deps", "--no-index", "-q", wheel)
    done = run(sys.executable, *pip, cwd=home)
    assert done.returncode == 0, done.stdout + done.stderr
    return python


def test_the_wheel_holds_every_file_of_the_data_folders(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    listed = run("git", "ls-files", *NAMES, cwd=TOP).stdout.splitlines()
    assert {f"render/_data/{name}" for name in listed if not name.startswith('"')} <= held
    assert any(name.endswith("licenses/LICENSE") for name in held)
    assert not [name for name in held if name.startswith(("tests/", "render/_data/tests"))]


def test_an_installed_monikerf_finds_its_folders_inside_itself(installed: Path, tmp_path: Path) -> None:
    code = (
        "import json, render; from render.resources import NAMES, folder\n"
        "from render.shop.library import Library\n"
        "print(json.dumps([render.__file__, *(str(folder(n)) for n in NAMES)]))\n"
        "print(json.dumps([b.id for b in Library.standard().blanks()]))"
    )
    done = run(installed, "-c", code, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    places, blanks = (json.loads(line) for line in done.stdout.splitlines())
    away = str(installed.parents[1])
    assert all(place.startswith(away) for place in places), places
    assert "place-card" in blanks


def test_an_installed_monikerf_makes_an_order(installed: Path, tmp_path: Path) -> None:
    (tmp_path / "guests.csv").write_text("Name\nAmelie Quist\nBruno Thorsrud\n", encoding="utf-8")
    words = ("batch", "guests.csv", "--template", "place-card", "--out", "out")
    done = run(installed.parent / "monikerf", *words, cwd=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert (tmp_path / "out" / "sheet-1.svg").stat().st_size > 1000
    assert (tmp_path / "out" / "proof.png").read_bytes().startswith(b"\x89PNG")
    assert json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
