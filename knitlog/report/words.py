"""Numbers and states in plain words, for every screen alike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol


class HasStitch(Protocol):
    """Anything with a stitch position."""

    @property
    def stitch(self) -> float:
        """Position in the round."""


def signed(number: float) -> str:
    """A number with its sign, as a knitter would write it.

    >>> signed(2.6), signed(-3.0), signed(0.04)
    ('+2.6', '-3', '0')
    """
    rounded = round(number, 1)
    return "0" if rounded == 0 else f"{rounded:+g}"


def plain(number: float) -> str:
    """A number to one decimal, without a needless ``.0``.

    >>> plain(41.5), plain(37.0)
    ('41.5', '37')
    """
    return f"{round(number, 1):g}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A count with its noun.

    >>> counted(1, "round"), counted(12, "round"), counted(2, "stitch", "stitches")
    ('1 round', '12 rounds', '2 stitches')
    """
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"


def places(positions: Iterable[HasStitch]) -> str:
    """Where the colour changes of a round fell.

    >>> from types import SimpleNamespace as At
    >>> places([At(stitch=37.0), At(stitch=101.5)])
    'stitch 37 and 101.5'
    """
    return "stitch " + " and ".join(plain(position.stitch) for position in positions)
