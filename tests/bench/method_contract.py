"""What every reading kind must do, inherited by each: recover, agree with Monte Carlo, explain.

Readings are simulated by arithmetic that shares no code with ohmbook: the benchmarks' dense
algebra, or state matrices by SciPy.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

import numpy as np
import pytest

from ohmbook.bench.compile import compile_sheet
from ohmbook.errors import OhmbookError
from ohmbook.evidence import refits
from ohmbook.job import Settled, settle
from ohmbook.sheet.read import read_sheet
from ohmbook.sheet.write import write_sheet


class MethodContract:
    """Inherited by each kind's test: `text`, `target` and `truth` say what it settles.

    `hostile` are changes to the text, each with what its refusal must say. `published` are pairs
    of what ohmbook gives and what the source gives; `source` names it.
    """

    kind: ClassVar[str] = ""
    target: ClassVar[tuple[str, str]]
    truth: ClassVar[float]
    hostile: ClassVar[Sequence[tuple[str, str, str]]] = ()
    source: ClassVar[str] = ""
    trials: ClassVar[int] = 400

    def text(self) -> str:
        raise NotImplementedError

    def published(self) -> Sequence[tuple[float, float, float]]:
        """(found, the source's, relative agreement)."""
        return ()

    def settled(self) -> Settled:
        return settle(read_sheet(text=self.text()))

    def test_recovers_the_known_value(self) -> None:
        found = self.settled()
        one = found.answer.combination(self.target, self.at_hz(found))
        assert abs(one.value - float(self.on_scale(self.truth))) < max(0.15 * one.u, 2e-4)
        assert found.posterior.u(self.target) < 0.5 * self.prior_u(found)

    def prior_u(self, found: Settled) -> float:
        compiled = found.answer.compiled
        return compiled.unknowns[compiled.ids.index(self.target)].prior.u

    def on_scale(self, value: Any) -> Any:
        """The target on the scale of its unknown."""
        return np.log(value)

    def at_hz(self, found: Settled) -> float | None:
        return found.answer.frequency(self.target)

    def test_linear_u_matches_monte_carlo(self) -> None:
        found = self.settled()
        compiled = found.answer.compiled
        drawn = refits(compiled.unknowns, [compiled], found.posterior, self.trials, 7)
        spread = np.std(self.on_scale(drawn.values[:, drawn.ids.index(self.target)]))
        # 400 trials give the spread to 3.5 %, 150 to 6 % (one standard uncertainty)
        assert spread == pytest.approx(found.posterior.u(self.target), rel=0.12)
        assert drawn.failed == 0

    def test_slopes_match_differences(self) -> None:
        compiled = compile_sheet(read_sheet(text=self.text()))
        x = self.settled().posterior.x
        slopes = compiled.jacobian(x)
        for k, one in enumerate(compiled.unknowns):
            step = 1e-5 * (abs(x[k]) if one.scale != "linear" else one.prior.u)
            up, down = x.copy(), x.copy()
            up[k] += step
            down[k] -= step
            found = (compiled.predict(up[None]) - compiled.predict(down[None]))[0] / (2 * step)
            assert slopes[:, k] * step == pytest.approx(
                found * step, rel=1e-5, abs=1e-9 * max(abs(compiled.observed).max(), 1e-3)
            )

    def test_is_worked_out_by_hand(self) -> None:
        for working in self.settled().workings():
            assert working.steps
            assert working.source
            assert all(step.result for step in working.steps)

    def test_its_sheet_comes_back_from_text(self) -> None:
        sheet = read_sheet(text=self.text())
        assert read_sheet(text=write_sheet(sheet)) == sheet

    def test_refuses_what_cannot_be(self) -> None:
        for old, new, told in self.hostile:
            text = self.text()
            assert old in text
            with pytest.raises(OhmbookError, match=told) as error:
                settle(read_sheet(text=text.replace(old, new)))
            assert "Traceback" not in str(error.value)

    def test_agrees_with_its_source(self) -> None:
        if not self.published():
            pytest.skip("its published values are checked in test_check_values.py")
        assert self.source
        for found, wanted, within in self.published():
            assert found == pytest.approx(wanted, rel=within)
