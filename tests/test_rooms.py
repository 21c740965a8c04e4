"""The rooms of DEVELOPERS.md, held against what the modules really import."""

from __future__ import annotations

import ast
import graphlib
import re
import subprocess
import sys
import tomllib
from collections.abc import Collection
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]
MODULES = sorted((TOP / "render").rglob("*.py"))
ROOM_ROW = re.compile(r"^\| (\d) \| `render/([a-z_]+)(/|\.py)` \|", re.MULTILINE)
FLOORS = {name: int(floor) for floor, name, _ in ROOM_ROW.findall((TOP / "DEVELOPERS.md").read_text("utf-8"))}

ANSWERS = {"render.sheets.second": "a process of its own, that answers the one that started it"}
"""Modules outside the doors that write to standard output, and why."""

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", ".gitignore"),
    *("render", "templates", "fonts_open", "shared", "demo", "tests", ".ci"),
}

ENGINES = {"render.lettering": {"uharfbuzz"}}
"""What a room may load at once, since it does nothing without it, and it is quick."""

HEAVY = {
    *("pandas", "python_calamine", "shapely", "scipy", "lxml", "cairosvg", "cairocffi", "resvg_py"),
    *("svgpathtools", "pathops", "fontTools", "uharfbuzz", "jinja2", "pydantic"),
}

OPENS = {("render.cli.stall", "render.stall.serving"): "the command that opens the other door"}
"""Imports on one floor that are allowed, and why."""

LONGEST_MODULE, LONGEST_FUNCTION = 400, 60
"""Hard limits in lines; the habit is 300 and 30."""


def room(module: str) -> str:
    """The room of a dotted module: ``render.geometry.path`` is in ``geometry``."""
    return module.split(".")[1] if "." in module else ""


def dotted(file: Path) -> str:
    parts = file.relative_to(TOP).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


NAMES = {dotted(file) for file in MODULES}


def typing_only(tree: ast.AST) -> set[ast.AST]:
    """What stands under ``if TYPE_CHECKING:``."""
    blocks = (n for n in ast.walk(tree) if isinstance(n, ast.If) and ast.unparse(n.test) == "TYPE_CHECKING")
    return {inner for block in blocks for statement in block.body for inner in ast.walk(statement)}


def imports(tree: ast.AST, leave: Collection[ast.AST] = ()) -> set[str]:
    """Every module a module imports, also inside functions, but for the statements in `leave`."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if node in leave:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"relative import of {node.module}: write it in full"
            base = node.module or ""
            found |= {
                f"{base}.{alias.name}" if f"{base}.{alias.name}" in NAMES else base for alias in node.names
            }
    return found


TREES = {dotted(file): ast.parse(file.read_text("utf-8")) for file in MODULES}
IMPORTS = {name: imports(tree) for name, tree in TREES.items()}
OWN = {name: {i for i in used if i.split(".")[0] == "render"} for name, used in IMPORTS.items()}


def breaches(own: dict[str, set[str]]) -> list[str]:
    """Imports that do not go down the floors, of rooms that the map knows."""
    found = []
    for name, used in own.items():
        for other in used:
            here, there = room(name), room(other)
            if here == there or not here or not there or (name, other) in OPENS:
                continue
            if FLOORS[there] >= FLOORS[here]:
                found.append(f"{name} (floor {FLOORS[here]}) imports {other} (floor {FLOORS[there]})")
    return sorted(found)


def test_the_map_names_every_room_and_nothing_else() -> None:
    rooms = {room(name) for name in NAMES if room(name)}
    assert len(FLOORS) == len(ROOM_ROW.findall((TOP / "DEVELOPERS.md").read_text("utf-8")))
    assert rooms == set(FLOORS)


def test_imports_go_strictly_down() -> None:
    assert breaches(OWN) == []


def test_a_breach_would_be_seen() -> None:
    assert breaches({"render.geometry.path": {"render.model"}})
    assert breaches({"render.shop.library": {"render.writers.svg"}})
    assert not breaches({"render.shop.library": {"render.model", "render.shop.schema"}})


def test_no_module_imports_in_a_circle() -> None:
    run = {name: imports(tree, typing_only(tree)) for name, tree in TREES.items()}
    graph = {name: used & NAMES - {name} for name, used in run.items()}
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        pytest.fail(f"a circle of imports: {' -> '.join(error.args[1])}")


def test_the_doors_hold_no_geometry_and_no_sql() -> None:
    for name, used in IMPORTS.items():
        if room(name) == "cli":
            assert not {i for i in used if i.split(".")[0] in ("numpy", "shapely", "sqlite3", "svgpathtools")}
            assert not {i for i in used if i.startswith("render.geometry")}, name


def test_only_the_doors_print() -> None:
    for name, tree in TREES.items():
        calls = (node.func for node in ast.walk(tree) if isinstance(node, ast.Call))
        if room(name) != "cli" and name not in ANSWERS:
            assert "print" not in {call.id for call in calls if isinstance(call, ast.Name)}, name


def test_the_top_level_is_what_it_should_be() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True)
    names = {line.split("/")[0].strip('"') for line in listed.stdout.splitlines()}
    if not names:  # not a checkout: an unpacked source archive
        names = {path.name for path in TOP.iterdir() if path.name in TOP_LEVEL or path.suffix == ".py"}
    assert names == TOP_LEVEL


def test_modules_and_functions_keep_their_length() -> None:
    for file, (name, tree) in zip(MODULES, TREES.items(), strict=True):
        assert dotted(file) == name
        assert len(file.read_text("utf-8").splitlines()) <= LONGEST_MODULE, name
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = (node.end_lineno or 0) - node.body[0].lineno + 1
                assert length <= LONGEST_FUNCTION, f"{name}.{node.name}: {length} lines"


def test_every_library_that_is_imported_is_declared() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    declared = {re.split(r"[<>=~! ;\[]", line)[0].lower() for line in project["dependencies"]}
    outside = {i.split(".")[0] for used in IMPORTS.values() for i in used} - set(sys.stdlib_module_names)
    makers = packages_distributions()
    for module in outside - {"render"}:
        names = {re.sub(r"[-_.]+", "-", maker).lower() for maker in makers.get(module, [module])}
        # cairocffi is cairosvg's own footing
        assert names & declared or module == "cairocffi", f"{module} is imported but not declared"


def loaded(code: str) -> set[str]:
    """Top-level modules in memory after running `code` in a fresh interpreter."""
    code += "\nimport sys\nprint(*sorted({name.split('.')[0] for name in sys.modules}))"
    done = subprocess.run([sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines()[-1].split())


@pytest.mark.parametrize("name", sorted({"render", *(f"render.{r}" for r in FLOORS if FLOORS[r] >= 3)}))
def test_importing_a_room_loads_nothing_heavy(name: str) -> None:
    assert not loaded(f"import {name}") & HEAVY - ENGINES.get(name, set())


def test_the_help_loads_no_geometry() -> None:
    code = "import sys; sys.argv = ['monikerf', '--help']\nfrom render.cli import main\n"
    code += "try: main()\nexcept SystemExit: pass"
    modules = loaded(code)
    assert "typer" in modules
    assert not modules & (HEAVY | {"numpy"})
