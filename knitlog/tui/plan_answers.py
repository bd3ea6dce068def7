"""Reading what is typed into the planning forms: text to numbers with units.

The small readers of :mod:`knitlog.tui.answers` serve here too; these are the ones only
planning needs.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from knitlog.drift.result import Estimate
from knitlog.plan.stitch_yarn import (
    PastProject,
    combine,
    from_gauge,
    from_past_projects,
    from_tags,
    from_unravelling,
)
from knitlog.tui import answers
from knitlog.yarn.gauge import Gauge
from knitlog.yarn.units import parse_length, parse_weight

_MULTIPLE = re.compile(r"(?P<multiple>\d{1,5})\s*(?:\+\s*(?P<extra>\d{1,5}))?")
_LOOKS = ("stacked", "stack", "0", "")


def sentence(error: ValueError) -> str:
    """What an error says, as a whole sentence.

    >>> sentence(ValueError("type it as 152cm"))
    'Type it as 152cm.'
    """
    text = str(error)
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!")) else f"{text}."


def maybe(read: Callable[[str], Any], text: str) -> Any:
    """An answer that may be left empty; what is wrong with it as a whole sentence."""
    try:
        return read(text) if text else None
    except ValueError as error:
        raise ValueError(sentence(error)) from None


def several(text: str) -> list[str]:
    """What stands between commas or semicolons; a comma within a number parts nothing.

    >>> several("48.2cm, 48cm; 0,5m")
    ['48.2cm', '48cm', '0,5m']
    """
    return [part.strip() for part in re.split(r";|,(?!\d)", text) if part.strip()]


def pulled_out(text: str) -> tuple[float, list[float]] | None:
    """Stitches pulled out, and the lengths of yarn measured in mm; or nothing.

    >>> pulled_out("40 = 82cm, 81.5cm")
    (40.0, [820.0, 815.0])
    """
    if not text:
        return None
    count, equals, lengths = text.partition("=")
    if not equals:
        raise ValueError("Type the stitches, = and the yarn, such as 40 = 82cm, 81.5cm.")
    stitches = answers.number(count.strip(), what="the stitches pulled out", example="40")
    return stitches, [parse_length(part) for part in several(lengths)]


def tag_counts(text: str) -> list[float]:
    """Stitches counted from one colour change to its next coming."""
    return [
        answers.number(part, what="the stitches between the tags", example="127.5")
        for part in several(text)
    ]


def past_yarns(text: str) -> list[float]:
    """Yarn per stitch of past projects, mm."""
    return [parse_length(part) for part in several(text)]


def multiple(text: str) -> tuple[int, int]:
    """The pattern's multiple, and the stitches beyond it.

    >>> multiple("8 + 1"), multiple("4")
    ((8, 1), (4, 0))
    """
    found = _MULTIPLE.fullmatch(text)
    if found is None or int(found["multiple"]) < 1:
        raise ValueError("Type the multiple as 4, or as 8 + 1 for 8 and one over.")
    return int(found["multiple"]), int(found["extra"] or 0)


def repeats(text: str) -> tuple[float, ...]:
    """Repeats a round that may do."""
    found = tuple(
        answers.number(part, what="the repeats", example="1, 2") for part in several(text)
    )
    if not found or min(found) <= 0:
        raise ValueError("Type the repeats a round may have, such as 1, 2.")
    return found


def wanted_drift(text: str) -> float:
    """Stacked, or a spiral of so many stitches a round.

    >>> wanted_drift("stacked"), wanted_drift("-2"), wanted_drift("spiral 1.5")
    (0.0, -2.0, 1.5)
    """
    words = text.lower().removeprefix("spiral").strip()
    if words in _LOOKS and not text.lower().startswith("spiral"):
        return 0.0
    return answers.number(words, what="stacked, or the spiral's stitches a round", example="2")


def skein(text: str) -> tuple[float, float] | None:
    """A whole skein by its label: length in mm and weight in g; or nothing.

    >>> skein("400m/100g")
    (400000.0, 100.0)
    """
    if not text:
        return None
    length, slash, weight = text.partition("/")
    if not slash:
        raise ValueError("Type the skein's length, / and weight, such as 400m/100g.")
    return parse_length(length.strip()), parse_weight(weight.strip())


@dataclass(frozen=True, slots=True)
class YarnWays:
    """What is known of the yarn a stitch takes."""

    gauge: Gauge | None = None
    pulled_out: tuple[float, list[float]] | None = None
    between_tags: tuple[float, ...] = ()
    past: tuple[float, ...] = ()
    """Of past projects with this yarn and needle, mm."""
    mine: Estimate | None = None
    """By all her finished projects, mm."""


@dataclass(frozen=True, slots=True)
class YarnFound:
    """Yarn per stitch, all ways together."""

    estimate: Estimate
    """mm."""
    shares: tuple[tuple[str, float], ...]
    """How much each way counted, 0 to 1."""
    warning: str | None
    """Where the ways disagree badly."""


def find_yarn(ways: YarnWays, repeat_mm: float | None) -> YarnFound:
    """Put the ways together.

    Raises:
        ValueError: nothing is known; the sentence says what to type.

    """
    found: dict[str, Estimate] = {}
    if ways.gauge is not None:
        found["gauge"] = from_gauge(ways.gauge)
    if ways.pulled_out is not None:
        found["pulled out"] = from_unravelling(*ways.pulled_out)
    if ways.between_tags:
        if repeat_mm is None:
            raise ValueError("Describe the colours first: tags need the length of the repeat.")
        found["tags"] = from_tags(ways.between_tags, repeat_mm)
    if ways.past:
        found["past projects"] = from_past_projects([PastProject(mm, 0.0) for mm in ways.past])
    if ways.mine is not None:
        found["your hands"] = ways.mine
    if not found:
        raise ValueError("Type a gauge, or pull out a few stitches and measure their yarn.")
    together = combine(list(found.values()))
    return YarnFound(
        together.estimate, tuple(zip(found, together.shares, strict=True)), together.warning
    )
