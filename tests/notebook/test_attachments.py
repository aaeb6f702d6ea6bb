"""Photos and captures: the bytes stay, the type is found in them, the name is made safe."""

from __future__ import annotations

import hashlib
import io
import sqlite3
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from ohmbook.errors import CallError, DamagedError, NotebookError
from ohmbook.notebook.attachments import MOST_BYTES
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.safenames import folded, free_name, safe_name
from ohmbook.notebook.sniffing import type_of
from ohmbook.notebook.thumbnails import SIDE, thumbnail
from tests.notebook.books import COIL, ohms

CAPTURE = b"t/s;u/V\r\n0;0.1\r\n1e-6;0.2\r\n"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook.new(tmp_path / "bench.ohmbook", who="tester") as made:
        made.take_in("coil", COIL)
        yield made


def picture(form: str, size: tuple[int, int] = (900, 600), **how: object) -> bytes:
    """A picture whose left half is red and whose right half is blue."""
    image = Image.new("RGB", size, "red")
    image.paste("blue", (size[0] // 2, 0, size[0], size[1]))
    stream = io.BytesIO()
    image.save(stream, form, **how)
    return stream.getvalue()


def test_the_bytes_come_back_and_are_kept_once(book: Notebook) -> None:
    photo = picture("PNG")
    book.attach("coil", "front.png", photo, to=("parts", "L1"), note="both sides")
    book.attach("coil", "again.png", photo, to=("readings", "ohms"))
    first, second = book.attachments("coil")
    assert (first.sha256, first.size) == (hashlib.sha256(photo).hexdigest(), len(photo))
    assert first.sha256 == second.sha256
    assert [book.owner_name(one) for one in (first, second)] == ["L1", "ohms"]
    assert (first.note, second.note) == ("both sides", "")
    assert book.bytes_of(second) == photo
    assert book.store.attachment_hashes() == [(bytes.fromhex(first.sha256), len(photo))]


def test_what_belongs_to_a_reading_stays_with_it_when_it_is_revised(book: Notebook) -> None:
    book.attach("coil", "trace.csv", CAPTURE, to=("readings", "1"))
    kept = book.reading("coil", "reading 1")
    book.revise("coil", "reading 1", {**kept.raw, "name": "half"})
    assert book.owner_name(book.attachment("coil", "trace.csv")) == "half"


def test_taken_out_it_is_gone_from_the_list_and_not_from_the_past(book: Notebook) -> None:
    there = book.attach("coil", "trace.csv", CAPTURE).act
    book.take_out_attachment("coil", "trace.csv")
    assert book.attachments("coil") == ()
    (then,) = book.attachments("coil", there)
    assert book.bytes_of(then) == CAPTURE
    book.undo()
    assert [one.name for one in book.attachments("coil")] == ["trace.csv"]
    with pytest.raises(CallError, match=r'no attachment "x" on coil; there are: trace\.csv'):
        book.take_out_attachment("coil", "x")


def test_a_sheet_does_not_change_with_what_is_attached(book: Notebook) -> None:
    before = book.text("coil")
    book.attach("coil", "trace.csv", CAPTURE)
    assert book.text("coil") == before


def test_names_that_clash_are_told_apart(book: Notebook) -> None:
    for name in ("a/Trace.CSV", "trace.csv", "C:\\tmp\\trace.csv"):
        book.attach("coil", name, CAPTURE)
    names = [one.name for one in book.attachments("coil")]
    assert names == ["Trace.CSV", "trace (2).csv", "trace (3).csv"]


def test_it_belongs_to_something_that_is_there(book: Notebook) -> None:
    for to, said in (
        (("parts", "L7"), r'no "L7" among the parts of coil.*L1, C1'),
        (("readings", "9"), r'no "9" among the readings of coil.*reading 1, ohms'),
        (("sketch", ""), r"a part or a reading"),
    ):
        with pytest.raises(CallError, match=said):
            book.attach("coil", "x.csv", CAPTURE, to=to)
    with pytest.raises(CallError, match="no board"):
        book.attach("right", "x.csv", CAPTURE)
    assert book.attachments("coil") == ()
    assert book.store.attachment_hashes() == []


def test_too_much_and_nothing_are_refused_with_what_to_do(book: Notebook) -> None:
    with pytest.raises(
        NotebookError, match=r"big\.jpg: it has more than the 25 MB.* save a photo smaller"
    ):
        book.attach("coil", "big.jpg", bytes(MOST_BYTES + 1))
    with pytest.raises(NotebookError, match="empty"):
        book.attach("coil", "nothing.jpg", b"")
    assert len(book.history()) == 1
    book.attach("coil", "most.bin", bytes(MOST_BYTES))
    assert book.bytes_of(book.attachments("coil")[0]) == bytes(MOST_BYTES)


def test_bytes_that_changed_or_went_are_told(tmp_path: Path, book: Notebook) -> None:
    book.attach("coil", "trace.csv", CAPTURE)
    book.attach("coil", "other.csv", CAPTURE + b"2e-6;0.3\r\n")
    book.check()
    changed, gone = book.attachments("coil")
    book.close()
    other = sqlite3.connect(tmp_path / "bench.ohmbook")
    asked = "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'attachment'"
    guards = other.execute(asked).fetchall()
    assert len(guards) == 2
    for name, _ in guards:
        other.execute(f"DROP TRIGGER {name}")
    hashes = [(bytes.fromhex(one.sha256),) for one in (changed, gone)]
    other.execute("UPDATE attachment SET bytes = x'00' WHERE hash = ?", hashes[0])
    other.execute("DELETE FROM attachment WHERE hash = ?", hashes[1])
    for _, guard in guards:
        other.execute(guard)
    other.commit()
    other.close()
    with Notebook.open(tmp_path / "bench.ohmbook") as again:
        with pytest.raises(DamagedError, match=r"bytes of trace\.csv are not those"):
            again.bytes_of(changed)
        with pytest.raises(DamagedError, match=r"bytes of other\.csv are missing"):
            again.bytes_of(gone)
        with pytest.raises(DamagedError, match="is not what was put in"):
            again.check()


def test_looking_through_it_finds_what_is_missing(tmp_path: Path, book: Notebook) -> None:
    book.attach("coil", "trace.csv", CAPTURE)
    book.close()
    other = sqlite3.connect(tmp_path / "bench.ohmbook")
    (guard,) = other.execute(
        "SELECT sql FROM sqlite_schema WHERE name = 'attachment_no_DELETE'"
    ).fetchone()
    other.execute("DROP TRIGGER attachment_no_DELETE")
    other.execute("DELETE FROM attachment")
    other.execute(guard)
    other.commit()
    other.close()
    with (
        Notebook.open(tmp_path / "bench.ohmbook") as again,
        pytest.raises(DamagedError, match=r"bytes of trace\.csv are missing"),
    ):
        again.check()


# types: signatures from the standards named in sniffing.py, and files made by Pillow


@pytest.mark.parametrize("form", ["JPEG", "PNG", "GIF", "WEBP", "TIFF"])
def test_the_type_is_found_in_the_bytes(form: str) -> None:
    assert type_of(picture(form)) == f"image/{form.lower()}"


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"%PDF-1.7\n...", "application/pdf"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "audio/wav"),
        (b"RIFF\x24\x00\x00\x00AVI LIST", "application/octet-stream"),
        (b"MM\x00*\x00\x00\x00\x08", "image/tiff"),
        (CAPTURE, "text/csv"),
        (b"a,b\n1,2\n", "text/csv"),
        (b"\xef\xbb\xbfa\tb\n1\t2\n", "text/csv"),
        (b"scope set to 50 mV\n1,2,3\n4\n5,6\n", "text/plain"),
        (b"one line, with a comma", "text/plain"),
        (b"<script>alert(1)</script>", "text/plain"),
        ("µV, Ω\n".encode("utf-16"), "text/plain"),
        ("Übertrager\n".encode("latin-1"), "text/plain"),
        (b"\x7fELF\x02\x01\x01", "application/octet-stream"),
        (b"MZ\x90\x00", "application/octet-stream"),
        (b"text with a\x00zero", "application/octet-stream"),
        (b"", "application/octet-stream"),
    ],
)
def test_other_types(data: bytes, found: str) -> None:
    assert type_of(data) == found


