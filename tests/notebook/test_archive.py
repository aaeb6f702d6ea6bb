"""A whole notebook as a zip and back: nothing lost, nothing believed that is not sound."""

from __future__ import annotations

import csv
import io
import json
import os
import random
import shutil
import stat
import struct
import tomllib
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.notebook.archive import archive
from ohmbook.notebook.commas import to_csv
from ohmbook.notebook.ink import ATTACHMENTS, PARTS, Act, Entry, Subject, digest_of
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.parcel import LIMITS, sha256
from ohmbook.notebook.unpack import unpack
from tests.notebook.books import COIL, WAITING, ohms

Files = dict[str, bytes]
ODD = 'a "quoted", name;\nof\r\ntwo lines = €5 \x01'
FRONT = b"a,b\r\n1,2\r\n"


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A notebook in which everything has happened, and its archive."""
    folder = tmp_path_factory.mktemp("original")
    with Notebook.new(folder / "bench.ohmbook", who="Anna, at the bench") as book:
        book.take_in("left", COIL)
        book.take_in("CON", WAITING)
        book.take_in("aux.?", COIL)
        book.attach("left", "front.csv", FRONT, to=("parts", "L1"), note=ODD)
        book.attach("CON", "back.csv", FRONT, to=("readings", "ohms"))
        book.attach("left", "../x.bin", bytes(range(256)))
        book.take_out_attachment("left", "x.bin")
        book.strike("left", "ohms", ODD)
        seen = book.reading("left", "ohms").entry.id
        book.revise("left", "ohms", ohms("0.9 ohm", name="ohms", note=ODD))
        book.revise("left", "ohms", ohms("0.8 ohm", name="ohms"), base=seen)
        book.add("left", ohms())
        book.undo()
        book.put_away("CON", "L1")
        archive(book, folder / "bench.zip")
    return folder


@pytest.fixture
def made(original: Path, tmp_path: Path) -> Path:
    """Copies of them."""
    for name in ("bench.ohmbook", "bench.zip"):
        shutil.copy(original / name, tmp_path / name)
    return tmp_path / "bench.zip"


def files_of(path: Path) -> Files:
    with zipfile.ZipFile(path) as opened:
        return {one.filename: opened.read(one) for one in opened.infolist()}


def listed(files: Files) -> Files:
    """The files with a manifest that fits them."""
    rows = [[k, str(len(v)), sha256(v)] for k, v in files.items() if k != "manifest.csv"]
    return {**files, "manifest.csv": to_csv(("file", "size", "sha256"), rows).encode()}


def zipped(files: Files, path: Path, compression: int = zipfile.ZIP_STORED) -> Path:
    with zipfile.ZipFile(path, "w", compression) as opened:
        for name, data in files.items():
            opened.writestr(name, data)
    return path


def refused(path: Path, said: str, kind: type[NotebookError] = NotebookError) -> None:
    """Unpacking is refused in some words, and nothing is left behind."""
    folder = path.parent / "refused"
    folder.mkdir(exist_ok=True)
    with pytest.raises(kind, match=said) as error:
        unpack(path, folder / "new.ohmbook")
    assert str(path) in str(error.value)
    assert os.listdir(folder) == []


def test_archive_unpack_archive_gives_the_same_bytes(made: Path, tmp_path: Path) -> None:
    unpack(made, tmp_path / "again.ohmbook")
    with (
        Notebook.open(tmp_path / "bench.ohmbook") as first,
        Notebook.open(tmp_path / "again.ohmbook") as again,
    ):
        assert first.history() == again.history()
        assert first.view().ledger.entries == again.view().ledger.entries
        assert first.beside() == again.beside() != ()
        assert first.store.attachment_hashes() == again.store.attachment_hashes()
        for act in first.history():
            assert first.boards(act.id) == again.boards(act.id)
            for board in first.boards(act.id):
                assert first.text(board, act.id) == again.text(board, act.id)
                assert first.attachments(board, act.id) == again.attachments(board, act.id)
        assert first.labels("left") == again.labels("left")
        again.check()
        archive(again, tmp_path / "again.zip")
        archive(first, tmp_path / "first.zip")
    assert made.read_bytes() == (tmp_path / "again.zip").read_bytes()
    assert made.read_bytes() == (tmp_path / "first.zip").read_bytes()


def test_it_can_be_written_on_where_it_was_left(made: Path, tmp_path: Path) -> None:
    unpack(made, tmp_path / "again.ohmbook")
    with Notebook.open(tmp_path / "again.ohmbook") as again:
        again.choose(again.beside()[0].id)
        again.add("left", ohms("0.7 ohm"))
        assert again.reading("left", "ohms").raw["value"] == "0.8 ohm"
        assert again.reading("left", "reading 4").raw["value"] == "0.7 ohm"


def test_it_is_read_without_ohmbook(made: Path) -> None:
    """By a TOML parser, a CSV reader and a JSON parser of somebody else's."""
    files = files_of(made)
    about = tomllib.loads(files["notebook.toml"].decode())
    assert set(about["boards"]) == {"left", "CON", "aux.?", "drawer"}
    left = tomllib.loads(files[about["boards"]["left"]].decode())
    assert left["parts"]["L1"]["kind"] == "inductor"
    assert left["readings"][1]["note"] == ODD
    acts = list(csv.DictReader(io.StringIO(files["history/acts.csv"].decode(), newline="")))
    assert len(acts) == about["acts"] == 13
    assert {one["who"] for one in acts} == {"Anna, at the bench"}
    text = io.StringIO(files["history/entries.csv"].decode(), newline="")
    entries = list(csv.DictReader(text))
    assert len(entries) == about["entries"]
    struck = [json.loads(one["body"]) for one in entries if '"struck"' in one["body"]]
    assert struck[0]["struck"] == ODD
    for row in csv.DictReader(io.StringIO(files["manifest.csv"].decode(), newline="")):
        data = files[row["file"]]
        assert (len(data), sha256(data)) == (int(row["size"]), row["sha256"])
    assert set(files) == {"manifest.csv", *_names(files)}
    for word in ("boards/NAME.toml", "history/acts.csv", "manifest.csv", "SHA-256"):
        assert word in files["README.txt"].decode()


