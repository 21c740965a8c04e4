"""Names for files, and files that appear whole or not at all."""

import errno
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import OutputError, VerificationError
from render.writers import WRITERS, ready_folder, safe_stem, write_atomically, write_sheet
from render.writers.files import LONGEST_STEM

HOME = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("text", "stem"),
    [
        ("Zoë", "Zoë"),
        ("Zoe\u0308", "Zoë"),
        ("Łukasz Żak", "Łukasz-Żak"),
        ("محمد", "محمد"),
        ("अनीता", "अनीता"),
        ("a/b\\c:d*e?f", "a-b-c-d-e-f"),
        ("../../etc/passwd", "etc-passwd"),
        (".hidden", "hidden"),
        ("ends with dots...", "ends-with-dots"),
        ("bell\x07 and\u202eturned\u200b", "bell-andturned"),
        ("lone \ud800 half", "lone-half"),
        ("", "unnamed"),
        ("???", "unnamed"),
        # device names of Windows: Microsoft Learn, "Naming Files, Paths, and Namespaces"
        ("CON", "CON-"),
        ("nul.txt", "nul-.txt"),
        ("com1", "com1-"),
        ("LPT².x", "LPT²-.x"),
        ("console", "console"),
    ],
)
def test_safe_stem(text: str, stem: str) -> None:
    assert safe_stem(text) == stem


@given(st.text(max_size=400))
def test_a_stem_is_safe_everywhere(text: str) -> None:
    stem = safe_stem(text)
    assert 0 < len(stem.encode()) <= LONGEST_STEM + 1  # one more where a device's name got its hyphen
    assert not set(stem) & set('<>:"/\\|?* ')
    assert stem[0] not in ".-"
    assert stem[-1] not in ". "
    assert all(unicodedata.category(c)[0] != "C" for c in stem)


def test_a_long_name_is_not_cut_inside_a_letter() -> None:
    cut = safe_stem("x" * (LONGEST_STEM - 1) + "é")
    assert cut == "x" * (LONGEST_STEM - 1)
    marked = safe_stem("x" * (LONGEST_STEM - 1) + "q\u0323")  # q with dot below has no single character
    assert marked == "x" * (LONGEST_STEM - 1)


def test_writes_and_replaces(tmp_path: Path) -> None:
    path = tmp_path / "sheet-1.svg"
    write_atomically(path, b"one")
    write_atomically(path, lambda stream: stream.write(b"two"), lambda part: None)
    assert path.read_bytes() == b"two"
    assert os.listdir(tmp_path) == ["sheet-1.svg"]


def test_new_files_may_be_read_by_whom_the_umask_allows(tmp_path: Path) -> None:
    old = os.umask(0o022)
    try:
        write_atomically(tmp_path / "a.svg", b"")
    finally:
        os.umask(old)
    assert (tmp_path / "a.svg").stat().st_mode & 0o777 == 0o644


def test_verification_sees_the_whole_file_under_another_name(tmp_path: Path) -> None:
    path = tmp_path / "sheet-1.svg"
    seen: list[Path] = []

    def verify(part: Path) -> None:
        assert part.read_bytes() == b"whole"
        assert not path.exists()
        seen.append(part)

    write_atomically(path, b"whole", verify)
    assert seen[0].suffix == ".svg"
    assert seen[0].parent == tmp_path


@pytest.mark.parametrize("there_before", [False, True])
@pytest.mark.parametrize("error", [VerificationError("not as meant"), KeyboardInterrupt()])
def test_what_does_not_verify_is_not_left_behind(
    tmp_path: Path, there_before: bool, error: BaseException
) -> None:
    path = tmp_path / "sheet-1.svg"
    if there_before:
        path.write_bytes(b"old")

    def verify(part: Path) -> None:
        raise error

    with pytest.raises(type(error)):
        write_atomically(path, b"new", verify)
    assert [p.read_bytes() for p in tmp_path.iterdir()] == ([b"old"] if there_before else [])


@pytest.mark.parametrize("moment", ["write", "fsync", "replace"])
def test_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str) -> None:
    path = tmp_path / "sheet-1.svg"
    path.write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if moment == "write":

        def data(stream: object) -> None:
            stream.write(b"half")  # type: ignore[attr-defined]
            full()
    else:
        monkeypatch.setattr(os, moment, full)

        def data(stream: object) -> None:
            stream.write(b"all")  # type: ignore[attr-defined]

    with pytest.raises(OutputError, match="the disk is full") as caught:
        write_atomically(path, data)
    assert caught.value.hint
    assert caught.value.place == str(path)
    assert [p.read_bytes() for p in tmp_path.iterdir()] == [b"old"]


@pytest.mark.skipif(sys.platform == "win32", reason="limits of file size are POSIX's")
def test_a_write_that_really_stops_half_way(tmp_path: Path) -> None:
    code = (
        "import resource, sys, pathlib\n"
        "from render.writers import write_atomically\n"
        "from render.errors import OutputError\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, 50_000))\n"
        "try:\n    write_atomically(pathlib.Path(sys.argv[1]) / 'a.svg', b'x' * 200_000)\n"
        "except OutputError as error:\n    print(error.message)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True, cwd=HOME
    )
    assert "larger than this disk or account allows" in done.stdout
    assert not list(tmp_path.iterdir())


def test_the_path_is_a_folder(tmp_path: Path) -> None:
    (tmp_path / "sheet-1.svg").mkdir()
    with pytest.raises(OutputError, match="it is a folder"):
        write_atomically(tmp_path / "sheet-1.svg", b"")
    assert os.listdir(tmp_path) == ["sheet-1.svg"]


def test_the_folder_is_missing_or_a_file(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="its folder does not exist"):
        write_atomically(tmp_path / "none" / "a.svg", b"")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="a file, not a folder"):
        write_atomically(tmp_path / "file" / "a.svg", b"")
    with pytest.raises(OutputError, match="a file, not a folder"):
        ready_folder(tmp_path / "file")
    with pytest.raises(OutputError, match="a file, not a folder"):
        ready_folder(tmp_path / "file" / "below")


def test_a_folder_that_may_not_be_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if os.name == "posix" and os.geteuid() != 0:
        tmp_path.chmod(0o500)
    else:  # nothing is forbidden to root: let the system refuse as it would for others

        def refuse(*_: object, **__: object) -> int:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

        monkeypatch.setattr(os, "open", refuse)
    try:
        with pytest.raises(OutputError, match="you may not write there"):
            write_atomically(tmp_path / "a.svg", b"")
        with pytest.raises(OutputError, match="you may not write there"):
            ready_folder(tmp_path)
    finally:
        monkeypatch.undo()
        tmp_path.chmod(0o700)
    assert not list(tmp_path.iterdir())


def test_ready_folder_makes_it_and_leaves_nothing_in_it(tmp_path: Path) -> None:
    folder = ready_folder(tmp_path / "out" / "deep")
    assert folder.is_dir()
    assert not list(folder.iterdir())


def test_a_system_error_nobody_foresaw(tmp_path: Path) -> None:
    def data(stream: object) -> None:
        raise OSError(errno.ENXIO, "No such device or address")

    with pytest.raises(OutputError, match=r"the system refused \(No such device or address\)"):
        write_atomically(tmp_path / "a.svg", data)


def test_a_format_that_is_not_written(tmp_path: Path) -> None:
    from render.model import Sheet

    with pytest.raises(OutputError, match=r"cannot be written as \.xyz") as caught:
        write_sheet(Sheet(1, "", (10, 10), 1, ()), tmp_path / "a.xyz")
    assert all(suffix in caught.value.hint for suffix in WRITERS)
