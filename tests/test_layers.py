"""The shape of the house: which room may import which, and how large anything may grow.

An import counts wherever it stands: at the top, inside a function, or for types only.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "src" / "ohmbook"

MAX_MODULE_LINES = 400
MAX_FUNCTION_LINES = 60
MAX_PARAMETERS = 6

GROUND = {"errors", "units"}
BENCHLESS = GROUND | {"circuit", "documents"}
ALLOWED: dict[str, set[str]] = {
    # room: the rooms below it that it may import (itself always). "" is the package's own door.
    "errors": set(),
    "units": {"errors"},
    "circuit": GROUND,
    "evidence": GROUND,
    "documents": GROUND | {"circuit", "evidence"},
    "captures": GROUND | {"documents", "evidence"},
    "drawing": BENCHLESS,
    "bench": BENCHLESS | {"evidence"},
    "crossover": BENCHLESS,
    "counsel": BENCHLESS | {"evidence", "bench", "crossover"},
    "sheet": BENCHLESS | {"bench"},
    "notebook": BENCHLESS | {"bench", "sheet"},
    "demo": set(),
    "report": BENCHLESS | {"crossover", "captures"},
    "figures": BENCHLESS | {"crossover", "drawing", "captures"},
    "job": BENCHLESS
    | {
        "evidence",
        "bench",
        "captures",
        "crossover",
        "drawing",
        "counsel",
        "sheet",
        "notebook",
        "demo",
        "report",
        "figures",
    },
    "": GROUND | {"documents", "crossover", "sheet", "job"},
    "cli": GROUND | {"documents", "report", "job", ""},
    "web": GROUND | {"documents", "report", "job", "notebook"},
    "__main__": {"cli"},
}
"""The explicit allow-list. Imports point down; a new room enters here first."""


@dataclass(frozen=True)
class Module:
    """One source file: its dotted name, its path, its tree and how many lines it has."""

    name: str
    path: Path
    tree: ast.Module
    lines: int

    @property
    def is_package(self) -> bool:
        return self.path.name == "__init__.py"


@cache
def modules() -> dict[str, Module]:
    """Every module of the package by its dotted name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        text = path.read_text(encoding="utf-8")
        found[name] = Module(name, path, ast.parse(text), len(text.splitlines()))
    return found


def room(name: str) -> str:
    """The room of a module: `ohmbook.bench.kinds` is in "bench", `ohmbook` itself in ""."""
    return name.split(".")[1] if "." in name else ""


def from_base(module: Module, node: ast.ImportFrom) -> str:
    """The absolute name that `from ... import` starts from."""
    if not node.level:
        return node.module or ""
    parents = module.name.split(".")
    drop = node.level - (1 if module.is_package else 0)
    kept = parents[: len(parents) - drop]
    return ".".join([*kept, node.module] if node.module else kept)


def owner(name: str, known: frozenset[str]) -> str | None:
    """The module of ours that a dotted name lives in, or None for anybody else's."""
    parts = name.split(".")
    if parts[0] != "ohmbook":
        return None
    while parts and ".".join(parts) not in known:
        parts.pop()
    return ".".join(parts) or "ohmbook"


def imports(module: Module, known: frozenset[str]) -> Iterator[tuple[str, int]]:
    """Each module of ours that a module imports, and on which line."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = from_base(module, node)
            names = [f"{base}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            target = owner(name, known)
            if target is not None and target != module.name:
                yield target, node.lineno


def edges() -> list[tuple[str, str, str]]:
    """(importer, imported, where) for every import of ours."""
    known = frozenset(modules())
    return [
        (module.name, target, f"{module.path.relative_to(ROOT)}:{line}")
        for module in modules().values()
        for target, line in imports(module, known)
    ]


def functions() -> Iterator[tuple[Module, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """Every function and method, nested ones too."""
    for module in modules().values():
        for node in ast.walk(module.tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield module, node


def where(module: Module, node: ast.FunctionDef | ast.AsyncFunctionDef) -> str:
    """File, line and name, for a message."""
    return f"{module.path.relative_to(ROOT)}:{node.lineno} {node.name}"


def unlisted(found: list[tuple[str, str, str]]) -> list[str]:
    """The edges that the allow-list doesn't have, in words."""
    return [
        f'{place}: room "{room(source)}" imports room "{room(target)}" ({target})'
        for source, target, place in found
        if room(source) != room(target) and room(target) not in ALLOWED.get(room(source), set())
    ]


def cycle(found: list[tuple[str, str, str]]) -> list[str]:
    """A cycle of modules that import each other, or nothing."""
    graph: dict[str, set[str]] = {}
    for source, target, _ in found:
        graph.setdefault(source, set()).add(target)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_imports_point_down() -> None:
    assert unlisted(edges()) == []


def test_every_room_is_on_the_list_and_the_list_has_no_loop() -> None:
    assert {room(name) for name in modules()} <= set(ALLOWED)
    TopologicalSorter(ALLOWED).prepare()


@pytest.mark.parametrize(
    ("above", "below"),
    [
        ("crossover", "bench"),
        ("crossover", "evidence"),
        ("figures", "bench"),
        ("figures", "evidence"),
        ("figures", "notebook"),
        ("circuit", "evidence"),
        ("evidence", "circuit"),
        ("cli", "web"),
        ("web", "cli"),
        ("web", "bench"),
    ],
)
def test_the_list_keeps_apart_what_must_stay_apart(above: str, below: str) -> None:
    assert below not in ALLOWED[above]


def test_no_modules_import_each_other() -> None:
    assert cycle(edges()) == []


def test_modules_stay_small() -> None:
    assert [
        f"{module.name}: {module.lines} lines"
        for module in modules().values()
        if module.lines > MAX_MODULE_LINES
    ] == []


def test_functions_stay_short() -> None:
    lengths = [
        (where(module, node), (node.end_lineno or node.lineno) - node.lineno + 1)
        for module, node in functions()
    ]
    assert lengths, "no function was found: the walk is broken"
    assert [line for line in lengths if line[1] > MAX_FUNCTION_LINES] == []


def test_functions_take_few_parameters() -> None:
    def count(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
        every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        return len([one for one in every if one.arg not in {"self", "cls"}])

    assert [
        where(module, node) for module, node in functions() if count(node) > MAX_PARAMETERS
    ] == []


def test_the_checks_can_fail() -> None:
    """What the walk must catch, on two modules made up for it."""
    text = (
        "from typing import TYPE_CHECKING\n"
        "if TYPE_CHECKING:\n    from ohmbook.bench import kind\n"
        "def late():\n    from ..cli import app\n"
    )
    made_up = Module("ohmbook.crossover.x", PACKAGE / "crossover/x.py", ast.parse(text), 5)
    known = frozenset({"ohmbook.bench.kind", "ohmbook.cli", "ohmbook.crossover.x"})
    found = [(made_up.name, target, str(line)) for target, line in imports(made_up, known)]
    assert [target for _, target, _ in found] == ["ohmbook.bench.kind", "ohmbook.cli"]
    assert len(unlisted(found)) == 2
    assert cycle([*found, ("ohmbook.cli", made_up.name, "1")])


@pytest.mark.parametrize("door", ["ohmbook", "ohmbook.cli"])
def test_the_door_opens_without_heavy_libraries(door: str) -> None:
    heavy = ("numpy", "scipy", "pydantic", "matplotlib", "schemdraw")
    code = f"import sys, {door}; print([n for n in {heavy!r} if n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