def _names(files: Files) -> set[str]:
    return {row.split(",")[0] for row in files["manifest.csv"].decode().split("\r\n")[1:-1]}


def test_names_in_it_suit_any_disk(made: Path) -> None:
    names = {one for one in files_of(made) if "/" in one}
    hashes = [sha256(data)[:8].upper() for data in (FRONT, bytes(range(256)))]
    assert names == {
        "boards/left.toml", "boards/_CON.toml", "boards/_aux.-.toml", "boards/drawer.toml",
        "history/acts.csv", "history/entries.csv",
        f"attachments/{hashes[0]}-front.csv", f"attachments/{hashes[1]}-x.bin",
    }  # fmt: skip


def test_nothing_is_written_over(made: Path, tmp_path: Path) -> None:
    before = made.read_bytes()
    with Notebook.open(tmp_path / "bench.ohmbook") as book:
        for place in (made, tmp_path / "bench.ohmbook", tmp_path):
            with pytest.raises(NotebookError, match="there already, and was left alone"):
                archive(book, place)
        with pytest.raises(NotebookError, match="cannot be written there"):
            archive(book, tmp_path / "no-such-folder" / "x.zip")
    kept = (tmp_path / "bench.ohmbook").read_bytes()
    with pytest.raises(NotebookError, match="there already, and was left alone"):
        unpack(made, tmp_path / "bench.ohmbook")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    with pytest.raises(NotebookError, match="there already"):
        unpack(made, tmp_path / "dangling")
    assert made.read_bytes() == before
    assert (tmp_path / "bench.ohmbook").read_bytes() == kept
    assert sorted(os.listdir(tmp_path)) == ["bench.ohmbook", "bench.zip", "dangling"]


