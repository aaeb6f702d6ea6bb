"""Rescue: what can still be read gets into a new notebook, and what is not certain is marked."""

from __future__ import annotations

import hashlib
import random
from pathlib import Path

import pytest

from ohmbook.errors import DamagedError, NotebookError
from ohmbook.job.settled import settle
from ohmbook.notebook import sifting
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.rescue import WHY_STRUCK, Rescued, rescue
from ohmbook.notebook.store import insert_attachment
from tests.notebook.small import Ink, apart, beside, ink_at, ink_of, make_book, noted

PAGE = 4096


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "b.ohmbook"


def rescued(path: Path) -> tuple[Rescued, Ink]:
    """What is rescued; the damaged file is as it was, and the new notebook can be written in."""
    before, others = path.read_bytes(), beside(path)
    new = path.with_name("new.ohmbook")
    new.unlink(missing_ok=True)
    found = rescue(path, new, "Grace")
    assert path.read_bytes() == before
    assert beside(path) == sorted({*others, "new.ohmbook"})
    with Notebook.open(new) as book:
        book.check()
        written = ink_of(book)
        book.begin_board("another")
    with Notebook.open(new) as book:
        book.check()
    return found, written


def test_a_whole_one_gives_the_same(path: Path) -> None:
    acts, entries = make_book(path)
    found, (new_acts, new_entries) = rescued(path)
    assert found.proven == len(acts)
    assert (found.mended, found.unproven, found.doubtful, found.lost) == ((), (), (), ())
    assert found.told == f"{len(acts)} numbers of the history are as they were written."
    assert (new_acts[:-1], new_entries) == (acts, entries)
    assert new_acts[-1].kind == "rescue"
    assert new_acts[-1].who == "Grace"
    assert new_acts[-1].words == (
        f"b.ohmbook: {len(acts)} of {len(acts)} numbers of its history are as they were written"
    )


def test_a_flipped_byte_is_put_right(path: Path) -> None:
    acts, entries = make_book(path)
    whole = path.read_bytes()
    for was, damaged in ((b"further reading 4", b"further reAding 4"), (b"probe s", b"pr\xffbe s")):
        path.write_bytes(whole.replace(was, damaged, 1))
        found, (new_acts, new_entries) = rescued(path)
        assert len(found.mended) == 1
        assert found.proven == len(acts) - 1
        assert new_entries == entries
        mended = new_acts[found.mended[0] - 1]
        assert mended.words.endswith(" [rescued: a flipped byte was put right]")
        assert "had a byte flipped, which was put right" in found.told


def test_what_is_not_certain_is_struck_until_it_is_compared(path: Path) -> None:
    acts, _ = make_book(path)
    data = path.read_bytes().replace(b"further reading 4", b"fuRther reAding 4")
    path.write_bytes(data)
    found, (new_acts, new_entries) = rescued(path)
    assert found.doubtful == (6,)
    assert found.proven == len(acts) - 1
    assert new_acts[5].words.endswith("[rescued: not all of it is certain to be what was written]")
    assert new_acts[-1].kind == "rescue"
    assert [one.act for one in new_entries][-1] == new_acts[-1].id
    with Notebook.open(found.new) as book:
        (struck,) = [one for one in book.readings("left") if one.struck == WHY_STRUCK]
        assert struck.raw["note"] == "fuRther reAding 4"
        book.restore("left", struck.name)
        assert book.reading("left", struck.name).struck is None
    assert (
        "number 6 is damaged: its readings are struck until they are compared and restored"
        in found.told
    )


@pytest.mark.parametrize("seed", range(25))
def test_one_byte_flipped_anywhere_loses_next_to_nothing(seed: int, path: Path) -> None:
    acts, entries = make_book(path)
    data = bytearray(path.read_bytes())
    rng = random.Random(seed)
    data[rng.randrange(len(data))] ^= rng.randrange(1, 256)
    path.write_bytes(data)
    found, (new_acts, new_entries) = rescued(path)
    assert found.proven + len(found.mended) >= len(acts) - 2
    certain = {
        one.id for one in acts if one.id not in (*found.unproven, *found.doubtful, *found.lost)
    }
    assert [one for one in new_entries if one.act in certain] == [
        one for one in entries if one.act in certain
    ]
    for one in acts:
        if one.id in certain:
            kept = new_acts[one.id - 1]
            assert (kept.at, kept.who, kept.kind, kept.undoes) == (
                one.at,
                one.who,
                one.kind,
                one.undoes,
            )
            assert kept.words.startswith(one.words)


def test_cut_off_what_is_there_is_kept(path: Path) -> None:
    acts, entries = make_long(path)
    whole = path.read_bytes()
    kept_before = 0
    for length in range(10 * PAGE, len(whole), 3 * PAGE):
        path.write_bytes(whole[:length])
        found, (_, new_entries) = rescued(path)
        kept = [one for one in entries if one in new_entries]
        assert len(kept) >= kept_before
        kept_before = len(kept)
        assert found.proven + len(found.unproven + found.lost + found.doubtful) <= len(acts)
    assert kept_before > 0.8 * len(entries)


