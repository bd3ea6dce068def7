"""A round costs a number and Enter."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal import EntryError, Position, parse_entry

BELOW = (Position(stitch=37.0), Position(stitch=90.0, change=2))


def read(text: str, stitches: int = 128, flat: bool = False) -> list[tuple[int, float]]:
    return [(p.change, p.stitch) for p in parse_entry(text, stitches, BELOW, flat=flat)]


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("37", [(1, 37.0)]),
        (" 37.5 ", [(1, 37.5)]),
        ("37½", [(1, 37.5)]),
        (".5", [(1, 0.5)]),
        ("0", [(1, 0.0)]),
        ("128", [(1, 128.0)]),
        ("+2", [(1, 39.0)]),
        ("-1.5", [(1, 35.5)]),
        ("−1", [(1, 36.0)]),
        ("=", [(1, 37.0), (2, 90.0)]),
        ("= =", [(1, 37.0), (2, 90.0)]),
        ("= +1", [(1, 37.0), (2, 91.0)]),
        ("38 91", [(1, 38.0), (2, 91.0)]),
        ("38, 91", [(1, 38.0), (2, 91.0)]),
        ("38;91", [(1, 38.0), (2, 91.0)]),
        ("+2 92.5", [(1, 39.0), (2, 92.5)]),
        ("-40", [(1, 125.0)]),
        ("= +40", [(1, 37.0), (2, 2.0)]),
    ],
)
def test_what_is_typed_is_what_is_meant(text: str, meant: list[tuple[int, float]]) -> None:
    assert read(text) == meant


def test_in_line_needs_only_one_mark_for_one_change() -> None:
    assert parse_entry("=", 128, (Position(stitch=5.0),)) == [Position(stitch=5.0)]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Type where the colour fell, such as 37, or = if it is in line."),
        ("129", "Stitch 129 is beyond the round, which has 128; type a position from 0 to 128."),
        (
            "37,5",
            "'37,5' could be one number or two; type 37.5 for half a stitch, or 37 5 for two "
            "colour changes.",
        ),
        (
            "e",
            "'e' is not a stitch; type a position such as 37, +2 or -1.5 against the round "
            "below, or = if it is in line.",
        ),
        (
            "1 2 +3",
            "There is no round below with a colour change 3 to measure '+3' from; "
            "type the stitch itself, such as 37.",
        ),
        ("1 " * 25, "That is more than 24 colour changes for one round."),
    ],
)
def test_anything_else_is_answered_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(EntryError) as raised:
        read(text)
    assert str(raised.value) == sentence


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "1e2", "0x10", "1_0", "--2", "+", "=2", "٣", "37 left", "\x1b[31m", "9" * 99],
)
def test_near_numbers_are_no_numbers(text: str) -> None:
    with pytest.raises(EntryError) as raised:
        read(text)
    assert str(raised.value).isprintable()


def test_the_first_round_has_nothing_to_measure_from() -> None:
    with pytest.raises(EntryError, match="no round below to measure '='"):
        parse_entry("=", 128)


def test_rows_worked_flat_do_not_wrap() -> None:
    assert read("-37", flat=True) == [(1, 0.0)]
    with pytest.raises(EntryError, match="runs off the edge of the row"):
        read("-38", flat=True)


@given(st.text(max_size=30))
@settings(derandomize=True, deadline=None)
def test_no_text_is_answered_with_anything_but_a_position_or_a_sentence(text: str) -> None:
    try:
        answer = [p.stitch for p in parse_entry(text, 128, BELOW)]
    except EntryError as error:
        answer = str(error)
    if isinstance(answer, str):
        assert answer.isprintable()
    else:
        assert all(0 <= stitch <= 128 for stitch in answer)


@given(
    st.integers(2, 10_000).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, 2 * n))),
    st.integers(-20_000, 20_000),
)
@settings(derandomize=True, deadline=None)
def test_a_move_and_its_opposite_end_where_they_began(
    place: tuple[int, int], half_steps: int
) -> None:
    stitches, half = place
    begun = half / 2
    there = parse_entry(f"{half_steps / 2:+}", stitches, (Position(stitch=begun),))
    back = parse_entry(f"{-half_steps / 2:+}", stitches, there)
    assert (back[0].stitch - begun) % stitches == 0
