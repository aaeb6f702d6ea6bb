"""The terminal's doors: how they open, fail and close, whatever goes through them."""

from __future__ import annotations

import io
import os
import subprocess
import sys

import pytest
import typer
from typer.testing import CliRunner

from ohmbook.cli import app, command_names, exits, guard, screen
from ohmbook.errors import CallError, OhmbookError

runner = CliRunner()

COMMANDS = (
    "demo",
    "coil",
    "capacitor",
    "resistor",
    "start",
    "settle",
    "behaviour",
    "shares",
    "compare",
    "next",
    "marking",
    "capture",
    "open",
)
NOTEBOOK = (
    "new", "import", "export", "show", "write", "revise", "strike", "restore", "take-out",
    "undo", "redo", "choose", "history", "values", "attach",
    "attachments", "fetch", "labels", "find", "put-away", "bring", "archive", "unpack",
    "copy", "rescue", "check",
)  # fmt: skip


def program(*args: str) -> subprocess.CompletedProcess[str]:
    """The installed program, as a person runs it."""
    return subprocess.run(
        [sys.executable, "-m", "ohmbook", *args],
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )


def failing(error: BaseException) -> typer.Typer:
    """An app, guarded like ours, whose only command fails."""
    made = typer.Typer(cls=guard.Guarded, add_completion=False, rich_markup_mode=None)

    @made.callback()
    def whole() -> None:
        """Keeps the app a group, as ours is."""

    @made.command()
    def fail() -> None:
        """Fail."""
        raise error

    return made


def test_the_commands_are_those_of_the_contract() -> None:
    grouped = ("notebook", *(f"notebook {one}" for one in NOTEBOOK))
    assert command_names() == (*COMMANDS, *grouped)


def test_help_names_every_command_and_the_exit_statuses() -> None:
    done = runner.invoke(app, ["--help"])
    assert done.exit_code == 0
    assert all(f"  {name} " in done.output for name in COMMANDS)
    assert "Exit status" in done.output


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_every_option_has_help(name: str) -> None:
    made = typer.main.get_command(app)
    command = made.commands[name]  # type: ignore[attr-defined]
    assert command.help
    for parameter in command.params:
        assert parameter.help, f"{name}: {parameter.name}"
    done = runner.invoke(app, [name, "--help"])
    assert done.exit_code == 0
    assert "..." not in done.output.splitlines()[2]


def test_help_is_quick() -> None:
    """Under 0.3 s of the processor (issue 2); the best of five, since other work may share it."""
    took = []
    for _ in range(5):
        before = os.times()
        assert program("--help").returncode == 0
        after = os.times()
        spent = after.children_user + after.children_system
        took.append(spent - before.children_user - before.children_system)
    assert 0.0 < min(took) < 0.3


@pytest.mark.parametrize(
    "args",
    [
        ["no-such-command"],
        ["settle"],
        ["settle", "x.toml", "--no-such-option"],
        ["behaviour", "x.toml", "--frequencies", "20", "20000"],
        ["behaviour", "x.toml", "--draws", "-1"],
        ["settle", "there-is-no-such-sheet.toml"],
    ],
)
def test_a_call_at_fault_is_2(args: list[str]) -> None:
    done = runner.invoke(app, args)
    assert done.exit_code == exits.CALL_AT_FAULT
    assert done.stderr
    assert not done.stdout


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (OhmbookError("the sheet is odd"), exits.DATA_AT_FAULT),
        (CallError("the call is odd"), exits.CALL_AT_FAULT),
        (PermissionError(13, "Permission denied", "board.toml"), exits.CALL_AT_FAULT),
    ],
)
def test_an_expected_error_is_one_message(error: Exception, status: int) -> None:
    done = runner.invoke(failing(error), ["fail"])
    assert done.exit_code == status
    assert done.stderr.count("\n") == 1
    assert done.stderr.startswith("ohmbook: ")
    assert "Traceback" not in done.output


def test_an_unexpected_error_is_never_swallowed_in_tests() -> None:
    done = runner.invoke(failing(ZeroDivisionError("by zero")), ["fail"])
    assert isinstance(done.exception, ZeroDivisionError)


def test_an_unexpected_error_is_confessed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["ohmbook", "fail"])
    monkeypatch.delenv(guard.TRACE, raising=False)
    assert guard.guarded(failing(ZeroDivisionError("by zero"))) == exits.PROGRAM_AT_FAULT
    said = capsys.readouterr().err
    assert "ZeroDivisionError: by zero" in said
    assert "report it" in said
    assert "Traceback" not in said
    monkeypatch.setenv(guard.TRACE, "1")
    guard.guarded(failing(ZeroDivisionError("by zero")))
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_quiet(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["ohmbook", "fail"])
    assert guard.guarded(failing(KeyboardInterrupt())) == exits.STOPPED
    assert capsys.readouterr() == ("", "")


def test_a_reader_that_goes_away_is_no_error() -> None:
    """`ohmbook ... | head -1`, with more to print than a pipe holds."""
    code = (
        "import sys; from ohmbook.cli import guard, screen; import typer\n"
        "app = typer.Typer(cls=guard.Guarded, add_completion=False)\n"
        "@app.callback()\n"
        "def whole(): 'group'\n"
        "@app.command()\n"
        "def talk():\n"
        "    screen.show('word ' * 12 for _ in range(20000))\n"
        "sys.argv = ['ohmbook', 'talk']\n"
        "sys.exit(guard.guarded(app))\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as talking:
        assert talking.stdout is not None
        assert talking.stderr is not None
        assert talking.stdout.readline().startswith(b"word")
        talking.stdout.close()
        assert talking.stderr.read() == b""
        assert talking.wait(20) == exits.READER_GONE


def test_an_old_terminal_gets_words_for_signs() -> None:
    shown = io.BytesIO()
    old = io.TextIOWrapper(shown, encoding="ascii", errors="ohmbook")
    old.write("8.2 µF ± 10 %, 4.7 Ω, 鷲")
    old.flush()
    assert shown.getvalue() == b"8.2 uF +- 10 %, 4.7 ohm, ?"


def test_a_document_has_no_nan() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        screen.show_document({"value": float("nan")})


def test_no_bar_where_nobody_looks() -> None:
    with screen.progress("Refitting") as bar:
        assert bar is None


def test_a_bar_comes_once_it_takes_a_while(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a terminal: nothing of what is done at once, a bar of what is not; nothing stays."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with screen.progress("Working it out") as bar:
        assert bar is not None
        bar(1, 10)
    assert not capsys.readouterr().err
    monkeypatch.setattr(screen, "PATIENCE_S", 0.0)
    with screen.progress("Working it out") as bar:
        assert bar is not None
        bar(5, 10)
    shown = capsys.readouterr()
    assert "Working it out" in shown.err
    assert not shown.out
