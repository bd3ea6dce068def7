import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.advice import Remedy, advise
from knitlog.advice.fixes import fix_ways
from knitlog.advice.how_to import counted, fix_details, fix_steps, length, spacing

from .stand_in import ask, stand_in


@given(st.integers(20, 400), st.integers(-20, 20).filter(bool))
def test_the_round_comes_out_even(stitches: int, change: int) -> None:
    place = spacing(stitches, change)
    if stitches // abs(change) < 2:
        return
    used = place.plain + (2 if change < 0 else 0)
    # stitches used up, and stitches on the needle afterwards
    assert place.times * used + place.left == stitches
    made = place.times * (place.plain + 1) + place.left
    assert made == stitches + change
    assert 0 <= place.left < max(used, place.times) + place.times


def test_a_knitter_counts_in_words() -> None:
    assert counted(1, "stitch") == "1 stitch"
    assert counted(2.5, "stitch") == "2.5 stitches"
    assert counted(3, "round") == "3 rounds"


def test_a_tape_measure_shows_millimetres_and_then_centimetres() -> None:
    assert length(62.0) == "62 mm"
    assert length(152.4) == "15 cm"


@pytest.mark.parametrize(
    ("taken_out", "word", "yarn"), [(3.0, "looser", "back into"), (-3.0, "tighter", "out of")]
)
def test_a_late_colour_change_is_pulled_back_by_using_more_yarn(taken_out, word, yarn) -> None:
    situation = ask(stand_in(offset=taken_out))
    tapestry, rip = fix_ways(128, 15, situation.costs, situation.limits)
    details = fix_details(situation, tapestry, taken_out)
    assert details["tension"] == word
    # 3 stitches of 20 mm of yarn each, over 9 stitches: a third of a stitch
    assert details["yarn_mm"] == pytest.approx(60.0)
    assert details["over_stitches"] == 9
    assert details["share_of_stitch_percent"] == pytest.approx(33.3)
    # 9 stitches at 2 to the centimetre
    assert details["over_mm"] == pytest.approx(45.0)
    (step,) = fix_steps(situation, details)
    assert yarn in step
    details = fix_details(situation, rip, taken_out)
    assert details["over_stitches"] == 30
    assert f"10 % {word}" in fix_steps(situation, details)[0]


def test_a_count_change_says_where_to_work_it_and_what_it_does() -> None:
    advice = advise(ask(stand_in(drift=3.0, drift_sd=0.1, offset=3.0), multiple=1))
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    details = advice.recommended.details
    assert details["stitches"] == 128 + details["stitches_added"]
    assert details["every_stitches"] == 128 // abs(details["stitches_added"])
    text = " ".join(advice.steps)
    assert "spread evenly: knit " in text
    assert "make one" in text
    assert "wider" in text
    assert "away from the colour change" in text


def test_a_count_change_in_multiples_says_what_becomes_of_the_pattern() -> None:
    advice = advise(ask(stand_in(drift=-4.0, drift_sd=0.1, offset=-4.0), multiple=4))
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    text = " ".join(advice.steps)
    assert "The stitch pattern loses 1 repeat of 4" in text
    assert "knit two together" in text
    assert "narrower" in text


def test_flat_work_is_told_in_rows() -> None:
    advice = advise(ask(stand_in(drift=3.0, drift_sd=0.1, offset=3.0, flat=True)))
    text = " ".join((*advice.steps, advice.why))
    assert " row" in text
    assert "every round" not in text