def test_a_disk_without_links_will_do(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", _no_links)
    with Notebook.open(tmp_path / "bench.ohmbook") as book:
        archive(book, tmp_path / "stick.zip")
        with pytest.raises(NotebookError, match="there already"):
            archive(book, tmp_path / "stick.zip")
    assert (tmp_path / "stick.zip").read_bytes() == made.read_bytes()


def _no_links(*_: object) -> None:
    raise PermissionError(1, "Operation not permitted")


def test_a_disk_that_fills_up_leaves_nothing(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with Notebook.open(tmp_path / "bench.ohmbook") as book:
        monkeypatch.setattr(zipfile.ZipFile, "writestr", full)
        with pytest.raises(NotebookError, match=r"No space left.*nothing was left behind"):
            archive(book, tmp_path / "full.zip")
    assert sorted(os.listdir(tmp_path)) == ["bench.ohmbook", "bench.zip"]


def test_zipped_again_by_somebody_it_still_unpacks(made: Path, tmp_path: Path) -> None:
    files = dict(sorted(files_of(made).items(), reverse=True))
    path = zipped({"boards/": b"", **files}, tmp_path / "again.zip", zipfile.ZIP_DEFLATED)
    unpack(path, tmp_path / "again.ohmbook")
    with Notebook.open(tmp_path / "again.ohmbook") as again:
        archive(again, tmp_path / "third.zip")
    assert (tmp_path / "third.zip").read_bytes() == made.read_bytes()


# names that leave their folder, and others that do not belong


@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd",
        "../evil.txt",
        "attachments/../../evil.txt",
        "attachments/..",
        "attachments/../notebook.toml",
        "attachments//evil.txt",
        "attachments/sub/evil.txt",
        "attachments\\evil.txt",
        "..\\evil.txt",
        "C:\\evil.txt",
        "C:/evil.txt",
        "attachments/C:evil.txt",
        "//server/share/evil.txt",
        "attachments/NUL",
        "attachments/con.txt",
        "attachments/evil.txt ",
        "attachments/evil.",
        "attachments/.evil",
        "attachments/e\u0301vil.txt",
        "attachments/evil\u202etxt.exe",
        "attachments/e\nvil.txt",
        "attachments/\x1b[2Jevil.txt",
        "attachments/" + "e" * 400,
        "Boards/left.toml",
        "boards/LEFT.toml",
        "ReadMe.txt",
        "extra.txt",
        "run.sh",
        "__MACOSX/x",
        "attachments/00000000-extra.txt",
        "boards/extra.toml",
        ".",
        "~/evil.txt",
    ],
)
def test_no_name_leaves_its_folder(made: Path, tmp_path: Path, name: str) -> None:
    files = files_of(made)
    path = zipped(listed({**files, name: b"evil"}), tmp_path / "evil.zip")
    refused(path, "nothing was made from it|nothing outside")
    assert not list(tmp_path.rglob("*evil*.txt"))


def test_a_name_cut_by_a_zero_byte_is_refused(made: Path, tmp_path: Path) -> None:
    data = made.read_bytes().replace(b"notebook.toml", b"notebook.to\x00x")
    (tmp_path / "zero.zip").write_bytes(data)
    refused(tmp_path / "zero.zip", "nothing was made from it|nothing outside")


def test_the_same_name_twice_is_refused(made: Path, tmp_path: Path) -> None:
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(made, "a") as opened:
        opened.writestr("notebook.toml", b"other")
    refused(made, "notebook.toml stands twice")


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFBLK, stat.S_IFSOCK])
def test_links_and_devices_are_refused(made: Path, tmp_path: Path, kind: int) -> None:
    info = zipfile.ZipInfo("attachments/00000000-link.txt")
    info.create_system, info.external_attr = 3, (kind | 0o777) << 16
    with zipfile.ZipFile(made, "a") as opened:
        opened.writestr(info, b"/etc/passwd")
    refused(made, "is a link or a device")


# bombs


def test_what_grows_too_much_is_refused(made: Path, tmp_path: Path) -> None:
    files = {**files_of(made), "attachments/00000000-zeros.bin": bytes(20_000_000)}
    path = zipped(listed(files), tmp_path / "bomb.zip", zipfile.ZIP_DEFLATED)
    refused(path, "more than 100 times its size.* zip it again without compression")


def test_what_is_too_large_too_many_or_too_much_is_refused(made: Path, tmp_path: Path) -> None:
    for limits, said in (
        (replace(LIMITS, files=5), "holds 11 files; up to 5"),
        (replace(LIMITS, one=1000), r"would have 0\.0 MB; up to 0 MB"),
        (replace(LIMITS, total=5000), "all of it would have"),
    ):
        with pytest.raises(NotebookError, match=said):
            unpack(made, tmp_path / "new.ohmbook", limits)
    assert sorted(os.listdir(tmp_path)) == ["bench.ohmbook", "bench.zip"]


