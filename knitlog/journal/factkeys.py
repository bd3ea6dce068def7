"""The facts of a project as words: option names and ``# key: value`` lines.

``--repeat-length 152cm`` on a command line and ``# repeat-length: 152cm`` at the top
of a CSV file are the same key and the same text, read by the same code.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.facts import FactChanges, ProjectFacts
from knitlog.journal.minutes import EXAMPLE, USUAL, WORK, known_work
from knitlog.journal.spreadsheet import guarded
from knitlog.journal.text import plain_text, quoted
from knitlog.yarn.errors import YarnError
from knitlog.yarn.gauge import Gauge, parse_gauge
from knitlog.yarn.needles import parse_needle
from knitlog.yarn.units import parse_length

_NUMBER = re.compile(r"[+-]?(?:[0-9]{1,9}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})")
_STITCHES = re.compile(r"\s*(?:sts?|stitch(?:es)?)\.?$", re.IGNORECASE)
_HOME = re.compile(r"(?:(?P<change>[0-9]{1,3})=)?(?P<stitch>[0-9.]{1,60})")
_PARTED = re.compile(r"[,;]\s*(?=[^\W\d])")
"""Between one name and the next; not the comma of 0,5."""
_IN_MINUTES = re.compile(r"\s*min(?:ute)?s?\.?$", re.IGNORECASE)
_YES = {"yes": True, "y": True, "true": True, "1": True, "on": True}
_NO = {"no": False, "n": False, "false": False, "0": False, "off": False}


def parse_number(text: str, example: str = "37 or 37.5") -> float:
    """Read a plain decimal number; no exponents, no infinities.

    Raises:
        JournalError: it is not one.

    >>> parse_number("37,5")
    37.5
    """
    cleaned = text.strip().replace("\u2212", "-").replace("\u00bd", ".5")
    if cleaned.count(",") == 1 and "." not in cleaned:
        cleaned = cleaned.replace(",", ".")
    if not _NUMBER.fullmatch(cleaned):
        raise JournalError(f"{quoted(text.strip())} is not a number; type it as {example}.")
    return float(cleaned)


def parse_whole(text: str, example: str = "128") -> int:
    """Read a whole number; ``4.0`` from a spreadsheet is 4.

    Raises:
        JournalError: it is not one.
    """
    value = parse_number(text, example)
    if value != int(value):
        raise JournalError(f"{quoted(text.strip())} is not a whole number; type it as {example}.")
    return int(value)


def format_number(value: float) -> str:
    """Write a number so that :func:`parse_number` gives the same one back.

    >>> format_number(37.0), format_number(1e-05)
    ('37', '0.00001')
    """
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _stitches(text: str) -> float:
    return parse_number(_STITCHES.sub("", text), "3")


def _percent(text: str) -> float:
    return parse_number(text.strip().removesuffix("%"), "5")


def _yes_or_no(text: str) -> bool:
    found = {**_YES, **_NO}.get(text.strip().lower())
    if found is None:
        raise JournalError(f"{quoted(text.strip())} is neither; type yes or no.")
    return found


def _needles(text: str) -> tuple[float, ...]:
    parts = text.split(";" if ";" in text else ",")
    return tuple(sorted({parse_needle(part) for part in parts if part.strip()}))


def _homes(text: str) -> dict[int, float]:
    homes: dict[int, float] = {}
    words = re.sub(r"\s*=\s*", "=", text).replace(",", " ").replace(";", " ").split()
    for number, word in enumerate(words, start=1):
        found = _HOME.fullmatch(word)
        if not found:
            raise JournalError(
                f"{quoted(text.strip())} is no home; type the stitch, as 37, or one for each "
                "colour change, as 1=37, 2=90."
            )
        change = int(found["change"] or number)
        if change in homes:
            raise JournalError(f"Colour change {change} has two homes in {quoted(text.strip())}.")
        homes[change] = parse_number(found["stitch"])
    return homes


def _multiple(text: str) -> int:
    """Read a stitch pattern's multiple; ``fixed`` (or 0) is a count that cannot change."""
    return 0 if text.strip().lower() == "fixed" else parse_whole(text, "8, or fixed")


def _minutes(text: str) -> dict[str, float | None]:
    """Read minutes by name; ``usual`` beside a name, or alone for all, goes back."""
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


_READERS: Mapping[str, tuple[str, Callable[[str], Any]]] = {
    "name": ("name", str),
    "about": ("about", str),
    "stitches": ("stitches", parse_whole),
    "repeats": ("repeats", lambda text: parse_number(text, "1 or 2")),
    "repeat-length": ("repeat_length_mm", parse_length),
    "needle": ("needle_mm", parse_needle),
    "gauge": ("", parse_gauge),
    "rounds": ("planned_rounds", lambda text: parse_whole(text, "60")),
    "tolerance": ("tolerance", _stitches),
    "multiple": ("multiple", _multiple),
    "flat": ("flat", _yes_or_no),
    "target-drift": ("target_drift", _stitches),
    "home": ("homes", _homes),
    "needles-owned": ("needles_owned_mm", _needles),
    "yarn-thickness": ("yarn_thickness_mm", parse_length),
    "max-size-change": ("max_size_change_percent", _percent),
    "fibre": ("fibre", str),
    "pattern": ("stitch_pattern", str),
    "minutes": ("minutes", _minutes),
}
"""Each key with the field it gives and what reads it."""
FACT_KEYS: tuple[str, ...] = tuple(_READERS)
"""Every key, as typed after ``--`` or ``#``."""
_LONGEST = 200
_LONGEST_WORDS = 4_000


