"""A small picture of a photo, upright, to find it again by."""

from __future__ import annotations

import io
import warnings
from contextlib import suppress
from typing import TYPE_CHECKING

from ohmbook.notebook.sniffing import PICTURES, type_of

if TYPE_CHECKING:
    from PIL.Image import Image

SIDE = 240
"""The longer side, pixels."""

MOST_BYTES = 20_000
_MOST_PIXELS = {"image/jpeg": 120e6}  # decoded at an eighth of its size; the others whole
_MOST_PIXELS_OF_OTHERS = 40e6
_QUALITIES = (85, 75, 60, 45, 30, 20)


def thumbnail(data: bytes) -> bytes | None:
    """A small copy of a picture, as PNG where that is small enough, as JPEG otherwise.

    Args:
        data: the whole file.

    Returns:
        The copy, without the picture's own notes (place, time, owner); None where the bytes are
        no picture, a broken one, or one of so many pixels that it might be meant to do harm.
    """
    if type_of(data) not in PICTURES:
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _made(data)
    except Exception:  # whatever a decoder makes of broken bytes: there is no picture in them
        return None


def _made(data: bytes) -> bytes | None:
    from PIL import Image, ImageOps

    formats = [one.removeprefix("image/").upper() for one in PICTURES]
    with Image.open(io.BytesIO(data), formats=formats) as image:
        most = _MOST_PIXELS.get(type_of(data), _MOST_PIXELS_OF_OTHERS)
        if image.width * image.height > most:
            return None
        image.thumbnail((SIDE, SIDE))
        found: Image.Image = image
        with suppress(Exception):  # a broken note on how it was held: then as it lies
            found = ImageOps.exif_transpose(image)
        return _written(_on_white(found))


def _on_white(image: Image) -> Image:
    from PIL import Image as Pillow

    if image.mode.startswith("I;16"):
        return image.convert("I").point(lambda level: level / 256).convert("L")
    if image.has_transparency_data:
        clear = image.convert("RGBA")
        white = Pillow.new("RGBA", clear.size, "white")
        return Pillow.alpha_composite(white, clear).convert("RGB")
    return image if image.mode in ("L", "RGB") else image.convert("RGB")


def _written(image: Image) -> bytes:
    image.info.clear()
    found = _saved(image, "PNG", optimize=True)
    for quality in _QUALITIES:
        if len(found) <= MOST_BYTES:
            break
        found = _saved(image, "JPEG", quality=quality)
    return found


def _saved(image: Image, form: str, **how: int) -> bytes:
    stream = io.BytesIO()
    image.save(stream, form, **how)
    return stream.getvalue()
