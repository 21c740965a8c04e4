"""The files of a job: written aside, verified, renamed; what an earlier run left is cleared away last."""

from __future__ import annotations

import json
import secrets
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from render.errors import VerificationError
from render.model import Hold, Problem, Sheet
from render.pipeline.artworks import Progress
from render.pipeline.outputs import PLAIN, FileOptions, write_others
from render.pipeline.painter import Draw, painter
from render.pipeline.report import problem_line
from render.pipeline.workshop import Job
from render.sheets.layout import reach
from render.sheets.second import SecondReader
from render.sheets.verify import Verification, verify_sheet
from render.writers import move, ready_folder, safe_stem, sheet_svg, write_atomically
from render.writers.pages import pages_pdf
from render.writers.png import Picture

PROOF_WIDTH_PX: Final = 2400
"""Width of the proof picture: sharp on a large screen, small enough to send."""

RUN_LIST_WIDTH_PX: Final = 1654
"""Width of a page of the run list: A4 at 200 pixels an inch."""

RUN_LIST: Final = "run-list.pdf"
REPORT: Final = "report.json"
SUMMARY: Final = "summary.txt"


@dataclass(frozen=True, slots=True)
class Wrote:
    """The sheets and proofs that were written.

    Attributes:
        sheets: file name of each sheet, in order.
        proofs: file names of the pages of the proof.
        verified: what reading each sheet back showed.
        note: what to know about how the pictures were drawn; mostly empty.
        others: names of the sheets in other formats and of their parts.
    """

    sheets: tuple[str, ...]
    proofs: tuple[str, ...]
    verified: tuple[Verification, ...]
    note: str = ""
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Written:
    """Writes a job's files, or, without a folder, only says what it would write.

    Everything is written into a hidden folder inside the real one and moved out in the end: a job that fails
    leaves the folder as it was.
    """

    folder: Path | None
    aside: Path | None
    before: frozenset[str]
    second: SecondReader
    draw: Draw

    @classmethod
    @contextmanager
    def to(cls, folder: Path | None, pieces: int) -> Iterator[Written]:
        """Make sure that the folder can be written to, and see which files an earlier run left there.

        The helpers that read sheets a second time and draw pictures begin to load while the job goes on.

        Raises:
            OutputError: it cannot.
        """
        with ExitStack() as stack:
            aside, before = None, frozenset[str]()
            if folder is not None:
                aside = ready_folder(ready_folder(folder) / f".monikerf-{secrets.token_hex(6)}")
                stack.callback(shutil.rmtree, aside, ignore_errors=True)
                before = _files_of_report(folder / REPORT)
            draw = stack.enter_context(painter(pieces))
            yield cls(folder, aside, before, stack.enter_context(SecondReader()), draw)

    def write(
        self,
        sheets: Sequence[Sheet],
        pages: Sequence[bytes],
        job: Job,
        progress: Progress,
        options: FileOptions = PLAIN,
    ) -> Wrote:
        """Write and verify the sheets, in all formats and parts asked for, and draw the pages of the proof.

        Raises:
            OutputError: a file cannot be written.
            VerificationError: a sheet, read back, is not what was meant.
        """
        names = sheet_names(sheets, rotary=job.blank.hold is Hold.ROTARY)
        bed = reach(job.machine, job.blank)
        proofs = tuple("proof.png" if n == 0 else f"proof-{n + 1}.png" for n in range(len(pages)))
        pictures = [self.draw(page, PROOF_WIDTH_PX) for page in pages]
        verified: list[Verification] = []
        for sheet, name in zip(sheets, names, strict=True):
            verified.append(self._write_sheet(sheet, name, bed))
            progress("writing and verifying", len(verified), len(sheets))
        others = write_others(
            self.aside, sheets, names, options, lambda part, name: self._write_sheet(part, name, bed)
        )
        note = ""
        for number, (picture, name) in enumerate(zip(pictures, proofs, strict=True)):
            progress("drawing the proof", number, len(pages))
            note = self._write_proof(picture(), name) or note
        progress("drawing the proof", len(pages), len(pages))
        return Wrote(names, proofs, tuple(verified), note, others)

    def _write_sheet(self, sheet: Sheet, name: str, bed: tuple[float, float]) -> Verification:
        return write_sheet(None if self.aside is None else self.aside / name, sheet, bed, self.second)

    def _write_proof(self, picture: Picture, name: str) -> str:
        if self.aside is not None:
            write_atomically(self.aside / name, picture.png)
        return picture.note

    def write_run_list(self, pages: Sequence[bytes], title: str) -> tuple[str, ...]:
        """Write the pages of a run list as one PDF and a picture each; return the files' names.

        Raises:
            OutputError: a file cannot be written.
        """
        names = ["run-list.png" if n == 0 else f"run-list-{n + 1}.png" for n in range(len(pages))]
        if self.aside is not None and pages:
            pictures = [self.draw(page, RUN_LIST_WIDTH_PX) for page in pages]
            write_atomically(self.aside / RUN_LIST, pages_pdf(pages, title=title))
            for picture, name in zip(pictures, names, strict=True):
                self._write_proof(picture(), name)
        return (RUN_LIST, *names) if pages else ()

    def finish(
        self, report: Mapping[str, Any], lines: Sequence[str], problems: Sequence[Problem]
    ) -> tuple[str, ...]:
        """Write report and summary, clear away what only an earlier run wrote, and name all files.

        Raises:
            OutputError: a file cannot be written.
        """
        others = report.get("other_files", ())
        names = (*(s["file"] for s in report["sheets"]), *others, *report["proofs"], REPORT, SUMMARY)
        if self.folder is None or self.aside is None:
            return names
        text = json.dumps(report, ensure_ascii=False, indent=1) + "\n"
        write_atomically(self.aside / REPORT, text.encode())
        safety = [f"* {caution}" for caution in report["cautions"]]
        told = list(dict.fromkeys(problem_line(p) for p in problems))  # equal copies are told once
        summary = "\n".join(["Before anything burns:", *safety, "", *lines, "", *told])
        write_atomically(self.aside / SUMMARY, (summary.rstrip() + "\n").encode())
        for name in names:
            move(self.aside / name, self.folder / name)
        for old in self.before - set(names):
            (self.folder / old).unlink(missing_ok=True)
        return names


