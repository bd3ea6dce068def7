"""A round costs a number and Enter."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.typed.entry import Around, EntryError, read_entry

BELOW = {1: 37.0, 2: 90.0}
TWO = Around(128, below=BELOW)
"""Two colour changes, as logged in the round below."""
ONE = Around(128, below={1: 30.0}, expected={1: 48.0})
"""One colour change, known to fall near 48."""
FIRST = Around(128)


def read(text: str, where: Around = TWO) -> dict[int, float]:
    return read_entry(text, lambda _: where).places


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("37", {1: 37.0}),
        (" 37.5 ", {1: 37.5}),
        ("37½", {1: 37.5}),
        ("37 1/2", {1: 37.5}),
        (".5", {1: 0.5}),
        ("0", {1: 0.0}),
        ("128", {1: 128.0}),
        ("+2", {1: 39.0}),
        ("-1.5", {1: 35.5}),
        ("+1,5", {1: 38.5}),
        ("-1½", {1: 35.5}),
        ("−1", {1: 36.0}),
        ("=", {1: 37.0, 2: 90.0}),
        ("= =", {1: 37.0, 2: 90.0}),
        ("= +1", {1: 37.0, 2: 91.0}),
        ("38 91", {1: 38.0, 2: 91.0}),
        ("38, 91", {1: 38.0, 2: 91.0}),
        ("38;91", {1: 38.0, 2: 91.0}),
        ("+2 92.5", {1: 39.0, 2: 92.5}),
        ("-40", {1: 125.0}),
        ("= +40", {1: 37.0, 2: 2.0}),
        # the comma of a half, and the comma between two
        ("37,5", {1: 37.5}),
        ("38,91", {1: 38.0, 2: 91.0}),
        ("38,5 91,5", {1: 38.5, 2: 91.5}),
        ("38.5,91", {1: 38.5, 2: 91.0}),
        ("38,91,12", {1: 38.0, 2: 91.0, 3: 12.0}),
        # the second alone
        ("2: 92", {2: 92.0}),
        ("2:92,5", {2: 92.5}),
        ("2: +2", {2: 92.0}),
        ("2 : =", {2: 90.0}),
        ("2: 92 1: 38", {1: 38.0, 2: 92.0}),
        ("2: 92 38", {1: 38.0, 2: 92.0}),
        ("92", {2: 92.0}),
        # in any order
        ("92 38", {1: 38.0, 2: 92.0}),
        ("91,5; 38", {1: 38.0, 2: 91.5}),
    ],
)
def test_what_is_typed_is_what_is_meant(text: str, meant: dict[int, float]) -> None:
    assert read(text) == meant


@pytest.mark.parametrize(
    ("text", "places", "number"),
    [
        ("41 @5", {1: 41.0}, 5),
        ("@5 41", {1: 41.0}, 5),
        ("41@5", {1: 41.0}, 5),
        ("+2 2: 92 @ 12", {1: 39.0, 2: 92.0}, 12),
        ("= @9", BELOW, 9),
    ],
)
def test_a_round_further_on_is_named(text: str, places: dict[int, float], number: int) -> None:
    asked: list[int | None] = []

    def around(of: int | None) -> Around:
        asked.append(of)
        return TWO

    entry = read_entry(text, around)
    assert (entry.places, entry.round) == (places, number)
    assert asked == [number]


def test_half_a_stitch_is_plain_where_the_change_is_known_to_fall_near() -> None:
    assert read("48,5", ONE) == {1: 48.5}
    assert read("48,5", Around(128, expected={1: 48.0, 2: 100.0})) == {1: 48.5}
    with pytest.raises(EntryError, match="could be one number or two"):
        read("48,5", FIRST)
    # near one place, and near two: nobody can say which
    with pytest.raises(EntryError, match=r"type 4.5 for part of a stitch, or 4 5 for two"):
        read("4,5", Around(128, expected={1: 4.0, 2: 6.0}))


def test_a_reading_is_taken_for_the_other_change_only_where_that_is_plain() -> None:
    where = Around(128, below={1: 31.0, 2: 92.0})
    assert read("85", where) == {2: 85.0}
    assert read("40", where) == {1: 40.0}
    with pytest.raises(EntryError, match=r"Which colour change is '70'\? Type 1: 70 or 2: 70\."):
        read("70", where)
    # round the end of the round: 3 is near 126, worked flat it is near 31
    wraps = {1: 31.0, 2: 126.0}
    assert read("3", Around(128, below=wraps)) == {2: 3.0}
    assert read("3", Around(128, below=wraps, flat=True)) == {1: 3.0}


def test_what_is_expected_comes_before_where_it_was() -> None:
    moved = Around(128, below={1: 31.0, 2: 92.0}, expected={1: 85.0, 2: 20.0})
    assert read("86 21", moved) == {1: 86.0, 2: 21.0}
    assert read("+1", moved) == {1: 32.0}  # but is measured from the round below


def test_in_line_needs_only_one_mark_for_one_change() -> None:
    assert read("=", Around(128, below={1: 5.0})) == {1: 5.0}
    assert read("=", Around(128, below={2: 5.0})) == {2: 5.0}


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Type where the colour fell, such as 37, or = if it is in line."),
        ("@5", "Type where the colour fell, such as 41 @5, or = if it is in line."),
        ("41 @0", "'41 @0' names no round from 1 to 100,000; type it once, as 41 @5."),
        ("41 @", "'41 @' names no round from 1 to 100,000; type it once, as 41 @5."),
        ("41 @5 @6", "'41 @5 @6' names no round from 1 to 100,000; type it once, as 41 @5."),
        ("129", "Stitch 129 is beyond the round, which has 128; type a position from 0 to 128."),
        ("129,5",
         "Stitch 129.5 is beyond the round, which has 128; type a position from 0 to 128."),
        ("37,52", "'37,52' could be one number or two; type 37.52 for part of a stitch, or 37 52 "
         "for two colour changes."),
        ("e", "'e' is not a stitch; type a position such as 37, +2 or -1.5 against the round "
         "below, or = if it is in line."),
        ("1 2 +3", "There is no round below with a colour change 3 to measure '+3' from; "
         "type the stitch itself, such as 37."),
        ("1 " * 25, "That is more than 24 colour changes for one round."),
        ("2: 3 2: 4", "'2: 3 2: 4' has a colour change twice; type each once, as 1: 31 2: 92."),
        ("25: 3", "There is no colour change 25; number them from 1 to 24, as 2: 92."),
    ],
)  # fmt: skip
def test_anything_else_is_answered_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(EntryError) as raised:
        read(text)
    assert str(raised.value) == sentence


@pytest.mark.parametrize(
    "text",
    ["nan", "inf", "1e2", "0x10", "1_0", "--2", "+", "=2", "٣", "37 left", "\x1b[31m",
     "9" * 99, "1/0", "2:", ":2", "37 :"],
)  # fmt: skip
def test_near_numbers_are_no_numbers(text: str) -> None:
    with pytest.raises(EntryError) as raised:
        read(text)
    assert str(raised.value).isprintable()


def test_the_first_round_has_nothing_to_measure_from() -> None:
    with pytest.raises(EntryError, match="no round below to measure '='"):
        read("=", FIRST)


def test_rows_worked_flat_do_not_wrap() -> None:
    flat = Around(128, below=BELOW, flat=True)
    assert read("-37", flat) == {1: 0.0}
    with pytest.raises(EntryError, match="runs off the edge of the row"):
        read("-38", flat)


@given(
    st.one_of(st.text(max_size=30), st.text("0123456789 ,.;:@+-=/½", max_size=14)),
    st.sampled_from((TWO, ONE, FIRST)),
)
@settings(derandomize=True, deadline=None, max_examples=400)
def test_no_text_is_answered_with_anything_but_a_position_or_a_sentence(
    text: str, where: Around
) -> None:
    try:
        answer = read(text, where)
    except EntryError as error:
        said, answer = str(error), {}
    else:
        said = "read"
        assert answer
    assert said.isprintable()
    assert all(0 <= stitch <= 128 for stitch in answer.values())
    assert all(1 <= change <= 24 for change in answer)


@given(st.permutations([31.0, 74.5, 118.0]), st.floats(-6, 6))
@settings(derandomize=True, deadline=None)
def test_order_does_not_matter(places: list[float], slid: float) -> None:
    where = Around(128, below={1: 31.0, 2: 74.5, 3: 118.0})
    typed = " ".join(f"{place + slid:.2f}" for place in places)
    assert list(read(typed, where).values()) == pytest.approx(
        [31 + slid, 74.5 + slid, 118 + slid], abs=0.006
    )


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
    there = read(f"{half_steps / 2:+}", Around(stitches, below={1: begun}))
    back = read(f"{-half_steps / 2:+}", Around(stitches, below=there))
    assert (back[1] - begun) % stitches == 0
