"""The look of every figure: ink, colours with their dashes, type, and how a figure is made."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK = "#22282e"
SOFT = "#6a747d"
FAINT = "#d5dade"
PAPER = "#ffffff"
WARNING_INK = "#8a2b0e"
WARNING_PAPER = "#fdf1e7"

Dashes = tuple[float, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Stroke:
    """One way to draw a curve: never by colour alone.

    Args:
        colour: of lines, bands and their labels.
        dashes: matplotlib's (offset, on-off sequence); an empty sequence is a full line.
    """

    colour: str
    dashes: Dashes


MARGIN_IN, LEAST_PT = 0.2, 6.5

STROKES = (
    Stroke("#1d4f80", (0.0, ())),
    Stroke("#bf5b12", (0.0, (7.0, 2.0))),
    Stroke("#1f7f73", (0.0, (2.0, 1.4))),
    Stroke("#7a3b78", (0.0, (7.0, 2.0, 1.5, 2.0))),
    Stroke("#6b6416", (0.0, (4.0, 1.2))),
)
"""Dark blue, burnt orange, green-blue, plum, olive: apart in lightness too, so that they stay
apart for colour-blind eyes and on a black-and-white printer."""

_SETTINGS: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 9.0,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "axes.titlesize": 11.0,
    "text.color": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "figure.facecolor": PAPER,
    "savefig.facecolor": PAPER,
    "svg.fonttype": "path",
    "svg.hashsalt": "ohmbook",
    "path.simplify": False,
    "text.parse_math": False,
}


def stroke(index: int) -> Stroke:
    """The stroke of the nth curve, going round after the last."""
    return STROKES[index % len(STROKES)]


@contextmanager
def styled() -> Iterator[None]:
    """Our settings while a figure is made or saved; whatever the person has set stays theirs."""
    import matplotlib

    settings: dict[Any, Any] = {
        key: value
        for key, value in matplotlib.rcParamsDefault.items()
        if not key.startswith(("backend", "webagg", "date.", "tk.", "toolbar", "interactive"))
        and key not in ("timezone", "keymap", "docstring.hardcopy")
    }
    settings.update(_SETTINGS)
    with matplotlib.rc_context(settings), warnings.catch_warnings():
        # A letter that the typeface lacks is drawn as a box: nobody needs to be told twice.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def new_figure(width_in: float, height_in: float) -> Figure:
    """An empty figure that needs no display and leaves no global state.

    Args:
        width_in: inches.
        height_in: inches.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), dpi=100.0)
    FigureCanvasAgg(figure)
    return figure


def bare_axes(figure: Figure, box: tuple[float, float, float, float]) -> Axes:
    """Axes with left and bottom lines only, and a faint grid behind.

    Args:
        figure: where to add them.
        box: left, bottom, width and height as shares of the figure.
    """
    axes = figure.add_axes(box)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, color=FAINT, linewidth=0.6)
    axes.set_axisbelow(True)
    return axes


def heading(figure: Figure, title: str, below: str = "") -> None:
    """A title at the top left, and one line of explanation under it."""
    height_in = figure.get_figheight()
    line(figure, 1.0 - 0.14 / height_in, title, size=11.5, weight="bold", va="top")
    if below:
        line(figure, 1.0 - 0.38 / height_in, below, size=8.5, color=SOFT, va="top")


def line(figure: Figure, y: float, text: str, **look: Any) -> None:
    """One line from the left margin on, made smaller and in the end cut where it is too long.

    Args:
        figure: where it is written.
        y: share of the figure's height.
        text: what is written.
        look: of the text, as matplotlib has it.
    """
    width_in = figure.get_figwidth()
    room = (width_in - 2.0 * MARGIN_IN) * figure.dpi
    written = figure.text(MARGIN_IN / width_in, y, text, **look)
    wanted = written.get_window_extent().width
    if wanted > room:
        written.set_fontsize(max(LEAST_PT, 0.97 * room / wanted * float(look["size"])))
    while written.get_window_extent().width > room and len(text) > 1:
        text = text[:-1]
        written.set_text(f"{text}\N{HORIZONTAL ELLIPSIS}")
