"""Make the README's printed blocks and the demo's pictures anew (`make docs`).

A block that begins with `$ ohmbook ...` is run; each line that it shows is replaced by the line now
printed that is most like it, in order. What to show is thus decided by hand, once.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from difflib import SequenceMatcher
from pathlib import Path

DOCS = Path(__file__).parent
README = DOCS.parent / "README.md"
PICTURES = ("response", "impedance", "schematic")
LEFT_OUT = {"...", ""}


def printed(command: str, folder: Path) -> list[str]:
    """What `ohmbook ...` prints at 80 columns, run in a folder."""
    done = subprocess.run(
        [sys.executable, "-m", *shlex.split(command)],
        cwd=folder,
        capture_output=True,
        check=True,
        encoding="utf-8",
        env={**os.environ, "COLUMNS": "80"},
    )
    return done.stdout.splitlines()


def renewed(told: list[str], now: list[str]) -> list[str]:
    """The lines that were told, as they are printed now."""
    place, lines = 0, []
    for old in told:
        if old in LEFT_OUT:
            lines.append(old)
            continue
        alike = [SequenceMatcher(None, old, line).ratio() for line in now[place:]]
        place += alike.index(max(alike)) + 1
        lines.append(now[place - 1])
    return lines


def main() -> None:
    """Renew the README and the pictures in docs/."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)

        def block(found: re.Match[str]) -> str:
            command, told = found.group(1), found.group(2).splitlines()
            lines = renewed(told, printed(command, folder))
            return "\n".join(["```text", f"$ {command}", *lines, "```"])

        text = README.read_text(encoding="utf-8")
        pattern = r"^```text\n\$ (ohmbook .*)\n((?:.*\n)*?)```"
        README.write_text(re.sub(pattern, block, text, flags=re.MULTILINE), encoding="utf-8")
        for picture in PICTURES:
            for kind in ("svg", "png"):
                made = folder / "out" / "demo" / f"{picture}.{kind}"
                shutil.copy(made, DOCS / f"demo-{picture}.{kind}")


if __name__ == "__main__":
    main()
