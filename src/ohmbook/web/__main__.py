"""`python -m ohmbook.web NOTEBOOK`: the server, as `ohmbook open` starts it."""

from __future__ import annotations

import argparse
import os
import sys
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

from ohmbook.errors import OhmbookError

if TYPE_CHECKING:
    from ohmbook.web.door import Door

WORDS = "The bench page is at {address} (end it with Ctrl+C)."
NETWORK = """\
Phones reach it at {there} with the pass {word} (good for one device, for {minutes} minutes).
What is sent there can be read along by others in the same network: use one that you trust.
More passes, and who is in: {address}network
"""


def main() -> int:
    """Serve until stopped; the exit status."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    asked = argparse.ArgumentParser(prog="ohmbook.web")
    asked.add_argument("notebook", type=Path)
    asked.add_argument("--port", type=int)
    asked.add_argument("--no-browser", action="store_true")
    asked.add_argument("--network", action="store_true")
    given = asked.parse_args()
    from ohmbook.web.serve import serve

    def ready(address: str, door: Door | None) -> None:
        print(WORDS.format(address=address), flush=True)
        if door is not None:
            _tell_network(address, door)
        if not given.no_browser:
            webbrowser.open(address)

    try:
        serve(given.notebook, given.port, ready, network=given.network)
    except OhmbookError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        pass
    return 0


def _tell_network(address: str, door: Door) -> None:
    """The address, the pass, and both as a code for a phone's camera where a terminal shows it."""
    from ohmbook.web.network import code_in_text, link_of, spaced
    from ohmbook.web.passes import PASS_S

    word = door.passes.fresh()
    if sys.stdout.isatty():
        print(code_in_text(link_of(door.addresses[0], word)))
    print(
        NETWORK.format(
            there=" or ".join(door.addresses),
            word=spaced(word),
            minutes=round(PASS_S / 60.0),
            address=address,
        ),
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main())