def test_a_name_says_nothing_of_the_type(book: Notebook) -> None:
    book.attach("coil", "photo.jpg", b"MZ\x90\x00 a program")
    (found,) = book.attachments("coil")
    assert (found.type, book.thumbnail_of(found)) == ("application/octet-stream", None)


@given(st.binary(max_size=400))
def test_any_bytes_have_a_type_and_no_bytes_raise(data: bytes) -> None:
    assert "/" in type_of(data)
    for head in (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF89a", b"II*\x00"):
        thumbnail(head + data)


# thumbnails


@pytest.mark.parametrize("form", ["JPEG", "PNG", "GIF", "WEBP", "TIFF"])
def test_a_picture_has_a_small_one(form: str) -> None:
    small = thumbnail(picture(form))
    assert small is not None
    assert len(small) <= 20_000
    with Image.open(io.BytesIO(small)) as seen:
        assert seen.size == (SIDE, 160)
        red, blue = (seen.convert("RGB").getpixel((x, 80)) for x in (40, 200))
    assert isinstance(red, tuple)
    assert isinstance(blue, tuple)
    assert red[0] > 200 > 60 > red[2]
    assert blue[2] > 200 > 60 > blue[0]


# Exif 2.32 (CIPA DC-008), tag 274: where the first row and column of the picture lie; the red
# half of the stored picture is its left one, so it is seen at ...
SEEN = {1: "left", 2: "right", 3: "right", 4: "left", 5: "top", 6: "top", 7: "bottom", 8: "bottom"}


@pytest.mark.parametrize("orientation", SEEN)
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_it_stands_upright(form: str, orientation: int) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    small = thumbnail(picture(form, exif=exif))
    assert small is not None
    with Image.open(io.BytesIO(small)) as seen:
        colours = seen.convert("RGB")
        wide, high = seen.size
        spots = {
            "left": (10, high // 2), "right": (wide - 10, high // 2),
            "top": (wide // 2, 10), "bottom": (wide // 2, high - 10),
        }  # fmt: skip
        red = {side for side, spot in spots.items() if _red(colours.getpixel(spot))}
        assert not seen.getexif()
    assert SEEN[orientation] in red
    assert {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[
        SEEN[orientation]
    ] not in red
    assert (wide > high) == (orientation < 5)


def _red(colour: object) -> bool:
    return isinstance(colour, tuple) and colour[0] > 150 and colour[2] < 100


def test_a_noisy_photo_stays_small() -> None:
    noise = np.random.default_rng(5).integers(0, 256, (1200, 1600, 3), dtype=np.uint8)
    stream = io.BytesIO()
    Image.fromarray(noise).save(stream, "JPEG")
    small = thumbnail(stream.getvalue())
    assert small is not None
    assert len(small) <= 20_000


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK", "I;16", "F"])
def test_any_kind_of_pixels(mode: str) -> None:
    image = Image.new("L", (300, 200), 200)
    stream = io.BytesIO()
    form = "PNG" if mode in ("1", "L", "LA", "P", "RGBA", "I;16") else "TIFF"
    image.convert(mode).save(stream, form)
    small = thumbnail(stream.getvalue())
    assert small is not None
    with Image.open(io.BytesIO(small)) as seen:
        assert seen.size == (240, 160)


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few hundred bytes that promises a great many pixels (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(bytes(100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def test_bombs_and_broken_pictures_give_none_and_can_be_attached(book: Notebook) -> None:
    whole = picture("JPEG")
    broken = [
        bomb(50_000, 50_000), bomb(9_000, 9_000), bomb(2, 2_000_000_000), whole[:200],
        whole[:3], picture("PNG")[:300], picture("TIFF")[:50], b"GIF89a" + bytes(20),
    ]  # fmt: skip
    for data in broken:
        assert thumbnail(data) is None
        book.attach("coil", "photo.jpg", data)
        assert book.thumbnail_of(book.attachments("coil")[-1]) is None
        assert book.bytes_of(book.attachments("coil")[-1]) == data


# names


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("IMG_2041.jpg", "IMG_2041.jpg"),
        ("Weiche links, Rückseite.jpeg", "Weiche links, Rückseite.jpeg"),
        ("../../etc/passwd", "passwd"),
        ("C:\\photos\\board.png", "board.png"),
        ("C:board.png", "C-board.png"),
        ("..", "unnamed"),
        ("", "unnamed"),
        (".profile", "profile"),
        ("a\x00b\nc\x1b[31m.txt", "ab c[31m.txt"),
        ("trace\u202egpj.exe", "tracegpj.exe"),
        ("CON", "_CON"),
        ("nul.txt", "_nul.txt"),
        ("Com1.tar.gz", "_Com1.tar.gz"),
        ("console.txt", "console.txt"),
        ("what?.jpg", "what-.jpg"),
        ("photo.jpg. ", "photo.jpg"),
        ("e\u0301.txt", "\u00e9.txt"),
        ("\ud800.txt", "txt"),
    ],
)
def test_names_are_made_safe_and_stay_recognisable(name: str, safe: str) -> None:
    assert safe_name(name) == safe


@given(st.text(max_size=300) | st.text(st.sampled_from("./\\ :CONcon1.\u0301\x00"), max_size=20))
def test_a_safe_name_is_safe(name: str) -> None:
    safe = safe_name(name)
    assert safe_name(safe) == safe
    assert safe not in ("", ".", "..")
    assert not set(safe) & set('/\\:*?"<>|\x00\n\r')
    assert safe == safe.strip(" .")
    assert len(safe.encode()) <= 200
    assert Path("folder", safe).parent == Path("folder")


@given(st.text(max_size=200), st.integers(2, 12))
def test_names_given_one_after_another_are_told_apart(name: str, count: int) -> None:
    given_names: list[str] = []
    for k in range(count):
        given_names.append(free_name(safe_name(name.upper() if k % 2 else name), given_names))
    assert len({folded(one) for one in given_names}) == count
    assert all(safe_name(one) == one for one in given_names)


def test_a_reading_more_does_not_move_what_an_attachment_belongs_to(book: Notebook) -> None:
    book.attach("coil", "x.csv", CAPTURE, to=("readings", "ohms"))
    book.add("coil", ohms("0.7 ohm"))
    book.strike("coil", "reading 1", "slipped")
    assert book.owner_name(book.attachments("coil")[0]) == "ohms"
