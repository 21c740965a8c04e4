"""Whatever is wrong: one clear message with a hint, an exit code, and nothing half-written."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path

import pytest

from render import resources
from render.writers import files

NAMES = "Name\nAna Morel\nBo Tanaka\n"
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:mk="urn:monikerf:template:1" width="89mm" height="51mm"'
    ' viewBox="0 0 89 51" mk:title="T" mk:blank="place-card">{}</svg>'
)
TEXT = (
    '<rect mk:area="a" x="5" y="5" width="79" height="40"/>'
    '<text id="t" x="44" y="30" font-family="Noto Sans" font-size="9" mk:operation="engrave"'
    ' mk:fit-in="#a" mk:smallest="3">{}</text>'
)


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "guests.csv"
    path.write_text(NAMES, encoding="utf-8")
    return path


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    for name in ("templates", "fonts", "library"):
        (tmp_path / "shop" / name).mkdir(parents=True)
    return tmp_path / "shop"


def refused(answer, *words: str) -> None:
    """One message and one hint, exit code 2."""
    assert answer.code == 2, answer
    assert answer.out == ""
    lines = answer.err.splitlines()
    assert lines[0].startswith("✗ ")
    assert lines[-1].startswith("  what to do: "), answer.err
    for word in words:
        assert word in answer.err
    assert "Traceback" not in answer.err


def batch(monikerf, table, out, *more, template="place-card"):
    return monikerf("batch", table, "--template", template, "--out", out, *more)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("missing.csv", None, ["missing.csv"]),
        ("folder", "", ["folder"]),
        ("empty.csv", b"", ["empty"]),
        ("picture.csv", b"\x89PNG\r\n\x1a\n" + bytes(range(256)), ["picture.csv"]),
        ("letter.xlsx", b"%PDF-1.7 not a workbook", ["letter.xlsx"]),
        ("drinks.csv", b"Drink,Price\nTea,2\n", ["Drink", "--column"]),
    ],
)
def test_a_table_that_is_none(monikerf, tmp_path, name, content, words) -> None:
    path = tmp_path / name
    if content == "":
        path.mkdir()
    elif content is not None:
        path.write_bytes(content)
    refused(batch(monikerf, path, tmp_path / "out"), *words)
    assert not (tmp_path / "out").exists()


def test_a_table_without_rows(monikerf, tmp_path) -> None:
    (tmp_path / "t.csv").write_text("Name\n", encoding="utf-8")
    refused(batch(monikerf, tmp_path / "t.csv", tmp_path / "out"))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("option", "value", "word"),
    [
        ("--template", "plaice-card", "place-card"),
        ("--blank", "plate", "blank"),
        ("--blank", "coaster", "89 × 51"),
        ("--machine", "diod", "diode"),
        ("--font", "grate-vibes", "great-vibes"),
        ("--column", "name", "FIELD=HEADING"),
        ("--column", "name=Guest", "Guest"),
        ("--shop", "nowhere", "shop folder"),
        ("--encoding", "utf-99", "utf-99"),
    ],
)
def test_a_word_that_names_nothing(monikerf, table, tmp_path, option, value, word) -> None:
    template = [] if option == "--template" else ["--template", "place-card"]
    answer = monikerf("batch", table, "--out", tmp_path / "out", *template, option, value)
    refused(answer, word)
    assert not list((tmp_path / "out").glob("*"))


@pytest.mark.parametrize(
    "content",
    [
        "not a drawing at all",
        "<html/>",
        '<!DOCTYPE svg [<!ENTITY a "b">]>' + DRAWING.format("&a;"),
        DRAWING.format('<image href="file:///etc/passwd"/>'),
        DRAWING.format("<script>1</script>"),
        DRAWING.format('<g id="a"/>' + '<use href="#a"/>'),
        DRAWING.format("<g>" * 3000 + "</g>" * 3000),
        DRAWING.format(TEXT.format("{{ name.__class__.__mro__ }}")),
        DRAWING.format(TEXT.format("{{ cycler.__init__.__globals__ }}")),
        DRAWING.format(TEXT.format("{% for i in range(10**9) %}x{% endfor %}")),
        DRAWING.format('<path mk:operation="cut" d="M0 0 L nonsense"/>'),
    ],
)
def test_a_template_that_is_broken_or_hostile(monikerf, table, tmp_path, shop, content) -> None:
    (shop / "templates" / "bad.svg").write_text(content, encoding="utf-8")
    refused(batch(monikerf, table, tmp_path / "out", "--shop", shop, template="bad"), "bad.svg")
    assert not list((tmp_path / "out").glob("*"))


def test_ten_million_nested_uses_are_refused_at_once(monikerf, table, tmp_path, shop) -> None:
    """Ten groups of ten uses each, one inside the other, would draw 10^7 paths."""
    groups = '<path id="g0" mk:operation="score" d="M0 0L1 1"/>' + "".join(
        f'<g id="g{n}">' + f'<use href="#g{n - 1}"/>' * 10 + "</g>" for n in range(1, 8)
    )
    (shop / "templates" / "deep.svg").write_text(DRAWING.format(groups), encoding="utf-8")
    refused(batch(monikerf, table, tmp_path / "out", "--shop", shop, template="deep"), "use")


def test_a_corrupt_font(monikerf, table, tmp_path, shop) -> None:
    good = resources.folder("fonts_open") / "noto-sans" / "NotoSans_500Medium.ttf"
    (shop / "fonts" / "ours.ttf").write_bytes(good.read_bytes()[:40_000])
    refused(batch(monikerf, table, tmp_path / "out", "--shop", shop, "--font", "ours"), "ours.ttf")
    assert not list((tmp_path / "out").glob("*"))


def test_a_broken_library_entry(monikerf, table, tmp_path, shop) -> None:
    (shop / "library" / "machines").mkdir()
    (shop / "library" / "machines" / "mine.toml").write_text('title = "Mine"\nbed = "large"\n', "utf-8")
    refused(batch(monikerf, table, tmp_path / "out", "--shop", shop, "--machine", "mine"), "mine.toml")


def test_an_output_folder_that_is_a_file(monikerf, table, tmp_path) -> None:
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    refused(batch(monikerf, table, tmp_path / "out"))
    assert (tmp_path / "out").read_text("utf-8") == "mine"


def test_an_output_folder_that_cannot_be_written(monikerf, table, tmp_path, monkeypatch) -> None:
    def no(*_: object, **__: object) -> int:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(files.os, "open", no)
    refused(batch(monikerf, table, tmp_path / "out"), "may not write")


def test_a_full_disk_leaves_what_was_there(monikerf, table, tmp_path, monkeypatch) -> None:
    out = tmp_path / "out"
    assert batch(monikerf, table, out).code == 0
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    table.write_text(NAMES + "Cleo Baptiste\n", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(files.os, "fsync", full)
    refused(batch(monikerf, table, out), "disk is full")
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.skipif(os.name == "nt" or shutil.which("mount") is None, reason="needs a POSIX mount")
def test_a_disk_that_is_really_full(monikerf, table, tmp_path) -> None:
    """A file system of 64 KiB, where it may be mounted; the message and the cleaning up are the same."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.geteuid() or os.system(f"mount -t tmpfs -o size=64k tmpfs {disk} 2>/dev/null"):
        return  # no right to mount: the test above stands in
    try:
        refused(batch(monikerf, table, disk), "disk is full")
        assert not list(disk.iterdir())
    finally:
        os.system(f"umount {disk}")


def test_errors_in_json(monikerf, tmp_path) -> None:
    answer = monikerf("batch", tmp_path / "no.csv", "-t", "place-card", "-o", tmp_path / "o", "--json")
    assert answer.code == 2
    assert set(answer.values["error"]) == {"message", "hint", "place"}
