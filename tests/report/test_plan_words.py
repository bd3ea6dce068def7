"""What the planning found, in words: by hand, and read aloud."""

import pytest

from knitlog.drift.fit_result import Estimate
from knitlog.plan.cast_on import check_cast_on
from knitlog.plan.colour_checks import check_colour_run
from knitlog.plan.joining import plan_join
from knitlog.plan.normal import normal_estimate
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_count import StitchCountQuestion, candidate_for, find_stitch_counts
from knitlog.plan.stitch_yarn import combine
from knitlog.plan.yarn_enough import rounds_left_by_length
from knitlog.report.plan_words import (
    as_known,
    candidate_row,
    candidate_words,
    cast_on_words,
    contingency_words,
    disagreement_words,
    enough_words,
    finding_words,
    join_words,
    nothing_fits_words,
    run_words,
    skein_words,
    yarn_words,
)
from knitlog.typed.measures import Units
from knitlog.yarn.gauge import Gauge

RUN = parse_colour_run("rose 30cm #cc6677, moss 45cm #117733, snow 25cm #f4f4f8")


def question(**changes: object) -> StitchCountQuestion:
    usual: dict[str, object] = {
        "yarn_per_stitch": normal_estimate(24.0, 0.24),
        "repeat_length_mm": 1524.0,
        "needle_mm": 5.0,
        "gauge": Gauge(1.7),
        "yarn_thickness_mm": 2.639,
    }
    return StitchCountQuestion(**{**usual, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "sd", "told"),
    [
        (20.387, 0.62, "20.4"),
        (20.387, 0.031, "20.39"),
        (1487.2, 40.0, "1490"),
        (20.387, 3.0, "20"),
        (98.6, 12.0, "100"),
        (12.0, 0.0, "12"),
    ],
)
def test_no_digit_beyond_the_first_of_the_spread(value: float, sd: float, told: str) -> None:
    assert as_known(value, sd) == told


def test_a_cast_on_in_words() -> None:
    # 8 / 128 = 6.25 %, 4 / 128 = 3.1 %, 20 / 128 = 15.6 %
    assert cast_on_words(check_cast_on(8, 128)) == (
        "The colours come back 8 stitches past the last one: cast on again 6 % looser."
    )
    assert cast_on_words(check_cast_on(-4, 128)).endswith(
        "4 stitches short of the last one: cast on again 3 % tighter."
    )
    assert cast_on_words(check_cast_on(1, 128)) == (
        "The colours come back 1 stitch past the last one, within the 3 you allow: knit on."
    )
    assert "exactly at the last stitch" in cast_on_words(check_cast_on(0, 128))
    assert "16 % looser is more than a hand can do" in cast_on_words(check_cast_on(20, 128))
    # worked out from yarn left: no more digits than a stitch can be counted to
    assert "2.1 stitches past" in cast_on_words(check_cast_on(40 * 76 / 1480, 76))


def test_a_join_in_words() -> None:
    # let go at 650, 350 into moss; the new begins at 100: 550 on, less a tail of 150
    assert join_words(plan_join(RUN, 800, 100)) == (
        "Cut 40 cm off the new skein, leave a tail of 15 cm on both, and join 35 cm into 'moss'."
    )
    assert join_words(plan_join(RUN, 800, 500)).startswith("Cut nothing off the new skein, leave")
    folded = parse_colour_run("rose 30cm, moss 45cm, snow 25cm, and back")
    other = join_words(plan_join(folded, 800, 600, new_other_end_mm=1300))
    assert other.startswith("Wind the new skein from its other end")
    inches = join_words(plan_join(RUN, 800, 100), "imperial")
    assert inches.startswith("Cut 16 in off the new skein, leave a tail of 6 in on both")


def test_what_to_do_if_it_does_not_stack() -> None:
    asked = question(multiple=4, other_needles_mm=(4.5, 5.5))
    words = contingency_words(candidate_for(asked, 128, 2, 5.0).contingency)
    # 128 / 1.06545 - 128 = -7.86; down: 128 x 7.639/7.139 - 128 = 8.96
    assert words == (
        "If by round 5 the colours have moved more than 3 stitches, add 4 stitches for every 4 a "
        "round they moved past, or take 4 off for as many short; a 5.5 mm needle would take about "
        "8 a round off and a 4.5 mm needle would put about 9 on; below 2 a round, even them out "
        "with a tapestry needle."
    )
    plain = contingency_words(candidate_for(question(), 127, 2, 5.0).contingency)
    assert "share the move out over 4 rounds and add that many stitches" in plain
    assert "tapestry" not in plain


