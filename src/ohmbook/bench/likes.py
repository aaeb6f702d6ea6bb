"""Ready-made starting points behind `like`: what an instrument of a class can be taken to be.

They are assumptions and are printed as such. The entry-level oscilloscope, the cheap multimeter,
the generator and the probe follow published instrument statements: 3 % gain and 50 ppm (a 2-channel
entry-level oscilloscope's service manual), 0.8 % + 2 digits with 0.1 ohm steps (a low-cost
multimeter's manual), 50 ohm output (a function generator's tutorial), and the better oscilloscope
1.5 % (a mid-range oscilloscope's manual); the rest is common practice, no source. A sound card has
no scale of its own: its shared gain is wide on purpose, and cancels in every ratio.
"""

from __future__ import annotations

from difflib import get_close_matches

from ohmbook.documents.part import Multimeter, Oscilloscope, Source

LIKES: dict[str, dict[str, str | bool]] = {
    "entry-level scope": {
        "reads": "peak to peak",
        "shared_gain": "3 %",
        "range_gain": "0.5 %",
        "step": "0.04 div",
        "frequency": "50 ppm",
        "probe_capacitance": "15 pF ± 3 pF",
        "return_lead": "0.03 ohm",
        "earthed": True,
    },
    "cheap multimeter": {"resistance": "0.8 % + 2 digits"},
    "pocket tester": {
        "resistance": "1 % + 2 digits",
        "inductance": "5 % + 2 digits",
        "capacitance": "3 % + 2 digits",
    },
    "better scope": {
        "reads": "peak to peak",
        "shared_gain": "1.5 %",
        "range_gain": "0.3 %",
        "step": "0.01 div",
        "frequency": "10 ppm",
        "probe_capacitance": "11 pF ± 3 pF",
        "return_lead": "0.03 ohm",
        "earthed": True,
    },
    "sound card": {
        "reads": "rms",
        "shared_gain": "20 %",
        "step": "0.1 mV",
        "frequency": "100 ppm",
        "probe_capacitance": "300 pF ± 200 pF",
        "earthed": True,
    },
    "LCR meter": {
        "resistance": "0.3 % + 3 digits",
        "inductance": "0.3 % + 3 digits",
        "capacitance": "0.3 % + 3 digits",
        "impedance": "0.3 % + 3 digits",
        "phase": "0.3 deg",
    },
    "sound card output": {"resistance": "100 ohm ± 80 %", "flatness": "1 %", "earthed": True},
    "generator": {"resistance": "50 ohm ± 5 %", "flatness": "1 %", "earthed": True},
}
"""Class name to the fields it fills in."""

Likeable = Oscilloscope | Multimeter | Source


def problem_with(thing: Likeable) -> str | None:
    """What is wrong with a thing's `like`, in words; None where nothing is."""
    if thing.like is None or _fits(thing, thing.like):
        return None
    known = [name for name in LIKES if _fits(thing, name)]
    near = get_close_matches(thing.like, known, 1, 0.3)
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    listed = ", ".join(f'"{name}"' for name in known)
    return f'nothing is known of a thing like "{thing.like}"{hint}; expected one of {listed}'


def likes_of(document: type[Likeable]) -> tuple[str, ...]:
    """The starting points that a kind of thing can have."""
    fields = set(document.model_fields)
    return tuple(name for name, held in LIKES.items() if set(held) <= fields)


def usual_of(name: str | None) -> dict[str, str]:
    """What a starting point fills in, as written, but for yes and no."""
    held = LIKES.get(name or "", {})
    return {field: value for field, value in held.items() if isinstance(value, str)}


def filled(thing: Likeable) -> tuple[Likeable, tuple[str, ...]]:
    """A thing with what its `like` fills in, and what was filled in, in words."""
    if thing.like is None:
        return thing, ()
    stated = {
        field: value
        for field in type(thing).model_fields
        if (value := getattr(thing, field)) is not None
    }
    added = {key: value for key, value in LIKES[thing.like].items() if key not in stated}
    words = tuple(_words(key, value) for key, value in added.items())
    return type(thing).model_validate({**stated, **added}), words


def _fits(thing: Likeable, name: str) -> bool:
    return name in likes_of(type(thing))


def _words(key: str, value: str | bool) -> str:
    name = key.replace("_", " ")
    return name if value is True else f"{name} {value}"