@pytest.mark.parametrize("gone", [0, 1, 4, 7])
def test_pages_lost_in_the_middle(gone: int, path: Path) -> None:
    acts, entries = make_long(path)
    whole = bytearray(path.read_bytes())
    rng = random.Random(gone)
    first = 0 if gone == 0 else rng.randrange(PAGE, len(whole) - PAGE)
    whole[first : first + PAGE] = rng.randbytes(PAGE)
    path.write_bytes(whole)
    found, (new_acts, new_entries) = rescued(path)
    there = {one.id: one for one in new_entries}
    by_id = {one.id: one for one in entries}
    uncertain = {*found.unproven, *found.doubtful, *found.lost}
    assert len(by_id) - len(there.keys() & by_id.keys()) <= 40
    for one in there.values():
        if one.act <= len(acts) and one.act not in uncertain:
            assert one == by_id[one.id]
    for number in found.lost:
        assert (new_acts[number - 1].kind, new_acts[number - 1].who) == ("lost", "?")
        assert new_acts[number - 1].words == "what was done here could not be read"


def test_a_board_whose_beginning_is_lost_is_there_again(path: Path) -> None:
    make_long(path)
    data = bytearray(path.read_bytes())
    at = data.index(b"leftboard")
    first = at - at % PAGE
    data[first : first + PAGE] = bytes(PAGE)
    path.write_bytes(data)
    found, (_, new_entries) = rescued(path)
    assert found.entries_lost > 5
    assert f"of what was written, {found.entries_lost} entries are lost" in found.told
    with Notebook.open(found.new) as book:
        assert book.boards() == ("left", "another")
        assert len(book.readings("left")) > 40
    assert new_entries[-1].subject == ("left", "board", "")


def kill_with_log(_: object, path: Path) -> None:
    import os
    import signal

    with Notebook.open(path) as book:
        book.add("left", noted("only in the log"))
        os.kill(os.getpid(), signal.SIGKILL)


def test_what_stands_in_the_log_alone_is_rescued_too(path: Path) -> None:
    make_book(path)
    assert apart(kill_with_log, path) == (-9, [])
    data = path.read_bytes()
    path.write_bytes(bytes(100) + data[100:])
    found, (_, entries) = rescued(path)
    assert found.doubtful == found.lost == ()
    assert '"note":"only in the log"' in str(entries[-1].body)


def test_a_rescued_board_settles(path: Path) -> None:
    make_long(path)
    path.write_bytes(bytes(PAGE) + path.read_bytes()[PAGE:])
    found, _ = rescued(path)
    assert found.doubtful == found.lost == found.unproven == ()
    with Notebook.open(found.new) as book:
        assert settle(book.sheet("left")).document()["estimates"]["L1"]


def test_attachments_are_kept_where_they_are_what_was_put_in(path: Path) -> None:
    make_book(path)
    datas = [random.Random(size).randbytes(size) for size in (10, 900, 5000, 100_000, 250_000)]
    with Notebook.open(path) as book, book.store.writing() as db:
        for data in datas:
            insert_attachment(db, hashlib.sha256(data).digest(), data, b"thumb")
    whole = path.read_bytes()
    path.write_bytes(whole.replace(datas[3][-100:], bytes(100)))
    found, _ = rescued(path)
    assert (found.attachments, found.attachments_lost) == (4, 1)
    assert "4 attachments are as they were put in, 1 could not be read" in found.told
    with Notebook.open(found.new) as book:
        for k, data in enumerate(datas):
            kept = book.store.attachment(hashlib.sha256(data).digest())
            assert kept == (None if k == 3 else (data, b"thumb"))


@pytest.mark.parametrize("data", [b"", b"x", bytes(20_000), random.Random(1).randbytes(50_000)])
def test_where_nothing_can_be_read_none_is_made(data: bytes, path: Path) -> None:
    path.write_bytes(data)
    with pytest.raises(DamagedError, match="nothing in it can be read; it was left as it is; look"):
        rescue(path, path.with_name("new"), "Grace")
    assert (path.read_bytes(), beside(path)) == (data, [])
    path.with_name("b.ohmbook.copy-monday").touch()
    with pytest.raises(DamagedError, match=r"take its newest copy, b.ohmbook.copy-monday"):
        rescue(path, path.with_name("new"), "Grace")


def test_nothing_is_overwritten(path: Path) -> None:
    make_book(path)
    new = path.with_name("new.ohmbook")
    new.write_text("mine")
    with pytest.raises(NotebookError, match="something of that name is there already, and was"):
        rescue(path, new, "Grace")
    assert new.read_text() == "mine"
    with pytest.raises(NotebookError, match="something of that name is there already"):
        rescue(path, path, "Grace")
    with pytest.raises(NotebookError, match=r"it cannot be read \(No such file or directory\)"):
        rescue(path.with_name("none"), path.with_name("other"), "Grace")
    with (
        Notebook.open(path),
        pytest.raises(NotebookError, match="it is open here; close it first"),
    ):
        rescue(path, path.with_name("other"), "Grace")


def make_long(path: Path) -> Ink:
    """A notebook of many pages."""
    make_book(path)
    with Notebook.open(path, who="Ada") as book:
        for k in range(60):
            book.add("left", noted(f"{k}: " + "a reading with many words " * 20))
        return ink_of(book)


def test_any_bytes_at_all_are_borne(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sifting, "_MOST_MENDED", 2)
    make_long(path)
    whole = path.read_bytes()
    for seed, count in enumerate((100, 2000, 10_000)):
        rng = random.Random(seed)
        data = bytearray(whole)
        for _ in range(count):
            data[rng.randrange(len(data))] = rng.randrange(256)
        path.write_bytes(data)
        rescued(path)


def test_the_new_one_is_not_left_half_made(path: Path) -> None:
    make_book(path)
    there = ink_at(path)
    with pytest.raises(NotebookError):
        rescue(path, path.with_name("no folder") / "new", "Grace")
    assert beside(path) == []
    assert ink_at(path) == there
