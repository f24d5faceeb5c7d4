"""The shape of the house: imports run one way, modules and functions stay small."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src" / "sunpantry"
# Rank of each room; a room may import itself and rooms of a lower rank.
RANKS = {
    "cli": 12,
    "web": 11.5,
    "store": 11,
    "report": 10,
    "plan": 9,
    "money": 8,
    "explain": 8,
    "wiring": 7,
    "match": 6,
    "sizing": 5,
    "simulate": 4,
    "demand": 3,
    "sky": 2.5,
    "parts": 2,
    "physics": 1,
    "design": 1,
    "examples": 1,
    "units": 0,
    "errors": 0,
    "figures": 0,
    "timegrid": 0,
    "memory": 0,
    "language": 0,
    "phrases": -1,
}
MAX_MODULE_LINES = 400
MAX_FUNCTION_LINES = 60
MAX_PARAMETERS = 7
# Compiled loops take their arrays one by one: numba knows no objects that hold them.
KERNELS = (
    "simulate/kernel",
    "sizing/relaxed",
    "physics/battery_step",
    "physics/panel_kernels",
)

pytestmark = pytest.mark.regression
MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    """First part of a module's name below the package."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_rooms(tree: ast.Module) -> set[str]:
    """Rooms a module imports anywhere, inside functions too."""
    found = set()
    for node in ast.walk(tree):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
            if node.module == "sunpantry":
                names = [f"sunpantry.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "sunpantry" and len(parts) > 1:
                found.add(parts[1])
    return found


def code_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without its docstring."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
        lines -= (first.end_lineno or first.lineno) - first.lineno + 1
    return lines


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_run_one_way(path: Path) -> None:
    """No room imports one of its own rank or above; physics and design do not meet."""
    room = room_of(path)
    if room == "__init__":
        return
    for other in imported_rooms(ast.parse(path.read_text("utf-8"))):
        if other in {room, "__version__"}:
            continue
        assert other in RANKS, f"{path}: {other} has no rank in docs/architecture.md"
        assert RANKS[other] < RANKS[room], f"{room} must not import {other}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_and_functions_stay_small(path: Path) -> None:
    """No module over 400 lines, no function over 60 lines of code or 7 positional parameters."""
    text = path.read_text("utf-8")
    assert text.count("\n") <= MAX_MODULE_LINES
    kernel = str(path.relative_to(PACKAGE)).startswith(KERNELS)
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert code_lines(node) <= MAX_FUNCTION_LINES, f"{path.name}: {node.name}"
            if not kernel:
                positional = len(node.args.args) + len(node.args.posonlyargs)
                assert positional <= MAX_PARAMETERS, f"{path.name}: {node.name}"


def test_architecture_document_names_every_room() -> None:
    """Every room on disk stands in the table of docs/architecture.md."""
    text = (ROOT / "docs" / "architecture.md").read_text("utf-8")
    for path in PACKAGE.iterdir():
        if path.name.startswith("_") or path.name == "py.typed":
            continue
        assert f"`{path.name}" in text or f"`{path.stem}/`" in text, path.name


def test_no_two_test_modules_share_a_name() -> None:
    """Files of tests in folders that are no packages must have names of their own."""
    names = [path.name for path in (ROOT / "tests").rglob("test_*.py")]
    assert sorted(set(names)) == sorted(names)
