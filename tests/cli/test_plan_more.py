"""The rest of planning from the command line, checked by hand arithmetic."""

import json
from typing import Any

import pytest

from knitlog.journal.library import Library

from .conftest import Knitlog

RUN = "rose 30cm, moss 45cm #117733, snow 77cm"
COUNT = ["count", "76", "--yarn-per-stitch", "20mm+-0.4mm", "--needle", "4.5mm"]


def told(knitlog: Knitlog, *arguments: str) -> dict[str, Any]:
    done = knitlog("plan", *arguments, "--json")
    assert (done.code, done.err) == (0, "")
    found: dict[str, Any] = json.loads(done.out)
    return found


def test_what_to_expect_of_one_stitch_count(knitlog: Knitlog) -> None:
    found = told(knitlog, *COUNT, "--colours", RUN, "--multiple", "4")
    # 1520 / 20 - 76 = 0, and 2 % of 76 is 1.52
    assert found["drift"]["mean"] == pytest.approx(0.0, abs=0.05)
    assert found["drift"]["sd"] == pytest.approx(1.52, rel=0.01)
    assert found["target_yarn_per_stitch_mm"] == pytest.approx(20.0)
    assert found["if_not"]["stitch_step"] == 4
    assert "76 stitches, 1 repeat a round" in knitlog("plan", *COUNT, "--colours", RUN).out


def test_a_plan_begins_a_project(knitlog: Knitlog, folder: Any) -> None:
    assert knitlog("yarn", "keep", "Hut sunset", RUN).code == 0
    found = told(knitlog, *COUNT, "--yarn", "sunset", "--begin", "Red hat", "--rounds", "60")
    assert found["begun"] == "red-hat"
    facts = Library(folder).open("red-hat").state.facts
    assert (facts.stitches, facts.planned_rounds, len(facts.colours)) == (76, 60, 3)


def test_skeins_to_buy(knitlog: Knitlog) -> None:
    # 120 rounds of 128 stitches at 20 mm are 307.2 m: one skein of 400 m, two of 200 m
    plan = ["skeins", "--rounds", "120", "--stitches", "128", "--yarn-per-stitch", "20mm"]
    assert told(knitlog, *plan, "--skein", "400m")["skeins"] == 1
    two = told(knitlog, *plan, "--skein", "200m", "--joining", "152cm")
    assert (two["skeins"], two["joining_waste_mm"]) == (2, pytest.approx(760))


def test_two_weighings(knitlog: Knitlog) -> None:
    # 14 g in 12 rounds, 49 g left: 42 rounds
    found = told(
        knitlog,
        *("weighed", "--before", "63g", "--now", "49g", "--knitted", "12", "--rounds", "30"),
    )
    assert found["rounds_left"]["mean"] == pytest.approx(42, rel=0.01)
    assert found["chance"] > 0.99


def test_past_projects(knitlog: Knitlog) -> None:
    found = told(knitlog, "past", "20mm", "20.4mm", "20.2mm+-0.1mm")
    assert found["yarn_per_stitch_mm"]["mean"] == pytest.approx(20.2, abs=0.05)
    assert found["projects"] == 3


def test_another_repeat(knitlog: Knitlog) -> None:
    # (128 + 0.5) * 59 / 60 - 128
    found = told(
        knitlog, *("new-repeat", "0.5", "--stitches", "128", "--old", "60in"), "--new=59in"
    )
    assert found["drift"] == pytest.approx(128.5 * 59 / 60 - 128)


def test_a_cast_on_by_the_yarn_left(knitlog: Knitlog) -> None:
    # 1520 - 40 mm made 76 stitches, so 40 mm are 40 * 76 / 1480 stitches
    base = ["--stitches", "76", "--repeat-length", "152cm"]
    found = told(knitlog, "cast-on-yarn", "4cm", *base)
    assert found["off_stitches"] == pytest.approx(40 * 76 / 1480)
    assert found["verdict"] == "knit on"
    over = told(knitlog, "cast-on-yarn", "-10cm", *base)
    assert over["off_stitches"] == pytest.approx(-100 * 76 / 1620)


def test_a_join_that_mends(knitlog: Knitlog) -> None:
    # as without an offset, 12 cm, and 4 stitches of 20 mm more
    plan = ["mend-join", "--colours", RUN, "--old-ends", "52cm", "--new-starts", "10cm"]
    found = told(knitlog, *plan, "--offset", "4", "--yarn-per-stitch", "20mm")
    assert found["cut_mm"] == pytest.approx(120 + 80)
    assert found["offset_taken_out"] == 4


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (COUNT, "--colours"),
        ([*COUNT, "--yarn", "sunset"], "No colour runs"),
        ([*COUNT, "--colours", RUN, "--multiple", "x"], "x"),
        (["count", "76", "--yarn-per-stitch", "20", "--needle", "4mm", "--colours", RUN], "unit"),
        (["past", "20"], "unit"),
        (["weighed", "--before", "4g", "--now", "5g", "--knitted", "3"], "heavier"),
        (["cast-on-yarn", "x", "--stitches", "76", "--repeat-length", "152cm"], "x"),
        (["mend-join", "--old-ends", "1cm", "--new-starts", "1cm"], "--colours"),
        (
            ["mend-join", "--old-ends=1cm", "--new-starts=1cm", "--offset=2", "--colours", RUN],
            "yarn per stitch",
        ),
        (["new-repeat", "x", "--stitches", "9", "--old", "1m", "--new", "1m"], "x"),
    ],
)
def test_nonsense_is_answered_in_a_sentence(
    knitlog: Knitlog, arguments: list[str], hint: str
) -> None:
    done = knitlog("plan", *arguments)
    assert done.code == 2
    assert hint in done.sentence


def test_every_plan_command_has_a_json_form_and_an_example() -> None:
    from knitlog.cli.planning import plan

    assert len(plan.commands) >= 13
    for name, command in plan.commands.items():
        assert any(parameter.name == "json" for parameter in command.params), name
        assert f"knitlog plan {name}" in (command.help or ""), name


def test_a_label_that_is_none_is_asked_for_again(knitlog: Knitlog) -> None:
    asked = ["plan", "enough", "--stitches", "96", "--yarn-per-stitch", "14.6mm", "--left", "34g"]
    done = knitlog(*asked, "--skein", "400m")
    assert done.code == 2
    assert "as 400m/100g" in done.sentence