def patched(made: Path, name: str, field: int, form: str, value: int) -> bytes:
    """The zip with a field of a file's directory record changed (APPNOTE 4.3.12)."""
    data = bytearray(made.read_bytes())
    place = data.rfind(name.encode()) - 46
    assert data[place : place + 4] == b"PK\x01\x02"
    struct.pack_into(form, data, place + field, value)
    return bytes(data)


@pytest.mark.parametrize(
    ("field", "form", "value", "said"),
    [
        (24, "<L", 4_000_000_000, "would have 4000.0 MB"),
        (24, "<L", 900_000, "cannot be read|shorter than it says|is not what"),
        (24, "<L", 10, "cannot be read|is not what"),
        (20, "<L", 4_000_000_000, "lie one over another|cannot be read"),
        (8, "<H", 0x1, "locked with a password"),
        (8, "<H", 0x40, "locked with a password"),
        (10, "<H", 12, "compressed in a way"),
        (10, "<H", 99, "compressed in a way"),
        (10, "<H", 8, "cannot be read"),
        (16, "<L", 12345, "cannot be read"),
        (42, "<L", 100, "cannot be read"),
        (42, "<L", 3_000_000_000, "cannot be read"),
    ],
)
def test_a_directory_that_lies_is_refused(
    made: Path, tmp_path: Path, field: int, form: str, value: int, said: str
) -> None:
    data = patched(made, "history/entries.csv", field, form, value)
    (tmp_path / "lie.zip").write_bytes(data)
    refused(tmp_path / "lie.zip", said)


def test_files_that_share_their_bytes_are_refused(made: Path, tmp_path: Path) -> None:
    """As in D. Fifield, "A better zip bomb", USENIX WOOT 2019: many names, one lot of bytes."""
    data = made.read_bytes()
    with zipfile.ZipFile(made) as opened:
        first, count = opened.start_dir, len(opened.infolist())
        biggest = max(opened.infolist(), key=lambda one: one.file_size)
    place = data.rfind(biggest.filename.encode()) - 46
    record = data[place : place + 46 + len(biggest.filename)]
    more = b"".join(
        record[:46] + biggest.filename[:-6].encode() + f"{k:02d}.csv".encode() for k in range(50)
    )
    end = bytearray(data[-22:])
    struct.pack_into("<HHL", end, 8, count + 50, count + 50, len(data) - 22 - first + len(more))
    (tmp_path / "over.zip").write_bytes(data[:-22] + more + bytes(end))
    refused(tmp_path / "over.zip", "lie one over another|nothing was made from it")


def test_a_directory_without_end_is_refused_before_it_is_read(made: Path, tmp_path: Path) -> None:
    data = bytearray(made.read_bytes())
    struct.pack_into("<HH", data, len(data) - 14, 65_000, 65_000)
    (tmp_path / "many.zip").write_bytes(data)
    refused(tmp_path / "many.zip", "holds 65000 files; up to 10000")


# damage


def test_what_is_no_archive_is_told(tmp_path: Path) -> None:
    for name, data in (
        ("empty.zip", b""),
        ("garbage.zip", bytes(range(256)) * 20),
        ("text.zip", COIL.encode()),
        ("short.zip", b"PK\x05\x06"),
        ("none.zip", b"PK\x05\x06" + bytes(18)),
        ("end.zip", b"PK\x05\x06" + b"\xff" * 16 + b"\x00\x00"),
    ):
        (tmp_path / name).write_bytes(data)
        refused(tmp_path / name, "no archive|is missing in it|cannot be read|it says that it holds")
    refused(tmp_path / "absent.zip", "No such file")
    refused(tmp_path / "refused", "Is a directory")


def test_a_truncated_archive_is_told_wherever_it_ends(made: Path, tmp_path: Path) -> None:
    data = made.read_bytes()
    for end in random.Random(11).sample(range(len(data)), 60):
        (tmp_path / "cut.zip").write_bytes(data[:end])
        refused(tmp_path / "cut.zip", "not a whole one|cannot be read", DamagedError)


