"""Files that are no sheets, and sheets in every dress that a text file may come in."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from ohmbook.errors import CallError, SheetError
from ohmbook.sheet.load import LIMIT_BYTES
from ohmbook.sheet.read import read_sheet

from .sheet_texts import SOUND


def _file(folder: Path, data: bytes) -> Path:
    path = folder / "board.toml"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    "data",
    [
        SOUND.encode(),
        b"\xef\xbb\xbf" + SOUND.encode(),
        SOUND.replace("\n", "\r\n").encode(),
        SOUND.rstrip("\n").encode(),
    ],
    ids=["plain", "byte order mark", "CRLF", "no newline at the end"],
)
def test_the_same_sheet_in_every_dress(tmp_path: Path, data: bytes) -> None:
    path = _file(tmp_path, data)
    sheet = read_sheet(path)
    assert sheet == read_sheet(text=SOUND)
    assert sheet.file == str(path)
    place = sheet.places["readings", "reading 3"]
    assert (place.file, place.line) == (str(path), 41)


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        (b"", None, ("nothing in it", "ohmbook start")),
        (b"\xef\xbb\xbf \r\n", None, ("nothing in it",)),
        (SOUND.encode("utf-16"), None, ("UTF-16", "UTF-8")),
        (SOUND.encode("utf-32"), None, ("UTF-32", "UTF-8")),
        (SOUND.encode("utf-16-le"), None, ("no text",)),
        (SOUND.replace("uF", "µF").encode("latin-1"), 16, ("byte B1", "not UTF-8", "save it as")),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", None, ("no text",)),
        (b"\x1f\x8b\x08\x08abc", 1, ("not UTF-8",)),
        (b"#" * (LIMIT_BYTES + 1), None, ("5 MB", "too large")),
    ],
)
def test_what_is_no_sheet_is_told(
    tmp_path: Path, data: bytes, line: int | None, words: tuple[str, ...]
) -> None:
    path = _file(tmp_path, data)
    with pytest.raises(SheetError) as caught:
        read_sheet(str(path))
    assert (caught.value.file, caught.value.line) == (str(path), line)
    for word in words:
        assert word in str(caught.value)


def test_a_sheet_just_small_enough_is_read(tmp_path: Path) -> None:
    data = SOUND.encode()
    path = _file(tmp_path, data + b"#" * (LIMIT_BYTES - len(data)))
    assert read_sheet(path) == read_sheet(text=SOUND)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "nowhere.toml"
    with pytest.raises(SheetError, match=r"nowhere\.toml: there is no such file.*ohmbook start"):
        read_sheet(path)


def test_a_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="this is a folder"):
        read_sheet(tmp_path)


def test_a_name_that_no_file_can_have_is_told() -> None:
    with pytest.raises(SheetError, match="cannot be read"):
        read_sheet("a\x00b")
    with pytest.raises(SheetError, match="cannot be read"):
        read_sheet("a" * 5000)


def test_a_file_that_may_not_be_read_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Permissions do not stop a superuser, so the refusal itself is put in.
    def refuse(*_: object) -> None:
        raise PermissionError(13, "no")

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(SheetError, match="may not be read"):
        read_sheet(tmp_path / "board.toml")


def test_a_sheet_from_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SOUND.encode())))
    sheet = read_sheet("-")
    assert sheet == read_sheet(text=SOUND)
    assert sheet.file == "standard input"


def test_a_broken_sheet_from_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("a = 1\na = 2"))
    with pytest.raises(SheetError, match="standard input, line 2"):
        read_sheet("-")


@pytest.mark.parametrize("text", ["a\x00b", "\ufeff"])
def test_a_text_is_held_to_the_same_rules(text: str) -> None:
    with pytest.raises(SheetError, match="my notes"):
        read_sheet(text=text, file="my notes")


def test_one_of_path_and_text_is_needed() -> None:
    with pytest.raises(CallError):
        read_sheet()
    with pytest.raises(CallError):
        read_sheet("a.toml", text=SOUND)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = " + "[" * 5000, "too deep"),
        ("a = " + "9" * 5000, "too long"),
        ("a = 2026-02-30", "no such date"),
        ('a = "\\q"', "single quotes"),
        ("a = 'b", "not closed"),
        ("a = {b = 1,\n c = 2}", 'expected "}" on the same line'),
        ("a = [1,\n2", 'expected "]"'),
        ("a = 1\na.b = 2", "further up already"),
        ("a = 1 # \x07", "cannot stand here"),
        ('a = "\x07"', "control character"),
        ("µ = 1", "needs quotes|expected a key"),
        ("a = µ", "double quotes"),
        ('"a\\u001b[2J" = 1\n"a\\u001b[2J" = 1', r'"a\?\[2J" stands twice'),
    ],
)
def test_faults_of_toml_in_our_own_words(text: str, words: str) -> None:
    with pytest.raises(SheetError, match=words) as caught:
        read_sheet(text=text)
    assert str(caught.value).isprintable()
