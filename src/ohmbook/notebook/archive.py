"""A whole notebook as one zip of plain TOML, CSV and attachments, readable without ohmbook.

The same notebook gives the same bytes: fixed order, fixed dates, and no compression, which differs
from one library to the next (photos hold none worth having, and a damaged zip is easier to save).
"""

from __future__ import annotations

import os
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ohmbook.errors import NotebookError
from ohmbook.notebook.attachments import bytes_of, every_hash
from ohmbook.notebook.book import Book
from ohmbook.notebook.commas import to_csv
from ohmbook.notebook.ink import Act, Entry, Subject
from ohmbook.notebook.ledger import View
from ohmbook.notebook.parcel import LIMITS, sha256
from ohmbook.notebook.placing import made_beside
from ohmbook.notebook.safenames import folded, free_names, safe_name
from ohmbook.sheet.write import key_text, value_text

FORMAT = "ohmbook notebook archive"
VERSION = 1
README, ABOUT, MANIFEST = "README.txt", "notebook.toml", "manifest.csv"
ACTS, ENTRIES = "history/acts.csv", "history/entries.csv"
ACT_COLUMNS = ("id", "at", "who", "kind", "words", "undoes", "beside", "digest")
ENTRY_COLUMNS = ("id", "act", "board", "section", "key", "base", "body")
MANIFEST_COLUMNS = ("file", "size", "sha256")

_README = """\
This is a whole ohmbook notebook: bench readings, what they were taken on, and their history.
Everything in it is plain text or an original file; no program is needed to read it.
Texts are UTF-8. CSV files follow RFC 4180: commas, CR LF, double quotes where a text needs them.
Have a spreadsheet take their columns as text.

notebook.toml        What this is, in TOML (toml.io): format and versions, how much there is, and
                     the file of each board.
boards/NAME.toml     Each board as it stood when this was made: a bench sheet with its parts,
                     sketch, instruments, sources and readings. A reading with "struck" is kept
                     and does not count; "struck" says why.
history/acts.csv     What was done, one act a row, in order: number, time (UTC), who, what kind,
                     in words; the number of the act that an undo or redo takes back; whether it
                     is kept beside what holds, since it rested on an outdated state (1) or
                     counts (0); its digest.
history/entries.csv  What each act wrote, one thing a row: its number, the act's number, the
                     board, the section of the sheet, the thing's name there (for readings: the
                     number of their first entry), the number of the entry that its writer saw
                     there (0: none), and from then on what stands there, in JSON (json.org).
                     Where the last column is empty it was taken out. Dates stand as
                     {"$date": "2026-11-25"}. What holds is the last entry for a thing whose act
                     counts and was not taken back. An undo takes back an act, a redo an undo.
attachments/         Photos and captures, the original bytes. A name begins with the first digits
                     of the file's SHA-256; history/entries.csv names the whole of it.
manifest.csv         Size and SHA-256 of every other file here.

Digests: an act's digest is the SHA-256 of the digest before it (none before the first; as bytes)
followed by the UTF-8 text of [[id, at, who, kind, words, undoes, beside], [[id, board, section,
key, base, body], ...]] as JSON without spaces: undoes is a number or null, beside true or false,
body the text of the last column or null. So whatever is changed in the history is seen.

`ohmbook notebook unpack` makes a notebook of it again, with all of its history.
"""


@dataclass(frozen=True, slots=True)
class Archived:
    """What was made: how many files, and bytes in all of them."""

    files: int
    size: int


def archive(book: Book, path: str | os.PathLike[str]) -> Archived:
    """Write a notebook's archive.

    Args:
        book: the notebook; it is not changed.
        path: the zip file; nothing may be there.

    Raises:
        NotebookError: something is there already, nothing can be written there, or the notebook
            holds more than an archive can.
        DamagedError: the notebook's attachments are not what was written.
    """
    book.refresh()
    view, place = book.view(), Path(path)
    with (
        made_beside(place, os.fspath(path)) as draft,
        open(draft, "wb") as stream,
        zipfile.ZipFile(stream, "w") as made,
    ):
        manifest = [_added(made, name, data) for name, data in _files(book, view)]
        _check_size(book, manifest)
        manifest.append(_added(made, MANIFEST, to_csv(MANIFEST_COLUMNS, manifest).encode()))
    return Archived(len(manifest), sum(int(row[1]) for row in manifest))


def _check_size(book: Book, manifest: Sequence[Sequence[str]]) -> None:
    if len(manifest) >= LIMITS.files or sum(int(row[1]) for row in manifest) > LIMITS.total:
        raise NotebookError(
            book.store.file,
            f"it holds more than one archive can ({LIMITS.files} files, "
            f"{LIMITS.total / 1e9:.0f} GB); none was made",
            "copy the notebook's own file instead",
        )


def board_files(boards: Sequence[str]) -> dict[str, str]:
    """The file of each board in an archive, by the board's name."""
    names = free_names(safe_name(f"{safe_name(one)[:100]}.toml") for one in boards)
    return {one: f"boards/{name}" for one, name in zip(boards, names, strict=True)}


def attachment_files(hashes: dict[str, Subject]) -> dict[str, str]:
    """The file of each attachment in an archive, by its hash; longer digits where eight clash."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for one, subject in hashes.items():
        names = (safe_name(f"{one[:digits].upper()}-{subject.key}") for digits in range(8, 65))
        name = next(name for name in names if folded(name) not in taken)
        found[one] = f"attachments/{name}"
        taken.add(folded(name))
    return found


def act_row(act: Act) -> list[str]:
    """An act as the archive has it."""
    undoes = "" if act.undoes is None else str(act.undoes)
    told = [str(act.id), act.at, act.who, act.kind, act.words, undoes]
    return [*told, str(int(act.beside)), act.digest.hex()]


def entry_row(entry: Entry) -> list[str]:
    """An entry as the archive has it."""
    body = "" if entry.body is None else entry.body
    return [str(entry.id), str(entry.act), *entry.subject, str(entry.base), body]


def _files(book: Book, view: View) -> Iterator[tuple[str, bytes]]:
    boards = board_files(book.boards(view.at))
    hashes = every_hash(view)
    yield README, _README.encode()
    yield ABOUT, _about(book, view, boards, len(hashes)).encode()
    for board, name in boards.items():
        yield name, book.text(board, view.at).encode()
    acts, entries = view.ledger.acts, view.ledger.entries
    yield ACTS, to_csv(ACT_COLUMNS, map(act_row, acts)).encode()
    yield ENTRIES, to_csv(ENTRY_COLUMNS, map(entry_row, entries)).encode()
    for digest, name in attachment_files(hashes).items():
        yield name, bytes_of(book.store, digest, hashes[digest].key)


def _about(book: Book, view: View, boards: dict[str, str], attachments: int) -> str:
    told = {
        "format": FORMAT,
        "archive": VERSION,
        "notebook": book.store.version(),
        "acts": len(view.ledger.acts),
        "entries": len(view.ledger.entries),
        "attachments": attachments,
        "last_digest": view.ledger.digest.hex(),
    }
    lines = [f"{key} = {value_text(value)}" for key, value in told.items()]
    listed = [f"{key_text(one)} = {value_text(name)}" for one, name in boards.items()]
    return "\n".join([*lines, "", "[boards]", *listed]) + "\n"


def _added(made: zipfile.ZipFile, name: str, data: bytes) -> list[str]:
    """Write one file into the zip; its row of the manifest."""
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.create_system, info.external_attr = 3, 0o100644 << 16
    info.compress_type = zipfile.ZIP_STORED
    made.writestr(info, data)
    return [name, str(len(data)), sha256(data)]
