"""`python -m ohmbook.web NOTEBOOK`: the server, as `ohmbook open` starts it."""

from __future__ import annotations

import argparse
import os
import sys
import webbrowser
from pathlib import Path

from ohmbook.errors import OhmbookError

WORDS = "The bench page is at {address} (end it with Ctrl+C)."


def main() -> int:
    """Serve until stopped; the exit status."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    asked = argparse.ArgumentParser(prog="ohmbook.web")
    asked.add_argument("notebook", type=Path)
    asked.add_argument("--port", type=int)
    asked.add_argument("--no-browser", action="store_true")
    given = asked.parse_args()
    from ohmbook.web.serve import serve

    def ready(address: str) -> None:
        print(WORDS.format(address=address), flush=True)
        if not given.no_browser:
            webbrowser.open(address)

    try:
        serve(given.notebook, given.port, ready)
    except OhmbookError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        pass
    return 0


if __name__ == "__main__":
    sys.exit(main())
