"""The facts of a project, one table: how each is called, read, written and asked for.

``--repeat-length 60in`` on a command line, ``# repeat-length: 60in`` at the top of a CSV
file and an answer on a form are the same key and the same text, read by the same code.  A
new fact is a field of :class:`~knitlog.journal.facts.ProjectFacts` and
:class:`~knitlog.journal.facts.FactChanges` and a row here; options, CSV lines, JSON, the
facts sheet and the forms come from the row.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import ValidationError

from knitlog.journal.csvtable import guarded
from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.facts import ColourPart, FactChanges, ProjectFacts
from knitlog.journal.minutes import EXAMPLE, parse_minutes
from knitlog.typed.measures import (
    Units,
    gauge_system,
    gauge_text,
    length_system,
    multiple_text,
    needle_system,
    parse_gauge,
    parse_length,
    parse_multiple,
    parse_needle,
    parse_needles,
    parse_stitches,
)
from knitlog.typed.numbers import (
    format_number,
    parse_number,
    parse_percent,
    parse_whole,
    parse_yes_or_no,
)
from knitlog.typed.text import TypedError, as_sentence, plain_text, quoted

Group = Literal["knitting", "yarn", "looks", "work"]
"""Where a form puts it: what is knitted, the yarn, what looks right, what work counts for."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact, as it is spoken of everywhere."""

    key: str
    """As typed after ``--`` or ``#``."""
    fields: tuple[str, ...]
    """The fields it is kept in; several where one text tells several."""
    read: Callable[[str], Any]
    """Reads what was typed: the field's value, or a mapping of fields where it gives several."""
    write: Callable[[ProjectFacts], str]
    """Writes it so that it reads back; empty where it is not told or as nobody would say it."""
    label: str
    """What a form asks."""
    metavar: str
    """What stands for its value in a command's help."""
    help: str
    """What it is, in a sentence."""
    placeholder: str
    """An example, for a form; what is meant where it is left empty."""
    group: Group
    unit: str = ""
    """Of the number in the journal."""
    clearable: bool = True
    """False for what must be known, or always is."""
    measured: bool = False
    """True where the text she typed is kept beside the millimetres."""

    @property
    def given_as(self) -> str:
        """The name its text is kept by in ``as_given``."""
        return self.fields[0] if len(self.fields) == 1 else self.key


_HOME = re.compile(r"(?:(?P<change>[0-9]{1,3})=)?(?P<stitch>[0-9.]{1,60})")


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


def _multiple(text: str) -> dict[str, int]:
    multiple, over = parse_multiple(text)
    return {"multiple": multiple, "multiple_over": over} if over else {"multiple": multiple}


def _gauge(text: str) -> dict[str, float | None]:
    gauge = parse_gauge(text)
    return {
        "gauge_stitches_per_cm": gauge.stitches_per_cm,
        "gauge_rounds_per_cm": gauge.rounds_per_cm,
    }


def _colours(text: str) -> dict[str, Any]:
    # imported here: few facts need it, and logging a round needs none of them
    from knitlog.plan.checks import PlanError
    from knitlog.plan.run_notation import parse_colour_run
    from knitlog.yarn import YarnError

    try:
        run = parse_colour_run(text)
        parts = tuple(
            ColourPart(name=s.name, length_mm=s.length_mm, colour=s.colour) for s in run.segments
        )
    except (PlanError, YarnError) as error:
        raise JournalError(as_sentence(error)) from None
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
    return {
        "colours": parts,
        "colours_turn_back": run.palindrome,
        "repeat_length_mm": run.repeat_length_mm,
    }


def _colours_text(facts: ProjectFacts) -> str:
    parts = [f"{c.name} {format_number(c.length_mm)}mm {c.colour}" for c in facts.colours]
    text = ", ".join([*parts, "and back"] if facts.colours_turn_back else parts)
    try:
        back = _colours(text)
    except (JournalError, TypedError):
        return ""  # none, or a name nobody could type
    return text if back["colours"] == facts.colours else ""


def _told(field: str, unit: str = "") -> Callable[[ProjectFacts], str]:
    """Give a writer of one number with its unit, nothing where it is not told."""

    def write(facts: ProjectFacts) -> str:
        value = getattr(facts, field)
        return "" if value is None else f"{format_number(value)}{unit}"

    return write