def parse_fact(key: str, text: str) -> dict[str, Any]:
    """Read one fact, as the fields of :class:`ProjectFacts` (or name, about) it gives.

    Raises:
        JournalError: unknown key, or a value that will not do, in one sentence.

    >>> parse_fact("repeat-length", "60in")
    {'repeat_length_mm': 1524.0}
    """
    if key not in _READERS:
        raise JournalError(f"There is no fact called {quoted(key)}.")
    if len(text) > (_LONGEST_WORDS if key in ("name", "about") else _LONGEST):
        raise JournalError(f"{quoted(text)} is too long.")
    field, read = _READERS[key]
    try:
        value = read(text)
    except YarnError as error:
        raise in_our_words(error) from None
    values = {field: value}
    if isinstance(value, Gauge):
        values = {
            "gauge_stitches_per_cm": value.stitches_per_cm,
            "gauge_rounds_per_cm": value.rounds_per_cm,
        }
    try:
        FactChanges(**values)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
    return values


def parse_facts(texts: Mapping[str, str]) -> dict[str, Any]:
    """Read several facts; each sentence of an error names its option.

    Raises:
        JournalError: a value that will not do.
    """
    values: dict[str, Any] = {}
    for key, text in texts.items():
        try:
            values |= parse_fact(key, text)
        except JournalError as error:
            raise JournalError(f"--{key}: {error}") from None
    return values


def fact_lines(facts: ProjectFacts) -> Iterable[tuple[str, str]]:
    """Give the keys and texts that read back as these facts, what is unknown left out."""
    yield "stitches", str(facts.stitches)
    yield "repeats", format_number(facts.repeats)
    if facts.repeat_length_mm is not None:
        yield "repeat-length", f"{format_number(facts.repeat_length_mm)}mm"
    if facts.needle_mm is not None:
        yield "needle", f"{format_number(facts.needle_mm)}mm"
    if facts.gauge_stitches_per_cm is not None:
        yield "gauge", _gauge_text(facts.gauge_stitches_per_cm, facts.gauge_rounds_per_cm)
    if facts.planned_rounds is not None:
        yield "rounds", str(facts.planned_rounds)
    yield "tolerance", format_number(facts.tolerance)
    if facts.multiple != 1:
        yield "multiple", str(facts.multiple or "fixed")
    if facts.flat:
        yield "flat", "yes"
    if facts.target_drift:
        yield "target-drift", format_number(facts.target_drift)
    if facts.homes:
        homes = (f"{c}={format_number(s)}" for c, s in sorted(facts.homes.items()))
        yield "home", ", ".join(homes)
    if facts.needles_owned_mm:
        yield "needles-owned", "; ".join(f"{format_number(n)}mm" for n in facts.needles_owned_mm)
    if facts.yarn_thickness_mm is not None:
        yield "yarn-thickness", f"{format_number(facts.yarn_thickness_mm)}mm"
    if facts.max_size_change_percent is not None:
        yield "max-size-change", f"{format_number(facts.max_size_change_percent)}%"
    if facts.fibre is not None:
        yield "fibre", guarded(facts.fibre)
    if facts.stitch_pattern is not None:
        yield "pattern", guarded(facts.stitch_pattern)
    if facts.minutes is not None:
        told = (f"{name}={format_number(told)}" for name, told in facts.minutes.items())
        yield "minutes", ", ".join(told)


def _gauge_text(stitches_per_cm: float, rounds_per_cm: float | None) -> str:
    """Write a gauge as knitters do if that reads back exactly, else with all its digits."""
    wanted = (stitches_per_cm, rounds_per_cm)
    text = ""
    for over, over_cm, places in (("10cm", 10.0, 2), ("4in", 10.16, 2), ("1cm", 1.0, 20)):
        stitches, rounds = (
            "" if per_cm is None else format_number(round(per_cm * over_cm, places))
            for per_cm in wanted
        )
        text = f"{stitches} st{rounds and f' {rounds} rows'}/{over}"
        if float(stitches) == 0:  # rounded away
            continue
        read = parse_gauge(text)
        if (read.stitches_per_cm, read.rounds_per_cm) == wanted:
            break
    return text


def in_our_words(error: YarnError) -> JournalError:
    """Give a yarn room's error as one of ours, a whole sentence."""
    text = plain_text(str(error))
    text = text[:1].upper() + text[1:]
    if len(text) > 240:  # it quotes something endless; its advice stands at the end
        text = f"{text[:100]}...{text[-120:]}"
    return JournalError(text if text.endswith((".", "?")) else f"{text}.")
