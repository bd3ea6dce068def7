"""A project from a plan: the facts it begins with."""

from dataclasses import replace
from pathlib import Path

import pytest

from knitlog.analysis.planned import ChosenPlan, begin_planned, planned_facts
from knitlog.journal.library import Library
from knitlog.journal.registry import fact_text, units_of
from knitlog.plan.normal import ratio_estimate
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_count import StitchCountQuestion, candidate_for
from knitlog.report.plan_words import planned_words
from knitlog.yarn.gauge import Gauge

RUN = parse_colour_run("rose 30cm, moss 45cm, snow 77cm")
ASKED = StitchCountQuestion(
    yarn_per_stitch=ratio_estimate(20.0, 0.02),
    repeat_length_mm=RUN.repeat_length_mm,
    needle_mm=4.5,
    gauge=Gauge(2.0, 2.8),
    multiple=4,
    other_needles_mm=(5.0,),
    yarn_thickness_mm=2.0,
    tolerance=4.0,
)


def test_the_project_has_the_plans_facts(tmp_path: Path) -> None:
    # 1520 mm / 20 mm = 76 stitches
    chosen = candidate_for(ASKED, 76, 1, 4.5)
    library = Library(tmp_path)
    plan = ChosenPlan(chosen, ASKED, RUN, 60)
    begin_planned(library, "Hut hat", plan, planned_words(plan))
    state = library.open("hut-hat").state
    facts = state.facts
    assert (facts.stitches, facts.repeats, facts.needle_mm) == (76, 1.0, 4.5)
    assert (facts.repeat_length_mm, facts.planned_rounds) == (pytest.approx(1520.0), 60)
    assert (facts.tolerance, facts.multiple, facts.needles_owned_mm) == (4.0, 4, (4.5, 5.0))
    assert facts.colour_run == RUN
    assert facts.gauge == Gauge(2.0, 2.8)
    assert "76 stitches" in state.about


def test_a_larger_needle_has_its_own_gauge() -> None:
    # (5.0 + 2.0) / (4.5 + 2.0) = 1.0769 times the yarn, and so the width, of a stitch
    facts = planned_facts(ChosenPlan(candidate_for(ASKED, 72, 1, 5.0), ASKED, None))
    assert facts.gauge_stitches_per_cm == pytest.approx(2.0 / (7.0 / 6.5))
    assert facts.colours == ()


def test_where_no_other_needles_were_named_none_are_owned() -> None:
    asked = replace(ASKED, other_needles_mm=())
    facts = planned_facts(ChosenPlan(candidate_for(asked, 76, 1, 4.5), asked, None))
    assert facts.needles_owned_mm == ()


def test_stitches_over_the_multiple_and_her_own_units_are_kept() -> None:
    asked = replace(ASKED, extra=1)
    given = {"repeat-length": "1.52m", "needle": "US 7", "gauge": "20 st/4in"}
    facts = planned_facts(ChosenPlan(candidate_for(asked, 77, 1, 4.5), asked, None, given=given))
    assert fact_text(facts, "multiple") == "4+1"
    assert units_of(facts).needle(5.0) == "US 8 (5 mm)"
    assert fact_text(facts, "needle") == "US 7"
    # the plan's own gauge is not the one typed: it is told as it is
    assert fact_text(facts, "gauge") == "20 st 28 rows/10cm"
