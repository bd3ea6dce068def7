"""Lengths, weights, needles, gauge and multiples as they are typed."""

import pytest

from knitlog.typed.measures import (
    Units,
    gauge_system,
    gauge_text,
    length_system,
    multiple_text,
    needle_system,
    parse_gauge,
    parse_length,
    parse_lengths,
    parse_multiple,
    parse_needle,
    parse_needles,
    parse_round,
    parse_skein,
    parse_stitches,
    parse_weight,
)
from knitlog.typed.text import TypedError
from knitlog.yarn.gauge import Gauge


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("152cm", 1520),
        ("152 cm", 1520),
        ("  1524mm ", 1524),
        ("1.5 m", 1500),
        ("1,5m", 1500),
        ("60in", 60 * 25.4),
        ('60"', 60 * 25.4),
        ("60”", 60 * 25.4),
        ("60 in.", 60 * 25.4),
        ("60 1/2 in", 60.5 * 25.4),
        ("1/2 in", 12.7),
        ("1.67yd", 1.67 * 914.4),
        ("2 yards", 2 * 914.4),
        ("5 ft", 1524),
        (".5 m", 500),
        ("12 MM", 12),
    ],
)
def test_a_length_is_read_with_its_unit(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("152", "no unit"),
        ("152 km", "'km'"),
        ("60 inX", "'inX'"),
        ("", "not a length"),
        ("cm", "not a length"),
        ("0 cm", "above zero"),
        ("-3 cm", "above zero"),
        ("1.2.3 cm", "not a number"),
        ("1,524mm", "two ways"),
        ("1/0 in", "divides by zero"),
        ("9" * 400 + "m", "more digits than any number"),
        ("9" * 15 + "m", "too large"),
        ("nan cm", "not a length"),
    ],
)
def test_a_wrong_length_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(TypedError, match=says) as caught:
        parse_length(text)
    assert "\n" not in str(caught.value)


def test_a_bare_number_is_told_the_units() -> None:
    with pytest.raises(TypedError, match="mm, cm, m, in or yd"):
        parse_length("60")


def test_a_weight_is_read_with_its_unit() -> None:
    assert parse_weight("100 g") == 100
    assert parse_weight("0.1kg") == 100
    # 16 oz to the pound of 453.59237 g
    assert parse_weight("3.5 oz") == pytest.approx(99.2233, abs=1e-4)
    with pytest.raises(TypedError, match="g, kg, oz or lb"):
        parse_weight("100")


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("4.5mm", 4.5),
        ("4.5 mm", 4.5),
        ("4,5 mm", 4.5),
        ("4mm", 4.0),
        ("US 7", 4.5),
        ("us7", 4.5),
        ("US 10.5", 6.5),
        ("US 10½", 6.5),
        ("US 10 1/2", 6.5),
        ("UK 7", 4.5),
        ("UK 00", 9.0),
        ("JP 8", 4.5),
        ("0.5mm", 0.5),
        ("40mm", 40.0),
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
        ("0", "is that US 0 or UK 0"),
        ("450mm", "outside"),
        ("US 35", "depending on the maker"),
        ("40.1mm", "outside 0.5 to 40 mm"),
        ("0.4mm", "outside 0.5 to 40 mm"),
        ("US 12", "no US needle '12'"),
        ("UK 15", "no UK needle '15'"),
        ("JP 16", "JP 0 to JP 15"),
        ("JP 8.5", "JP 0 to JP 15"),
    ],
)
def test_a_wrong_size_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(TypedError, match=says):
        parse_needle(text)


@pytest.mark.parametrize("text", ["US 17", "US 19", "US 35", "US 36"])
def test_a_number_makers_dispute_asks_for_the_millimetres(text: str) -> None:
    with pytest.raises(TypedError, match="millimetres"):
        parse_needle(text)


@pytest.mark.parametrize(
    ("text", "stitches_per_cm", "rounds_per_cm"),
    [
        ("20 st/10cm", 2.0, None),
        ("20 st/4in", 20 / 10.16, None),
        ('20 st/4"', 20 / 10.16, None),
        ("20st/10 cm", 2.0, None),
        ("20/10cm", 2.0, None),
        ("20 st 28 rows/10cm", 2.0, 2.8),
        ("20 stitches and 28 rounds over 10 cm", 2.0, 2.8),
        ("20 sts x 28 r = 10cm", 2.0, 2.8),
        ("5.5 st/in", 5.5 / 2.54, None),
        ("5 stitches per inch", 5 / 2.54, None),
        ("19,5 st/10cm", 1.95, None),
    ],
)
def test_a_gauge_is_read(text: str, stitches_per_cm: float, rounds_per_cm: float | None) -> None:
    gauge = parse_gauge(text)
    assert gauge.stitches_per_cm == pytest.approx(stitches_per_cm)
    if rounds_per_cm is None:
        assert gauge.rounds_per_cm is None
    else:
        assert gauge.rounds_per_cm == pytest.approx(rounds_per_cm)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("20 st", "not a gauge"),
        ("", "not a gauge"),
        ("20 st/10", "no unit"),
        ("20 st/10 kg", "not a unit of length"),
        ("0 st/10cm", "not a hand-knit gauge"),
        ("20 st/1mm", "not a hand-knit gauge"),
        ("20 st 0 rows/10cm", "not a hand-knit gauge"),
    ],
)
def test_a_wrong_gauge_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(TypedError, match=says):
        parse_gauge(text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("7", "'7' has no unit: is that 7 mm, US 7 or UK 7? Type 7mm or US 7."),
        ("4.5", "'4.5' has no unit: type 4.5mm."),
        ("4,5", "'4,5' has no unit: type 4.5mm."),
        ("13", "'13' has no unit: is that 13 mm, US 13 or UK 13? Type 13mm or US 13."),
        ("10½", "'10½' has no unit: is that 10.5 mm or US 10.5? Type 10.5mm or US 10.5."),
        ("000", "'000' has no unit: is that US 000 or UK 000? Type US 000 or UK 000."),
        ("9000", "'9000' is not a needle size: type it as 4.5mm, US 7, UK 7 or JP 8."),
    ],
)
def test_a_bare_needle_is_asked_about(text: str, sentence: str) -> None:
    with pytest.raises(TypedError) as raised:
        parse_needle(text)
    assert str(raised.value) == sentence


