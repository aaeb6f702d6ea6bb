"""Where the spread comes from, by roads that share no formula with the split itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.demo_board import sheet

from ohmbook.bench.compile import compile_sheet
from ohmbook.bench.estimates import Answer
from ohmbook.bench.shares import cause_shares, estimate_weights
from ohmbook.crossover.behaviour import Behaviour
from ohmbook.evidence import Posterior, Prior, Unknown
from ohmbook.evidence import settle as settle_evidence
from ohmbook.job import Settled, behaviour, settle
from ohmbook.job.parting import part
from ohmbook.sheet.read import read_sheet


@pytest.fixture(scope="module")
def settled() -> Settled:
    return settle(read_sheet(text=sheet(1)))


def refit(settled: Settled, priors: dict[tuple[str, str], Prior]) -> Posterior:
    """The same readings with some beliefs changed, fitted anew from the settled values."""
    compiled, posterior = settled.answer.compiled, settled.posterior
    unknowns = [
        Unknown(one.id, one.scale, priors.get(one.id, one.prior), one.nuisance)
        for one in compiled.unknowns
    ]
    begin = {one: posterior.value(one) for one in posterior.ids}
    return settle_evidence(unknowns, [compiled], starts=1, begin=begin, set_aside=False)


@pytest.mark.parametrize("name", ["L1", "L2", "C3"])
@pytest.mark.parametrize("cause", [("reading 1: load", "resistance"), ("generator", "resistance")])
def test_a_share_is_how_fast_the_variance_falls_with_its_cause(
    settled: Settled, name: str, cause: tuple[str, str]
) -> None:
    """Refits with the cause's uncertainty a little smaller and larger: the fit being the best
    there is, its variance moves as the cause's own share says (envelope theorem)."""
    estimate = next(one for one in settled.estimates if one.name == name)
    weights = estimate_weights(settled.answer, estimate)
    old = settled.posterior.unknowns[settled.posterior.index(cause)].prior
    variances = []
    for factor in (0.98, 1.02):
        again = refit(settled, {cause: replace(old, u=old.u * factor)})
        variances.append(again.combination(weights).u ** 2)
    now = settled.posterior.combination(weights).u ** 2
    fall = (variances[1] - variances[0]) / (1.02**2 - 0.98**2) / now
    told = cause_shares(settled.answer, weights)
    what = cause[0].rpartition(": ")[2]
    share = next(one.share for one in told if what in one.cause and "resistance" in one.cause)
    assert share == pytest.approx(fall, abs=0.01)
    assert share > 0.03


def test_without_its_cause_an_estimate_is_at_least_its_share_better(settled: Settled) -> None:
    cause = ("reading 1: load", "resistance")
    old = settled.posterior.unknowns[settled.posterior.index(cause)].prior
    again = refit(settled, {cause: replace(old, u=old.u * 1e-4)})
    for name in ("L1", "C3", "L2"):
        estimate = next(one for one in settled.estimates if one.name == name)
        weights = estimate_weights(settled.answer, estimate)
        told = {one.cause: one.share for one in cause_shares(settled.answer, weights)}
        before = settled.posterior.combination(weights).u ** 2
        after = again.combination(weights).u ** 2
        share = told["load resistance of reading 1"]
        assert 1.0 - after / before >= share - 0.01
        assert 1.0 - after / before < share + 0.05


def test_shares_add_to_one_and_name_no_series_resistance_of_a_resistor(settled: Settled) -> None:
    for one in settled.estimates:
        told = settled.budget(one.name, one.quantity)
        assert sum(share.share for share in told) == pytest.approx(1.0)
        assert not any("R1's series" in share.cause for share in told)


def test_the_source_check_is_told_as_what_limits_the_parts(settled: Settled) -> None:
    doubt = settled.common_doubts()[0]
    assert doubt.owner == "reading 1"
    assert {"L1", "L2", "C3", "generator"} <= {name for name, _ in doubt.limits}
    assert "ohm resistor that you have measured" in doubt.remedy
    assert all(after < now for _, now, after in doubt.eased)