FACTS: tuple[Fact, ...] = (
    Fact(
        "stitches", ("stitches",), parse_whole, lambda f: str(f.stitches),
        "Stitches in a round", "N", "Stitches in a round.", "128", "knitting",
        unit="count", clearable=False,
    ),
    Fact(
        "colours", ("colours", "colours_turn_back"), _colours, _colours_text,
        "Colours along one repeat", "RUN",
        "The colours along the yarn with their lengths: 'rose 30cm, moss 45cm, snow 77cm'.",
        "rose 30cm, moss 45cm", "yarn",
    ),
    Fact(
        "repeats", ("repeats",), lambda text: parse_number(text, "1 or 2"), _told("repeats"),
        "Colour repeats in a round", "K",
        "Colour repeats meant to go into one round (default 1).", "1", "yarn",
        unit="count", clearable=False,
    ),
    Fact(
        "repeat-length", ("repeat_length_mm",), parse_length, _told("repeat_length_mm", "mm"),
        "Length of one colour repeat", "LENGTH",
        "Yarn in one colour repeat, with its unit: 152cm, 60in, 1.67yd.", "152cm or 60in", "yarn",
        unit="mm", measured=True,
    ),
    Fact(
        "needle", ("needle_mm",), parse_needle, _told("needle_mm", "mm"),
        "Needle", "SIZE", "Needle: 4.5mm, US 7, UK 7 or JP 8.", "4.5mm or US 7", "knitting",
        unit="mm", measured=True,
    ),
    Fact(
        "gauge", ("gauge_stitches_per_cm", "gauge_rounds_per_cm"), _gauge,
        lambda f: gauge_text(f.gauge_stitches_per_cm, f.gauge_rounds_per_cm),
        "Gauge", "GAUGE", "Gauge: '20 st/4in', '20 st/10cm' or '20 st 28 rows/10cm'.",
        "20 st/10cm or 20 st/4in", "knitting", unit="per cm", measured=True,
    ),
    Fact(
        "rounds", ("planned_rounds",), lambda text: parse_whole(text, "60"),
        _told("planned_rounds"),
        "Rounds planned", "N", "Rounds planned in all.", "60", "knitting", unit="count",
    ),
    Fact(
        "tolerance", ("tolerance",), parse_stitches, _told("tolerance"),
        "How far off still looks right, stitches", "STITCHES",
        "How far off still looks right to you (default 3 stitches).", "3", "looks",
        unit="stitches", clearable=False,
    ),
    Fact(
        "multiple", ("multiple", "multiple_over"), _multiple,
        lambda f: "" if f.multiple == 1 and not f.multiple_over
        else multiple_text(f.multiple, f.multiple_over or 0),
        "Stitch pattern repeats over", "N",
        "The stitch pattern's multiple (default 1), as 8 or 8+1; 'fixed': no other stitch count.",
        "1; 8+1; or fixed", "knitting", unit="stitches",
    ),
    Fact(
        "flat", ("flat",), parse_yes_or_no, lambda f: "yes" if f.flat else "",
        "Worked flat, in rows", "YES", "Worked back and forth in rows.", "no", "knitting",
        clearable=False,
    ),
    Fact(
        "target-drift", ("target_drift",), parse_stitches,
        lambda f: format_number(f.target_drift) if f.target_drift else "",
        "Wanted slide a round, stitches", "STITCHES",
        "Wanted drift a round, for a spiral on purpose (default 0).", "0", "looks",
        unit="stitches a round", clearable=False,
    ),
    Fact(
        "home", ("homes",), _homes,
        lambda f: ", ".join(f"{c}={format_number(s)}" for c, s in sorted(f.homes.items())),
        "Where the colour change belongs", "STITCH",
        "Where the colour change belongs; two numbers for two changes.",
        "as in the first round", "looks", unit="stitches",
    ),
    Fact(
        "needles-owned", ("needles_owned_mm",), parse_needles,
        lambda f: "; ".join(f"{format_number(n)}mm" for n in f.needles_owned_mm),
        "Other needles you own", "SIZES", "Needles at hand: '4mm, 4.5mm, US 8'.",
        "4mm; 5mm", "knitting", unit="mm", measured=True,
    ),
    Fact(
        "yarn-thickness", ("yarn_thickness_mm",), parse_length, _told("yarn_thickness_mm", "mm"),
        "How thick the yarn is", "LENGTH", "How thick the yarn is: 2.2mm.", "2.2mm", "yarn",
        unit="mm", measured=True,
    ),
    Fact(
        "max-size-change", ("max_size_change_percent",), parse_percent,
        _told("max_size_change_percent", "%"),
        "How much the size may change, %", "PERCENT",
        "How much the finished size may change: 5.", "5", "looks", unit="%",
    ),
    Fact(
        "fibre", ("fibre",), str, lambda f: guarded(f.fibre or ""),
        "Fibre", "WORD", "What the yarn is of, in your word: wool.", "wool", "yarn",
    ),
    Fact(
        "pattern", ("stitch_pattern",), str, lambda f: guarded(f.stitch_pattern or ""),
        "Stitch pattern", "WORD", "The stitch pattern, in your word: plain, ribbing.", "plain",
        "knitting",
    ),
    Fact(
        "minutes", ("minutes",), parse_minutes,
        lambda f: ", ".join(f"{k}={format_number(m)}" for k, m in (f.minutes or {}).items()),
        "What your work is counted at", "WORK=MINUTES",
        "What your work is counted at: 'needle=6, round-out=1'; 'needle=usual' goes back. "
        "'knitlog advise' shows them all.", EXAMPLE, "work", unit="min",
    ),
    Fact(
        "pattern-rounds", ("pattern_rounds",),
        lambda text: parse_whole(text, "4, or 1 for none"), _told("pattern_rounds"),
        "Rounds the stitch pattern repeats over", "N",
        "Rounds after which the stitch pattern begins again; 1 for none.", "4; 1 for none",
        "knitting", unit="count",
    ),
    Fact(
        "hand-range", ("hand_range_percent",), parse_percent, _told("hand_range_percent", "%"),
        "How far your hand can loosen or tighten, %", "PERCENT",
        "How far your hand can knit looser or tighter (usually 3).", "3, as usual", "work",
        unit="%",
    ),
    Fact(
        "count-changes", ("count_changes",), lambda text: parse_whole(text, "1"),
        _told("count_changes"),
        "Changes of the stitch count you allow", "N",
        "Changes of the stitch count you allow in the project (usually 1).", "1, as usual", "work",
        unit="count",
    ),
)  # fmt: skip
"""Every fact, in the order they are written."""
BY_KEY: Mapping[str, Fact] = {fact.key: fact for fact in FACTS}
WORDS = ("name", "about")
"""What is told beside the facts, by the same keys: what it is called and what it is."""
FACT_KEYS: tuple[str, ...] = (*WORDS, *BY_KEY)
"""Every key, as typed after ``--`` or ``#``."""
TOGETHER = ("minutes", "as_given")
"""Fields of several names: what is told later overrules only those it names."""
_LONGEST, _LONGEST_WORDS = 400, 4_000
_LONGEST_GIVEN = 60


