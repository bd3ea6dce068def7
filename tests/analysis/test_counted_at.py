"""What work is counted at: her own minutes, the usual ones, and the advice that follows."""

from dataclasses import fields, replace

import pytest

from knitlog.advice.costs import Costs
from knitlog.analysis.analysis import analyse, situation
from knitlog.analysis.counted_at import costs_of, counted_at
from knitlog.journal.events import Position, ProjectSetUp, RoundLogged
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.minutes import KINDS, LATER_WORK, MOST_MINUTES, WORK
from knitlog.report.fit_words import work_rows


def test_every_cost_has_exactly_one_name() -> None:
    assert len(set(WORK)) == len(KINDS)
    assert sorted(kind.cost for kind in KINDS) == sorted(f.name for f in fields(Costs))


def test_the_names_are_those_of_the_contract_and_of_the_journals_schemas() -> None:
    # as documented in DEVELOPERS.md, costs_minutes, and in the journal room's README
    assert WORK == (
        "tapestry", "rip", "ripped-stitch", "needle", "gauge-line", "count", "count-stitch",
        "count-line", "new-place", "round-again", "pattern-anew", "attention", "round-out",
    )  # fmt: skip
    assert LATER_WORK == ("count-line", "new-place", "round-again", "pattern-anew", "attention")


def test_every_name_sets_its_own_cost_and_no_other() -> None:
    usual = Costs()
    for name, field in ((kind.name, kind.cost) for kind in KINDS):
        told = make_facts(stitches=96, minutes={name: 7.25})
        assert costs_of(told) == replace(usual, **{field: 7.25})
        (own,) = (work for work in counted_at(told) if work.own)
        assert (own.kind.name, own.minutes, own.usual) == (name, 7.25, getattr(usual, field))
        ((said, _, whose, _),) = work_rows((own,))
        assert (said, whose) == (name, f"yours; usually {getattr(usual, field):g}")


def test_nothing_told_is_all_as_usual() -> None:
    facts = make_facts(stitches=96)
    assert costs_of(facts) == Costs()
    rows = work_rows(counted_at(facts))
    assert {whose for _, _, whose, _ in rows} == {"usual"}
    assert len({words for *_, words in rows}) == len(KINDS)
    # one that is told, but just as it usually is, is no other
    told = make_facts(stitches=96, minutes={"needle": Costs().needle_change_minutes})
    assert not any(work.own for work in counted_at(told))


def test_the_journal_takes_no_minutes_the_advice_would_refuse() -> None:
    for minutes in (0.0, float(MOST_MINUTES)):
        told = make_facts(stitches=96, minutes=dict.fromkeys(WORK, minutes))
        assert {getattr(costs_of(told), f.name) for f in fields(Costs)} == {minutes}


def test_the_advice_is_weighed_by_the_projects_own_minutes() -> None:
    def advised(**facts: object) -> tuple[float, float]:
        told = make_facts(stitches=96, planned_rounds=40, needle_mm=3.5, **facts)
        logged = (
            RoundLogged(round=r, positions=(Position(stitch=30.0 + 3 * r),)) for r in range(1, 9)
        )
        state = fold([ProjectSetUp(name="Hut hat", facts=told), *logged])
        view = analyse(state)
        assert view.fit is not None
        assert view.advice is not None
        assert situation(view).costs == costs_of(told)
        carry_on = next(o for o in view.advice.options if o.remedy == "carry on")
        return carry_on.minutes, carry_on.expected_cost

    # carrying on is no work: all it costs is the rounds out of tolerance, 2 minutes each as usual
    usual, hers = advised(), advised(minutes={"round-out": 1.0})
    assert usual[0] == hers[0] == 0
    assert hers[1] == pytest.approx(usual[1] / 2, rel=1e-9)
    assert usual[1] > 0