def test_a_bare_needle_is_millimetres_where_the_column_says_so() -> None:
    assert parse_needle("4,5", bare_mm=True) == 4.5
    assert parse_needles("4, 4.5mm, US 8", bare_mm=True) == (4.0, 4.5, 5.0)
    assert parse_needles("3,5", bare_mm=True) == (3.5,)
    with pytest.raises(TypedError, match="outside"):
        parse_needle("0", bare_mm=True)


def test_lists_of_measures() -> None:
    assert parse_lengths("82cm, 81,5cm; 1/2in") == [820.0, 815.0, 12.7]
    assert parse_needles("4,5mm; 5mm") == (4.5, 5.0)
    assert parse_needles("") == ()
    assert parse_skein("400m / 100g") == (400_000.0, 100.0)
    with pytest.raises(TypedError, match="400m/100g"):
        parse_skein("400m")


@pytest.mark.parametrize(
    ("text", "multiple"),
    [("8", (8, 0)), ("8+1", (8, 1)), (" 8 + 1 ", (8, 1)), ("fixed", (0, 0)), ("0", (0, 0))],
)
def test_a_multiple_is_read(text: str, multiple: tuple[int, int]) -> None:
    assert parse_multiple(text) == multiple
    assert parse_multiple(multiple_text(*multiple)) == multiple


@pytest.mark.parametrize("text", ["", "8+", "8+1+1", "-8", "8.5", "20000", "8 + -1", "rib"])
def test_no_multiple_is_answered_in_one_sentence(text: str) -> None:
    with pytest.raises(TypedError, match=r"as (8|fixed)"):
        parse_multiple(text)


def test_a_round_has_a_number_from_1() -> None:
    assert parse_round("12") == 12
    for text in ("0", "1000000000", "-1"):
        with pytest.raises(TypedError, match=r"The round cannot be .*; type from 1 to 100,000"):
            parse_round(text)


@pytest.mark.parametrize(
    ("text", "system"), [("60in", "imperial"), ("60 1/2 in", "imperial"), ("1.67yd", "imperial"),
                         ("152cm", "metric"), ("1,5 m", "metric")]
)  # fmt: skip
def test_the_units_she_measures_in(text: str, system: str) -> None:
    assert length_system(text) == system
    assert gauge_system(f"20 st/{text}") == system


def test_the_numbers_she_has_for_needles() -> None:
    assert [needle_system(t) for t in ("US 7", "uk7", "JP 8", "4.5mm")] == ["US", "UK", "JP", "mm"]


@pytest.mark.parametrize(
    ("stitches", "rounds", "text"),
    [
        (2.0, 2.8, "20 st 28 rows/10cm"),
        (20 / 10.16, None, "20 st/4in"),
        (20 / 10.16, 28 / 10.16, "20 st 28 rows/4in"),
        (1.23456, None, "1.23456 st/1cm"),  # as nobody counts: with all its digits
        (2.0, 1.23456, "2 st 1.23456 rows/1cm"),
        (None, None, ""),
    ],
)
def test_a_gauge_is_written_as_it_was_counted(
    stitches: float | None, rounds: float | None, text: str
) -> None:
    assert gauge_text(stitches, rounds) == text


def test_what_is_shown_is_in_what_she_measures_in() -> None:
    hers, abroad = Units("imperial", needles="US"), Units()
    assert (hers.length(1524), abroad.length(1524)) == ("60 in", "152.4 cm")
    gauge = Gauge(20 / 10.16)
    assert hers.gauge(gauge) == "20 st/4in"
    assert abroad.gauge(Gauge(2.0, 2.8)) == "20 st 28 rows/10cm"
    # the needle table: 4.5 mm is US 7 and old UK 7; 4.3 has no number
    assert (hers.needle(4.5), hers.needle(4.3)) == ("US 7 (4.5 mm)", "4.3 mm")
    assert (hers.needle(4.5, "4.5mm"), hers.needle(4.5, "UK 7")) == ("4.5 mm", "UK 7 (4.5 mm)")
    assert (abroad.needle(4.5), abroad.needle(4.5, "us 7")) == ("4.5 mm", "US 7 (4.5 mm)")


@pytest.mark.parametrize("text", ["2,5", "2.5 st", "2½ sts.", " 2 1/2 stitches "])
def test_stitches_may_be_called_so(text: str) -> None:
    assert parse_stitches(text) == 2.5
