"""Where the folders that travel with Monikerf are: beside the package, or inside it once installed."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

NAMES: Final = ("templates", "fonts_open", "shared", "demo")
"""The data folders: designs, open-licence fonts, the shop library, example orders."""


def folder(name: str) -> Path:
    """The folder of that name (one of :data:`NAMES`) that travels with this Monikerf.

    Raises:
        FileNotFoundError: the installation is broken: the folder is nowhere.
    """
    package = Path(__file__).resolve().parent
    for candidate in (package / "_data" / name, package.parent / name):
        if candidate.is_dir():
            return candidate
    raise FileNotFoundError(f"Monikerf's own folder {name!r} is missing; reinstall Monikerf")


def cache_folder() -> Path | None:
    """Where to keep what can be worked out again: the user's cache folder, as the system has it.

    ``MONIKERF_CACHE`` names another; empty, it keeps nothing.
    """
    chosen = os.environ.get("MONIKERF_CACHE")
    if chosen is not None:
        return Path(chosen) if chosen.strip() else None
    from platformdirs import user_cache_path

    return user_cache_path("monikerf", appauthor=False)
