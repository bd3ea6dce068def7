"""Looking back: what the review says is what happened."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from knitlog.analysis.project_review import review
from knitlog.analysis.time_spent import time_spent
from knitlog.drift import Break
from knitlog.journal.csvlog import read_csv_log
from knitlog.journal.events import (
    FixMade,
    NeedleChanged,
    Position,
    ProjectFinished,
    ProjectSetUp,
    RoundLogged,
)
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.report.compare_words import compare, compare_parts
from knitlog.report.json_objects import review_object
from knitlog.report.review_words import break_sentence, review_parts
from knitlog.report.words import hours
from tests.report.said import lines_of
from tests.simulator.history import KEEPER, history


def review_lines(found):
    return lines_of(review_parts(found))


YEAR = Path(__file__).parents[2] / "sample_logs" / "history"
BEGUN = datetime(2031, 1, 5, 19, 0, tzinfo=UTC)
FACTS = make_facts(stitches=90, needle_mm=4.0)


def state_of(slug: str):
    return JournalFile.open(YEAR / f"{slug}.knitlog").state


def truth_of(slug: str):
    return next(t for t in history() if t.chapter.slug == slug)


@pytest.fixture(scope="module")
def storm():
    return review(state_of("03-storm-week-yoke"))


def test_a_change_nobody_logged_is_found_where_it_was(storm) -> None:
    first, size = truth_of("03-storm-week-yoke").chapter.plan.unlogged[0]
    assert len(storm.breaks) == 1
    assert abs(storm.breaks[0].round - first) <= 3
    assert storm.breaks[0].size == pytest.approx(size, abs=1.2)
    assert [s.logged for s in storm.stints] == [True, False]


@pytest.mark.parametrize("slug", ["02-woodpile-cowl", "05-chimney-shawl-collar"])
def test_the_drift_by_stint_holds_the_truth(slug: str) -> None:
    found, truth = review(state_of(slug)), truth_of(slug)
    assert len(found.stints) == 2
    for stint, drift in zip(found.stints, truth.knitted.drifts, strict=True):
        # three spreads, of the fit and of a few sittings that differ; what her fixes fell short
        # by looks like drift, since the log says what she meant
        rounds = stint.last_round - stint.first_round + 1
        sittings = KEEPER.sitting_sd * stint.stitches / 128 / (rounds / 6) ** 0.5
        fell_short = sum(
            fix.taken_out - did
            for fix, did in zip(truth.knitted.log.fixes, truth.knitted.fixes_done, strict=True)
            if stint.first_round <= fix.after_round < stint.last_round
        )
        assert abs(stint.drift.mean - drift - fell_short / rounds) < 3 * np.hypot(
            stint.drift.sd, sittings
        )


def test_what_the_fixes_did_holds_what_they_did() -> None:
    held, off = [], []
    for told in history()[:8]:
        found = review(state_of(told.chapter.slug))
        for fix, did in zip(found.fixes, told.knitted.fixes_done, strict=True):
            assert fix.did is not None
            held.append(fix.did.low95 <= did <= fix.did.high95)
            off.append((fix.did.mean - did) / abs(fix.meant))
    assert len(held) > 50
    assert sum(held) / len(held) > 0.85
    assert abs(sum(off) / len(off)) < 0.1


def test_the_share_in_tolerance_is_that_of_the_true_offsets() -> None:
    off = []
    for told in history()[:8]:
        found = review(state_of(told.chapter.slug))
        offsets = np.array(told.knitted.off_by)
        true = float((abs(offsets) <= told.chapter.tolerance).mean())
        off.append(found.share_in_tolerance - true)
    # where the colour belongs is itself only read, so a single project may be out by a fifth
    assert max(map(abs, off)) < 0.25
    assert sum(map(abs, off)) / len(off) < 0.1


def test_yarn_used_is_the_yarn_knitted() -> None:
    for slug in ("02-woodpile-cowl", "06-thaw-headband", "03-storm-week-yoke"):
        found, told = review(state_of(slug)), truth_of(slug)
        plan = told.chapter.plan
        starts = [1, *(c.first_round for c in plan.changes), plan.rounds + 1]
        counts = [plan.stitches, *(c.stitches for c in plan.changes)]
        used = sum(
            (b - a) * n * s
            for a, b, n, s in zip(
                starts, starts[1:], counts, told.knitted.yarn_per_stitch_mm, strict=False
            )
        )
        assert found.yarn is not None
        assert found.yarn.used_mm.mean == pytest.approx(used, rel=0.015)
        assert found.yarn.used_mm.low95 < found.yarn.used_mm.high95


def _timed(*more):
    """Ten rounds, ten minutes apart, in two sittings of five."""
    events = [
        ProjectSetUp(at=BEGUN, name="Hut hat", facts=FACTS),
        *(
            RoundLogged(
                at=BEGUN + timedelta(days=n // 5, minutes=10 * (n % 5)),
                round=n + 1,
                positions=(Position(stitch=20.0),),
            )
            for n in range(10)
        ),
        *more,
    ]
    return fold(sorted(events, key=lambda e: e.at))


def test_time_is_told_from_the_entries() -> None:
    spent = time_spent(_timed())
    assert spent.sittings == 2
    assert spent.days == 2
    assert spent.round_minutes == pytest.approx(10.0)
    # ten rounds of ten minutes, the first of each sitting begun before its entry
    assert spent.knitting == pytest.approx(100.0)
    assert spent.fixing == spent.changing == 0.0


def test_a_fix_takes_what_its_gap_has_over_a_usual_round() -> None:
    late = [
        RoundLogged(
            at=BEGUN + timedelta(days=2, minutes=m), round=11 + i, positions=(Position(stitch=20),)
        )
        for i, m in enumerate((0, 25, 35, 52))
    ]
    fix = FixMade(at=BEGUN + timedelta(days=2, minutes=9), after_round=11, taken_out=3.0)
    change = NeedleChanged(at=BEGUN + timedelta(days=2, minutes=40), from_round=14, needle_mm=4.5)
    spent = time_spent(_timed(*late, fix, change))
    assert spent.fixing == pytest.approx(15.0)
    assert spent.changing == pytest.approx(7.0)
    assert spent.knitting == pytest.approx(140.0)


def test_a_fix_she_timed_counts_as_she_said() -> None:
    fix = FixMade(at=BEGUN + timedelta(minutes=41), after_round=5, taken_out=3.0, minutes=8.0)
    assert time_spent(_timed(fix)).fixing == pytest.approx(8.0)


def test_a_log_without_times_has_no_time() -> None:
    read = read_csv_log(b"# stitches: 96\nround,stitch\n1,20\n2,21\n3,22\n")
    assert time_spent(read.state) is None
    found = review(read.state)
    assert found.time is None
    assert any("The drift, stint by stint" in line for line in review_lines(found))


def test_a_project_without_rounds_is_reviewed_too() -> None:
    state = fold([ProjectSetUp(at=BEGUN, name="Hut hat", facts=make_facts(stitches=90))])
    found = review(state)
    assert found.fit is None
    assert found.share_in_tolerance is None
    assert found.share_of_fabric is None
    assert list(review_lines(found))
    assert review_object(found)["stints"] == []
    finished = fold(
        [
            ProjectSetUp(at=BEGUN, name="Hut hat", facts=make_facts(stitches=90)),
            ProjectFinished(at=BEGUN),
        ]
    )
    assert "Finished" in " ".join(review_lines(review(finished)))


def test_the_text_says_everything(storm) -> None:
    told = "\n".join(review_lines(storm))
    for heading in (
        "The drift",
        "Fixes",
        "What was never logged",
        "Where the time",
        "Yarn",
        "Notes",
    ):
        assert f"\n{heading}" in told
    assert "nothing was logged" in told
    assert "too little" in told
    assert "nan" not in told


def test_hours_are_said_as_one_says_them() -> None:
    assert hours(59.6) == "1 h 00 min"
    assert hours(42) == "42 min"


def test_two_hats_side_by_side() -> None:
    left, right = review(state_of("01-first-frost-hat")), review(state_of("09-second-frost-hat"))
    lines = {c.key: c for c in compare(left, right)}
    assert lines["stitches"].left == [79]
    assert lines["stitches"].right == [80]
    assert lines["yarn"].left_words == lines["yarn"].right_words == "wool, plain"
    told = "\n".join(lines_of(compare_parts(left, right)))
    assert "First-frost hat" in told
    assert "of its fabric in place" in told


def test_a_project_compared_with_itself_does_not_differ() -> None:
    found = review(state_of("06-thaw-headband"))
    assert all(c.left_words == c.right_words for c in compare(found, found))
    assert "cannot be told apart" in "\n".join(lines_of(compare_parts(found, found)))


def test_every_shipped_project_can_be_reviewed() -> None:
    for shelf in Library(YEAR.parent).projects():
        assert shelf.state is not None
        assert list(review_lines(review(shelf.state)))


def test_damage_in_a_journal_is_told_at_the_end() -> None:
    doubled = _timed(ProjectSetUp(at=BEGUN + timedelta(days=9), name="Again", facts=FACTS))
    *_, last = review_lines(review(doubled))
    assert last.startswith("! ")
    assert "sets the project up again" in last


def test_a_jump_and_a_fix_nobody_saw_land_are_said() -> None:
    jump = Break(12, "jump", 9.0, 0.99)
    assert break_sentence(jump) == (
        "Around round 12 the colours moved +9 stitches at once and nothing was logged."
    )
    unseen = FixMade(at=BEGUN + timedelta(days=3), after_round=10, taken_out=3.0)
    assert [f.landed for f in review(_timed(unseen)).fixes] == ["not seen yet"]
