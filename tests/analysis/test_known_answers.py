"""What a look, a review and the time spent come to, worked out by hand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import NormalDist

import pytest

from knitlog.advice import Advice, Limits, Remedy
from knitlog.advice.situation import Situation
from knitlog.analysis.analysis import Analysis, advised, analyse, situation
from knitlog.analysis.files import read_log_file, read_log_text
from knitlog.analysis.last_time import log_last_time
from knitlog.analysis.next_round import doubt, next_round
from knitlog.analysis.project_review import review
from knitlog.analysis.standing import Tone
from knitlog.analysis.time_spent import time_spent
from knitlog.drift import DriftLog, Fix, Reading, Stint
from knitlog.drift.log import NewHome, TensionAsked
from knitlog.journal.events import (
    FixMade,
    NeedleChanged,
    Position,
    ProjectSetUp,
    RoundLogged,
    StitchCountChanged,
)
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.project import ProjectState

SAMPLES = Path(__file__).parents[2] / "sample_logs"
BEGUN = datetime(2031, 1, 5, 19, 0, tzinfo=UTC)
Z95 = 1.959964
"""Half of a 95 % interval, in standard deviations."""
PLACES = (40.0, 43.5, 45.0, 49.5, 51.0, 55.5, 57.0)


def logged(*places: float, first: int = 1) -> list[RoundLogged]:
    return [
        RoundLogged(round=number, positions=(Position(stitch=place),))
        for number, place in enumerate(places, start=first)
    ]


def sliding(*more: object, **facts: object) -> ProjectState:
    told = make_facts(**{"stitches": 128, "needle_mm": 4.5, "homes": {1: 40.0}, **facts})
    return fold([ProjectSetUp(name="Hut hat", facts=told), *logged(*PLACES), *more])


@pytest.fixture(scope="module")
def seen() -> Analysis:
    return analyse(sliding(repeat_length_mm=1524.0, planned_rounds=60), with_advice=False)


# the look


def test_what_the_advice_refuses_is_told_beside_the_fit(
    seen: Analysis, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_: object, **__: object) -> Advice:
        raise ValueError("There is no such cost.")

    monkeypatch.setattr("knitlog.advice.advise", refuses)
    before = replace(seen, problems=("Line 3 is damaged.",))
    found = advised(before)
    assert found == replace(before, problems=("Line 3 is damaged.", "There is no such cost."))
    assert found.fit is seen.fit


def test_where_the_advice_would_have_the_colour_fall_is_told_of_the_next_round() -> None:
    facts = make_facts(
        stitches=128, needle_mm=4.5, homes={1: 40.0}, repeat_length_mm=1524.0, planned_rounds=60
    )
    slow = logged(40.0, 41.5, 42.0, 43.5, 44.0, 45.5, 46.0, 47.5)
    shown = analyse(fold([ProjectSetUp(name="Hut hat", facts=facts), *slow]), with_advice=False)
    assert shown.next is not None
    assert shown.next.aim is None
    found = advised(shown)
    assert found.advice is not None
    assert found.next is not None
    # a slide of one stitch a round: whatever the remedy, the hand is asked to hold it back
    assert found.next.aim == found.advice.recommended.details["aim_stitch"]
    assert found.next.changes == shown.next.changes
    assert found.tone is Tone.ACT


def test_what_was_advised_before_need_not_be_worked_out(
    seen: Analysis, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []

    def hears(about: Situation, *, seed: int, previous: Remedy | None) -> Advice:
        asked.append((about.stitches, seed, previous))
        raise ValueError("Enough.")

    monkeypatch.setattr("knitlog.advice.advise", hears)
    monkeypatch.setattr("knitlog.analysis.analysis.remedy_last_time", lambda _: Remedy.RIP_BACK)
    advised(seen, seed=7, previous=Remedy.CARRY_ON)
    advised(seen)
    assert asked == [(128, 7, Remedy.CARRY_ON), (128, 0, Remedy.RIP_BACK)]


def test_what_she_said_of_her_hand_and_of_the_count_goes_before_what_is_usual() -> None:
    facts = {"hand_range_percent": 4.0, "count_changes": 2, "minutes": {"needle": 6.0}}
    told = situation(analyse(sliding(**facts), with_advice=False))
    assert told.limits == replace(Limits(), hand_range_percent=4.0, count_changes=2)
    assert told.costs.needle_change_minutes == 6.0
    silent = situation(analyse(sliding(), with_advice=False))
    assert silent.limits == Limits()
    assert silent.costs.needle_change_minutes == 4.0


def test_facts_told_besides_overrule_the_files() -> None:
    csv = SAMPLES / "too-small.csv"
    journal = SAMPLES / "too-small.knitlog"
    for path in (csv, journal):
        assert read_log_file(path).facts.tolerance != 5.5
        assert read_log_file(path, {"tolerance": "5.5"}).facts.tolerance == 5.5
        text = path.read_text(encoding="utf-8")
        assert read_log_text(text, {"tolerance": "5.5"}).facts.tolerance == 5.5
        assert read_log_text(text).facts == read_log_file(path).facts
        assert [entry.positions for entry in read_log_text("\ufeff" + text).entries] == [
            entry.positions for entry in read_log_file(path).entries
        ]


def test_what_a_text_leaves_out_is_told_by_its_line() -> None:
    lines = (SAMPLES / "too-small.knitlog").read_text(encoding="utf-8").splitlines()
    lines[3] = '{"kind":"round lo'
    state = read_log_text("\n".join(lines) + "\n")
    assert [problem.line for problem in state.problems] == [4]
    told = read_log_text("stitch,round,moon\n5,1,full\n", {"stitches": "96"})
    assert [problem.line for problem in told.problems] == [0]
    assert "the column 'moon'" in told.problems[0].sentence


# a step ago


def test_what_began_with_the_last_round_of_a_step_ago_stood_then() -> None:
    log = DriftLog(
        readings=tuple(Reading(r, 40.0 + r) for r in (1, 2, 3, 4)),
        stints=(Stint(1, 128, 4.5), Stint(3, 130, 4.5), Stint(4, 132, 4.5)),
        tension=(TensionAsked(3, 1.0), TensionAsked(4, 2.0)),
        new_homes=(NewHome(3), NewHome(4)),
        fixes=(Fix(2, 1.0), Fix(3, 2.0)),
    )
    before = log_last_time(log)
    assert before == replace(
        log,
        readings=log.readings[:3],
        stints=log.stints[:2],
        tension=log.tension[:1],
        new_homes=log.new_homes[:1],
        fixes=log.fixes[:1],
    )


# the round to come


def test_an_entry_is_odd_beyond_four_spreads_and_six_stitches(seen: Analysis) -> None:
    assert seen.fit is not None
    for ahead, floor in ((1, 6.0), (15, 0.0)):
        number = seen.fit.last_round + ahead
        (place,) = next_round(seen.state, seen.fit, number).changes
        least = max(4 * (place.high95 - place.low95) / (2 * Z95), floor)
        assert (least == 6.0) == (ahead == 1)
        for way in (-1, 1):
            ordinary = Position(stitch=(place.mean + way * (least - 0.1)) % 128)
            odd = Position(stitch=(place.mean + way * (least + 0.1)) % 128)
            assert doubt(seen, [ordinary], number) is None
            found = doubt(seen, [odd], number)
            assert found is not None
            assert found.off == pytest.approx(way * (least + 0.1))
            assert (found.stitch, found.expected) == (odd.stitch, place.mean)


# looking back


def test_shares_of_rounds_and_of_fabric() -> None:
    wider = StitchCountChanged(from_round=8, stitches=256)
    state = sliding(wider, *logged(118.0, 119.0, 121.0, first=8), tolerance=6.0)
    found = review(state)
    assert found.fit is not None
    path = found.fit.path
    # P(|offset| <= T) with offset ~ Normal(mean, sd^2)
    normals = [NormalDist(m, max(s, 1e-6)) for m, s in zip(path.mean, path.sd, strict=True)]
    within = [normal.cdf(6.0) - normal.cdf(-6.0) for normal in normals]
    counts = [128] * 7 + [256] * 3
    assert found.share_in_tolerance == pytest.approx(sum(within) / 10)
    of_fabric = sum(n * p for n, p in zip(counts, within, strict=True)) / sum(counts)
    assert found.share_of_fabric == pytest.approx(of_fabric)
    assert found.share_of_fabric != pytest.approx(found.share_in_tolerance, rel=0.02)
    assert found.rounds_out == sum(abs(m) > 6.0 for m in path.mean)
    assert found.worst == max(
        zip(path.rounds.tolist(), path.mean.tolist(), strict=True), key=lambda at: abs(at[1])
    )


def test_yarn_used_is_rounds_times_yarn_and_as_sure_as_the_drift() -> None:
    changed = NeedleChanged(from_round=8, needle_mm=4.0)
    later = logged(56.5, 56.0, 55.0, 54.5, first=8)
    found = review(sliding(changed, *later, repeat_length_mm=1524.0, planned_rounds=60))
    assert found.fit is not None
    assert found.yarn is not None
    one, two = found.fit.stint_drifts
    used = variance = 0.0
    for stint, rounds in ((one, 7), (two, 4)):
        # N s = N k L / (N + d); its spread is that share of d's
        each = 128 * 1524.0 / (128 + stint.drift.mean)
        used += rounds * each
        variance += (rounds * each * stint.drift.sd / (128 + stint.drift.mean)) ** 2
    got = found.yarn.used_mm
    assert (got.mean, got.sd) == (pytest.approx(used), pytest.approx(variance**0.5))
    assert (got.low95, got.high95) == (
        pytest.approx(used - Z95 * got.sd, rel=1e-4), pytest.approx(used + Z95 * got.sd, rel=1e-4)
    )  # fmt: skip
    assert found.yarn.rounds == 11
    assert found.yarn.planned_mm == pytest.approx(11 * 1524.0)
    assert found.yarn.whole_planned_mm == pytest.approx(60 * 1524.0)
    assert found.yarn.over_percent == pytest.approx(100 * (used / (11 * 1524.0) - 1))


def test_a_spiral_that_is_wanted_is_planned_for() -> None:
    found = review(sliding(repeat_length_mm=1524.0, target_drift=3.0))
    assert found.yarn is not None
    # N s* = N k L / (N + wanted drift)
    assert found.yarn.planned_mm == pytest.approx(7 * 128 * 1524.0 / 131.0)
    assert found.yarn.whole_planned_mm is None


def at(minutes: float, day: int = 0) -> datetime:
    return BEGUN + timedelta(days=day, minutes=minutes)


def an_evening(*more: object) -> ProjectState:
    """Six rounds at 0, 10, 20, 45, 55 and 65 minutes, and two on the next day."""
    minutes = [(0, 0), (10, 0), (20, 0), (45, 0), (55, 0), (65, 0), (0, 1), (10, 1)]
    rounds = [
        RoundLogged(at=at(*when), round=n, positions=(Position(stitch=20.0),))
        for n, when in enumerate(minutes, start=1)
    ]
    facts = make_facts(stitches=90, needle_mm=4.0)
    begun = ProjectSetUp(at=at(-1), name="Hut hat", facts=facts)
    events = [begun, *rounds, *more]
    return fold(sorted(events, key=lambda event: event.at))


def test_where_the_minutes_of_an_evening_went() -> None:
    spent = time_spent(an_evening())
    assert spent is not None
    assert (spent.days, spent.sittings) == (2, 2)
    assert spent.round_minutes == pytest.approx(10.0)
    assert spent.in_sittings == pytest.approx(75.0)
    # 65 and 10 minutes between entries, and the first round of either sitting
    assert spent.knitting == pytest.approx(95.0)
    assert (spent.fixing, spent.changing, spent.elsewhere) == (0.0, 0.0, 0.0)


def test_a_fix_in_a_gap_takes_the_minutes_noted_or_what_is_over() -> None:
    for minutes, fixing in ((6.0, 6.0), (None, 15.0)):
        fix = FixMade(at=at(30), after_round=3, taken_out=3.0, minutes=minutes)
        spent = time_spent(an_evening(fix))
        assert spent is not None
        assert spent.fixing == pytest.approx(fixing)
        # 25 minutes in the gap: a round, the fix, and what else there was of knitting
        assert spent.knitting == pytest.approx(95.0 - fixing)


def test_a_fix_and_a_new_needle_in_one_gap_share_what_is_over() -> None:
    fix = FixMade(at=at(30), after_round=3, taken_out=3.0, minutes=6.0)
    change = NeedleChanged(at=at(35), from_round=4, needle_mm=4.5)
    spent = time_spent(an_evening(fix, change))
    assert spent is not None
    assert (spent.fixing, spent.changing) == (pytest.approx(6.0), pytest.approx(9.0))
    assert spent.knitting == pytest.approx(80.0)
