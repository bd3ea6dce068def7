"""Reading what is typed into a form: text to a number, or one plain sentence.

Units and needle sizes are read by the yarn room; these are the small rest.
"""

from __future__ import annotations

import math

from knitlog.journal.minutes import MOST_MINUTES
from knitlog.yarn.gauge import Gauge, parse_gauge
from knitlog.yarn.needles import parse_needle
from knitlog.yarn.units import parse_length


def name(text: str) -> str:
    """A name; must not be empty."""
    if not text:
        raise ValueError("Type a name, such as Red hat.")
    return text


def whole(text: str, *, what: str, example: int, least: int = 1) -> int:
    """A whole number of at least ``least``."""
    if not text.isascii() or not text.isdigit() or int(text[:9]) < least or len(text) > 9:
        raise ValueError(f"Type {what} as a whole number from {least} up, such as {example}.")
    return int(text)


FIXED = "fixed"
"""Typed for a stitch count that cannot change, as on the command line."""


def multiple(text: str) -> int:
    """The stitch pattern's multiple; 0 for a stitch count that cannot change.

    >>> multiple("4"), multiple("fixed"), multiple("0")
    (4, 0, 0)
    """
    if text.lower() in (FIXED, "0"):
        return 0
    try:
        return whole(text, what="the multiple", example=4)
    except ValueError:
        raise ValueError(
            "Type the multiple as a whole number from 1 up, such as 4; or fixed, where the "
            "stitch count cannot change."
        ) from None


def multiple_words(found: int) -> str:
    """A multiple as :func:`multiple` reads it.

    >>> multiple_words(4), multiple_words(0)
    ('4', 'fixed')
    """
    return str(found) if found else FIXED


def number(text: str, *, what: str, example: str) -> float:
    """A number; a sign and a decimal point (or comma) are allowed."""
    try:
        found = float(text.replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise ValueError(f"Type {what} as a number, such as {example}.")
    return found


def maybe_whole(text: str, *, what: str, example: int) -> int | None:
    """A whole number, or nothing."""
    return whole(text, what=what, example=example) if text else None


def maybe_minutes(text: str) -> float | None:
    """Minutes of work, or nothing.

    >>> maybe_minutes("0,5"), maybe_minutes("")
    (0.5, None)
    """
    if not text:
        return None
    found = number(text, what="the minutes", example="6")
    if not 0 <= found <= MOST_MINUTES:
        raise ValueError(f"Type 0 to {MOST_MINUTES:,} minutes; nothing for the usual.")
    return found


def maybe_length(text: str) -> float | None:
    """A length in mm, or nothing."""
    return parse_length(text) if text else None


def maybe_needle(text: str) -> float | None:
    """A needle size in mm, or nothing."""
    return parse_needle(text) if text else None


def maybe_gauge(text: str) -> Gauge | None:
    """A gauge, or nothing."""
    return parse_gauge(text) if text else None


def needles(text: str) -> tuple[float, ...]:
    """Needle sizes in mm, parted by commas; may be none."""
    return tuple(parse_needle(part.strip()) for part in text.split(",") if part.strip())


def round_or_flat(text: str) -> str:
    """How it is worked: ``round`` or ``flat``."""
    found = text.lower().removeprefix("in the ")
    if found not in ("round", "flat"):
        raise ValueError("Type round or flat.")
    return found
