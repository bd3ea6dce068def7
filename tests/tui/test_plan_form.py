"""What is typed into the planning forms, read."""

import pytest

from knitlog.plan.normal import ratio_estimate
from knitlog.tui.plan_answers import (
    YarnWays,
    find_yarn,
    multiple,
    past_yarns,
    pulled_out,
    repeats,
    skein,
    wanted_drift,
)
from knitlog.tui.plan_form import ASKED, plan_asked, read_form

TYPED = {
    "run": "rose 30cm, moss 45cm, snow 77cm",
    "pulled": "40 = 58.6cm, 58cm",
    "needle": "US 4",
    "owned": "3.25mm, 3.75mm",
    "size": "21in",
    "multiple": "8 + 1",
    "repeats": "1, 2",
    "look": "spiral -2",
    "rounds": "60",
    "worked": "flat",
}


def test_the_form_becomes_one_question() -> None:
    asked = plan_asked(read_form(TYPED), TYPED["size"])
    question = asked.question
    assert question.repeat_length_mm == pytest.approx(1520.0)
    # (586 + 580) / 2 / 40 mm
    assert question.yarn_per_stitch.mean == pytest.approx(14.575, rel=1e-3)
    # US 4 is 3.5 mm (needle conversion tables); 21 in = 533.4 mm (exact, 1959)
    assert (question.needle_mm, question.wanted_size_mm) == (3.5, pytest.approx(533.4))
    assert (question.multiple, question.extra, question.repeats) == (8, 1, (1.0, 2.0))
    assert (question.wanted_drift, question.tolerance) == (-2.0, 3.0)
    assert (asked.rounds, asked.flat, asked.system) == (60, True, "imperial")


@pytest.mark.parametrize(
    ("without", "sentence"),
    [
        ("run", "colours along one repeat"),
        ("pulled", "Type a gauge"),
        ("needle", "Type the needle"),
    ],
)
def test_what_is_missing_is_asked_for(without: str, sentence: str) -> None:
    typed = {name: text for name, text in TYPED.items() if name != without}
    with pytest.raises(ValueError, match=sentence):
        plan_asked(read_form(typed))


def test_nonsense_counts_as_not_typed() -> None:
    told = read_form({**TYPED, "gauge": "tight", "rounds": "many"})
    assert told["gauge"] is None
    assert told["rounds"] is None


def test_all_four_ways_count() -> None:
    ways = YarnWays(None, (40, [820.0]), (74.0,), (20.4, 20.6))
    found = find_yarn(ways, 1520.0)
    assert [way for way, _ in found.shares] == ["pulled out", "tags", "past projects"]
    assert sum(share for _, share in found.shares) == pytest.approx(1.0)
    # 820 / 40 = 20.5, 1520 / 74 = 20.54, 20.5
    assert found.estimate.mean == pytest.approx(20.5, abs=0.05)


def test_mine_needs_a_finished_project() -> None:
    told = read_form({**TYPED, "past": "Mine"})
    with pytest.raises(ValueError, match="No finished project"):
        plan_asked(told)
    found = plan_asked(told, mine=ratio_estimate(14.6, 0.03)).yarn
    assert [way for way, _ in found.shares] == ["pulled out", "your hands"]


def test_tags_need_a_repeat() -> None:
    with pytest.raises(ValueError, match="Describe the colours first"):
        find_yarn(YarnWays(between_tags=(74.0,)), None)


@pytest.mark.parametrize(
    ("read", "text", "sentence"),
    [
        (pulled_out, "40", "such as 40 = 82cm"),
        (pulled_out, "x = 82cm", "stitches pulled out as a number"),
        (pulled_out, "40 = 82", "unit"),
        (multiple, "0", "multiple as 4"),
        (multiple, "8 + x", "multiple as 4"),
        (repeats, "0", "repeats a round"),
        (repeats, "", "repeats a round"),
        (wanted_drift, "spiral", "stacked"),
        (skein, "400m", "400m/100g"),
        (past_yarns, "20", "unit"),
    ],
)
def test_what_cannot_be_read_is_told(read: object, text: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        read(text)  # type: ignore[operator]


def test_every_question_reads_its_own_example_and_value() -> None:
    for asked in ASKED:
        if asked.value:
            assert asked.read(asked.value) is not None, asked.id
        assert asked.about
