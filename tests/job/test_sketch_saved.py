"""Saving a drawing: one act, the circuit follows, readings keep what they refer to."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ohmbook.errors import CallError, OhmbookError
from ohmbook.job.carried import Renamed, carried
from ohmbook.job.demo import demo_text
from ohmbook.job.sketch_saved import PartEdit, SketchEdit, to_save
from ohmbook.job.sketching import Sketched, sketched
from ohmbook.notebook.archive import archive
from ohmbook.notebook.change import Saved
from ohmbook.notebook.notebook import Notebook
from ohmbook.notebook.unpack import unpack
from ohmbook.sheet.syntax import parse


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook.new(tmp_path / "b.ohmbook", who="me") as made:
        made.take_in("example", demo_text())
        made.begin_board("new")
        yield made


def save(book: Notebook, board: str, edit: SketchEdit) -> tuple[Saved | None, str]:
    wanted = to_save(book, board, edit)
    if not wanted.changes:
        return None, wanted.held
    return book.write("write", wanted.words, wanted.changes), wanted.held


def plain(found: Sketched) -> dict[str, Any]:
    return found.drawing.plain()


def nodes(book: Notebook, board: str) -> dict[str, tuple[str, str]]:
    sheet = book.sheet(board)
    return {name: one.between for name, one in sheet.parts.items() if one.between}


TWO = {
    "parts": {"L1": [2, 0, 0], "woofer": [8, 0, 90]},
    "wires": [[0, 0, 2, 0], [6, 0, 8, 0]],
    "marks": [{"kind": "input", "at": [0, 0]}, {"kind": "ground", "at": [8, 4]}],
}
NEW = (
    PartEdit(None, "L1", {"kind": "inductor"}),
    PartEdit(None, "woofer", {"kind": "driver", "rated": "8 ohm"}),
)


def test_saving_a_first_drawing_as_it_was_laid_out_changes_no_node(book: Notebook) -> None:
    before, settled = nodes(book, "example"), book.sheet("example")
    there = sketched(book, "example")
    assert not there.begun
    saved, held = save(book, "example", SketchEdit(plain(there), there.base))
    assert saved is not None
    assert not held
    assert not saved.beside
    assert nodes(book, "example") == before
    assert book.sheet("example").readings == settled.readings
    again = sketched(book, "example")
    assert again.begun
    assert plain(again) == plain(there)
    assert again.remarks == ()
    assert all("between" not in one.raw for one in again.parts)
    assert again.probed["w"] == 1


def test_the_same_drawing_is_not_written_twice(book: Notebook) -> None:
    there = sketched(book, "example")
    save(book, "example", SketchEdit(plain(there), there.base))
    there = sketched(book, "example")
    assert save(book, "example", SketchEdit(plain(there), there.base)) == (None, "")


def test_a_board_is_drawn_from_nothing(book: Notebook) -> None:
    saved, held = save(book, "new", SketchEdit(TWO, 0, NEW))
    assert saved is not None
    assert not held
    assert nodes(book, "new") == {"L1": ("in", "n1"), "woofer": ("n1", "gnd")}
    assert book.history()[-1].words == "sketch of new: L1 new, woofer new"
    assert all(one.bare for one in sketched(book, "new").parts)
    book.undo()
    assert sketched(book, "new").parts == ()


def test_a_part_may_get_a_name_back_that_it_had(book: Notebook) -> None:
    save(book, "new", SketchEdit(TWO, 0, NEW))
    for was, name in (("L1", "La"), ("La", "L1")):
        there = sketched(book, "new")
        base = next(one.base for one in there.parts if one.name == was)
        drawing = {**TWO, "parts": {name: [2, 0, 0], "woofer": [8, 0, 90]}}
        edit = PartEdit(was, name, {"kind": "inductor"}, base)
        saved, _ = save(book, "new", SketchEdit(drawing, there.base, (edit,)))
        assert saved is not None
        assert not saved.beside
    assert nodes(book, "new")["L1"] == ("in", "n1")


def test_a_drawing_only_begun_leaves_the_board_sound(book: Notebook) -> None:
    begun = {"parts": {"L1": [2, 0, 0]}}
    save(book, "new", SketchEdit(begun, 0, NEW))
    assert nodes(book, "new") == {}
    assert [one.kind for one in sketched(book, "new").remarks][:1] == ["unjoined part"]


def test_two_tabs_do_not_overwrite_each_other_unseen(book: Notebook) -> None:
    save(book, "new", SketchEdit(TWO, 0, NEW))
    base = sketched(book, "new").base
    one = {**TWO, "wires": [*TWO["wires"], [8, 0, 8, -4]]}
    save(book, "new", SketchEdit(one, base))
    other = {**TWO, "wires": [*TWO["wires"], [0, 0, 0, 4]]}
    saved, _ = save(book, "new", SketchEdit(other, base))
    assert saved is not None
    assert saved.beside
    assert "has been changed by someone else" in saved.told
    assert plain(sketched(book, "new")) == one


def test_a_part_renamed_takes_its_readings_and_its_nodes_along(book: Notebook) -> None:
    there = sketched(book, "example")
    drawing = plain(there)
    drawing["parts"]["Lw"] = drawing["parts"].pop("L1")
    raw, base = next((one.raw, one.base) for one in there.parts if one.name == "L1")
    edit = SketchEdit(drawing, there.base, (PartEdit("L1", "Lw", raw, base),))
    saved, held = save(book, "example", edit)
    assert saved is not None
    assert not held
    assert nodes(book, "example")["Lw"] == ("in", "m")
    assert "L1" not in book.sheet("example").parts
    assert book.reading("example", "3").raw["part"] == "Lw"


def test_a_node_written_anew_takes_its_readings_along(book: Notebook) -> None:
    there = sketched(book, "example")
    drawing = plain(there)
    for one in drawing["names"]:
        one["name"] = {"w": "woofer hot", "a": "t1"}.get(one["name"], one["name"])
    drawing["names"] = [one for one in drawing["names"] if one["name"] != "woofer hot"]
    saved, held = save(book, "example", SketchEdit(drawing, there.base))
    assert saved is not None
    assert not held
    assert nodes(book, "example")["L2"] == ("t1", "gnd")
    assert nodes(book, "example")["woofer"] == ("w", "gnd"), "nothing written: as it was called"
    assert "t1/mVpp" in book.reading("example", "5").raw["table"]
    assert len(book.sheet("example").readings) == 5


def test_where_readings_would_lose_a_node_the_circuit_stays_and_that_is_told(
    book: Notebook,
) -> None:
    before = nodes(book, "example")
    there = sketched(book, "example")
    drawing = plain(there)
    for name in ("C1", "L3"):
        del drawing["parts"][name]
    gone = (PartEdit("L3", None),)
    saved, held = save(book, "example", SketchEdit(drawing, there.base, gone))
    assert saved is not None
    assert '"m"' in held
    assert "L3" in book.sheet("example").parts, "the circuit still has it"
    assert nodes(book, "example") == before
    now = sketched(book, "example")
    assert plain(now) == drawing
    assert now.remarks[0].kind == "differs"
    assert now.remarks[0].parts == ("L1", "C1", "L3"), "and L1 hangs"


def test_a_part_that_readings_are_of_is_not_taken_out(book: Notebook) -> None:
    there = sketched(book, "example")
    drawing = plain(there)
    del drawing["parts"]["L1"]
    _, held = save(book, "example", SketchEdit(drawing, there.base, (PartEdit("L1", None),)))
    assert "reading 3 would no longer stand" in held
    assert nodes(book, "example")["L1"] == ("in", "m")
    sheet = '[parts]\nR1 = { kind = "resistor" }\n[instruments.m]\nkind = "multimeter"\n'
    sheet += '[[readings]]\nkind = "resistance"\npart = "R1"\nvalue = "4 ohm"\n'
    book.put("new", sheet)
    with pytest.raises(CallError, match="nothing was written"):
        to_save(book, "new", SketchEdit({}, 0, (PartEdit("R1", None),)))


@pytest.mark.parametrize(
    ("drawing", "parts", "told"),
    [
        ({"parts": {"L1": [0, 0, 1]}}, (), "three whole numbers"),
        ({"wires": [[0, 0, 1, 1]]}, (), "along the grid"),
        ({"parts": {}}, (PartEdit(None, "L1", {"kind": "coil"}),), "unknown kind"),
        ({"parts": {}}, (PartEdit("L9", "L8", {"kind": "inductor"}),), "any more"),
        (
            {"parts": {}},
            (
                PartEdit(None, "L1", {"kind": "inductor"}),
                PartEdit(None, "L1", {"kind": "inductor"}),
            ),
            "already",
        ),
    ],
)
def test_what_cannot_be_is_refused(
    book: Notebook, drawing: dict[str, Any], parts: tuple[PartEdit, ...], told: str
) -> None:
    with pytest.raises(OhmbookError, match=told):
        to_save(book, "new", SketchEdit(drawing, 0, parts))
    assert sketched(book, "new").parts == ()


def test_a_drawing_goes_through_an_archive(book: Notebook, tmp_path: Path) -> None:
    there = sketched(book, "example")
    save(book, "example", SketchEdit(plain(there), there.base))
    archive(book, tmp_path / "a.zip")
    unpack(tmp_path / "a.zip", tmp_path / "again.ohmbook")
    with Notebook.open(tmp_path / "again.ohmbook") as again:
        assert again.text("example") == book.text("example")
        assert plain(sketched(again, "example")) == plain(there)


def test_a_reading_is_carried_in_every_field_that_names() -> None:
    raw = {
        "kind": "probe", "note": "L1 at w", "at": "w", "detached": ["L1"], "lifted": ["L1.2"],
        "instead": {"L1": "10 ohm"}, "added": {"x": ["w", "gnd"]}, "between": ["w", "a"],
        "amplitudes": {"w": "1 Vpp"}, "load": "L1", "table": "# w/V\nf/Hz w/Vpp@1V/div # w/\n1 w",
    }  # fmt: skip
    assert carried(raw, Renamed({"L1": "Lw"}, {"w": "hot"})) == {
        "kind": "probe", "note": "L1 at w", "at": "hot", "detached": ["Lw"], "lifted": ["Lw.2"],
        "instead": {"Lw": "10 ohm"}, "added": {"x": ["hot", "gnd"]}, "between": ["hot", "a"],
        "amplitudes": {"hot": "1 Vpp"}, "load": "Lw",
        "table": "# w/V\nf/Hz hot/Vpp@1V/div # w/\n1 w",
    }  # fmt: skip


ODD: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5) | st.sampled_from(["L1", "in", "ground", "output", "driver", "8 ohm"]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.sampled_from(["kind", "name", "at", "against", "rated", "L1"]), inner),
    max_leaves=6,
)  # fmt: skip
SPOT = st.lists(st.integers(-9, 9), min_size=2, max_size=2)
FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "parts": st.dictionaries(
        st.sampled_from(["L1", "C1", "", "a.b"]), ODD | SPOT.map(lambda at: [*at, 90])
    ),
    "wires": st.lists(ODD | SPOT.map(lambda at: [*at, at[0] + 1, at[1]])),
    "junctions": st.lists(ODD | SPOT),
    "names": st.lists(ODD | st.fixed_dictionaries({"name": st.text(max_size=3), "at": SPOT})),
    "marks": st.lists(ODD | st.fixed_dictionaries({"kind": st.just("ground"), "at": SPOT})),
    "photo": ODD | st.fixed_dictionaries({"attachment": st.text(max_size=4), "opacity": ODD}),
}  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.dictionaries(st.sampled_from([*FIELDS, "odd"]), ODD)
    | st.fixed_dictionaries({}, optional=FIELDS),
    st.lists(
        st.builds(
            PartEdit,
            st.none() | st.sampled_from(["L1", "C1", ""]),
            st.none() | st.sampled_from(["L1", "C1", "a.b", ""]),
            st.none() | st.dictionaries(st.sampled_from(["kind", "value", "rated", "x"]), ODD)
            | st.just({"kind": "inductor"}),
        ),
        max_size=3,
    ),
)  # fmt: skip
def test_whatever_is_sent_is_written_so_that_it_can_be_read_or_refused_in_words(
    book: Notebook, drawing: dict[str, Any], parts: list[PartEdit]
) -> None:
    try:
        saved, _ = save(book, "new", SketchEdit(drawing, sketched(book, "new").base, parts))
    except OhmbookError:
        return
    assert parse("new", book.text("new") + "\n")[0] or saved is None
    sketched(book, "new")
