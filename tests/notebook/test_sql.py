"""SQL is fixed text: whatever comes from outside reaches it through parameters."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOM = Path(__file__).parents[2] / "src" / "ohmbook" / "notebook"
CALLS = ("execute", "executemany", "executescript")
MADE = {
    # module: the only texts that are made, each of a number or a name of our own
    "opening.py": {
        "f'PRAGMA application_id = {APPLICATION_ID}'",
        "f'PRAGMA user_version = {number:d}'",
    },
    "migrations.py": {
        "f'CREATE TRIGGER {table}_no_{deed} BEFORE {deed} ON {table} BEGIN {_NEVER}; END'"
    },
}


def made_texts(source: str) -> Iterator[str]:
    """The first argument of every call that runs SQL, where it is no constant text."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute | ast.Name):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
            constant = (
                bool(node.args)
                and isinstance(node.args[0], ast.Constant)
                and isinstance(node.args[0].value, str)
            )
            if called in CALLS and not constant:
                yield ast.unparse(node.args[0]) if node.args else "nothing"


def escapes(source: str) -> Iterator[str]:
    """Where one of those methods is used otherwise than by being called there and then."""
    tree = ast.parse(source)
    called = {id(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in CALLS and id(node) not in called:
            yield ast.unparse(node)


def test_every_statement_is_a_constant_text() -> None:
    found = {
        path.name: made
        for path in sorted(ROOM.glob("*.py"))
        if (made := set(made_texts(path.read_text(encoding="utf-8"))))
    }
    assert found == MADE
    assert [name for path in ROOM.glob("*.py") for name in escapes(path.read_text())] == []


def test_there_are_statements_to_look_at() -> None:
    source = (ROOM / "store.py").read_text(encoding="utf-8")
    calls = [
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in CALLS
    ]
    assert len(calls) > 10


@pytest.mark.parametrize(
    "source",
    [
        "db.execute(f'SELECT {x}')",
        "db.execute('SELECT ' + x)",
        "db.execute('SELECT %s' % x)",
        "db.executescript(text)",
        "self._db.executemany(sql, rows)",
        "execute(sql)",
        "db.execute('SELECT {}'.format(x))",
        "db.execute()",
    ],
)
def test_the_check_can_fail(source: str) -> None:
    assert list(made_texts(source))


def test_nothing_outside_the_room_speaks_sql() -> None:
    others = [one for one in ROOM.parent.rglob("*.py") if ROOM not in one.parents]
    assert len(others) > 100
    assert [one.name for one in others if "sqlite3" in one.read_text(encoding="utf-8")] == []
