"""`monikerf proof`, as a person would run it: of a bare table, and of an order from e-mail to approval."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from render.proof.answers import Answer, PieceAnswer, write_answer


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "guests.csv"
    path.write_text("Name,Table\nZoë O'Brien,1\nمحمد الفارسي,2\nBo Tanaka,3\n", encoding="utf-8")
    return path


@pytest.fixture
def shop(monikerf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    assert monikerf("open-shop", tmp_path / "shop", "--name", "Shop of the tests").code == 0
    monkeypatch.setenv("MONIKERF_SHOP", str(tmp_path / "shop"))
    return tmp_path / "shop"


def test_a_table_is_shown_without_a_ledger(monikerf, table: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = monikerf("proof", table, "-t", "place-card", "--out", out, "--until", "2026-06-12", "--json")
    assert done.code == 0
    assert done.values["files"][:3] == ["proof.html", "proof.pdf", "contact.png"]
    assert {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()} == set(
        done.values["files"]
    )
    page = (out / "proof.html").read_text("utf-8")
    assert "Please answer by 12 June 2026" in page
    assert "The apostrophe is set as a curved one: Zoë O’Brien" in page
    assert (out / "proof.pdf").read_bytes().startswith(b"%PDF")
    assert len(list((out / "pieces").glob("*.png"))) == 3


def test_what_is_shown_is_what_is_made(monikerf, table: Path, tmp_path: Path) -> None:
    shown = monikerf("proof", table, "-t", "place-card", "-o", tmp_path / "p", "--no-pictures", "--json")
    made = monikerf("batch", table, "-t", "place-card", "-o", tmp_path / "b", "--json").values["pieces"]
    assert {p["id"]: p["digest"] for p in shown.values["shown"]} == {p["id"]: p["digest"] for p in made}


def test_a_second_proof_clears_away_the_first(monikerf, table: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    monikerf("proof", table, "-t", "place-card", "--out", out)
    (out / "pieces" / "my own.png").write_bytes(b"mine")
    table.write_text("Name,Table\nAna Morel,1\n", encoding="utf-8")
    monikerf("proof", table, "-t", "place-card", "--out", out)
    assert sorted(path.name for path in (out / "pieces").iterdir()) == ["my own.png", "p002-Ana-Morel.png"]


def test_what_cannot_be_made_is_named_not_dropped(monikerf, table: Path, tmp_path: Path) -> None:
    table.write_text("Name,Table\nAna Morel,1\n林美玲,2\n", encoding="utf-8")
    out = tmp_path / "out"
    done = monikerf("proof", table, "-t", "place-card", "-o", out, "--no-pictures", "--json")
    assert done.code == 1
    assert done.values["not_shown"] == [{"id": "p003", "text": "林美玲"}]
    assert "Not shown yet" in (out / "proof.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("proof", "TABLE", "-t", "place-card"), "--out"),
        (("proof", "TABLE"), "--template"),
        (("proof", "TABLE", "-t", "place-card", "-o", "OUT", "--until", "soon"), "2026-06-19"),
    ],
)
def test_refusals(monikerf, table: Path, tmp_path: Path, words: tuple[str, ...], told: str) -> None:
    given = [{"TABLE": table, "OUT": tmp_path / "out"}.get(word, word) for word in words]
    done = monikerf(*given)
    assert done.code == 2
    assert told in done.err
    assert not (tmp_path / "out" / "proof.html").exists()


def test_nothing_that_can_be_shown_leaves_nothing_behind(monikerf, table: Path, tmp_path: Path) -> None:
    table.write_text("Name,Table\n林美玲,2\n", encoding="utf-8")
    done = monikerf("proof", table, "-t", "place-card", "-o", tmp_path / "out")
    assert done.code == 2
    assert "no piece can be shown" in done.err
    assert not (tmp_path / "out").exists()


def answered(folder: Path, wishes: dict[str, str]) -> str:
    """The answer to the proof in a folder: right, but for what is wished."""
    values = json.loads((folder / "proof.json").read_text("utf-8"))
    pieces = tuple(
        PieceAnswer(p["id"], p["digest"], p["id"] not in wishes, wishes.get(p["id"], ""))
        for p in values["pieces"]
    )
    return write_answer(Answer(values["order"], "thank you", pieces))


def test_from_table_to_approval(monikerf, shop: Path, table: Path, tmp_path: Path) -> None:
    assert monikerf("take-order", table, "-t", "place-card", "--order", "june", "--customer", "L.").code == 0
    first = monikerf("proof", "june", "--no-pictures", "--json").values
    folder = shop / "proofs" / "june" / "proof-1"
    assert Path(first["folder"]) == folder
    page = (folder / "proof.html").read_text("utf-8")
    assert "Shop of the tests" in page
    assert "Please answer by" in page
    mail = tmp_path / "mail.txt"
    mail.write_text("\n".join(f"> {line}" for line in answered(folder, {"p004": '"Bo Tänaka"'}).splitlines()))
    assert monikerf("answer", mail).code == 0
    assert monikerf("correct", "june", "--as-wished").code == 0
    second = monikerf("proof", "june", "--no-pictures", "--json").values
    assert [(p["id"], p["text"]) for p in second["shown"]] == [("p004", "Bo Tänaka")]
    assert second["shown"][0]["digest"] != first["shown"][2]["digest"]
    again = monikerf("answer", mail)  # the first answer once more: nothing changes
    assert "nothing changed" in again.out
    mail.write_text(answered(shop / "proofs" / "june" / "proof-2", {}), encoding="utf-8")
    assert monikerf("answer", mail, "--json").values["pieces"][0]["outcome"] == "approved"
    done = monikerf("proof", "june")
    assert done.code == 2
    assert "nothing of june is to be shown" in done.err


def test_an_answer_that_is_not_there_is_told_with_what_to_do(monikerf, shop: Path, tmp_path: Path) -> None:
    missing, folder = monikerf("answer", tmp_path / "answer.txt"), monikerf("answer", tmp_path)
    assert (missing.code, folder.code) == (2, 2)
    assert "there is no such file" in missing.err
    assert "paste it: monikerf answer -" in missing.err
    assert "name the file inside it" in folder.err
