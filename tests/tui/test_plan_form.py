"""What is typed into the planning forms, read."""

import pytest

from knitlog.plan.normal import ratio_estimate
from knitlog.tui.form import read_form
from knitlog.tui.plan_form import (
    ASKED,
    find_yarn,
    multiple,
    plan_asked,
    pulled_out,
    repeats,
    round_or_flat,
    wanted_drift,
)

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
    asked = plan_asked(TYPED)
    question = asked.question
    assert question.repeat_length_mm == pytest.approx(1520.0)
    # (586 + 580) / 2 / 40 mm
    assert question.yarn_per_stitch.mean == pytest.approx(14.575, rel=1e-3)
    # US 4 is 3.5 mm (needle conversion tables); 21 in = 533.4 mm (exact, 1959)
    assert [question.needle_mm, question.wanted_size_mm] == pytest.approx([3.5, 533.4])
    assert (question.multiple, question.extra, question.repeats) == (8, 1, (1.0, 2.0))
    assert (question.wanted_drift, question.tolerance) == (-2.0, 3.0)
    assert (asked.rounds, asked.flat, asked.units.lengths) == (60, True, "imperial")


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
        plan_asked(typed)


def test_nonsense_counts_as_not_typed() -> None:
    told = read_form(ASKED, {**TYPED, "gauge": "tight", "rounds": "many"})
    assert told["gauge"] is None
    assert told["rounds"] is None


def test_all_four_ways_count() -> None:
    typed = {"run": "152cm", "pulled": "40 = 82cm", "tags": "74", "past": "20.4mm, 20.6mm"}
    found = find_yarn(read_form(ASKED, typed))
    assert list(found) == ["pulled out", "tags", "past projects"]
    # 820 / 40 = 20.5, 1520 / 74 = 20.54, 20.5
    assert [way.mean for way in found.values()] == pytest.approx([20.5, 20.54, 20.5], abs=0.05)


def test_mine_needs_a_finished_project() -> None:
    typed = {**TYPED, "past": "Mine"}
    with pytest.raises(ValueError, match="No finished project"):
        plan_asked(typed)
    assert plan_asked(typed, mine=ratio_estimate(14.6, 0.03)).ways == ("pulled out", "your hands")


def test_what_she_typed_is_kept_and_answered_as_she_types() -> None:
    asked = plan_asked({**TYPED, "run": "60in", "gauge": "20 st/4in"})
    assert asked.given == {
        "repeat-length": "60in",
        "needle": "US 4",
        "gauge": "20 st/4in",
        "needles-owned": "3.25mm, 3.75mm",
    }
    assert asked.units.needle(3.5) == "US 4 (3.5 mm)"
    assert plan_asked(TYPED).given["needle"] == "US 4"
    assert "repeat-length" not in plan_asked(TYPED).given


@pytest.mark.parametrize(
    ("read", "text", "sentence"),
    [
        (pulled_out, "40", "such as 40 = 82cm"),
        (pulled_out, "x = 82cm", "stitches pulled out as a number"),
        (pulled_out, "40 = 82", "unit"),
        (multiple, "0", "type the multiple"),
        (multiple, "8 + x", "as 8"),
        (repeats, "0", "repeats a round"),
        (repeats, "", "repeats a round"),
        (wanted_drift, "spiral", "stacked"),
        (round_or_flat, "square", "round or flat"),
    ],
)
def test_what_cannot_be_read_is_told(read: object, text: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        read(text)  # type: ignore[operator]


def test_every_question_reads_its_own_example_and_value() -> None:
    for asked in ASKED:
        if asked.value:
            assert asked.read(asked.value) is not None, asked.key
        assert asked.about
