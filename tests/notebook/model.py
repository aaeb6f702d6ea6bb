"""A notebook as anyone would write it down without thinking of disks: a list of states.

It knows nothing of entries that count or heads of subjects: it keeps what was done as little
functions of a dictionary, does those in force over again, and keeps a copy of what came out.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Key = tuple[str, str, Any]  # board, section, name (for readings: the number)
State = dict[str, dict[str, dict[Any, Any]]]
NAMED = ("instruments", "sources", "parts", "attachments")


@dataclass
class Deed:
    """Something done: what it put where (None: taken out)."""

    puts: dict[Key, Any]
    entries: Sequence[int] = ()
    settles: int | None = None


@dataclass
class Model:
    """What was done, what of it is in force, and every state so far; the first is empty."""

    deeds: list[Deed | None] = field(default_factory=list)
    in_force: set[int] = field(default_factory=set)
    aside: list[int] = field(default_factory=list)
    undone: list[int] = field(default_factory=list)
    states: list[State] = field(default_factory=lambda: [{}])
    readings_ever: dict[str, int] = field(default_factory=dict)

    @property
    def now(self) -> State:
        return self.states[-1]

    def do(self, deed: Deed) -> None:
        """Something new: what was undone before can no longer be redone."""
        self.deeds.append(deed)
        self.in_force.add(len(self.deeds))
        self.undone.clear()
        self._keep()

    def put_aside(self, deed: Deed) -> None:
        self.deeds.append(deed)
        self.aside.append(len(self.deeds))
        self._keep()

    def undo(self, act: int) -> None:
        self.deeds.append(None)
        self.in_force.remove(act)
        self.undone.append(act)
        self._keep()

    def redo(self) -> None:
        self.deeds.append(None)
        self.in_force.add(self.undone.pop())
        self._keep()

    def without(self, act: int) -> State:
        return self._replayed(self.in_force - {act})

    def last(self) -> int | None:
        return max(self.in_force, default=None)

    def begun_anew(self, act: int, board: str) -> bool:
        """Whether a board was begun after something was done on it."""
        return any(
            one > act and (board, "board", "") in self._of(one).puts for one in self.in_force
        )

    def built_upon(self, act: int) -> bool:
        """Whether something in force was written later on the same thing, or on a board that the
        act began."""
        mine = self._of(act).puts
        begun = {board for board, section, _ in mine if section == "board"}
        later = [self._of(one).puts for one in self.in_force if one > act]
        return any(key in mine or key[0] in begun for puts in later for key in puts)

    def waiting_aside(self) -> list[int]:
        settled = {self._of(one).settles for one in self.in_force}
        return [one for one in self.aside if one not in settled]

    def entry_in_force(self, key: Key) -> int:
        """The number of the entry that tells what stands there; 0 for none."""
        acts = [one for one in sorted(self.in_force) if key in self._of(one).puts]
        if not acts:
            return 0
        deed = self._of(acts[-1])
        return deed.entries[list(deed.puts).index(key)]

    def entries_of(self, key: Key) -> list[int]:
        return [
            deed.entries[list(deed.puts).index(key)]
            for deed in self.deeds
            if deed is not None and key in deed.puts and deed.entries
        ]

    def begin(self, board: str) -> dict[Key, Any]:
        """A board begun, or begun anew: its readings count from 1."""
        self.readings_ever[board] = 0
        return {(board, "board", ""): {}}

    def new_readings(self, board: str, raws: Sequence[Mapping[str, Any]]) -> dict[Key, Any]:
        first = self.readings_ever.get(board, 0) + 1
        return {(board, "readings", first + k): dict(raw) for k, raw in enumerate(raws)}

    def _of(self, act: int) -> Deed:
        found = self.deeds[act - 1]
        assert found is not None
        return found

    def _keep(self) -> None:
        deed = self.deeds[-1]
        for board, section, number in deed.puts if deed is not None else ():
            if section == "readings":
                self.readings_ever[board] = max(self.readings_ever.get(board, 0), number)
        self.states.append(self._replayed(self.in_force))

    def _replayed(self, acts: set[int]) -> State:
        state: State = {}
        for act in sorted(acts):
            for (board, section, key), value in self._of(act).puts.items():
                held = state.setdefault(board, {}).setdefault(section, {})
                held.pop(key, None)
                if value is not None:
                    held[key] = copy.deepcopy(value)
        return {board: held for board, held in state.items() if "" in held.get("board", {})}


def sheet(state: State, board: str) -> dict[str, Any]:
    """A board's plain values as a sheet would have them."""
    held = state[board]
    found = {one: dict(held[one]) for one in NAMED[:3] if held.get(one)}
    whole = {one: held[one][""] for one in ("title", "defaults", "sketch") if held.get(one)}
    listed = []
    for place, (number, raw) in enumerate(sorted(held.get("readings", {}).items()), 1):
        told = {} if number == place or "name" in raw else {"name": f"reading {number}"}
        listed.append({**raw, **told})
    return {**whole, **found, **({"readings": listed} if listed else {})}


def name_of(number: int, raw: Mapping[str, Any]) -> str:
    """What a reading is called."""
    return str(raw.get("name") or f"reading {number}")


def refers(state: State, board: str) -> Iterator[str]:
    """The parts that readings of a board name, those filled in."""
    for raw in state[board].get("readings", {}).values():
        if "?" not in raw.values():
            yield raw["part"]


def sound(state: State) -> bool:
    """Whether every reading finds its part."""
    return all(set(refers(state, one)) <= set(state[one].get("parts", {})) for one in state)
