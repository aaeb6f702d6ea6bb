"""Names of files made safe: no path, nothing invisible, nothing that a system keeps for itself.

Sources: "Naming Files, Paths, and Namespaces" (Microsoft Learn) for reserved characters and device
names; Unicode Standard Annex 15 for normalisation.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Iterable

UNNAMED = "unnamed"
_MOST_LETTERS, _MOST_BYTES, _MOST_ENDING = 120, 200, 16
_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
_RESERVED = frozenset(
    {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"}
    | {f"{port}{k}" for port in ("COM", "LPT") for k in "0123456789¹²³"}
)


def safe_name(name: str) -> str:
    """A file's name that can be written on any disk and still be recognised.

    Args:
        name: as the person or their phone called it, perhaps with a path.

    Returns:
        The name made safe; one that is safe already stays as it is.
    """
    for _ in range(8):  # taking one thing away can uncover another; three rounds are the most seen
        better = _safer(name)
        if better == name:
            return name
        name = better
    return UNNAMED


def free_name(name: str, taken: Iterable[str]) -> str:
    """A safe name, with " (2)" and so on where others have it, whatever their capitals."""
    return _free(name, {folded(one) for one in taken})


def free_names(names: Iterable[str]) -> list[str]:
    """Safe names, one after another, each told apart from those before it."""
    found: list[str] = []
    there: set[str] = set()
    for name in names:
        found.append(_free(name, there))
        there.add(folded(found[-1]))
    return found


def folded(name: str) -> str:
    """What two names have in common that some disk takes for the same."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _free(name: str, there: Container[str]) -> str:
    number, found = 1, name
    while folded(found) in there:
        number += 1
        stem, ending = _parted(name)
        found = _fitting(stem, f" ({number}){ending}")
    return found


def _safer(name: str) -> str:
    text = re.split(r"[/\\]", unicodedata.normalize("NFC", name))[-1]
    text = re.sub(r"\s+", " ", text)
    text = "".join(one for one in text if unicodedata.category(one) not in _UNSEEN)
    text = re.sub(r'[<>:"|?*]', "-", text).lstrip(" .").rstrip(" .")
    if not text:
        return UNNAMED
    if text.partition(".")[0].rstrip().upper() in _RESERVED:
        text = f"_{text}"
    return _fitting(*_parted(text))


def _parted(name: str) -> tuple[str, str]:
    """What comes before a file's ending, and the ending with its dot."""
    stem, dot, ending = name.rpartition(".")
    if not stem or len(ending) > _MOST_ENDING:
        return name, ""
    return stem, dot + ending


def _fitting(stem: str, ending: str) -> str:
    """The name with its beginning cut so far that the whole is not too long."""
    stem = stem[: _MOST_LETTERS - len(ending)]
    while len((stem + ending).encode()) > _MOST_BYTES:
        stem = stem[:-1]
    return stem.rstrip(" .") + ending if ending else stem.rstrip(" .")
