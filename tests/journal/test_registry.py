"""Facts as they are typed: the same on a command line and at the top of a CSV file."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.actions import change_facts
from knitlog.journal.errors import JournalError
from knitlog.journal.facts import ColourPart, FactChanges, make_facts
from knitlog.journal.minutes import WORK
from knitlog.journal.registry import (
    FACT_KEYS,
    FACTS,
    fact_lines,
    fact_text,
    parse_changes,
    parse_fact,
    parse_facts,
    units_of,
)
from knitlog.journal.store import JournalFile
from knitlog.typed.measures import Units
from knitlog.typed.numbers import format_number, parse_number
from knitlog.yarn.gauge import Gauge


@pytest.mark.parametrize(
    ("key", "text", "values"),
    [
        ("stitches", "128", {"stitches": 128}),
        ("repeats", "0.5", {"repeats": 0.5}),
        # 1 in = 25.4 mm and 1 yd = 914.4 mm exactly (international yard, 1959)
        ("repeat-length", "60in",
         {"repeat_length_mm": 1524.0, "as_given": {"repeat_length_mm": "60in"}}),
        ("repeat-length", " 2  yd ",
         {"repeat_length_mm": 1828.8, "as_given": {"repeat_length_mm": "2 yd"}}),
        ("needle", "US 7", {"needle_mm": 4.5, "as_given": {"needle_mm": "US 7"}}),
        ("gauge", "20 st/10cm", {"gauge_stitches_per_cm": 2.0,
         "gauge_rounds_per_cm": None}),
        ("rounds", "60", {"planned_rounds": 60}),
        ("tolerance", "2,5 stitches", {"tolerance": 2.5}),
        ("tolerance", "3 st", {"tolerance": 3.0}),
        ("multiple", "8", {"multiple": 8}),
        ("multiple", "8+1", {"multiple": 8, "multiple_over": 1}),
        ("multiple", "fixed", {"multiple": 0}),
        ("multiple", "0", {"multiple": 0}),
        ("flat", "Yes", {"flat": True}),
        ("target-drift", "-0.5", {"target_drift": -0.5}),
        ("home", "37", {"homes": {1: 37.0}}),
        ("home", "37 90", {"homes": {1: 37.0, 2: 90.0}}),
        ("home", "2 = 90; 1 = 37.5", {"homes": {1: 37.5, 2: 90.0}}),
        ("needles-owned", "4mm, 4.5mm, US 6", {"needles_owned_mm": (4.0, 4.5),
         "as_given": {"needles_owned_mm": "4mm, 4.5mm, US 6"}}),
        ("needles-owned", "3,5mm; 4mm", {"needles_owned_mm": (3.5, 4.0),
         "as_given": {"needles_owned_mm": "3,5mm; 4mm"}}),
        ("yarn-thickness", "2.2mm",
         {"yarn_thickness_mm": 2.2}),
        ("max-size-change", "5%", {"max_size_change_percent": 5.0}),
        ("name", "Hut socks", {"name": "Hut socks"}),
        ("minutes", "needle=6, round-out=1", {"minutes": {"needle": 6.0, "round-out": 1.0}}),
        ("minutes", "Needle = 6 min; ripped stitch=0,2, rip=1,5 minutes",
         {"minutes": {"needle": 6.0, "ripped-stitch": 0.2, "rip": 1.5}}),
        ("minutes", "needle=usual", {"minutes": {"needle": None}}),
        ("minutes", "Usual", {"minutes": dict.fromkeys(WORK)}),
    ],
)  # fmt: skip
def test_a_fact_as_typed(key: str, text: str, values: dict[str, object]) -> None:
    assert parse_fact(key, text) == values


@pytest.mark.parametrize(
    ("key", "text", "sentence"),
    [
        ("stitches", "-3", "The stitch count cannot be '-3': it must be 2 or more."),
        ("stitches", "12.5", "'12.5' is not a whole number; type it as 128."),
        ("repeats", "0", "The repeats cannot be '0': it must be above 0."),
        ("needle", "9000mm", "A needle of 9000 mm is outside 0.5 to 40 mm: check the size, in "
         "millimetres, or type it as US 7."),
        ("tolerance", "0", "The tolerance cannot be '0': it must be above 0."),
        ("max-size-change", "500%", "The max size change percent cannot be '500': it must be 100 "
         "or less."),
        ("home", "1=3, 1=4", "Colour change 1 has two homes in '1=3, 1=4'."),
        ("home", "99=3", "The home cannot be '99': it must be 24 or less."),
        ("name", "  ", "The name cannot be '': it must be one letter or more."),
        ("colour", "red", "There is no fact called 'colour'."),
        ("minutes", "needel=6", "There are no minutes to set for 'needel'; there are "
         "tapestry, rip, ripped-stitch, needle, gauge-line, count, count-stitch, count-line, "
         "new-place, round-again, pattern-anew, attention and round-out."),
        ("minutes", "needle=soon", "'soon' is not a number; type it as needle=6, or needle=usual."),
        ("minutes", "needle=-1", "The minutes for needle cannot be '-1': type 0 to 10,000, as "
         "needle=6, or needle=usual."),
        ("minutes", "rip=10001", "The minutes for rip cannot be '10001': type 0 to 10,000, as "
         "rip=6, or rip=usual."),
        ("minutes", "6", "'6' says no minutes; type them as needle=6, round-out=1."),
        ("minutes", " , ", "There are no minutes there; type them as needle=6, round-out=1."),
        ("minutes", "needle=6, needle=7", "The minutes for needle are there twice in 'needle=6, "
         "needle=7'."),
    ],
)  # fmt: skip
def test_a_fact_that_will_not_do(key: str, text: str, sentence: str) -> None:
    with pytest.raises(JournalError) as raised:
        parse_fact(key, text)
    assert str(raised.value) == sentence


def test_an_endless_value_is_cut_in_the_sentence() -> None:
    for key in set(FACT_KEYS) - {"name", "about"}:
        for text in ("9" * 3000, "9" * 150 + "q" * 49, "x" * 5000):
            with pytest.raises(JournalError) as raised:
                parse_fact(key, text)
            assert len(str(raised.value)) < 300


def test_several_facts_make_a_project() -> None:
    facts = make_facts(**parse_facts({"stitches": "128", "gauge": "20 st 28 rows/10cm"}))
    assert facts.gauge is not None
    assert facts.gauge.rounds_per_cm == 2.8
    with pytest.raises(JournalError, match="stitch count must be given"):
        make_facts(**parse_facts({"gauge": "20 st/10cm"}))


@given(st.floats(-(10.0**8), 10.0**8).filter(lambda x: x == 0 or abs(x) > 1e-20))
@settings(derandomize=True)
def test_a_number_written_is_the_number_read(value: float) -> None:
    assert parse_number(format_number(value)) == value


@given(st.dictionaries(st.sampled_from(WORK), st.floats(0, 10_000), min_size=1))
@settings(derandomize=True)
def test_minutes_written_are_the_minutes_read(minutes: dict[str, float]) -> None:
    facts = make_facts(stitches=128, minutes=minutes)
    text = dict(fact_lines(facts))["minutes"]
    assert make_facts(stitches=128, **parse_fact("minutes", text)) == facts


def test_units_are_kept_as_she_gave_them() -> None:
    facts = make_facts(
        **parse_facts(
            {"stitches": "128", "repeat-length": "1,67 yd", "needle": "US 7", "gauge": "20 st/4in"}
        )
    )
    assert fact_text(facts, "repeat-length") == "1,67 yd"
    assert fact_text(facts, "needle") == "US 7"
    assert dict(fact_lines(facts))["gauge"] == "20 st/4in"
    units = units_of(facts)
    # 60 in of 25.4 mm each; US 8 is 5.0 mm in every table
    assert (units.length(1524), units.needle(5.0)) == ("60 in", "US 8 (5 mm)")
    assert units.needle(4.0, "4mm") == "4 mm"
    assert units.gauge(Gauge(20 / 10.16)) == "20 st/4in"
    again = FactChanges(**parse_changes({"needle": "5mm"})).applied_to(facts)
    assert fact_text(again, "needle") == "5mm"  # what was typed before says nothing any more
    assert fact_text(again, "repeat-length") == "1,67 yd"


def test_who_gave_no_inches_gets_none() -> None:
    facts = make_facts(**parse_facts({"stitches": "128", "repeat-length": "152cm"}))
    assert units_of(facts) == Units("metric", "mm")
    assert fact_text(facts, "repeat-length") == "152cm"
    assert fact_text(make_facts(stitches=9, repeat_length_mm=1520), "repeat-length") == "1520mm"


def test_every_fact_is_shown_set_corrected_and_forgotten(journal: JournalFile) -> None:
    """Name, story, count and needle as begun, colours and flat work among them."""
    answers = {
        "name": "Hut cowl", "about": "Another story.", "stitches": "96",
        "colours": "rose 30cm #cc6677, teal 45cm #117733, and back", "repeats": "2",
        "repeat-length": "60in", "needle": "US 7", "gauge": "20 st 28 rows/4in", "rounds": "40",
        "tolerance": "4", "multiple": "8+1", "flat": "yes", "target-drift": "-0.5",
        "home": "1=31, 2=92", "needles-owned": "4mm; US 8", "yarn-thickness": "2.2mm",
        "max-size-change": "5%", "fibre": "wool", "pattern": "ribbing",
        "minutes": "needle=6, round-out=1", "pattern-rounds": "4", "hand-range": "2.5%",
        "count-changes": "2",
    }  # fmt: skip
    assert answers.keys() == set(FACT_KEYS)
    state = change_facts(journal, **parse_changes(answers))
    shown = {fact.key: fact_text(state.facts, fact.key) for fact in FACTS}
    # a length told beside the colours comes first, and colours are written in millimetres
    assert shown.pop("colours") == "rose 300mm #cc6677, teal 450mm #117733, and back"
    told = {key: text for key, text in answers.items() if key != "colours"}
    assert (state.name, state.about) == (told.pop("name"), told.pop("about"))
    assert shown == told
    assert (state.facts.multiple, state.facts.multiple_over) == (8, 1)
    assert JournalFile.open(journal.path).state.facts == state.facts
    clearable = [fact.key for fact in FACTS if fact.clearable]
    state = change_facts(journal, **parse_changes(dict.fromkeys(clearable, "")))
    shown = {fact.key: fact_text(state.facts, fact.key) for fact in FACTS}
    assert {shown[key] for key in clearable} == {""}
    assert (shown["stitches"], shown["flat"]) == ("96", "yes")
    assert change_facts(journal, **parse_changes({"flat": "no"})).facts.flat is False


def test_a_multiple_told_anew_is_told_whole(journal: JournalFile) -> None:
    change_facts(journal, **parse_changes({"multiple": "8+1"}))
    state = change_facts(journal, **parse_changes({"multiple": "4"}))
    assert fact_text(state.facts, "multiple") == "4"


@pytest.mark.parametrize("key", ["stitches", "tolerance", "flat"])
def test_what_must_be_told_cannot_be_forgotten(key: str) -> None:
    with pytest.raises(JournalError, match=f"'{key}' must be told; type it as"):
        parse_changes({key: " "})


def test_a_run_nobody_could_type_has_no_line() -> None:
    odd = ColourPart(name="rose, faded", length_mm=300.0, colour="#cc6677")
    facts = make_facts(stitches=96, colours=(odd,))
    assert fact_text(facts, "colours") == ""
