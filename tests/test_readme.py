"""The README's examples run, in order, as they stand; and every command is in it."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from render.proof.answers import Answer, PieceAnswer, write_answer

TOP = Path(__file__).resolve().parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
LINES = [line.split("  #")[0].strip() for block in BLOCKS for line in block.splitlines()]
ENDS = {0, 1}
"""All is made, or pieces were held back (the demo's orders are awkward on purpose)."""


def answer_to(shop: Path) -> str:
    """A customer who finds everything right but one name."""
    shown = json.loads((shop / "proofs" / "wedding" / "proof-1" / "proof.json").read_text("utf-8"))
    wishes = {"p062": "Please write Zoë"}
    pieces = tuple(
        PieceAnswer(p["id"], p["digest"][:8], p["id"] not in wishes, wishes.get(p["id"], ""))
        for p in shown["pieces"]
    )
    return write_answer(Answer("wedding", "", pieces))


@pytest.mark.slow
def test_the_examples_run_in_order(tmp_path: Path) -> None:
    here = tmp_path
    for source in ("wedding/guests.csv", "market/tags.csv", "staff/staff.xlsx"):
        (here / Path(source).name).write_bytes((TOP / "demo" / source).read_bytes())
    environment = {**os.environ, "PYTHONPATH": str(TOP), "PYTHONIOENCODING": "utf-8"}
    ran = 0
    for line in LINES:
        if line.startswith("cd "):
            (here / line[3:] / "guests.csv").write_bytes((here / "guests.csv").read_bytes())
            here /= line[3:]
            continue
        if line.startswith("monikerf backup"):
            back = here.parent
        if not line.startswith("monikerf "):
            continue
        if line.startswith("monikerf answer"):
            (here / "answer.txt").write_text(answer_to(here), encoding="utf-8")
        words, _, into = line.partition(" > ")
        command = [sys.executable, "-m", "render.cli", *shlex.split(words)[1:]]
        done = subprocess.run(
            command, cwd=here, env=environment, capture_output=True, text=True, encoding="utf-8"
        )
        assert done.returncode in ENDS, f"{line}\n{done.stdout[-2000:]}{done.stderr[-2000:]}"
        assert "Traceback" not in done.stderr
        if into:
            (here / into).write_text(done.stdout, encoding="utf-8")
        if line.startswith("monikerf backup"):
            here = back
        ran += 1
    assert ran >= 30


def test_every_command_is_in_the_readme() -> None:
    import typer

    from render.cli.app import app

    group = typer.main.get_command(app)
    missing = [name for name in group.commands if f"monikerf {name}" not in README]  # type: ignore[attr-defined]
    assert not missing
