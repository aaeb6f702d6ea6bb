"""Where the bench's network finds this machine, and the code that leads a phone there."""

from __future__ import annotations

import socket
from ipaddress import IPv4Address

import segno

from ohmbook.errors import CallError

ELSEWHERE = "192.0.2.1"
"""An address that nobody has (RFC 5737); nothing is sent there."""


def addresses() -> tuple[str, ...]:
    """This machine's addresses in networks of the house.

    Raises:
        CallError: it has none: it is in no network, or straight on the internet.
    """
    found = [*_by_road(), *_by_name()]
    kept = tuple(dict.fromkeys(one for one in found if _of_the_house(one)))
    if not kept:
        raise CallError(
            "This computer is in no network of the house, so no phone can reach it; join the "
            "bench's network, or leave out --network."
        )
    return kept


def _by_road() -> list[str]:
    """The address that this machine would send from. A datagram socket that is connected only
    looks up the road."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as road:
        try:
            road.connect((ELSEWHERE, 9))
        except OSError:
            return []
        return [road.getsockname()[0]]


def _by_name() -> list[str]:
    try:
        return [
            str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        ]
    except OSError:
        return []


def _of_the_house(address: str) -> bool:
    one = IPv4Address(address)
    return one.is_private and not one.is_loopback and not one.is_unspecified


def link_of(address: str, word: str) -> str:
    """The address with the pass behind the mark that no browser sends on."""
    return f"{address}#{word}"


def code_of(text: str) -> str:
    """A QR code (ISO/IEC 18004) as SVG, without any style of its own."""
    made = segno.make(text, error="m", micro=False)
    return made.svg_inline(omitsize=True, svgclass="qr", lineclass="modules")


def code_in_text(text: str) -> str:
    """The same for a terminal."""
    import io

    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()


def spaced(word: str) -> str:
    """A pass in two halves, easier to copy."""
    return f"{word[:4]} {word[4:]}"
