"""Make the README's printed blocks and the demo's pictures anew (`make docs`).

A block that begins with `$ ohmbook ...` is run. Where it shows everything, it is replaced by what
is printed now; where `...` stands for lines left out, each line that it shows is replaced by the
one most like it, in order, and a line that has no like any more is dropped and told.
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

from docs.page import pictures

DOCS = Path(__file__).parent
README = DOCS.parent / "README.md"
PICTURES = ("response", "impedance", "schematic", "readings-L1", "set-up-5")
LEFT_OUT = {"...", ""}
LEAST = 0.6
"""How like an old line (0 to 1) a new one must be to stand in its place."""


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
    if "..." not in told:
        return "\n".join(now).rstrip().splitlines()
    place, lines = 0, []
    for old in told:
        found = None if old in LEFT_OUT else like(old, now[place:])
        if found is not None:
            place += found + 1
            lines.append(now[place - 1])
        elif old in LEFT_OUT:
            lines.append(old)
        else:
            print(f"dropped, since nothing like it is printed any more: {old}")
    return lines


def like(old: str, now: list[str]) -> int | None:
    """Where the line stands that is most like an old one, or None."""
    alike = [SequenceMatcher(None, masked(old), masked(line)).ratio() for line in now]
    best = max(alike, default=0.0)
    return alike.index(best) if best > LEAST else None


def masked(line: str) -> str:
    """A line with its numbers made alike: what it says, not what it found."""
    return re.sub(r"[\d.]+", "#", line)


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
        pictures(folder)


if __name__ == "__main__":
    main()
