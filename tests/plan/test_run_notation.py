"""The colour run as typed and as measured."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.colour_checks import Finding, check_colour_run
from knitlog.plan.run_notation import (
    PALETTE,
    TapeMark,
    format_colour_run,
    parse_colour_run,
    run_from_marks,
    unnamed_colours,
)
from knitlog.report.plan_words import finding_words
from knitlog.typed.text import TypedError
from knitlog.yarn import YarnError
from knitlog.yarn.colours import ColourRun, ColourSegment, parse_colour


def test_a_run_is_read() -> None:
    run = parse_colour_run("rose 30cm, moss 45 cm #117733, snow drift 20cm")
    assert [s.name for s in run.segments] == ["rose", "moss", "snow drift"]
    assert [s.length_mm for s in run.segments] == [300, 450, 200]
    assert run.segments[1].colour == "#117733"
    assert not run.palindrome
    assert run.repeat_length_mm == 950


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("rose 12in; moss 1/2 yd", [304.8, 457.2]),
        ('rose 12"\nmoss 18"', [304.8, 457.2]),
        ("rose 30,5cm, moss 45cm", [305, 450]),
        ("rose 11 3/4 in, moss 1 in", [298.45, 25.4]),
        ("rose 2 30cm, moss 0.5m,", [300, 500]),
    ],
)
def test_lengths_are_read_in_every_unit(text: str, lengths: list[float]) -> None:
    assert [s.length_mm for s in parse_colour_run(text).segments] == pytest.approx(lengths)


def test_a_run_that_comes_back() -> None:
    run = parse_colour_run("rose 30cm, moss 45cm, snow 20cm, and back")
    assert run.palindrome
    # 300 + 450 + 200 + 450
    assert run.repeat_length_mm == 1400


def test_colours_without_a_value_get_one() -> None:
    run = parse_colour_run("teal 30cm, ferry 10cm, lamp 10cm, ferry 5cm")
    teal, ferry, lamp, again = (s.colour for s in run.segments)
    # teal is a CSS colour name; the others take the palette's in turn, the same name the same
    assert teal == "#008080"
    assert (ferry, lamp) == PALETTE[:2]
    assert again == ferry


def test_a_palette_colour_already_taken_is_passed_over() -> None:
    run = parse_colour_run(f"fog 10cm {PALETTE[0]}, bark 10cm")
    assert run.segments[1].colour == PALETTE[1]


def test_more_colours_than_the_palette_still_get_one() -> None:
    run = parse_colour_run(", ".join(f"shade{i} 10cm" for i in "abcdefghijkl"))
    assert len({s.colour for s in run.segments}) == len(PALETTE)


@pytest.mark.parametrize(
    ("text", "error", "says"),
    [
        ("", PlanError, "at least one colour"),
        ("and back", PlanError, "at least one colour"),
        ("rose", PlanError, "'rose' is not a colour with its length"),
        ("30cm", PlanError, "type the name"),
        ("rose30cm", PlanError, "type the name"),
        ("rose 30", PlanError, "length with its unit|name, then the length"),
        ("rose 30km", TypedError, "'km'"),
        ("rose 0cm", TypedError, "above zero"),
        ("rose 30cm #12", YarnError, "not a colour"),
    ],
)
def test_a_wrong_run_is_refused_in_one_sentence(text: str, error: type, says: str) -> None:
    with pytest.raises(error, match=says):
        parse_colour_run(text)


def test_a_run_read_off_a_tape() -> None:
    # a tape laid from the first colour on: rose to 30, moss to 75, snow to 95
    run = run_from_marks(
        [TapeMark("rose", 300), TapeMark("moss", 750, "#117733"), TapeMark("snow", 950)]
    )
    assert [s.length_mm for s in run.segments] == [300, 450, 200]
    assert run.segments[1].colour == "#117733"


def test_a_tape_must_run_on() -> None:
    with pytest.raises(PlanError, match="read the tape again"):
        run_from_marks([TapeMark("rose", 320), TapeMark("moss", 320)])
    with pytest.raises(PlanError, match="at least one colour"):
        run_from_marks([])


names = st.from_regex(r"[a-z]{2,8}( [a-z]{2,5})?", fullmatch=True).filter(
    lambda name: name != "and back"
)
runs = st.builds(
    lambda parts, palindrome: ColourRun(
        tuple(ColourSegment(name, mm, f"#{colour:06x}") for name, mm, colour in parts), palindrome
    ),
    st.lists(
        st.tuples(names, st.integers(2, 9000), st.integers(0, 0xFFFFFF)), min_size=1, max_size=8
    ),
    st.booleans(),
)


@given(runs)
def test_a_run_shown_reads_back(run: ColourRun) -> None:
    assert parse_colour_run(format_colour_run(run)) == run


def test_what_a_colour_looks_like_may_stand_behind_its_length() -> None:
    run = parse_colour_run("ember 30cm brick, ash 45cm #a7a9ac, dusk 1/2 in dark teal")
    # brick as in the xkcd survey; dusk as its own words say
    assert [s.colour for s in run.segments[:2]] == ["#a03623", "#a7a9ac"]
    assert run.segments[2].length_mm == 12.7
    assert run.segments[2].colour == parse_colour("dark teal")
    with pytest.raises(YarnError, match="'hearth' is not a colour"):
        parse_colour_run("ember 30cm hearth")


def test_names_that_say_nothing_of_their_colour_are_asked_about() -> None:
    run = parse_colour_run("ember 30cm, rose 20cm, ash 45cm, ember 5cm, lake 10cm #3d4f7a")
    assert unnamed_colours(run) == ("ember", "ash")
    (found,) = check_colour_run(run)
    assert (found.finding, found.serious) == (Finding.UNNAMED_COLOURS, False)
    assert finding_words(found) == (
        "'ember' and 'ash' are drawn in stand-ins: what do they look like? Type it after the "
        "length, as ember 30cm brick, or as a value, ember 30cm #a03623."
    )
    # drawn in the palette's own colour, but by its name: nothing to ask
    assert unnamed_colours(parse_colour_run("rose 3cm, moss 4cm")) == ()