def parse_fact(key: str, text: str, *, bare_mm: bool = False) -> dict[str, Any]:
    """Read one fact, as the fields of :class:`ProjectFacts` (or name, about) it gives.

    What she typed for a length, a needle or the gauge is among them, as ``as_given``.
    ``bare_mm`` takes a needle without a unit for millimetres, as files always had it.

    Raises:
        JournalError: unknown key, or a value that will not do, in one sentence.

    >>> parse_fact("tolerance", "4 stitches")
    {'tolerance': 4.0}
    >>> parse_fact("repeat-length", "60in")
    {'repeat_length_mm': 1524.0, 'as_given': {'repeat_length_mm': '60in'}}
    """
    if key not in FACT_KEYS:
        raise JournalError(f"There is no fact called {quoted(key)}.")
    longest = _LONGEST_WORDS if key in (*WORDS, "colours") else _LONGEST
    if len(text) > longest:
        raise JournalError(f"{quoted(text)} is too long: type {longest:,} characters at most.")
    if key in WORDS:
        values: dict[str, Any] = {key: text}
    else:
        values = _values_of(BY_KEY[key], text, bare_mm=bare_mm)
    try:
        FactChanges(**values)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
    return values


def _values_of(fact: Fact, text: str, *, bare_mm: bool) -> dict[str, Any]:
    try:
        values = _fields(fact, fact.read(text))
    except TypedError as error:
        if not (bare_mm and fact.read in (parse_needle, parse_needles)):
            raise JournalError(str(error)) from None
        try:
            return _fields(fact, fact.read(text, bare_mm=True))
        except TypedError as again:
            raise JournalError(str(again)) from None
    return values | _as_given(fact, values, text) if fact.measured else values


