"""Nests in which a clock had a say, remembered, so that the same job gives the same sheets again."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from render.errors import OutputError
from render.resources import cache_folder
from render.sheets.nesting import Laid, Nest
from render.writers.files import ready_folder, write_atomically

FOLDER = "nests"
"""Folder within a shop, or within the user's cache, where they are kept."""


@dataclass(frozen=True, slots=True)
class KeptNests:
    """One small file a nest, named after all that it depends on.

    What a search by the clock finds depends on how fast the machine is, so it is kept and taken again; one by
    steps finds the same anyway and is not kept.
    In a shop the folder belongs to it; without one the user's cache is used, and where there is none, nothing
    is kept.
    """

    folder: Path | None

    @classmethod
    def of(cls, shop: Path | None) -> KeptNests:
        """Those of a shop, or the user's own."""
        if shop is not None:
            return cls(shop / FOLDER)
        cache = cache_folder()
        return cls(cache / FOLDER if cache is not None else None)

    def get(self, key: str) -> Nest | None:
        """The nest kept under a key; None where there is none, or it cannot be read."""
        if self.folder is None:
            return None
        try:
            values = json.loads((self.folder / f"{key}.json").read_text(encoding="utf-8"))
            laid = tuple(Laid(**each) for each in values["laid"])
            return Nest(laid, tuple(values["left"]), values["how"])
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def put(self, key: str, nest: Nest) -> None:
        """Keep a nest; where that cannot be done, it is searched for again next time."""
        if self.folder is None:
            return
        try:
            ready_folder(self.folder)
            write_atomically(self.folder / f"{key}.json", json.dumps(asdict(nest)).encode())
        except OutputError:
            return
