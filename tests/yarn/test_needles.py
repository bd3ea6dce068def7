"""Needle sizes as typed and as shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.yarn.errors import YarnError
from knitlog.yarn.needles import NEEDLE_SIZES_MM, NEEDLE_TABLE, needle_label, parse_needle


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("4.5mm", 4.5),
        ("4.5 mm", 4.5),
        ("4.5", 4.5),
        ("4,5 mm", 4.5),
        ("4", 4.0),
        ("US 7", 4.5),
        ("us7", 4.5),
        ("US 10.5", 6.5),
        ("US 10½", 6.5),
        ("US 10 1/2", 6.5),
        ("UK 7", 4.5),
        ("UK 00", 9.0),
        ("JP 8", 4.5),
        ("jp 0", 2.1),
    ],
)
def test_a_size_is_read(text: str, mm: float) -> None:
    assert parse_needle(text) == mm


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "not a needle size"),
        ("thick", "not a needle size"),
        ("EU 4", "not a needle size"),
        ("0", "outside"),
        ("450", "outside"),
        ("US 12", "no US needle 12"),
        ("UK 15", "no UK needle 15"),
        ("JP 16", "JP 0 to JP 15"),
        ("JP 8.5", "JP 0 to JP 15"),
    ],
)
def test_a_wrong_size_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(YarnError, match=says):
        parse_needle(text)


@pytest.mark.parametrize("text", ["US 17", "US 19", "US 35", "US 36"])
def test_a_number_makers_dispute_asks_for_the_millimetres(text: str) -> None:
    with pytest.raises(YarnError, match="millimetres"):
        parse_needle(text)


def test_the_table_ascends_and_its_numbers_are_unique() -> None:
    assert list(NEEDLE_SIZES_MM) == sorted(set(NEEDLE_SIZES_MM))
    us = [size.us for size in NEEDLE_TABLE if size.us is not None]
    uk = [size.uk for size in NEEDLE_TABLE if size.uk is not None]
    assert len(us) == len(set(us))
    assert len(uk) == len(set(uk))


def test_every_number_in_the_table_reads_back() -> None:
    for size in NEEDLE_TABLE:
        if size.us is not None:
            assert parse_needle(f"US {size.us}") == size.mm
        if size.uk is not None:
            assert parse_needle(f"UK {size.uk}") == size.mm


@given(st.sampled_from(NEEDLE_SIZES_MM))
def test_a_label_reads_back_as_its_millimetres(mm: float) -> None:
    assert parse_needle(needle_label(mm)) == mm


def test_a_label_names_every_number_of_the_size() -> None:
    assert needle_label(4.5) == "4.5 mm (US 7, UK 7, JP 8)"
    assert needle_label(4.2) == "4.2 mm (JP 7)"
    assert needle_label(7.5) == "7.5 mm (UK 1)"
    assert needle_label(4.35) == "4.35 mm"
