"""The minutes a knitter counts her work at: which can be told, and which numbers will do.

The advice weighs one remedy against another in minutes.  A project keeps only those its
knitter has told, by these names; what each usually is, the advice knows.  So an old journal,
which has none, opens as before.
"""

import re
from dataclasses import dataclass
from typing import Any

from knitlog.journal.errors import JournalError
from knitlog.typed.numbers import parse_number
from knitlog.typed.text import quoted


@dataclass(frozen=True, slots=True)
class WorkKind:
    """One kind of work that is counted in minutes."""

    name: str
    """As typed to set it."""
    cost: str
    """The field of the advice's :class:`~knitlog.advice.costs.Costs` it is."""
    what: str
    """What it is, for a table."""
    schema: int = 1
    """The schema of the journal it came with."""


KINDS = (
    WorkKind("tapestry", "tapestry_fix_minutes", "A fix with the tapestry needle"),
    WorkKind("rip", "rip_start_minutes", "Ripping back, however little"),
    WorkKind("ripped-stitch", "ripped_stitch_minutes", "Each stitch ripped and knit again"),
    WorkKind("needle", "needle_change_minutes", "Changing to another needle"),
    WorkKind("gauge-line", "gauge_line_minutes", "The line another needle leaves"),
    WorkKind("count", "count_change_minutes", "Changing the stitch count"),
    WorkKind("count-stitch", "count_change_minutes_per_stitch", "Each stitch added or taken away"),
    WorkKind("count-line", "count_line_minutes", "The line of increases or decreases", 2),
    WorkKind("new-place", "new_place_minutes", "The jog where the colours get another place", 2),
    WorkKind("round-again", "round_again_minutes_per_stitch",
         "Each stitch of whole rounds knitted again", 2),
    WorkKind("pattern-anew", "pattern_anew_minutes", "Setting up a stitch pattern anew", 2),
    WorkKind("attention", "attention_minutes", "Minding one's tension, a round", 2),
    WorkKind("round-out", "round_out_of_tolerance_minutes", "Each round out of tolerance"),
)  # fmt: skip
"""Every kind, in the order they are shown."""
WORK = tuple(kind.name for kind in KINDS)
"""The names, as typed."""
LATER_WORK = tuple(kind.name for kind in KINDS if kind.schema > 1)
"""Those that came with schema 2 of the journal."""
USUAL = "usual"
"""Typed to go back."""
EXAMPLE = "needle=6, round-out=1"
MOST_MINUTES = 10_000
_DECIMALS = 3

_PARTED = re.compile(r"[,;]\s*(?=[^\W\d])")
"""Between one name and the next; not the comma of 0,5."""
_IN_MINUTES = re.compile(r"\s*min(?:ute)?s?\.?$", re.IGNORECASE)


def known_work(name: object) -> str:
    """Give a name of :data:`WORK` back.

    Raises:
        JournalError: it is none; the sentence lists them.

    """
    if name not in WORK:
        raise JournalError(
            f"There are no minutes to set for {quoted(name)}; there are "
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


def parse_minutes(text: str) -> dict[str, float | None]:
    """Read minutes by name; ``usual`` beside a name, or alone for all, goes back.

    Raises:
        JournalError: a name there is not, or no minutes.
        TypedError: a number that is none.

    """
    if text.strip().lower() == USUAL:
        return dict.fromkeys(WORK)
    told: dict[str, float | None] = {}
    for part in filter(None, map(str.strip, _PARTED.split(text.strip().rstrip(",;")))):
        name, equals, minutes = (word.strip().lower() for word in part.partition("="))
        if not equals:
            raise JournalError(f"{quoted(part)} says no minutes; type them as {EXAMPLE}.")
        name = known_work(re.sub(r"[\s_]+", "-", name))
        if name in told:
            raise JournalError(f"The minutes for {name} are there twice in {quoted(text.strip())}.")
        told[name] = (
            None
            if minutes == USUAL
            else parse_number(_IN_MINUTES.sub("", minutes), f"{name}=6, or {name}={USUAL}")
        )
    if not told:
        raise JournalError(f"There are no minutes there; type them as {EXAMPLE}.")
    return told
