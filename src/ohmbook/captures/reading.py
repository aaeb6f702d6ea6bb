"""The door: whatever a file is, by what stands in it; its name only helps a message."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from ohmbook.captures.block import Progress
from ohmbook.captures.capture import Assumed, Capture
from ohmbook.captures.decoding import MOST_SOUND_BYTES, check_size, decode
from ohmbook.captures.delimited import ANSWERS, read_text
from ohmbook.errors import CaptureError

NO_ANSWERS: Mapping[str, str] = MappingProxyType({})


def read(
    data: bytes,
    name: str,
    answers: Mapping[str, str] = NO_ANSWERS,
    progress: Progress | None = None,
) -> Capture:
    """Read a capture file.

    Args:
        data: the file's bytes, as they are.
        name: what the person calls it; never opened.
        answers: to questions that an earlier reading asked, by their keys.
        progress: called with (done, of).

    Returns:
        What was captured, with every assumption and every open question.

    Raises:
        CaptureError: it cannot be read; says why, and what to do.
    """
    for key in answers:
        if key not in ANSWERS:
            raise CaptureError(
                name, f'"{key}" answers no question', f"expected one of {', '.join(ANSWERS)}"
            )
    found, encoding = _by_content(data, name, answers, progress)
    left = tuple(one for one in found.questions if one.key not in answers)
    digest = hashlib.sha256(data).hexdigest()
    return replace(
        found,
        assumed=(*encoding, *found.assumed),
        questions=left,
        sha256=digest,
        size=len(data),
    )


def _by_content(
    data: bytes, name: str, answers: Mapping[str, str], progress: Progress | None
) -> tuple[Capture, tuple[Assumed, ...]]:
    if data[:4] in (b"RIFF", b"RF64", b"RIFX"):
        from ohmbook.captures.sound import read_sound

        check_size(name, len(data), MOST_SOUND_BYTES)
        return read_sound(name, data, progress), ()
    text, encoding = decode(name, data)
    from ohmbook.captures.touchstone import is_touchstone, read_touchstone

    if is_touchstone(name, text):
        return read_touchstone(name, text), (encoding,)
    return read_text(name, text, answers, progress), (encoding,)
