"""Compile a sheet's readings into one block of observations and its unknowns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ohmbook.bench.desk import Desk
from ohmbook.bench.jet import Jet, concatenate
from ohmbook.bench.kind import Reading
from ohmbook.bench.layout import Layout
from ohmbook.bench.row import Model, Predictor, Row
from ohmbook.bench.state import State
from ohmbook.circuit import respond
from ohmbook.circuit.network import Id, Network
from ohmbook.documents.finding import Finding
from ohmbook.documents.reading import ReadingBase, Sheet
from ohmbook.documents.setup import SetUp
from ohmbook.errors import CircuitError, ContradictionError, SettleError, SheetError
from ohmbook.evidence.unknown import Array, Prior, Shape, Unknown

FARTHEST = 1e30
"""Size (SI) beyond which no value is tried; positive ones no smaller than its reciprocal."""


@dataclass(frozen=True)
class Compiled:
    """Everything that settling needs; it is the evidence room's block of observations.

    Args:
        sheet: what it was compiled from.
        unknowns: in the order of the columns of x.
        constants: values taken as exact.
        rows: the observations, in order.
        covariance: of the rows' own errors, shape (m, m).
        findings: assumptions and limits met on the way.
        set_ups: (reading name, set-up), in order.
        beliefs: priors that replaced the usual ones.
    """

    sheet: Sheet
    unknowns: tuple[Unknown, ...]
    constants: dict[Id, float]
    rows: tuple[Row, ...]
    covariance: Array
    findings: tuple[Finding, ...]
    set_ups: tuple[tuple[str, SetUp], ...]
    layout: Layout = field(repr=False)
    predictors: tuple[Predictor, ...] = field(repr=False)
    order: NDArray[np.intp] = field(repr=False)
    beliefs: dict[Id, Prior] = field(default_factory=dict, repr=False)

    @cached_property
    def ids(self) -> tuple[Id, ...]:
        """The unknowns' ids, in the order of the columns of x."""
        return tuple(one.id for one in self.unknowns)

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """One label for each row."""
        return tuple(row.label for row in self.rows)

    @cached_property
    def observed(self) -> Array:
        """What was read, shape (m,)."""
        return np.array([row.observed for row in self.rows])

    @cached_property
    def shapes(self) -> tuple[Shape, ...]:
        """The distribution of each row's own error."""
        return tuple(row.shape for row in self.rows)

    def predict(self, x: Array) -> Array:
        """What should be read: x of shape (draws, n) gives (draws, m).

        A draw so far out that no circuit answers (a fit may try one) gives NaN.
        """
        return self._predicted(x, careful=True)

    def guess(self, x: Array) -> Array:
        """As `predict`, for a search: cancelled digits are not looked for."""
        return self._predicted(x, careful=False)

    def _predicted(self, x: Array, careful: bool) -> Array:
        near = self._near(x)
        if near.all():
            return self._answered(x, careful)
        sane = near.all(axis=1)
        found = np.full((x.shape[0], len(self.rows)), np.nan)
        if sane.any():
            found[sane] = self._answered(x[sane], careful)
        return found

    def _answered(self, x: Array, careful: bool) -> Array:
        """Predictions of all draws; one by one where some draw meets a circuit without answer.

        Raises:
            ContradictionError: no draw has an answer.
        """
        try:
            return np.asarray(self._evaluate(x, False, careful).value, dtype=float)
        except ContradictionError:
            if x.shape[0] == 1:
                raise
        found = np.full((x.shape[0], len(self.rows)), np.nan)
        for k in range(x.shape[0]):
            with suppress(ContradictionError):
                found[k] = self._evaluate(x[k : k + 1], False, careful).value[0]
        return found

    def jacobian(self, x: Array) -> Array:
        """dy/dx at one x of shape (n,): shape (m, n)."""
        return np.asarray(self._sloped(x[None, :], careful=True)[1][0])

    def linearise(self, x: Array, careful: bool = False) -> tuple[Array, Array]:
        """What should be read and how it moves, for a search.

        Args:
            x: shape (draws, n).
            careful: look for cancelled digits too, as where a search ends.

        Returns:
            Shapes (draws, m) and (draws, m, n); NaN for a draw that has no answer.
        """
        near = self._near(x)
        if near.all():
            with suppress(ContradictionError):
                return self._sloped(x, careful)
        sane = near.all(axis=1)
        m, n = len(self.rows), len(self.unknowns)
        value, slope = np.full((len(x), m), np.nan), np.full((len(x), m, n), np.nan)
        for k in np.flatnonzero(sane):
            with suppress(ContradictionError):
                value[k : k + 1], slope[k : k + 1] = self._sloped(x[k : k + 1], careful)
        return value, slope

    def _sloped(self, x: Array, careful: bool = False) -> tuple[Array, Array]:
        found = self._evaluate(x, True, careful)
        assert found.slope is not None
        shape = (*found.value.shape, len(self.unknowns))
        slope = found.slope if found.slope.shape == shape else np.broadcast_to(found.slope, shape)
        return np.asarray(found.value, dtype=float), slope

    def _near(self, x: Array) -> NDArray[np.bool_]:
        """Values that may be tried: not too large, nor positive ones that shrank to nothing."""
        return np.asarray((x >= self._least) & (x < FARTHEST))

    @cached_property
    def _least(self) -> Array:
        positive = np.array([one.scale == "log" for one in self.unknowns], dtype=bool)
        return np.where(positive, 1.0 / FARTHEST, np.nextafter(-FARTHEST, 0.0))

    def _evaluate(self, x: Array, with_slopes: bool, careful: bool = True) -> Jet:
        if not self.rows or not x.shape[0]:
            return Jet(np.zeros((x.shape[0], len(self.rows))), np.zeros((1, 0, len(self.unknowns))))
        state = State(self.layout, x, with_slopes, careful)
        found = concatenate([predict(state) for predict in self.predictors])
        return found if self._in_order else found.pick(self.order)

    @cached_property
    def _in_order(self) -> bool:
        return np.array_equal(self.order, np.arange(self.order.size))


