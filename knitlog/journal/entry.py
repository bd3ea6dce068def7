"""The grammar of an entry: a number and Enter.

``37`` is a stitch position; ``+2`` or ``-1.5`` is against the round below; ``=`` is
in line with it; two numbers are two colour changes.
"""

import re
from collections.abc import Sequence

from knitlog.journal.errors import JournalError
from knitlog.journal.events import Position
from knitlog.journal.facts import MOST_CHANGES
from knitlog.journal.text import quoted

_NUMBER = re.compile(r"(?P<sign>[+-]?)(?P<digits>[0-9]{1,7}(?:\.[0-9]{0,6})?|\.[0-9]{1,6})")
_COMMA = re.compile(r"[0-9],[0-9]")


class EntryError(JournalError):
    """What was typed is no entry; the sentence says what to type instead."""


def parse_entry(
    text: str, stitches: int, previous: Sequence[Position] = (), *, flat: bool = False
) -> list[Position]:
    """Read what the knitter typed for one round.

    Args:
        text: one word a colour change, parted by spaces.
        stitches: stitches in the round.
        previous: the positions of the round below, if any was logged.
        flat: rows worked back and forth: a position does not wrap at the edge.

    Raises:
        EntryError: one sentence saying what to type instead.

    >>> parse_entry("37", 128)
    [Position(stitch=37.0, change=1, period_shift=None)]
    >>> [p.stitch for p in parse_entry("+2", 128, [Position(stitch=127)])]
    [1.0]

    """
    typed = text.strip().replace("\u2212", "-").replace("\u00bd", ".5")
    if not typed:
        raise EntryError("Type where the colour fell, such as 37, or = if it is in line.")
    if _COMMA.search(typed):
        raise EntryError(
            f"{quoted(text)} could be one number or two; type 37.5 for half a stitch, or 37 5 "
            "for two colour changes."
        )
    words = typed.replace(",", " ").replace(";", " ").split()
    below = {p.change: p.stitch for p in previous}
    if words == ["="] and len(below) > 1:
        return [Position(stitch=below[change], change=change) for change in sorted(below)]
    if len(words) > MOST_CHANGES:
        raise EntryError(f"That is more than {MOST_CHANGES} colour changes for one round.")
    return [
        Position(stitch=_place(word, change, stitches, below, flat), change=change)
        for change, word in enumerate(words, start=1)
    ]


def _place(word: str, change: int, stitches: int, below: dict[int, float], flat: bool) -> float:
    """Give the position one word means, 0 to the stitch count."""
    found = _NUMBER.fullmatch(word)
    if found is None and word != "=":
        raise EntryError(
            f"{quoted(word)} is not a stitch; type a position such as 37, +2 or -1.5 against "
            "the round below, or = if it is in line."
        )
    if found is not None and not found["sign"]:
        stitch = float(found["digits"])
        if stitch > stitches:
            raise EntryError(
                f"Stitch {word} is beyond the round, which has {stitches}; "
                f"type a position from 0 to {stitches}."
            )
        return stitch
    if change not in below:
        which = "" if change == 1 else f" with a colour change {change}"
        raise EntryError(
            f"There is no round below{which} to measure {quoted(word)} from; "
            "type the stitch itself, such as 37."
        )
    if found is None:
        return below[change]
    moved = below[change] + float(word)
    if 0 <= moved <= stitches:
        return moved
    if flat:
        raise EntryError(
            f"{quoted(word)} against stitch {below[change]:g} runs off the edge of the row; "
            f"type the stitch itself, from 0 to {stitches}."
        )
    return moved % stitches