def test_one_stitch_count_as_a_row_and_a_sentence() -> None:
    found = candidate_for(question(), 127, 2, 5.0)
    # 127 stitches at 1.7 a cm: 74.7 cm; the drift's spread is 1 % of 127: 1.27, 95 % of it 2.5
    assert candidate_row(found)[:5] == ("127", "2", "5 mm", "0 ± 2", "75 cm")
    assert candidate_row(found, "imperial")[4] == "29.5 in"
    assert candidate_words(found) == (
        "127 stitches, 2 repeats a round on 5 mm: 75 cm around, drift 0 ± 2 a round, "
        "19 times in 20."
    )
    assert "2 repeats a row on 5 mm: 75 cm wide" in candidate_words(found, flat=True)
    surer = candidate_for(question(yarn_per_stitch=normal_estimate(24.0, 0.06)), 126, 2, 5.0)
    assert candidate_row(surer)[3] == "+1 ± 0.6"


def test_where_no_size_fits_the_nearest_is_named_in_her_units() -> None:
    asked = question(wanted_size_mm=550.0)
    found = find_stitch_counts(asked)
    # 64 stitches at 1.7 a cm are 37.6 cm
    words = nothing_fits_words(asked, found)
    assert words.startswith("No stitch count makes 55 cm with whole repeats: the nearest size")
    assert "about 38 cm" in words
    assert "about 15 in" in nothing_fits_words(asked, found, "imperial")
    fitting = question(wanted_size_mm=750.0)
    assert nothing_fits_words(fitting, find_stitch_counts(fitting)) == ""


def test_yarn_and_how_the_ways_agree() -> None:
    agreed = combine([normal_estimate(12.0, 0.3), normal_estimate(12.3, 0.4)])
    # 12.108 give or take 0.24: 64 and 36 % by their precisions
    words = yarn_words(agreed, ("gauge", "tags"))
    assert words.startswith("A stitch takes 12.1 mm (between 11.6 and 12.6, 19 times in 20): ")
    assert words.endswith("gauge 64%, tags 36%.")
    assert disagreement_words(agreed) is None
    apart = combine([normal_estimate(11.0, 0.2), normal_estimate(13.0, 0.2)])
    assert disagreement_words(apart) == (
        "The ways disagree, from 11 to 13 mm a stitch: measure again the one you trust least."
    )
    assert yarn_words(apart, ("gauge", "tags")).endswith("you trust least.")


def test_yarn_enough_in_words() -> None:
    # 120 m at 1.2 m a round: 100, give or take 2
    found = rounds_left_by_length(120_000.0, 96, Estimate(12.5, 0.25, 12.0, 13.0))
    assert enough_words(found, 1) == [
        "Enough for about 100 rounds; 96 for sure.",
        "A round takes 120 cm.",
        "It lasts 1 round with a chance of 99 %.",  # nothing is quite sure
    ]
    assert skein_words(1, 1200.0, 0.0) == [
        "1 skein, with a chance of 95 % or better; a round takes 120 cm."
    ]
    assert "wastes about 76 cm" in skein_words(2, 1200.0, 760.0)[1]


def test_findings_about_a_run() -> None:
    def said(run: str, reel_mm: float | None = None) -> list[str]:
        return [finding_words(f) for f in check_colour_run(parse_colour_run(run), reel_mm)]

    assert said("rose 50cm, moss 50cm", 1000.0) == [
        "The colours add up to 100 cm and the reel turns 100 cm: that agrees."
    ]
    assert "two repeats" in said("rose 50cm, moss 50cm", 2000.0)[0]
    assert "that is twice" in said("rose 50cm, moss 50cm", 500.0)[0]
    assert "cannot be longer" in said("rose 50cm, moss 50cm", 800.0)[0]
    assert "may be missing" in said("rose 50cm, moss 50cm", 1300.0)[0]
    assert "'moss' comes twice running" in said("rose 1cm, moss 2cm, moss 3cm, snow 9cm")[0]
    twice = said("rose 10cm, moss 20cm, snow 5cm, rose 10cm, moss 30cm")
    assert twice == [
        "The change from rose to moss comes 2 times in a repeat: log another one, or always the "
        "same of them."
    ]
    assert run_words(RUN) == (
        "rose, moss, snow, 100 cm a repeat; log the change from rose to moss or moss to snow or "
        "snow to rose."
    )


def test_a_fixed_count_leaves_the_needles_and_they_are_called_as_she_calls_them() -> None:
    found = candidate_for(question(multiple=0), 127, 2, 5.0)
    words = contingency_words(found.contingency, Units(needles="US"))
    assert "US 7 (4.5 mm) needle would put" in words
    assert "add" not in words
    assert "tapestry" not in words
    assert "on US 8 (5 mm):" in candidate_words(found, units=Units(needles="US"))
