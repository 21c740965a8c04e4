"""Errors that stop a job, told the way a maker can act on.

What is wrong with one row of a batch is not an error but a :class:`render.model.Problem`, a value: the batch
goes on. An error is raised only where going on makes no sense. Only the doors (``render.cli``) print.
"""

from __future__ import annotations


class MonikerfError(Exception):
    """The job cannot go on.

    Attributes:
        message: what is wrong, one sentence, naming the culprit.
        hint: what would mend it, one sentence; may be empty.
        place: where, such as ``guests.csv, row 12, column Name``; may be empty.
    """

    def __init__(self, message: str, *, hint: str = "", place: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.place = place

    def __str__(self) -> str:
        place = f"{self.place}: " if self.place else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{place}{self.message}{hint}"


class TableError(MonikerfError):
    """A table cannot be read as a table."""


class TemplateError(MonikerfError):
    """A template cannot be used, or asks for something that templates may not do."""


class FontError(MonikerfError):
    """A font file cannot be used."""


class LibraryError(MonikerfError):
    """An entry of the shop library (blank, machine, material, jig) is missing or wrong."""


class OutputError(MonikerfError):
    """A file cannot be written."""


class VerificationError(MonikerfError):
    """A written file, read back, is not what was meant; it was not left behind under its name."""


def counted(number: int, one: str, many: str = "") -> str:
    """How many of what, for a sentence; `many` where it is not `one` with an s.

    >>> counted(1, "piece"), counted(3, "piece"), counted(0, "copy", "copies")
    ('1 piece', '3 pieces', '0 copies')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