def test_one_flipped_byte_is_told_or_does_no_harm(made: Path, tmp_path: Path) -> None:
    """Dates and attributes of the zip say nothing of ours; any other byte is seen."""
    data = made.read_bytes()
    chance = random.Random(12)
    told = 0
    for k in chance.sample(range(len(data)), 150):
        flipped = bytearray(data)
        flipped[k] ^= 1 << chance.randrange(8)
        (tmp_path / "flip.zip").write_bytes(flipped)
        place = tmp_path / f"flip{k}.ohmbook"
        try:
            unpack(tmp_path / "flip.zip", place)
        except NotebookError:
            told += 1
            assert not place.exists()
            continue
        with Notebook.open(place) as book:
            archive(book, tmp_path / f"flip{k}.zip")
        assert (tmp_path / f"flip{k}.zip").read_bytes() == data
    assert told >= 120
    assert not [one for one in os.listdir(tmp_path) if "draft" in one]


def changed(name: str, old: bytes, new: bytes) -> Callable[[Files], Files]:
    def change(files: Files) -> Files:
        assert files[name].count(old) >= 1
        return {**files, name: files[name].replace(old, new, 1)}

    return change


def without(name: str) -> Callable[[Files], Files]:
    return lambda files: {key: data for key, data in files.items() if key != name}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (changed("history/entries.csv", b"0.5 ohm", b"0.4 ohm"), "does not agree with its digest"),
        (changed("history/acts.csv", b"Anna", b"Hans"), "does not agree with its digest"),
        (changed("history/acts.csv", b",0,", b",1,"), "does not agree with its digest"),
        (changed("history/acts.csv", b"\r\n2,", b"\r\n3,"), "act 2 is none"),
        (changed("history/acts.csv", b"take in", b"make up"), "act 1 is none"),
        (changed("history/acts.csv", b"id,", b"nr,"), "its columns are not"),
        (changed("history/acts.csv", b"+00:00", b""), "act 1 is none"),
        (changed("history/entries.csv", b"\r\n2,1,left", b"\r\n2,9,left"), "not in the order"),
        (changed("history/entries.csv", b"\r\n2,1,left", b"\r\n2,1,l/ft"), "entry 2 is none"),
        (changed("history/entries.csv", b"\r\n2,1,left", b"\r\n2,x,left"), "is no number"),
        (changed("history/entries.csv", b"x.bin", b"..bin"), "entry .* is none"),
        (changed("history/entries.csv", b"{}", b"{"), "entry 1 is none"),
        (changed("history/entries.csv", b"{}", b"["*100_000), "entry 1 is none"),
        (changed("history/entries.csv", b"\r\n2,", b'\r\n"2,'), "cannot be read|is none|columns"),
        (changed("boards/left.toml", b"0.9 ohm", b"0.4 ohm"), "left says something else"),
        (changed("boards/left.toml", b"[parts]", b"[parts"), "boards/left.toml is not"),
        (changed("boards/left.toml", b"[parts]", b"\xff"), "boards/left.toml is not"),
        (changed("notebook.toml", b"acts = 13", b"acts = 12"), "something else than the history"),
        (changed("notebook.toml", b"acts = 13", b"acts = "), "notebook.toml is not"),
        (changed("notebook.toml", b"archive =", b"archives ="), "notebook.toml is not"),
        (changed("notebook.toml", b"ohmbook notebook", b"some other"), "no archive of a notebook"),
        (changed("notebook.toml", b'left = "', b'right = "'), "does not belong|is missing|other"),
        (changed("notebook.toml", b"archive = 1", b"archive = 2"), "by a newer ohmbook"),
        (changed("notebook.toml", b"notebook = 2", b"notebook = 99"), "by a newer ohmbook"),
        (without("README.txt"), "README.txt"),
        (without("notebook.toml"), "notebook.toml is missing"),
        (without("history/acts.csv"), "acts.csv"),
        (without("history/entries.csv"), "entries.csv"),
        (without("boards/left.toml"), "left.toml"),
    ],
)  # fmt: skip
def test_what_was_tampered_with_is_told_though_the_manifest_fits(
    made: Path, tmp_path: Path, change: Callable[[Files], Files], said: str
) -> None:
    path = zipped(listed(change(files_of(made))), tmp_path / "other.zip")
    refused(path, said)


def test_what_does_not_fit_the_manifest_is_told(made: Path, tmp_path: Path) -> None:
    files = files_of(made)
    for name in files:
        if name != "manifest.csv":
            other = {**files, name: files[name] + b"\n"}
            refused(zipped(other, tmp_path / "other.zip"), "is not what|is missing", DamagedError)
    refused(
        zipped(without("manifest.csv")(files), tmp_path / "other.zip"), "manifest.csv is missing"
    )


