"""The templates there are, and finding one by its id."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from render.design.refusal import short
from render.errors import TemplateError

_ID: Final = re.compile(r"[a-z0-9]+(?:[-_][a-z0-9]+)*", re.IGNORECASE)


def list_templates(folders: Iterable[Path]) -> dict[str, Path]:
    """Template files by id, sorted; a template in an earlier folder hides one of the same id in a later.

    Folders that are not there are passed over.
    """
    found: dict[str, Path] = {}
    for folder in folders:
        for file in sorted(folder.glob("*.svg")) if folder.is_dir() else ():
            if _ID.fullmatch(file.stem) and file.is_file():
                found.setdefault(file.stem, file)
    return dict(sorted(found.items()))


def find_template(name: str, folders: Iterable[Path]) -> Path:
    """The file of the template called `name` in the first folder that has it.

    The name is only compared with those of files that are there: it cannot lead out of the folders.

    Raises:
        TemplateError: there is none of that name.
    """
    found = list_templates(folders)
    if name not in found:
        near = get_close_matches(name.casefold(), found, 3, 0.6)
        meant = f"Did you mean {' or '.join(near)}? " if near else ""
        hint = f"{meant}monikerf show templates lists them."
        raise TemplateError(f"there is no template {short(name)}", hint=hint)
    return found[name]
