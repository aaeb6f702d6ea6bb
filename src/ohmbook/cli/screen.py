"""How the commands reach the terminal: printing, JSON, progress. Nothing here knows a part."""

from __future__ import annotations

import codecs
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import RenderableType

Progress = Callable[[int, int], None]

PATIENCE_S = 0.5
"""How long nothing is shown of something that may be done at once."""

_PLAIN = str.maketrans(
    {
        "\N{GREEK CAPITAL LETTER OMEGA}": "ohm",
        "\N{OHM SIGN}": "ohm",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "±": "+-",
        "°": " deg",
        "×": "x",
        "÷": "/",
        "·": "*",
        "√": "sqrt ",
        "π": "pi",
        "²": "^2",
        "≤": "<=",
        "≥": ">=",
        "≈": "~",
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
    }
)


def _spell(error: UnicodeError) -> tuple[str, int]:
    """Spell out what an old terminal can't show: "ohm" for Ω, "u" for µ, "?" for the rest."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    held = error.object[error.start : error.end]
    told = held.translate(_PLAIN)
    return "".join(c if c.isascii() else "?" for c in told), error.end


codecs.register_error("ohmbook", _spell)


_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def prepare() -> None:
    """Let both streams take any text, whatever the terminal's encoding, and linear algebra work on
    one thread unless told otherwise: on matrices as small as ours, threads wait for each other."""
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="ohmbook")


def say(message: str) -> None:
    """One message for the person, on stderr: what is printed on stdout stays clean."""
    print(f"ohmbook: {message}", file=sys.stderr)


def show(pages: Iterable[RenderableType]) -> None:
    """Print rich renderables on stdout as they come; plain where it is a pipe."""
    from rich.console import Console, Group

    class Pipeable(Console):
        def on_broken_pipe(self) -> None:
            raise BrokenPipeError

    console = Pipeable(highlight=False, emoji=False)
    for page in pages:
        if isinstance(page, Group) and not page.renderables:
            continue  # nothing to tell there, and no empty line for it
        if console.is_terminal:
            console.print(page)
            continue
        with console.capture() as capture:
            console.print(page)
        print("\n".join(line.rstrip() for line in capture.get().splitlines()))


def emit(
    as_json: bool,
    document: Callable[[], dict[str, Any]],
    pages: Callable[[], Iterable[RenderableType]],
) -> None:
    """Print the document or the pages; the other isn't even made."""
    if as_json:
        show_document(document())
    else:
        show(pages())


def say_done(message: str) -> None:
    """One line on stdout that says what was done."""
    print(message)


def show_text(text: str) -> None:
    """Print a text as it is, no line broken: it may go into a sheet."""
    print(text, end="")


def show_document(document: dict[str, Any]) -> None:
    """Print one JSON document and nothing else; NaN and Infinity are refused."""
    utf8 = (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
    print(json.dumps(document, indent=2, ensure_ascii=not utf8, allow_nan=False))


@contextmanager
def progress(what: str) -> Iterator[Progress | None]:
    """A progress bar on stderr, where that is a terminal, once something takes half a second."""
    if not sys.stderr.isatty():
        yield None
        return
    from time import monotonic

    begun = monotonic()
    with ExitStack() as stack:
        shown: list[Progress] = []

        def told(done: int, of: int) -> None:
            if not shown and monotonic() - begun > PATIENCE_S:
                shown.append(_bar(stack, what))
            for bar in shown:
                bar(done, of)

        yield told


def _bar(stack: ExitStack, what: str) -> Progress:
    from rich.console import Console
    from rich.progress import Progress as Bar

    bar = stack.enter_context(Bar(console=Console(stderr=True), transient=True))
    task = bar.add_task(what, total=1)
    return lambda done, of: bar.update(task, completed=done, total=of)
