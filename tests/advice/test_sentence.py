import re

import pytest

from knitlog.advice import Remedy, advise
from knitlog.advice.sentence import due_again, rounds_until_back, tell_place, tell_slide

from .stand_in import ask, stand_in

JARGON = re.compile(
    r"posterior|prior|variance|standard deviation|sd\b|probab|distribution|gaussian|expected "
    r"value|sigma|[α-ωΑ-Ω]|simulat|\bnan\b|\binf\b",
    re.IGNORECASE,
)
CASES = [
    stand_in(drift=d, drift_sd=s, offset=o, rounds=r)
    for d, s, o, r in (
        (0.0, 0.1, 0.0, 12),
        (0.0, 0.1, 3.5, 12),
        (0.2, 0.2, -4.5, 15),
        (2.0, 0.3, 8.0, 6),
        (-2.0, 0.3, -8.0, 6),
        (1.0, 1.2, 2.0, 4),
        (9.0, 0.5, 9.0, 4),
        (6.0, 0.5, 24.0, 5),
        (1.0, 2.0, 1.0, 2),
    )
]


@pytest.mark.parametrize("fit", CASES)
@pytest.mark.parametrize("multiple", [1, 4, 0])
def test_everything_said_is_plain_words(fit, multiple: int) -> None:
    advice = advise(ask(fit, multiple=multiple, needles_owned_mm=(4.0, 4.5, 5.0)))
    said = [advice.why, advice.would_change, *advice.steps]
    said += [text for o in advice.options for text in (o.title, o.reason)]
    for sentence in said:
        assert sentence
        assert not JARGON.search(sentence), sentence
        assert sentence[0].isupper(), sentence
    # one sentence: one full stop, at its end (numbers have theirs inside)
    assert re.fullmatch(r"[^.]*(\.\d[^.]*)*[.?]", advice.why), advice.why


@pytest.mark.parametrize("drift", [-6.0, -3.0, 3.0, 4.0])
@pytest.mark.parametrize("multiple", [4, 8])
def test_the_slide_that_would_change_it_is_another_than_now(drift: float, multiple: int) -> None:
    fit = stand_in(drift=drift, drift_sd=0.5, offset=4.0 * drift, rounds=5)
    advice = advise(ask(fit, multiple=multiple, needles_owned_mm=(4.0, 4.5, 5.0)))
    told = re.search(r"nearer ([+-][0-9.]+) a round", advice.would_change)
    assert told is None or abs(float(told[1]) - drift) >= 0.1


def test_a_place_is_past_or_short() -> None:
    assert tell_place(4.0) == "4 stitches past their place"
    assert tell_place(-2.4) == "2.5 stitches short of their place"
    assert tell_place(0.3) == "in their place"


def test_a_slide_is_on_or_back() -> None:
    assert tell_slide(2.1, "round") == "slide 2.1 stitches on every round"
    assert tell_slide(-0.6, "row") == "slide 0.6 stitches back every row"
    assert tell_slide(0.05, "round") == "hardly slide"


def test_a_mended_place_comes_due_again_after_twice_the_tolerance() -> None:
    # 2 T / |d|
    assert due_again(1.0, 3.0) == 6
    assert due_again(-2.0, 3.0) == 3
    assert due_again(0.0, 3.0) is None


def test_a_turned_slide_has_them_back_after_so_many_rounds() -> None:
    # o + n d' = 0
    assert rounds_until_back(9.0, -9.0) == 1
    assert rounds_until_back(-9.0, 3.0) == 3
    assert rounds_until_back(9.0, 3.0) is None
    assert rounds_until_back(9.0, -0.1) is None


def test_waiting_says_which_result_leads_to_what() -> None:
    advice = advise(ask(stand_in(drift=1.0, drift_sd=1.2, offset=2.0, rounds=4)))
    assert advice.recommended.remedy is Remedy.KNIT_MORE_FIRST
    when = advice.recommended.details["decide_at_round"]
    assert advice.would_change.startswith(f"If the colours by round {when} are ")
    assert advice.would_change.count(";") >= 1
    assert advice.look_again_round == when


def test_a_change_of_mind_says_what_changed() -> None:
    situation = ask(stand_in(drift=0.0, drift_sd=0.1, offset=3.6), multiple=0)
    assert advise(situation).changed == ""
    same = advise(situation, previous=advise(situation).recommended.remedy)
    assert same.changed == ""
    other = advise(situation, previous=Remedy.CARRY_ON)
    assert other.changed.startswith("Before, the advice was 'carry on'; it changed because ")
    assert "3.5 stitches past" in other.changed


def test_the_two_kinds_of_remedy_are_told_apart() -> None:
    advice = advise(ask(stand_in(drift=1.0, drift_sd=0.1, offset=4.0)))
    for option in advice.options:
        if option.remedy in (Remedy.TAPESTRY, Remedy.RIP_BACK):
            assert option.reason == "Mends the place; the slide of +1.0 a round stays."
        if option.remedy is Remedy.CHANGE_STITCH_COUNT:
            assert option.reason.startswith("Brings the slide from +1.0 to ")


@pytest.mark.parametrize(("drift", "multiple"), [(1.0, 4), (-1.0, 4), (0.5, 0)])
def test_where_something_is_due_soon_the_title_says_what_and_when(
    drift: float, multiple: int
) -> None:
    # sliding, in place as yet, and another count would slide more: not yet, but soon
    advice = advise(ask(stand_in(drift=drift, offset=drift), multiple=multiple))
    assert advice.recommended.remedy is Remedy.CARRY_ON
    rounds = advice.look_again_round - 8
    assert advice.recommended.details["planned_at_round"] == advice.look_again_round
    said = re.fullmatch(r"Knit (\d) more rounds?, then (.*)", advice.recommended.title)
    assert said is not None
    assert int(said[1]) == rounds
    assert f"it will be time to {said[2]}" in advice.why
    assert f"Then {said[2]}, if the colours have gone on as before." in advice.steps


def test_left_to_stray_once_out_of_tolerance_is_said_beforehand() -> None:
    advice = advise(ask(stand_in(drift=2.0), multiple=0))
    assert advice.recommended.title == "Carry on"
    assert "and then out of place nearly every round" in advice.why
    assert "every remedy costs more work than it saves" in advice.why


def test_where_nothing_slides_nothing_is_planned() -> None:
    advice = advise(ask(stand_in(drift=0.0, drift_sd=0.1, offset=0.5)))
    assert advice.recommended.title == "Carry on"
    assert "planned_at_round" not in advice.recommended.details


def test_where_straying_is_cheapest_the_sentence_says_what_mending_would_cost() -> None:
    advice = advise(ask(stand_in(drift=9.0, offset=40.0), multiple=0))
    assert advice.recommended.remedy is Remedy.CARRY_ON
    rival = next(
        o
        for o in advice.options
        if o.remedy not in (Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST) and o.feasible
    )
    more = round(rival.expected_cost - advice.recommended.expected_cost)
    assert more >= 1
    assert "every remedy open to you costs more work than it saves" in advice.why
    assert f"by about {more} minutes" in advice.why
