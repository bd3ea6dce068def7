"""The minutes a knitter counts her work at: which can be told, and which numbers will do.

The advice weighs one remedy against another in minutes.  A project keeps only those its
knitter has told, by these names; what each stands for, and what it usually is, the
workbench knows.  So an old journal, which has none, opens as before.
"""

from typing import Any

from knitlog.journal.errors import JournalError
from knitlog.journal.text import quoted

WORK = (
    "tapestry",
    "rip",
    "ripped-stitch",
    "needle",
    "gauge-line",
    "count",
    "count-stitch",
    "round-out",
)
"""The names, as typed."""
USUAL = "usual"
"""Typed to go back."""
EXAMPLE = "needle=6, round-out=1"
MOST_MINUTES = 10_000
_DECIMALS = 3


def known_work(name: object) -> str:
    """Give a name of :data:`WORK` back.

    Raises:
        JournalError: it is none; the sentence lists them.

    """
    if name not in WORK:
        raise JournalError(
            f"There are no minutes to set for {quoted(name)}; what can be set is "
            f"{', '.join(WORK[:-1])} and {WORK[-1]}."
        )
    return str(name)


def told_minutes(value: Any) -> Any:
    """Give minutes by name in the order of :data:`WORK`, to the thousandth of a minute.

    None stands for going back to the usual.

    Raises:
        JournalError: a name there is not, or a number that will not do.

    """
    if not isinstance(value, dict):
        return value
    told = {known_work(name): _minutes(name, minutes) for name, minutes in value.items()}
    return {name: told[name] for name in WORK if name in told}


def own_minutes(value: Any) -> Any:
    """Give the minutes that are the knitter's own; None where all are the usual ones.

    Raises:
        JournalError: as :func:`told_minutes`.

    """
    told = told_minutes(value)
    if not isinstance(told, dict):
        return told
    return {name: minutes for name, minutes in told.items() if minutes is not None} or None


def _minutes(name: str, minutes: Any) -> float | None:
    if minutes is None:
        return None
    plain = isinstance(minutes, int | float) and not isinstance(minutes, bool)
    if not (plain and 0 <= minutes <= MOST_MINUTES):
        shown = f"{minutes:.12g}" if isinstance(minutes, float) else minutes
        raise JournalError(
            f"The minutes for {name} cannot be {quoted(shown)}: type 0 to {MOST_MINUTES:,}, as "
            f"{name}=6, or {name}={USUAL}."
        )
    return round(float(minutes), _DECIMALS)
