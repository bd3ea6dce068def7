"""Needle sizes as typed and as shown."""

from hypothesis import given
from hypothesis import strategies as st

from knitlog.typed.measures import parse_needle
from knitlog.yarn.needle_sizes import NEEDLE_SIZES_MM, NEEDLE_TABLE, needle_label


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
