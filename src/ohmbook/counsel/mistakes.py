"""The mistakes people make when they write a reading down, and how often.

Each mistake says what may really have been the case for what stands at a site, and how probable it
is that this would then have been written. Nothing here knows a kind of reading: what a site is
follows from how it is declared (a voltage, a frequency, a choice, a node).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import log, pi
from typing import get_args

from ohmbook.counsel.digits import doubled, dropped, shifted, swapped, times
from ohmbook.counsel.sites import Parts, Site, unit_word
from ohmbook.units.quantity import Convention


@dataclass(frozen=True, slots=True)
class Way:
    """What may really have been the case at a site.

    Args:
        text: what should stand there.
        share: how probable what was written is, given this and the mistake.
    """

    text: str
    share: float


@dataclass(frozen=True, slots=True)
class Mistake:
    """A kind of mistake.

    Args:
        name: short.
        words: what happened, in plain words; `{was}` is what was written, `{other}` what should
            have been, for names.
        odds: how often it happens, for one written thing, against that being right.
        why: where those odds come from.
        ways: what may really have been the case.
        scales: whether it multiplies: then the last digit's worth is multiplied with the number.
    """

    name: str
    words: str
    odds: float
    why: str
    ways: Callable[[Site], Iterator[Way]]
    scales: bool = True


@dataclass(frozen=True, slots=True)
class Cause:
    """A mistake as the cause of what stands at a site, `share` being that of its way there."""

    mistake: Mistake
    share: float

    @property
    def odds(self) -> float:
        """How often the mistake happens, and leads just there."""
        return self.mistake.odds * self.share


_JUDGED = "common practice, no source: about one written number in a hundred is a slip of some kind"
_SETTING = "common practice, no source: a setting looked at once for a whole evening"
_CONVENTIONS: tuple[Convention, ...] = get_args(Convention)
_NUMBERS = ("quantity", "cell")
_OPEN = ("open", "half_of")
"""Fields that hold what a source gives with nothing connected, in every kind that has them."""

_LETTERS = {-12: "p", -9: "n", -6: "u", -3: "m", 0: "", 3: "k", 6: "M"}
_ALSO_READ = {"µ": -6, "μ": -6, "K": 3, "G": 9}
_POWERS = {**{letter: power for power, letter in _LETTERS.items()}, **_ALSO_READ}
_NEXT, _NEXT_BUT_ONE = 0.45, 0.05


def _prefixes(site: Site) -> Iterator[Way]:
    """The neighbouring prefixes (a factor of 1000), seldom the next but one."""
    if site.what not in ("quantity", "cell", "heading"):
        return
    parts = Parts.of(site.text) if site.what != "heading" else Parts("", "", site.text, "")
    split = unit_word(parts.word) if parts else None
    if parts is None or split is None:
        return
    power = _POWERS[split[0]]
    for away, share in ((3, _NEXT), (-3, _NEXT), (6, _NEXT_BUT_ONE), (-6, _NEXT_BUT_ONE)):
        if power + away in _LETTERS:
            word = f"{_LETTERS[power + away]}{split[1]}{split[2]}"
            if word.lower() == "mhz" and word[0] == "m" and parts.number:
                # nobody sets millihertz: in the words that stand there
                number = shifted(parts.number, away)
                number = number.rstrip("0").rstrip(".") if "." in number else number
                yield Way(parts.text(number=number), share)
            else:
                yield Way(parts.text(word=word), share)


def _numbers(
    make: Callable[[str], list[tuple[str, float]]], *units: str
) -> Callable[[Site], Iterator[Way]]:
    def ways(site: Site) -> Iterator[Way]:
        parts = Parts.of(site.text) if site.what in _NUMBERS else None
        if parts is None or (units and site.unit not in units):
            return
        for number, share in make(parts.number):
            yield Way(parts.text(number=number), share)

    return ways


def _conventions(site: Site) -> Iterator[Way]:
    """Read in one convention, written down as another."""
    if site.unit != "V" or site.what not in ("quantity", "cell", "heading"):
        return
    parts = Parts.of(site.text) if site.what != "heading" else Parts("", "", site.text, "")
    split = unit_word(parts.word) if parts else None
    if parts is None or split is None:
        return
    written = split[2] or "pp"
    for other in _CONVENTIONS:
        if other != written:
            share = 0.7 if {other, written} == {"pp", "rms"} else 0.3
            yield Way(parts.text(word=f"{split[0]}{split[1]}{other}"), share)


def _open_for_a_load(site: Site) -> Iterator[Way]:
    """A generator's display that holds for a 50 ohm load shows half of what it gives open."""
    parts = Parts.of(site.text) if site.what in _NUMBERS and site.field in _OPEN else None
    if parts is not None and site.unit == "V":
        yield Way(parts.text(number=times(parts.number, 2.0)), 0.8)
        yield Way(parts.text(number=times(parts.number, 0.5)), 0.2)


