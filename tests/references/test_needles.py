"""The needle table against the printed conversion tables.

Source: needle conversion tables as printed on labels and by the Craft Yarn Council.
Only lines on which the tables agree are pinned; where they differ (2.25, 2.5, 3.0 mm,
US 17, 19, 35, 36) no single value is asserted.
"""

import pytest

from knitlog.typed.measures import parse_needle
from knitlog.typed.text import TypedError
from knitlog.yarn.needle_sizes import JAPANESE_SIZES_MM, needle_label

AGREED = [
    # mm, US, old UK
    (2.0, "0", "14"),
    (2.75, "2", "12"),
    (3.25, "3", "10"),
    (3.5, "4", None),
    (3.75, "5", "9"),
    (4.0, "6", "8"),
    (4.5, "7", "7"),
    (5.0, "8", "6"),
    (5.5, "9", "5"),
    (6.0, "10", "4"),
    (6.5, "10.5", "3"),
    (7.0, None, "2"),
    (7.5, None, "1"),
    (8.0, "11", "0"),
    (9.0, "13", "00"),
    (10.0, "15", "000"),
]


@pytest.mark.parametrize(("mm", "us", "uk"), AGREED)
def test_us_and_uk_numbers(mm: float, us: str | None, uk: str | None) -> None:
    label = needle_label(mm)
    if us is not None:
        assert parse_needle(f"US {us}") == mm
        assert f"US {us}" in label
    if uk is not None:
        assert parse_needle(f"UK {uk}") == mm
        assert f"UK {uk}" in label


@pytest.mark.parametrize(
    ("label", "sizes"),
    # the tables give both: either is right, a third is not
    [("US 1", {2.25, 2.5}), ("US 0", {2.0, 2.25}), ("US 1.5", {2.5}), ("US 2.5", {3.0})],
)
def test_a_disputed_small_number_is_one_of_the_printed_sizes(label: str, sizes: set[float]) -> None:
    assert parse_needle(label) in sizes


@pytest.mark.parametrize("label", ["US 17", "US 19", "US 35", "US 36"])
def test_a_disputed_large_number_is_not_guessed(label: str) -> None:
    with pytest.raises(TypedError, match="depending on the maker"):
        parse_needle(label)


def test_japanese_numbers() -> None:
    # printed tables: mm = 2.1 + 0.3 n for n = 0 to 15, so JP 0 is 2.1 and JP 15 is 6.6
    assert len(JAPANESE_SIZES_MM) == 16
    assert JAPANESE_SIZES_MM[0] == 2.1
    assert JAPANESE_SIZES_MM[15] == 6.6
    for n, mm in enumerate(JAPANESE_SIZES_MM):
        assert mm == pytest.approx(2.1 + 0.3 * n)
        assert parse_needle(f"JP {n}") == mm