def write_sheet(
    path: Path | None, sheet: Sheet, bed: tuple[float, float], second: SecondReader | None = None
) -> Verification:
    """Write a sheet, read it back and verify it: it stands under its name only if it is what was meant.

    Args:
        path: the file; None only verifies what would be written.
        sheet: what is meant.
        bed: the size in mm that it must not exceed.
        second: the second reader.

    Raises:
        OutputError: the file cannot be written.
        VerificationError: the sheet, read back, is not what was meant.
    """
    data = sheet_svg(sheet)
    if path is None:
        return verify_sheet(data, sheet, bed, second=second)
    found: list[Verification] = []
    write_atomically(path, data, lambda part: found.append(verify_sheet(part, sheet, bed, second=second)))
    if not found:
        raise VerificationError(f"Sheet {sheet.number} was not read back.", place=path.name)
    return found[0]


def sheet_names(sheets: Sequence[Sheet], *, rotary: bool) -> tuple[str, ...]:
    """``sheet-1.svg`` and so on; a rotary run, which is one piece, also bears the piece's id and name."""
    names = []
    width = len(str(len(sheets))) if rotary else 1
    for sheet in sheets:
        name = f"sheet-{sheet.number:0{width}d}"
        if rotary and sheet.placements:
            artwork = sheet.placements[0].artwork
            name += safe_stem(f"-{artwork.piece}-{artwork.title}").join(("-", ""))
        names.append(f"{name}.svg")
    return tuple(names)


def _files_of_report(path: Path) -> frozenset[str]:
    """Names of the sheets and proofs that an earlier report in this folder speaks of: only plain names."""
    try:
        report = json.loads(path.read_text(encoding="utf-8"))
        names = [*(sheet["file"] for sheet in report["sheets"]), *report["proofs"]]
        names += report.get("other_files", [])
    except (OSError, ValueError, KeyError, TypeError):
        return frozenset()
    return frozenset(
        name
        for name in names
        if isinstance(name, str)
        and Path(name).name == name
        and name.startswith(("sheet-", "proof", "run-list"))
    )