def _others(*whats: str) -> Callable[[Site], Iterator[Way]]:
    def ways(site: Site) -> Iterator[Way]:
        if site.what in whats:
            for other in site.others:
                yield Way(other, 1.0 / len(site.others))

    return ways


def _turned(site: Site) -> Iterator[Way]:
    parts = Parts.of(site.text) if site.what in _NUMBERS and site.unit == "deg" else None
    if parts is not None:
        sign = "" if parts.sign == "-" else "-"
        yield Way(replace(parts, sign=sign).text(), 1.0)


def _not_done(site: Site) -> Iterator[Way]:
    if site.what == "done":
        yield Way("", 1.0)


MISTAKES: tuple[Mistake, ...] = (
    Mistake("prefix", "the wrong prefix", 1 / 300, _JUDGED, _prefixes),
    Mistake(
        "decimal point",
        "the decimal point one place off",
        1 / 300,
        _JUDGED,
        _numbers(lambda n: [(shifted(n, 1), 0.5), (shifted(n, -1), 0.5)]),
    ),
    Mistake(
        "digits swapped", "two digits swapped", 1 / 500, _JUDGED, _numbers(swapped), scales=False
    ),
    Mistake("digit dropped", "a digit dropped", 1 / 1000, _JUDGED, _numbers(dropped), scales=False),
    Mistake("digit doubled", "a digit doubled", 1 / 1000, _JUDGED, _numbers(doubled), scales=False),
    Mistake(
        "convention",
        "peak to peak, peak and rms mixed up",
        1 / 200,
        _JUDGED,
        _conventions,
    ),
    Mistake(
        "10x probe",
        "the probe's switch and the scope's setting differ (10x, 1x)",
        1 / 300,
        _SETTING,
        _numbers(lambda n: [(shifted(n, 1), 0.5), (shifted(n, -1), 0.5)], "V"),
    ),
    Mistake(
        "radians",
        "radians per second for hertz",
        1 / 2000,
        _JUDGED,
        _numbers(lambda n: [(times(n, 0.5 / pi), 0.7), (times(n, 2.0 * pi), 0.3)], "Hz"),
    ),
    Mistake(
        "display for a load",
        "the generator's display holds for a load of its own resistance (usually 50 ohm)",
        1 / 50,
        "common practice, no source: many generators come so, and it is met once per evening",
        _open_for_a_load,
    ),
    Mistake(
        "wrong choice",
        '"{other}" is meant, not "{was}"',
        1 / 50,
        "common practice, no source: pages disagree about which part the probe is on",
        _others("choice"),
    ),
    Mistake(
        "another node",
        "it was at the neighbouring node {other}, not at {was}",
        1 / 300,
        _JUDGED,
        _others("node", "column"),
    ),
    Mistake("sign", "the wrong sign", 1 / 200, _JUDGED, _turned),
    Mistake("another part", "it was {other}, not {was}", 1 / 300, _JUDGED, _others("part")),
    Mistake(
        "not done", "{was} stayed as it was ({field} was not done)", 1 / 300, _JUDGED, _not_done
    ),
)
"""Every mistake that is tried, with how often it happens. One that the source was loaded while
"open" was read needs the circuit, and stands in `counsel.loaded`."""

LOADED_ODDS = 1 / 200
"""The source's open amplitude was read with the load on it (common practice, no source)."""

OTHER_ODDS = 1 / 200
"""Some other mistake, whatever it is: the number written says nothing (common practice, no
source)."""

OTHER_SPAN = log(1e4)
"""It is then anything within a factor of 100 either way, equally on a log scale."""
