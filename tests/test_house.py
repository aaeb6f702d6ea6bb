"""The house's papers: docstrings, README, changelog, and what must stand in no file."""

from __future__ import annotations

import ast
import re
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import ohmbook.cli

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "src" / "ohmbook"

# Built from pieces, so that this file doesn't hold them itself.
FORBIDDEN = tuple(
    "".join(pieces).encode()
    for pieces in [
        ("transc", "ript"),
        ("seed ", "document"),
        ("/", "work/"),
        ("/", "root/"),
        ("/", "home/"),
        ("py", "pi.org"),
        ("python", "hosted.org"),
        ("npm", "js.org"),
        ("npm", "js.com"),
    ]
)


def files() -> list[Path]:
    """Every file that git keeps or would keep; every file, where there is no git."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if listed.returncode == 0 and listed.stdout:
        names = [ROOT / name for name in listed.stdout.decode().split("\0") if name]
    else:
        names = [
            path
            for path in ROOT.rglob("*")
            if not any(
                part.startswith(".") or part == "__pycache__"
                for part in path.relative_to(ROOT).parent.parts
            )
        ]
    return [path for path in names if path.is_file()]


def offences(path: Path) -> list[str]:
    """The forbidden words that a file holds or is named with."""
    held = path.relative_to(ROOT).as_posix().encode().lower() + b"\n" + path.read_bytes().lower()
    return [word.decode() for word in FORBIDDEN if word in held]


def test_no_file_holds_what_belongs_elsewhere() -> None:
    every = files()
    assert len(every) > 20
    assert {str(path.relative_to(ROOT)): offences(path) for path in every if offences(path)} == {}


def public(node: ast.AST, inside: str) -> Iterator[tuple[str, ast.AST]]:
    """The public functions, classes and methods of a tree, by their dotted names."""
    for child in ast.iter_child_nodes(node):
        named = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
        if isinstance(child, named) and not child.name.startswith("_"):
            name = f"{inside}.{child.name}"
            yield name, child
            if isinstance(child, ast.ClassDef):
                yield from public(child, name)


def test_whatever_is_public_says_what_it_is() -> None:
    missing = []
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        name = str(path.relative_to(PACKAGE))
        if not (ast.get_docstring(tree) or "").strip():
            missing.append(name)
        missing += [
            found
            for found, node in public(tree, name)
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            and not (ast.get_docstring(node) or "").strip()
        ]
    assert missing == []


def test_no_room_is_left_to_do() -> None:
    word = "TO" + "DO"
    assert [
        str(path.relative_to(ROOT))
        for path in PACKAGE.rglob("*.py")
        if re.search(rf"\b{word}\b", path.read_text(encoding="utf-8"))
    ] == []


def test_readme_names_every_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [name for name in ohmbook.cli.command_names() if f"ohmbook {name}" not in readme] == []
    assert "make demo" in readme
    assert "make test" in readme


def test_readme_promises_no_command_that_is_not_there() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    promised = set(re.findall(r"^\s*(?:\$ )?ohmbook ([a-z]+)", readme, re.MULTILINE))
    assert promised
    assert promised <= set(ohmbook.cli.command_names())


@pytest.mark.parametrize("document", ["README.md", "CONTRIBUTING.md", "CHANGELOG.md"])
def test_links_lead_somewhere(document: str) -> None:
    text = (ROOT / document).read_text(encoding="utf-8")
    targets = [target for target in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in target]
    assert [target for target in targets if not (ROOT / target).exists()] == []


def test_make_targets_that_are_spoken_of_exist() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z]+):", makefile, re.MULTILINE))
    assert {"install", "demo", "test", "check", "format", "bench", "lock", "help"} <= targets
    spoken = (ROOT / "README.md").read_text() + (ROOT / "CONTRIBUTING.md").read_text()
    assert set(re.findall(r"`make ([a-z]+)`", spoken)) <= targets


def test_changelog_knows_this_version() -> None:
    with (ROOT / "pyproject.toml").open("rb") as file:
        version = tomllib.load(file)["project"]["version"]
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.search(rf"^## {re.escape(version)}\b", changelog, re.MULTILINE)


def test_every_room_is_on_the_map() -> None:
    contributing = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    rooms = {path.name for path in PACKAGE.iterdir() if path.is_dir() and path.name[0] != "_"}
    assert {room for room in rooms if f"`{room}" not in contributing} == set()
