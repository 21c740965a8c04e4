"""What a table is once it has been read: plain text by row and column, and what came to light."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from render.model import Problem

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the number of its first physical line (the sheet's own row number) and its cells, as text."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table in which everything is text, as it stands in the file: nothing trimmed, mended or turned.

    Attributes:
        source: the file's name, for messages.
        headings: one for each column, none empty, all different.
        rows: the rows with exactly one cell for each heading; the others are among the problems.
        heading_line: physical line of the headings.
        encoding: how the bytes were read, or empty for a workbook.
        delimiter: what parts the fields, or empty for a workbook.
        sheet: the sheet that was read, or empty for a text file.
        other_sheets: sheets that were not read.
        problems: what is wrong with single rows and cells, and what was left out.
    """

    source: str
    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    heading_line: int = 1
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    other_sheets: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = field(default=())

    def frame(self) -> pd.DataFrame:
        """The rows as a pandas frame of text, indexed by line; no value is ever taken for a missing one.

        The frame is built anew at each call, so changing it does not change the table.
        """
        import pandas as pd

        index = pd.Index([row.line for row in self.rows], name="line", dtype="int64")
        columns = {
            heading: pd.Series([row.cells[i] for row in self.rows], index=index, dtype=str)
            for i, heading in enumerate(self.headings)
        }
        return pd.DataFrame(columns, index=index, columns=list(self.headings))