def compile_sheet(
    sheet: Sheet,
    readings: Sequence[ReadingBase] | None = None,
    beliefs: dict[Id, Prior] | None = None,
) -> Compiled:
    """Compile readings into unknowns and observations.

    Args:
        sheet: the problem.
        readings: which readings; all that are not struck where None.
        beliefs: priors that replace the usual ones, by id.

    Returns:
        The compiled problem.

    Raises:
        SheetError: a part or a reading that cannot be modelled, with its line.
        SettleError: the same, by name, where a sheet made in code has no lines.
    """
    chosen = [
        one for one in (sheet.readings if readings is None else readings) if one.struck is None
    ]
    desk = Desk(sheet, beliefs)
    for name in sheet.parts:
        with _placed(sheet, ("parts", name)):
            desk.part(name)
    set_ups: list[tuple[str, SetUp]] = []
    rows: list[Row] = []
    checked: set[tuple[Network, bool]] = set()
    for reading in chosen:
        assert isinstance(reading, Reading)
        with _placed(sheet, ("readings", reading.name)):
            set_ups += [(reading.name, one) for one in reading.set_ups(desk)]
            own = reading.rows(desk)
            _check_circuits(desk, own, checked)
        rows += own
    rows = _unique([*desk.rows, *rows])
    looks = [look for row in rows for look in row.model.looks]
    layout = Layout(list(desk.unknowns), desk.constants, looks, desk.same)
    predictors, order = _bundled(rows, layout)
    return Compiled(
        sheet,
        tuple(desk.unknowns.values()),
        desk.constants,
        tuple(rows),
        _covariance(rows),
        tuple(desk.findings),
        tuple(set_ups),
        layout,
        predictors,
        order,
        beliefs or {},
    )


@contextmanager
def _placed(sheet: Sheet, key: tuple[str, str]) -> Iterator[None]:
    """What is wrong with a part or a reading is told with the line where it stands."""
    try:
        yield
    except SheetError:
        raise
    except (SettleError, CircuitError) as error:
        place = sheet.places.get(key)
        told = str(error) if key[1] in str(error) else f"{key[1]}: {error}"
        if place is None:
            raise SettleError(told) from error
        raise SheetError(place.file, place.line, told) from error


def _check_circuits(desk: Desk, rows: Sequence[Row], checked: set[tuple[Network, bool]]) -> None:
    """Every circuit of a reading has an answer, whatever its values are; each is tried once."""
    for look in {look.network: look for row in rows for look in row.model.looks}.values():
        if (look.network, look.f_hz == 0.0) in checked:
            continue
        checked.add((look.network, look.f_hz == 0.0))
        ids = {one: desk.same.get(one, one) for one in look.network.ids}
        values = {
            one: desk.constants.get(other, 1.0)
            for one, other in ids.items()
            if other in desk.constants or other in desk.unknowns
        }
        respond(look.network, values, [look.f_hz])


def _unique(rows: Sequence[Row]) -> list[Row]:
    """Rows with labels told apart: a repeat is "... (2)"."""
    seen: dict[str, int] = {}
    found = []
    for row in rows:
        seen[row.label] = seen.get(row.label, 0) + 1
        times = seen[row.label]
        found.append(row if times == 1 else replace(row, label=f"{row.label} ({times})"))
    return found


def _bundled(rows: Sequence[Row], layout: Layout) -> tuple[tuple[Predictor, ...], NDArray[np.intp]]:
    kinds: dict[type[Model], list[int]] = {}
    for k, row in enumerate(rows):
        kinds.setdefault(type(row.model), []).append(k)
    predictors = tuple(
        kind.bundle([rows[k].model for k in places], layout) for kind, places in kinds.items()
    )
    flat = np.array([k for places in kinds.values() for k in places], dtype=np.intp)
    return predictors, np.argsort(flat)


def _covariance(rows: Sequence[Row]) -> Array:
    """Own errors; repeats on a read-out grid that agree within it share one."""
    covariance = np.diag([row.variance for row in rows])
    repeats: dict[Model, list[int]] = {}
    for k, row in enumerate(rows):
        if row.grid > 0.0:
            repeats.setdefault(row.model, []).append(k)
    for places in repeats.values():
        values = np.array([rows[k].observed for k in places])
        grid = rows[places[0]].grid
        if len(places) > 1 and np.std(values, ddof=1) <= grid / 2.0:
            shared = grid**2 / 12.0
            own = max(float(np.var(values, ddof=1)), (1e-3 * grid) ** 2)
            covariance[np.ix_(places, places)] = shared
            covariance[places, places] = shared + own
    return covariance