def _as_given(fact: Fact, values: dict[str, Any], text: str) -> dict[str, Any]:
    """Keep what she typed where it says more than the millimetres do."""
    given = " ".join(plain_text(text).split())
    try:
        plain = fact.write(ProjectFacts(stitches=2, **values))
    except ValidationError:
        return {}  # out of bounds, which is said next
    if given == plain or not 0 < len(given) <= _LONGEST_GIVEN:
        return {}
    return {"as_given": {fact.given_as: given}}


def _fields(fact: Fact, value: Any) -> dict[str, Any]:
    return dict(value) if len(fact.fields) > 1 else {fact.fields[0]: value}


def parse_facts(texts: Mapping[str, str]) -> dict[str, Any]:
    """Read several facts; each sentence of an error names its option.

    Raises:
        JournalError: a value that will not do.
    """
    values: dict[str, Any] = {}
    # colours tell the length of a repeat too: what is told of that by itself comes after
    for key in sorted(texts, key=lambda key: key != "colours"):
        try:
            values = told_after(values, parse_fact(key, texts[key]))
        except JournalError as error:
            raise JournalError(f"--{key}: {error}") from None
    return values


def told_after(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """Give the fields of two tellings, the second overruling the first.

    >>> told_after({"minutes": {"rip": 1.0}}, {"minutes": {"needle": 6.0}})
    {'minutes': {'rip': 1.0, 'needle': 6.0}}
    """
    both = {**before, **after}
    for field in TOGETHER:
        if field in before and field in after:
            both[field] = {**before[field], **after[field]}
    return both


def parse_changes(texts: Mapping[str, str], forget: Iterable[str] = ()) -> dict[str, Any]:
    """Read answers of a form as what :func:`~knitlog.journal.actions.change_facts` takes.

    An empty answer forgets a fact that can be forgotten; ``forget`` names others by key.

    Raises:
        JournalError: a value that will not do, or a fact that cannot be forgotten.

    >>> parse_changes({"tolerance": "4", "gauge": ""})["cleared"]
    ('gauge_stitches_per_cm', 'gauge_rounds_per_cm')
    """
    emptied = [key for key, text in texts.items() if not text.strip() and key not in WORDS]
    values = parse_facts({key: text for key, text in texts.items() if key not in emptied})
    cleared: list[str] = []
    for key in (*emptied, *forget):
        fact = BY_KEY.get(key)
        if fact is None or not fact.clearable:
            raise JournalError(f"{quoted(key)} must be told; type {_example(fact)}.")
        cleared += [field for field in fact.fields if field not in cleared]
    return {**values, "cleared": tuple(cleared)} if cleared else values


def _example(fact: Fact | None) -> str:
    return f"it as {fact.placeholder}" if fact else "the name of a fact"


def units_of(facts: ProjectFacts) -> Units:
    """Say what she measures in, by what she typed: centimetres or inches, mm or US.

    >>> units_of(ProjectFacts(stitches=96, as_given={"needle_mm": "US 7"})).needle(4.5)
    'US 7 (4.5 mm)'
    """
    given = facts.as_given or {}
    lengths = [length_system(given[n]) for n in ("repeat_length_mm",) if n in given]
    lengths += [gauge_system(given["gauge"])] if "gauge" in given else []
    lengths += [length_system(given[n]) for n in ("yarn_thickness_mm",) if n in given]
    needles = [needle_system(given[n]) for n in ("needle_mm", "needles_owned_mm") if n in given]
    return Units((lengths or ["metric"])[0], (needles or ["mm"])[0])


def fact_text(facts: ProjectFacts, key: str) -> str:
    """Give a fact as she typed it, or as it would be typed; empty where it is not told."""
    fact = BY_KEY[key]
    given = (facts.as_given or {}).get(fact.given_as)
    if given is not None:
        try:
            told = _fields(fact, fact.read(given))
        except (TypedError, JournalError):
            told = {}
        if told and all(getattr(facts, field) == value for field, value in told.items()):
            return given
    return fact.write(facts)


def fact_lines(facts: ProjectFacts) -> Iterable[tuple[str, str]]:
    """Give the keys and texts that read back as these facts, what is unknown left out."""
    for fact in FACTS:
        if text := fact_text(facts, fact.key):
            yield fact.key, text
