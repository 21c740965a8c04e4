"""Pages as PDF: true size, paths, no clock."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from render.errors import OutputError
from render.writers.pages import pages_pdf

PAGE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">'
    b'<path d="M10 10L60 10L60 60Z" fill="#000000"/></svg>'
)


def test_pages_are_paths_at_true_size(tmp_path: Path) -> None:
    if not shutil.which("mutool"):
        pytest.skip("mutool (mupdf-tools) is not installed")
    file = tmp_path / "a.pdf"
    file.write_bytes(pages_pdf([PAGE, PAGE], title="Two pages"))
    traced = subprocess.run(["mutool", "trace", file], capture_output=True, text=True, check=True).stdout
    assert traced.count("<page ") == 2
    # 72 points to the inch of 25.4 mm (ISO 32000-1, 8.3.2.3): 50 mm are 141.73 points
    xs = [float(x) for x in re.findall(r'<(?:moveto|lineto) x="([\d.]+)"', traced.split("<fill_path")[1])]
    assert max(xs) - min(xs) == pytest.approx(50 * 72 / 25.4, abs=0.01)
    box = re.search(r'mediabox="0 0 ([\d.]+) ([\d.]+)"', traced)
    assert box is not None
    assert [float(v) for v in box.groups()] == pytest.approx([210 * 72 / 25.4, 297 * 72 / 25.4], abs=0.01)


def test_the_same_pages_give_the_same_bytes_without_a_clock() -> None:
    one = pages_pdf([PAGE], title="Ünïcode", author="A", date="2025-06-02")
    assert one == pages_pdf([PAGE], title="Ünïcode", author="A", date="2025-06-02")
    assert one != pages_pdf([PAGE], title="Ünïcode", author="A")


def test_only_our_own_drawings_are_drawn() -> None:
    with pytest.raises(OutputError):
        pages_pdf([PAGE.replace(b"<path", b'<image href="/etc/passwd"/><path')], title="")
    with pytest.raises(ValueError, match="no pages"):
        pages_pdf([], title="")