def test_what_a_second_source_check_is_said_to_bring_it_brings(settled: Settled) -> None:
    """The reading that is proposed, taken with its expected result, and everything settled anew."""
    doubt = settled.common_doubts()[0]
    ohm = float(doubt.remedy.split("across a ")[1].split(" ohm")[0])
    resistance = settled.estimate("generator", "resistance").value
    opened = 6.12
    text = sheet(1) + (
        f'\n[[readings]]\nkind = "source loading"\nopen = "{opened} Vpp"\n'
        f'loaded = "{opened * ohm / (ohm + resistance):.4g} Vpp"\n'
        f'load = "{ohm:g} ohm ± 0.5 %"\nfrequency = "1 kHz"\n'
    )
    again = settle(read_sheet(text=text))
    for name, now, after in doubt.eased:
        first = next(one for one in settled.estimates if one.name == name)
        weights = estimate_weights(settled.answer, first)
        assert again.posterior.combination(weights).u == pytest.approx(after, rel=0.12)
        assert settled.posterior.combination(weights).u == pytest.approx(now, rel=1e-9)


# -- features of the behaviour -------------------------------------------------------------


@pytest.fixture(scope="module")
def tight(settled: Settled) -> Settled:
    """The same answer with a tenth of its spread, so that straight lines hold."""
    posterior = settled.posterior
    smaller = replace(posterior, gain=posterior.gain / 10.0)
    answer = Answer(settled.answer.compiled, smaller, {})
    return replace(settled, posterior=smaller, answer=answer)


def half_width(shown: Behaviour, feature: str) -> float:
    """Half of the drawn interval of a feature, relative or in decibels."""
    found = {
        f"{one.between[0]} and {one.between[1]} cross": one.frequency_hz for one in shown.crossings
    }
    found["lowest impedance"] = shown.minimum_impedance.ohm
    for name, traits in shown.traits.items():
        for corner in traits.corners:
            depth = corner.depth.removeprefix("minus_").removesuffix("_db")
            found[f"{name} {depth} dB down, {corner.side}"] = corner.frequency_hz
    one = found[feature]
    assert one.low is not None
    assert one.high is not None
    return (one.high - one.low) / 2.0 / one.value


def test_a_features_spread_is_that_of_joint_draws_through_the_whole_curve(tight: Settled) -> None:
    """Monte Carlo: 4000 joint draws, each pushed through the crossover and measured there."""
    shown = behaviour(tight, draws=4000)
    assert len(shown.spread) >= 8
    for one in shown.spread:
        if one.unit != "dB":
            drawn = half_width(shown, one.feature) / 1.96
            assert one.standard_uncertainty == pytest.approx(drawn, rel=0.06), one.feature


def test_a_features_share_is_the_variance_that_its_cause_alone_makes(tight: Settled) -> None:
    """Monte Carlo with every other input at rest."""
    inputs = tight.posterior.inputs
    chosen = np.array(["flatness" in one.label and one.id is not None for one in inputs])
    gain = np.where(chosen, tight.posterior.gain, 0.0)
    alone = replace(tight.posterior, gain=gain)
    only = replace(tight, posterior=alone, answer=Answer(tight.answer.compiled, alone, {}))
    shown, drawn = behaviour(tight, draws=0), behaviour(only, draws=4000)
    told = {one.feature: one for one in shown.spread}
    for feature in ("woofer and tweeter cross", "lowest impedance", "tweeter 3 dB down, below"):
        one = told[feature]
        share = next(c.share for c in one.causes if c.cause == "generator's flatness")
        spread = half_width(drawn, feature) / 1.96
        assert share == pytest.approx((spread / one.standard_uncertainty) ** 2, rel=0.15)


def test_parts_of_a_feature_add_to_one(settled: Settled) -> None:
    for one in behaviour(settled, draws=0).spread:
        assert sum(share.share for share in one.parts) == pytest.approx(1.0)
        assert sum(share.share for share in one.causes) == pytest.approx(1.0)


def test_levels_are_split_where_they_are_asked_for(settled: Settled) -> None:
    found = part(settled, [3000.0])
    assert "tweeter's level at 3.00 kHz" in [one.feature for one in found.spreads]
    document = found.document()
    total = sum(one["share"] for one in document["estimates"]["L1"]["inductance"])
    assert total == pytest.approx(1.0)


def test_a_sheet_without_a_crossover_has_values_only() -> None:
    text = (
        'sources.g = { resistance = "50 ohm ± 5 %" }\nparts.L = { kind = "inductor" }\n'
        'instruments.scope = { kind = "oscilloscope", like = "entry-level scope" }\n'
        '[[readings]]\nkind = "amplitude ratio"\npart = "L"\nhalf_of = "4 Vpp"\n'
        'frequency = "5.6 kHz"\n'
    )
    alone = settle(read_sheet(text=text))
    assert part(alone).spreads == ()
    assert compile_sheet(alone.sheet).ids == alone.posterior.ids
