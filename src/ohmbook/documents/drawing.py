"""A sketch as drawn: where each part lies, the wires between, and what is marked (a contract).

Coordinates are whole steps of a grid, x to the right and y down. A part's first end lies at its
point; its second end `REACH` steps away in the direction of its turn: 0 to the right, 90 down,
180 to the left, 270 up. A driver's first end is its +.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, cast

from pydantic import Field, model_validator

from ohmbook.documents.fields import Document, reader
from ohmbook.errors import DrawingError

Spot = tuple[int, int]
Turn = Literal[0, 90, 180, 270]
MarkKind = Literal["ground", "input", "return", "output"]

REACH = 4
"""Steps from a part's first end to its second."""

FARTHEST = 100_000
"""No coordinate is farther from the middle, either way."""

MOST = 5_000
"""No drawing has more of any one thing."""

_DIRECTION: dict[int, Spot] = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}
_LETTERS = 200


def second_end(place: tuple[int, int, Turn]) -> Spot:
    """Where a placed part's second end lies."""
    x, y, turn = place
    dx, dy = _DIRECTION[turn]
    return x + REACH * dx, y + REACH * dy


def _whole(value: Any) -> bool:
    return type(value) is int and -FARTHEST <= value <= FARTHEST


def _shown(value: Any) -> str:
    shown = str(value)
    return shown if len(shown) <= 40 else f"{shown[:40]}..."


def _list(value: Any, of: str) -> list[Any]:
    if not isinstance(value, list | tuple):
        raise DrawingError(_shown(value), f"a list of {of}, in square brackets")
    if len(value) > MOST:
        raise DrawingError(f"{len(value)} {of}", f"at most {MOST} of them")
    return list(value)


def _spot(value: Any) -> Spot:
    if not (isinstance(value, list | tuple) and len(value) == 2 and all(map(_whole, value))):
        raise DrawingError(_shown(value), "two whole numbers, [x, y], such as [4, 2]")
    return value[0], value[1]


def _place(value: Any) -> tuple[int, int, Turn]:
    good = isinstance(value, list | tuple) and len(value) == 3 and all(map(_whole, value))
    if not good or value[2] not in _DIRECTION:
        raise DrawingError(
            _shown(value),
            "three whole numbers, [x, y, turn], such as [4, 2, 90]; turn is 0, 90, 180 or 270",
        )
    return value[0], value[1], cast("Turn", value[2])


def _wire(value: Any) -> tuple[int, ...]:
    if not (isinstance(value, list | tuple) and all(map(_whole, value))):
        raise DrawingError(_shown(value), "the points of a wire as whole numbers, [x, y, x, y]")
    flat = tuple(value)
    if len(flat) < 4 or len(flat) % 2 or len(flat) > MOST:
        raise DrawingError(
            f"{len(flat)} numbers", "the points of a wire, two numbers each, and two points or more"
        )
    spots = _pairs(flat)
    for a, b in pairwise(spots):
        if (a[0] == b[0]) == (a[1] == b[1]):
            raise DrawingError(
                f"a piece of wire from {list(a)} to {list(b)}",
                "pieces that run along the grid, each with some length",
            )
    return flat


def _name(value: Any) -> str:
    """A text that can be a node's, an output's or a file's name."""
    if not isinstance(value, str) or not 0 < len(value) <= _LETTERS or value != value.strip():
        raise DrawingError(
            _shown(value) or '""', f"a name of 1 to {_LETTERS} letters, without spaces around it"
        )
    if not value.isprintable() or value.startswith("@"):
        raise DrawingError(ascii(value[:40]), "a name that can be printed and begins without @")
    return value


def _file(value: Any) -> str:
    name = _name(value)
    if set(name) & set("/\\"):
        raise DrawingError(_shown(name), "the name of an attachment, without a folder")
    return name


def _parts(value: Any) -> Any:
    if not isinstance(value, dict):
        raise DrawingError(_shown(value), "a table such as { L1 = [4, 2, 0] }")
    if len(value) > MOST:
        raise DrawingError(f"{len(value)} parts", f"at most {MOST} of them")
    return value


def _pairs(flat: tuple[int, ...]) -> tuple[Spot, ...]:
    return tuple(zip(flat[::2], flat[1::2], strict=True))


At = Annotated[Spot, reader(_spot)]
Place = Annotated[tuple[int, int, Turn], reader(_place)]
Wire = Annotated[tuple[int, ...], reader(_wire)]
Name = Annotated[str, reader(_name)]


class Named(Document):
    """A node's name, written at a point of it."""

    name: Name
    at: At


class Mark(Document):
    """What a node is for: ground, input or its return, or an output, which has a name.

    An output stands against the ground, or `against` another point.
    """

    kind: MarkKind
    at: At
    name: Name | None = None
    against: At | None = None

    @model_validator(mode="after")
    def _whole(self) -> Mark:
        if self.kind == "output" and self.name is None:
            raise ValueError("an output has no name; expected one, such as woofer")
        if self.kind != "output" and (self.name is not None or self.against is not None):
            raise ValueError(f"a mark of kind {self.kind} has a point alone")
        return self


class Photo(Document):
    """A photo of the board under the drawing: an attachment, its upper left corner, its width."""

    attachment: Annotated[str, reader(_file)]
    at: At = (0, 0)
    width: Annotated[int, Field(strict=True, ge=1, le=FARTHEST)] = 40
    opacity: Annotated[float, Field(strict=True, ge=0.0, le=1.0)] = 0.5


class Drawing(Document):
    """Where everything lies."""

    parts: Annotated[dict[str, Place], reader(_parts)] = Field(default_factory=dict)
    wires: Annotated[tuple[Wire, ...], reader(lambda one: _list(one, "wires"))] = ()
    junctions: Annotated[tuple[At, ...], reader(lambda one: _list(one, "points"))] = ()
    names: Annotated[tuple[Named, ...], reader(lambda one: _list(one, "names"))] = ()
    marks: Annotated[tuple[Mark, ...], reader(lambda one: _list(one, "marks"))] = ()
    photo: Photo | None = None

    @property
    def paths(self) -> tuple[tuple[Spot, ...], ...]:
        """The points of each wire."""
        return tuple(map(_pairs, self.wires))

    def ends(self, part: str) -> tuple[Spot, Spot]:
        """Where a part's two ends lie."""
        place = self.parts[part]
        return place[:2], second_end(place)

    def plain(self) -> dict[str, Any]:
        """The drawing as a sheet's plain values; what there is none of is left out."""
        found = self.model_dump(mode="json", exclude_none=True)
        return {key: value for key, value in found.items() if value or key == "photo"}
