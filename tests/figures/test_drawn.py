"""Figures as drawn: nothing clipped, nothing over anything, the same bytes each time."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.text import Text

from ohmbook.circuit.network import Branch, Drive, Network
from ohmbook.crossover.behaviour import (
    Band,
    Behaviour,
    ImpedanceCurve,
    OutputCurve,
    default_grid,
)
from ohmbook.crossover.features import Bounded, crossings, minimum_impedance, traits
from ohmbook.documents.estimate import Implied
from ohmbook.documents.part import Driver, Inductor, Part, Sketch
from ohmbook.documents.setup import Clip, SetUp
from ohmbook.drawing.circuit import Circuit
from ohmbook.errors import CallError, CircuitError, OhmbookError
from ohmbook.figures import typeset
from ohmbook.figures.diagram import Diagram
from ohmbook.figures.drawing import diagram_figure
from ohmbook.figures.frequency import frequency_ticks
from ohmbook.figures.impedance import impedance_figure, minimum_words
from ohmbook.figures.layout import lay_out
from ohmbook.figures.rails import place_on_rails
from ohmbook.figures.readings import axis_limits, readings_figure
from ohmbook.figures.response import crossing_words, gain_limits, response_figure, shown_crossings
from ohmbook.figures.saving import save
from ohmbook.figures.schematic import ground_of, schematic_figure, sketch_figure
from ohmbook.figures.setups import grounds_of, setup_diagram, setup_figure
from ohmbook.figures.style import STROKES, styled
from ohmbook.units.quantity import Quantity

from .circuits import IN_ROWS, TWO_WAY

F_HZ = default_grid()


def _behaviour(orders: dict[str, tuple[float, int]], draws: int = 40) -> Behaviour:
    """Butterworth curves of our own: corner in hertz and order, negative for a high-pass."""
    rng = np.random.default_rng(1)
    x = np.log(F_HZ)
    gains = {}
    for name, (corner_hz, order) in orders.items():
        corners = corner_hz * np.exp(0.03 * np.append(0.0, rng.standard_normal(draws)))
        ratio = (F_HZ[None, :] / corners[:, None]) ** (2 * order)
        gains[name] = -10.0 * np.log10(1.0 + ratio)
    ohms = 6.0 + 3.0 * np.cos(x)[None, :] + 0.1 * rng.standard_normal((draws + 1, 1))

    def band(rows: np.ndarray) -> Band | None:
        return Band(*np.quantile(rows[1:], (0.025, 0.975), axis=0)) if draws else None

    phase = 50.0 * np.sin(x)
    return Behaviour(
        F_HZ,
        tuple(OutputCurve(name, gain[0], phase, band(gain)) for name, gain in gains.items()),
        ImpedanceCurve(ohms[0], phase, band(ohms)),
        crossings(x, gains),
        minimum_impedance(x, ohms),
        {name: traits(x, gain) for name, gain in gains.items()},
        draws,
    )


TWO = _behaviour({"woofer": (2500.0, 2), "tweeter": (2700.0, -3)})
THREE = _behaviour({"woofer": (350.0, 3), "midrange": (4000.0, 1), "tweeter": (4100.0, -2)})
NETWORK = Network(
    tuple(
        Branch(one.name, "resistor" if one.kind == "driver" else one.kind, one.ends)
        for one in TWO_WAY.items
    ),
    Drive(("in", "gnd")),
    (("w", "gnd"), ("gnd", "t")),
)
LABELS = {one.name: "0.8200(31) mH" for one in TWO_WAY.items}
DRIVERS = ("woofer", "tweeter")
CAUTIONS = (
    "Discharge capacitors through a resistor (some 100 ohm, 5 W), then measure that they are "
    "empty, before you touch or test anything.",
    "The scope's ground clip is earth: it shorts whatever node it touches to earth.",
)
SETUP = SetUp(
    "source at in and gnd, probe on in and w",
    Network(
        (
            *(one for one in NETWORK.branches if one.owner not in DRIVERS),
            Branch("scope's ground lead, set-up 2", "inductor", ("gnd", "earth")),
            Branch("scope's probe on w", "capacitor", ("w", "earth")),
            Branch("scope's probe on in", "capacitor", ("in", "earth")),
        ),
        Drive(("in", "earth"), "generator"),
        (("in", "earth"), ("w", "earth")),
    ),
    (
        Clip("source", "generator", "+", "in"),
        Clip("source", "generator", "-", "gnd"),
        Clip("scope", "scope", "ground", "gnd"),
        Clip("scope", "scope", "tip", "in"),
        Clip("scope", "scope", "tip", "w"),
    ),
    CAUTIONS,
    ("woofer detached", "tweeter detached"),
)
ROWS = (
    Implied("reading 2: L1 alone at 5.6 kHz", 8.15e-4, 7.9e-4, 8.4e-4),
    Implied("the tester's own answer, on its 1 kHz range and with short leads", 8e-4, 7.6e-4, 9e-4),
    Implied("reading 7", 8.1e-3, 8.0e-3, 8.2e-3),
    Implied("reading 8", 9e-4, -np.inf, np.inf),
    Implied("all readings together", 8.172e-4, 8.06e-4, 8.29e-4, True),
)

ODD_NAME = "C$_1^{$ 電容 " + "very long " * 14
FIGURES = {
    "odd names": lambda: schematic_figure(
        Network((Branch(ODD_NAME, "capacitor", ("in", ODD_NAME)),), Drive(("in", ODD_NAME))),
        {ODD_NAME: "$8.2$ µF"},
        ODD_NAME,
    ),
    "response two-way": lambda: response_figure(TWO, "Hall monitor, left"),
    "response three-way": lambda: response_figure(THREE, "Three-way"),
    "response without a band": lambda: response_figure(
        _behaviour({"only": (900.0, 2)}, 0), "Values only"
    ),
    "impedance": lambda: impedance_figure(TWO),
    "readings": lambda: readings_figure(ROWS, "L1: inductance", "H"),
    "schematic": lambda: schematic_figure(NETWORK, LABELS, "Hall monitor, left", DRIVERS),
    "set-up": lambda: setup_figure(SETUP, LABELS, DRIVERS),
}


def _texts(figure: Figure) -> list[Text]:
    found = [*figure.texts]
    for axes in figure.axes:
        found += [one for one in axes.texts if one.get_text()]
        if axes.axison:
            found += [one for one in axes.get_xticklabels() if one.get_text()]
            found += [axes.xaxis.label, axes.yaxis.label]
    return [one for one in found if one.get_text()]


@pytest.fixture(scope="module", params=FIGURES)
def drawn(request: pytest.FixtureRequest) -> Figure:
    figure = FIGURES[request.param]()
    with styled():
        figure.canvas.draw()
    return figure


def test_no_text_is_clipped(drawn: Figure) -> None:
    page = drawn.bbox
    for text in _texts(drawn):
        extent = text.get_window_extent()
        assert extent.x0 >= -0.5, text.get_text()
        assert extent.y0 >= -0.5, text.get_text()
        assert extent.x1 <= page.x1 + 0.5, text.get_text()
        assert extent.y1 <= page.y1 + 0.5, text.get_text()


def test_no_text_covers_another(drawn: Figure) -> None:
    for a, b in combinations(_texts(drawn), 2):
        one, other = a.get_window_extent().padded(-1.0), b.get_window_extent().padded(-1.0)
        assert not one.overlaps(other), (a.get_text(), b.get_text())


def test_no_text_has_twelve_decimals(drawn: Figure) -> None:
    for text in _texts(drawn):
        digits = [len(word.strip("()")) for word in text.get_text().split() if "." in word]
        assert max(digits, default=0) <= 12, text.get_text()


@pytest.mark.parametrize("name", ["response two-way", "response three-way"])
def test_labels_keep_off_the_curves(name: str) -> None:
    figure = FIGURES[name]()
    (axes,) = figure.axes
    for text in [one for one in axes.texts if one.get_text()]:
        box = text.get_window_extent()
        for line in axes.lines:
            if np.size(line.get_xdata()) > 2:
                points = axes.transData.transform(np.column_stack(line.get_data()))
                assert not any(box.contains(x, y) for x, y in points), text.get_text()


@pytest.mark.parametrize("name", IN_ROWS)
@pytest.mark.parametrize("place", [lay_out, place_on_rails])
def test_diagram_texts_fit_the_boxes_that_were_laid_out(
    name: str, place: Callable[[Circuit], Diagram]
) -> None:
    diagram = place(IN_ROWS[name])
    with styled():
        figure = diagram_figure(diagram, 0.5, 0.3, 4.0)
        figure.canvas.draw()
    (axes,) = figure.axes
    boxes = {line: one.box for one in diagram.captions for line in one.lines}
    boxes |= {one.flag.text: one.box for one in diagram.tags}
    seen = 0
    for text in axes.texts:
        box = boxes.get(text.get_text())
        if box is None:
            assert text.get_text() == "+"
            continue
        extent = text.get_window_extent().transformed(axes.transData.inverted())
        assert extent.width <= box.x1 - box.x0 + 0.02, text.get_text()
        seen += 1
    assert seen >= len(diagram.symbols) * 2


@pytest.mark.parametrize("place", [lay_out, place_on_rails])
def test_loudspeakers_are_drawn_where_they_were_laid_out(
    place: Callable[[Circuit], Diagram],
) -> None:
    diagram = place(IN_ROWS["in series"])
    with styled():
        (axes,) = diagram_figure(diagram, 0.5, 0.3, 4.0).axes
    horns = [one.get_xy() for one in axes.patches if isinstance(one, Polygon)]
    bodies = [one.body.grown(0.05) for one in diagram.symbols if one.item.kind == "driver"]
    assert len(horns) == 2 * len(bodies) == 4
    for horn in horns:
        assert any(all(body.holds(spot) for spot in horn.tolist()) for body in bodies)


@pytest.mark.parametrize(
    "text", ["0.8200(31) mH", "scope's probe on w", "WOOFER", "generator −", "15.32(19) µF", "5 %"]
)
@pytest.mark.parametrize("bold", [False, True])
def test_width_is_never_estimated_too_small(text: str, bold: bool) -> None:
    with styled():
        figure = FIGURES["impedance"]()
        drawn = figure.text(0.0, 0.5, text, size=8.5, weight="bold" if bold else "normal")
        measured = drawn.get_window_extent().width / figure.dpi / typeset.INCHES_PER_UNIT
    assert measured <= typeset.width(text, 8.5, bold) <= 1.45 * measured


def test_saved_twice_is_the_same_bytes(tmp_path: Path) -> None:
    for name in ("response two-way", "schematic"):
        first = save(FIGURES[name](), tmp_path / "a", name)
        second = save(FIGURES[name](), tmp_path / "b", name)
        assert [one.name for one in first] == [f"{name.replace(' ', '-')}.svg", first[1].name]
        for one, other in zip(first, second, strict=True):
            assert one.read_bytes() == other.read_bytes()
        svg = first[0].read_text(encoding="utf-8")
        assert "<dc:date>" not in svg
        assert "Matplotlib" not in svg
        assert first[1].read_bytes().startswith(b"\x89PNG")


def test_a_folder_that_cannot_be_written_to_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OhmbookError, match="cannot be written"):
        save(FIGURES["impedance"](), tmp_path / "file", "x")


def test_importing_the_room_loads_no_drawing_library_and_drawing_needs_no_display() -> None:
    code = (
        "import sys, ohmbook.figures.schematic as s, ohmbook.figures.response\n"
        "assert not {'matplotlib', 'schemdraw'} & set(sys.modules)\n"
        "from ohmbook.circuit.network import *\n"
        "n = Network((Branch('R1', 'resistor', ('in', 'gnd')),), Drive(('in', 'gnd')))\n"
        "s.schematic_figure(n, {}, 'x').savefig(sys.stdout.buffer, format='png')\n"
    )
    bare = {"PATH": "/usr/bin:/bin", "PYTHONPATH": ":".join(sys.path)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=bare, check=False)
    assert done.returncode == 0, done.stderr.decode()
    assert done.stdout.startswith(b"\x89PNG")


def test_persons_own_settings_stay_theirs() -> None:
    import matplotlib

    with matplotlib.rc_context({"font.size": 31.0, "text.usetex": True}):
        figure = FIGURES["impedance"]()
        assert matplotlib.rcParams["font.size"] == 31.0
        assert all(float(one.get_fontsize()) < 15.0 for one in _texts(figure))
        assert not any(one.get_usetex() for one in _texts(figure))


def test_curves_differ_in_more_than_colour() -> None:
    (axes,) = response_figure(THREE, "x").axes
    curves = [line for line in axes.lines if np.size(line.get_xdata()) > 2]
    assert len({line.get_color() for line in curves}) == 3
    assert len({str(one.dashes) for one in STROKES}) == len(STROKES)

    def luminance(colour: str) -> float:
        """Relative luminance, WCAG 2.1 (W3C 2018), for sRGB."""
        parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))

    # WCAG 2.1, 1.4.11: graphics need a contrast of at least 3 to 1 against what is beside them.
    assert all(1.05 / (luminance(one.colour) + 0.05) >= 3.0 for one in STROKES)


def test_gain_axis_ends_45_db_below_its_top() -> None:
    (axes,) = response_figure(TWO, "x").axes
    low, high = axes.get_ylim()
    assert 0.0 < high <= 10.0
    assert high - low <= 50.0
    flat = OutputCurve("flat", np.full(F_HZ.size, -6.0), np.zeros(F_HZ.size))
    low, high = gain_limits((flat,))
    assert low < -6.0 < high
    assert high - low == 20.0
    silent = OutputCurve("silent", np.full(F_HZ.size, -np.inf), np.zeros(F_HZ.size))
    assert gain_limits((silent,)) == (-45.0, 0.0)


def test_silent_and_null_outputs_are_drawn() -> None:
    gain = np.where(F_HZ < 100.0, -np.inf, 0.0)
    curves = (
        OutputCurve("null", gain, np.zeros(F_HZ.size)),
        OutputCurve("silent", np.full(F_HZ.size, -np.inf), np.zeros(F_HZ.size)),
    )
    behaviour = Behaviour(F_HZ, curves, TWO.input_impedance, (), TWO.minimum_impedance, {}, 0)
    (axes,) = response_figure(behaviour, "x").axes
    assert [one.get_text() for one in axes.texts] == ["null"]


def test_crossings_that_a_third_output_drowns_are_not_marked() -> None:
    assert len(THREE.crossings) == 3
    pairs = [one.between for one in shown_crossings(THREE, (-40.0, 10.0))]
    assert pairs == [("woofer", "midrange"), ("midrange", "tweeter")]


def test_crossing_in_words() -> None:
    (crossing,) = TWO.crossings
    words = crossing_words(crossing)
    assert words.startswith("woofer and tweeter cross at\n2.6")
    assert " kHz (2." in words
    assert words.endswith(", at \N{MINUS SIGN}3.4 dB")


def test_minimum_in_words() -> None:
    assert minimum_words(TWO).startswith("lowest 3.0")
    flat = Behaviour(
        F_HZ,
        (),
        ImpedanceCurve(np.full(F_HZ.size, 8.0), np.zeros(F_HZ.size)),
        (),
        type(TWO.minimum_impedance)(Bounded(8.0), 20.0),
        {},
        0,
    )
    assert minimum_words(flat) == "lowest 8.00 Ω,\nthe same at every frequency"


def test_frequency_ticks() -> None:
    labels = [text for _, text in frequency_ticks(20.0, 20000.0)]
    assert labels == ["20", "50", "100", "200", "500", "1k", "2k", "5k", "10k", "20k"]
    assert frequency_ticks(0.5e6, 2e6) == [(0.5e6, "500k"), (1e6, "1M"), (2e6, "2M")]


def test_value_axis_of_readings_is_not_crushed_by_a_slip() -> None:
    low, high = axis_limits(ROWS)
    assert 0.0 < low < 7.6e-4
    assert 9e-4 < high < 2e-3
    (one,) = (Implied("only", 5.0, 5.0, 5.0),)
    low, high = axis_limits([one])
    assert low < 5.0 < high


def test_readings_are_told_in_the_prefix_of_the_bench() -> None:
    figure = readings_figure(ROWS, "L1", "H")
    (axes,) = figure.axes
    assert axes.get_xlabel() == "in mH"
    assert "0.815 mH (0.790 to 0.840)" in [one.get_text() for one in axes.texts]
    with pytest.raises(CallError, match="at least one row"):
        readings_figure((), "x", "H")


def test_cautions_stand_above_the_drawing() -> None:
    figure = setup_figure(SETUP, LABELS, DRIVERS)
    (axes,) = figure.axes
    with styled():
        figure.canvas.draw()
    said = " ".join(one.get_text() for one in figure.texts)
    for caution in (*CAUTIONS, *SETUP.notes):
        assert " ".join(caution.split()) in said.replace(" ! ", " ")
    lowest = min(
        one.get_window_extent().y0 for one in figure.texts if one.get_text().startswith("Discharge")
    )
    assert lowest > axes.get_window_extent().y1


def test_setup_shows_every_clip_at_its_node() -> None:
    diagram = setup_diagram(SETUP, LABELS, DRIVERS)
    assert diagram.manner == "rows"
    clips = [(one.flag.text, one.flag.node) for one in diagram.tags]
    assert sorted(clips) == [
        ("generator +", "in"),
        ("generator \N{MINUS SIGN}", "gnd"),
        ("scope ground", "gnd"),
        ("scope tip", "in"),
        ("scope tip", "w"),
    ]
    assert grounds_of(SETUP) == ("gnd", "earth")


def test_setup_of_an_unknown_board_is_still_drawn() -> None:
    bare = SetUp("nothing but a wire", Network((), Drive(("a", "b")), (("a", "b"),)))
    assert setup_figure(bare).axes


def test_ground_is_what_voltages_are_against() -> None:
    assert ground_of(NETWORK) == "gnd"
    pair = Network(NETWORK.branches, Drive(("in", "m")), (("w", "gnd"), ("t", "gnd")))
    assert ground_of(pair) == "gnd"


def test_sketch_is_drawn_with_its_outputs() -> None:
    sketch = Sketch(input="in", outputs={"headphones": "w"})
    parts: dict[str, Part] = {
        "L1": Inductor(kind="inductor", between=("in", "w")),
        "woofer": Driver(kind="driver", rated=Quantity(8.0, "ohm", "8 ohm"), between=("w", "gnd")),
    }
    figure = sketch_figure(sketch, parts, {"L1": "0.820 mH"}, "x")
    texts = [one.get_text() for one in figure.axes[0].texts]
    assert texts.count("woofer") == 1
    assert {"L1", "0.820 mH", "woofer", "headphones", "amplifier +", "in", "w", "gnd"} <= set(texts)
    with pytest.raises(CircuitError, match="add a"):
        sketch_figure(None, parts, {}, "x")
