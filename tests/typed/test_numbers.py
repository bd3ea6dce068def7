"""Numbers and lists as they are typed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.typed.numbers import (
    format_number,
    parse_list,
    parse_number,
    parse_numbers,
    parse_percent,
    parse_whole,
    parse_yes_or_no,
)
from knitlog.typed.text import TypedError


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("37", 37), (" 37.5 ", 37.5), ("37,5", 37.5), ("37½", 37.5), ("½", 0.5),
        ("-1½", -1.5), ("10 1/4", 10.25), ("1/2", 0.5), (".5", 0.5), ("5.", 5), ("+2", 2),
        ("−1", -1), ("0,125", 0.125), ("1524,5", 1524.5), ("1000000000", 1e9),
    ],
)  # fmt: skip
def test_a_number_is_read(text: str, value: float) -> None:
    assert parse_number(text) == value


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "'' is not a number; type it as 37 or 37.5."),
        ("soon", "'soon' is not a number; type it as 37 or 37.5."),
        ("1e3", "'1e3' is not a number here; write it out, as 1000."),
        ("1,5E3", "'1,5E3' is not a number here; write it out, as 1500."),
        ("1e99", "'1e99' is not a number here; write it out, as 37 or 37.5."),
        ("1,524", "The comma in '1,524' can be read two ways; type 1524 or 1.524."),
        ("1/0", "'1/0' divides by zero; type the fraction as 1/2."),
        ("37.5½", "'37.5½' is not a number; type it as 37 or 37.5."),
    ],
)
def test_what_is_no_number_is_answered_in_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(TypedError) as raised:
        parse_number(text)
    assert str(raised.value) == sentence


@pytest.mark.parametrize(
    "text", ["nan", "inf", "0x10", "1_0", "--2", "+", ".", ",", "٣", "1,2,3", "1.2.3", "9" * 400]
)
def test_near_numbers_are_no_numbers(text: str) -> None:
    with pytest.raises(TypedError):
        parse_number(text)


@given(st.floats(-(10.0**8), 10.0**8).filter(lambda x: x == 0 or abs(x) > 1e-20))
@settings(derandomize=True)
def test_a_number_written_is_the_number_read(value: float) -> None:
    assert parse_number(format_number(value)) == value


@pytest.mark.parametrize(
    ("text", "items"),
    [
        ("74,5; 75", ["74,5", "75"]),
        ("74,5, 75", ["74,5", "75"]),
        ("4,5mm; 5mm", ["4,5mm", "5mm"]),
        ("4,5mm,5mm", ["4,5mm", "5mm"]),
        ("4,5mm", ["4,5mm"]),
        ("4mm, 4.5mm", ["4mm", "4.5mm"]),
        ("127,127.5", ["127", "127.5"]),
        ("1,2,3", ["1", "2", "3"]),
        ("1, 2", ["1", "2"]),
        ("US 7, US 8", ["US 7", "US 8"]),
        ("; ,", []),
        ("", []),
    ],
)
def test_a_list_is_parted_where_a_comma_cannot_be_a_decimal_one(
    text: str, items: list[str]
) -> None:
    assert parse_list(text) == items


def test_a_comma_that_could_be_either_is_asked_about() -> None:
    with pytest.raises(TypedError) as raised:
        parse_list("37,5")
    assert str(raised.value) == "'37,5' could be one number or two; type 37.5, or 37; 5."


@given(st.lists(st.floats(0, 1e6).map(lambda x: round(x, 2)), max_size=5))
@settings(derandomize=True)
def test_numbers_written_as_a_list_are_the_list_read(values: list[float]) -> None:
    # three decimals after a comma could be thousands, and are asked about
    typed = "; ".join(map(format_number, values))
    assert parse_numbers(typed) == values
    assert parse_numbers(typed.replace(".", ",") + ";") == values


def test_whole_numbers_keep_within_their_bounds() -> None:
    assert parse_whole("4.0") == 4
    with pytest.raises(TypedError, match=r"'4.5' is not a whole number; type it as 128"):
        parse_whole("4.5")
    with pytest.raises(TypedError) as raised:
        parse_whole("1000000000", "12", least=1, most=100_000, what="round")
    assert str(raised.value) == "The round cannot be '1000000000'; type from 1 to 100,000, as 12."
    with pytest.raises(TypedError, match="type 2 or more, as 128"):
        parse_whole("1", least=2)
    with pytest.raises(TypedError, match="type 9 or less, as 128"):
        parse_whole("10", most=9)


def test_shares_and_yes_and_no() -> None:
    assert parse_percent("2,5 %") == 2.5
    assert [parse_yes_or_no(t) for t in ("Yes", "n", "1", "OFF")] == [True, False, True, False]
    with pytest.raises(TypedError, match="type yes or no"):
        parse_yes_or_no("perhaps")