def test_other_bytes_in_an_attachments_place_are_told(made: Path, tmp_path: Path) -> None:
    files = files_of(made)
    name = next(one for one in files if one.endswith("front.csv"))
    path = zipped(listed({**files, name: FRONT + b"3,4\r\n"}), tmp_path / "other.zip")
    refused(path, "the bytes of front.csv are not those attached")
    path = zipped(listed(without(name)(files)), tmp_path / "other.zip")
    refused(path, "front.csv is missing|are not those attached")


def forged(files: Files, *entries: tuple[Subject, str | None]) -> Files:
    """An archive whose history goes on with an act of somebody who knows how digests are made."""
    acts = list(csv.reader(io.StringIO(files["history/acts.csv"].decode(), newline="")))
    rows = list(csv.reader(io.StringIO(files["history/entries.csv"].decode(), newline="")))
    act = Act(len(acts), "2026-11-25T12:00:00.000+00:00", "eve", "write", "forged")
    made = [
        Entry(len(rows) + k, act.id, subject, 0, body) for k, (subject, body) in enumerate(entries)
    ]
    digest = digest_of(bytes.fromhex(acts[-1][-1]), act, made)
    acts.append([str(act.id), act.at, act.who, act.kind, act.words, "", "0", digest.hex()])
    rows += [[str(e.id), str(e.act), *e.subject, "0", e.body or ""] for e in made]
    about = files["notebook.toml"].decode().replace(f"acts = {act.id - 1}", f"acts = {act.id}")
    about = about.replace(f"entries = {made[0].id - 1}", f"entries = {made[-1].id}")
    last = tomllib.loads(about)["last_digest"]
    return listed(
        {
            **files,
            "notebook.toml": about.replace(last, digest.hex()).encode(),
            "history/acts.csv": to_csv(acts[0], acts[1:]).encode(),
            "history/entries.csv": to_csv(rows[0], rows[1:]).encode(),
        }
    )


@pytest.mark.parametrize(
    ("subject", "body"),
    [
        (Subject("left", ATTACHMENTS, "../../evil.txt"), '{"sha256":"%s","type":"x","size":3}'),
        (Subject("left", ATTACHMENTS, "x.txt"), '{"sha256":"../..","type":"x","size":3}'),
        (Subject("left", ATTACHMENTS, "x.txt"), '{"sha256":"%s","type":"x","size":-3}'),
        (Subject("left", ATTACHMENTS, "x.txt"), '{"sha256":"%s","type":"x","size":true}'),
        (Subject("left", ATTACHMENTS, "x.txt"), '{"sha256":"%s","type":"x","size":3,"to":"L1"}'),
        (Subject("left", ATTACHMENTS, "x.txt"), '{"sha256":"%s","type":"x","size":3,"run":1}'),
        (Subject("left", ATTACHMENTS, "x.txt"), "[]"),
        (Subject("left", PARTS, "L9"), "5"),
        (Subject("left", PARTS, "L9"), '{"$date":"soon"}'),
        (Subject("left", PARTS, ""), "{}"),
        (Subject("left", "nothing", "x"), "{}"),
        (Subject("left", "readings", "x"), "{}"),
        (Subject("left", "readings", "9999"), "{}"),
        (Subject("left", "title", ""), "{}"),
        (Subject("../left", PARTS, "L9"), "{}"),
        (Subject("left@3", PARTS, "L9"), "{}"),
    ],
)
def test_forged_entries_are_refused_though_every_digest_fits(
    made: Path, tmp_path: Path, subject: Subject, body: str
) -> None:
    body = body.replace("%s", sha256(b"abc"))
    path = zipped(forged(files_of(made), (subject, body)), tmp_path / "forged.zip")
    refused(path, r"entry \d+ is none that ohmbook writes")


def test_the_forger_of_these_tests_can_forge(made: Path, tmp_path: Path) -> None:
    """What the test above refuses is refused for the entry, not for how the test made it."""
    subject = Subject("left", "readings", "1")
    files = forged(files_of(made), (subject, None))
    unpack(zipped(files, tmp_path / "forged.zip"), tmp_path / "forged.ohmbook")
    with Notebook.open(tmp_path / "forged.ohmbook") as book:
        assert book.history()[-1].who == "eve"
