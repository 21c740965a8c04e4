"""What verifying says, for its tests."""

from __future__ import annotations

from render.model import Sheet
from render.sheets.verify import inspect_sheet

BED = (600.0, 400.0)


def findings(text: str | bytes, sheet: Sheet, **options: bool) -> set[str]:
    data = text if isinstance(text, bytes) else text.encode()
    return {f.code for f in inspect_sheet(data, sheet, BED, **options).findings}
