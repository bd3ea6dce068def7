"""A project's fabric: what was logged is where the colours change in it."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from knitlog.advice import Manner, Option, Plan, Remedy
from knitlog.advice.turns import Turn
from knitlog.advice.ways import Way
from knitlog.analysis.analysis import Analysis, analyse
from knitlog.analysis.fabrics import (
    Future,
    ProjectFabric,
    Stage,
    knitted_path,
    project_fabric,
    run_of,
    start_mm,
)
from knitlog.analysis.files import read_log_file
from knitlog.drift import fit
from knitlog.journal import actions
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.plan.colour_checks import clear_changes
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import NO_STITCH, knit_fabric
from knitlog.report.fabric_text import round_stretches
from tests.plan.paths import stacked_share
from tests.simulator import Knitting, Work, hand_for

SAMPLES = Path(__file__).parents[2] / "sample_logs"


def sample(name: str, **how: Any) -> ProjectFabric:
    return project_fabric(look(name), **how)


def look(name: str) -> Analysis:
    return analyse(read_log_file(SAMPLES / f"{name}.knitlog"))


def under(found: ProjectFabric, remedy: str) -> Future:
    """The first future of a remedy."""
    return next(f for f in found.futures if f.option is not None and f.option.remedy == remedy)


@pytest.mark.parametrize(
    "name", ["in-line", "too-small", "too-large", "stitch-count-changed", "two-changes"]
)
def test_the_colour_changes_where_it_was_logged(name: str) -> None:
    state = read_log_file(SAMPLES / f"{name}.knitlog")
    found = sample(name)
    fabric = found.futures[0].fabric
    assert fabric is not None
    before, after, _ = clear_changes(found.run)[0]
    misses = []
    for entry in state.entries:
        stretches = round_stretches(fabric, entry.round)
        ends = [
            last
            for (colour, _, last), (following, *_) in pairwise(stretches)
            if (colour, following) == (before, after)
        ]
        logged = entry.positions[0].stitch
        count = state.stint_of(entry.round).stitches
        misses.append(min((abs(end - logged) for end in ends), default=min(logged, count - logged)))
    # a stitch is coloured by its middle, readings miss by half a stitch or so, one in a
    # sample may be a miscount
    misses.sort()
    assert misses[len(misses) // 2] <= 1.0
    assert misses[-2] <= 3.5


@pytest.mark.parametrize("name", ["too-small", "too-large", "two-changes", "in-line"])
def test_the_futures_are_the_options_of_the_advice(name: str) -> None:
    view = look(name)
    found = project_fabric(view)
    assert view.advice is not None
    assert tuple(f.option for f in found.futures) == view.advice.options
    assert found.futures[0].option is view.advice.recommended
    for future in found.futures:
        assert future.option is not None
        assert (future.fabric is None) is not future.option.feasible


def test_a_future_has_the_count_and_the_drift_of_its_option() -> None:
    view = look("too-small")
    found = project_fabric(view, uneven=False)
    assert view.fit is not None
    counts = set()
    for future in found.futures:
        if future.fabric is None or future.option is None:
            continue
        details = future.option.details
        told = details.get("stitches", view.state.stitches)
        # in the round it begins with; later ones may be settled by what is found
        row = future.fabric.cells[found.knitted]
        assert int((row != NO_STITCH).sum()) == told
        expected = details.get("predicted_drift", view.fit.drift.mean)
        assert future.drift == pytest.approx(expected)
        counts.add(told)
    assert len(counts) > 1  # carry on and another count: the check can fail


def test_every_future_has_the_same_rounds_knitted_and_the_same_hand_to_come() -> None:
    found = sample("too-small")
    first = under(found, "carry on").fabric
    assert first is not None
    for future in found.futures:
        if future.fabric is None:
            assert future.option is not None
            assert future.option.refusal
            continue
        knitted = future.fabric.cells[: found.knitted, : first.stitches]
        width = min(first.stitches, future.fabric.stitches)
        assert (knitted[:, :width] == first.cells[: found.knitted, :width]).all()
        assert future.fabric.rounds == 60  # as planned


def changes_at(found: ProjectFabric, future: Future, round_number: int) -> float:
    """Where the clear colour change falls in a round, stitches."""
    assert future.fabric is not None
    before, after, _ = clear_changes(found.run)[0]
    stretches = round_stretches(future.fabric, round_number)
    return next(
        last
        for (colour, _, last), (following, *_) in pairwise(stretches)
        if (colour, following) == (before, after)
    )


def played(view: Analysis, *plans: Plan) -> ProjectFabric:
    """The futures of ``plans``, with an even hand."""
    assert view.advice is not None
    options = tuple(
        Option(plan.remedy, {}, 0, 0, 0, 0, feasible=True, expected_cost=0, plan=plan)
        for plan in plans
    )
    return project_fabric(replace(view, advice=replace(view.advice, options=options)), uneven=False)


CARRY_ON = Plan(Remedy.CARRY_ON, Manner.AS_USUAL)


def test_what_is_taken_out_is_gone_from_the_next_round_on_and_the_drift_goes_on() -> None:
    view = look("too-small")
    found = played(view, CARRY_ON, Plan(Remedy.TAPESTRY, Manner.AS_USUAL, taken_out=6.0))
    carried, mended = found.futures
    assert view.fit is not None
    now = found.knitted
    # worked into the stitches just knitted, so the next round shows it, and all after that
    for number, gone in ((now, 0.0), (now + 1, 6.0), (now + 2, 6.0), (now + 9, 6.0)):
        apart = changes_at(found, carried, number) - changes_at(found, mended, number)
        assert apart == pytest.approx(gone, abs=1.0)
    # a stitch is coloured by its middle: read off to half a stitch either way
    step = changes_at(found, carried, now + 3) - changes_at(found, carried, now + 1)
    assert step == pytest.approx(2 * view.fit.drift.mean, abs=1.0)


def hut_hat(folder: Path, *stitches: float, **more: Any) -> Analysis:
    """A hat of 100 stitches whose change belongs at 50, read where told."""
    facts = {
        "stitches": 100,
        "repeat_length_mm": 1000.0,
        "needle_mm": 4.0,
        "needles_owned_mm": (4.0, 4.5),
        "planned_rounds": 40,
        "homes": {1: 50.0},
    }
    journal = Library(folder).create("Hut hat", make_facts(**{**facts, **more}))
    for stitch in stitches:
        actions.log_round(journal, [stitch])
    return analyse(journal.state)


def test_another_count_shows_a_round_later_and_another_needle_at_once(tmp_path: Path) -> None:
    view = hut_hat(tmp_path, *(50.0 + number for number in range(8)))
    assert view.fit is not None
    drift, stands = view.fit.drift.mean, view.fit.offset.mean
    turn = 100 + drift
    wider = Way(4.0, 101, Turn(turn, 0.3, 0.0), 1.0)
    larger = Way(4.5, 100, Turn(turn - 8, 0.3, 0.5), 7.0)
    found = played(
        view,
        CARRY_ON,
        Plan(Remedy.CHANGE_STITCH_COUNT, Manner.AS_USUAL, way=wider),
        Plan(Remedy.CHANGE_NEEDLE, Manner.AS_USUAL, way=larger),
    )
    # two colours of the stand-in run part at its clear change; read off to half a stitch
    at = [[changes_at(found, f, r) for r in (9, 10)] for f in found.futures]
    first = 50 + stands + drift
    assert at[0] == pytest.approx([first, first + drift], abs=0.6)
    # N2 + d2 = N + d: the round of 101 is read where one of 100 would be, the next one short
    assert at[1] == pytest.approx([first, first + drift - 1], abs=0.6)
    # x' s' = x s: what was first stitches of the old size are fewer of the new
    assert at[2][0] == pytest.approx(first * (turn - 8) / turn, abs=0.6)
    assert at[2][1] == pytest.approx(at[2][0] + drift - 8, abs=1.0)


def test_evened_out_now_and_then_the_colours_stay_near_and_the_drift_goes_on(
    tmp_path: Path,
) -> None:
    view = hut_hat(tmp_path, *(46.0 + 2 * number for number in range(4)), tolerance=6.0)
    found = played(view, CARRY_ON, Plan(Remedy.CARRY_ON, Manner.EVEN_OUT))
    carried, mended = found.futures
    at = [changes_at(found, mended, number) for number in range(5, 41)]
    # two a round and six allowed: out by two at most, and back beyond the middle by half of six
    assert max(at) <= 50 + 6 + 2 + 1
    assert min(at) >= 50 - 3 - 2 - 1
    assert sum(step < 0 for step in np.diff(at)) >= 3
    assert changes_at(found, carried, 25) > 85


def test_minding_ones_tension_brings_the_colours_back(tmp_path: Path) -> None:
    view = hut_hat(tmp_path, *(50.0 + number for number in range(8)))
    minding = Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION)
    found = played(view, minding)
    at = [changes_at(found, found.futures[0], number) for number in range(8, 41)]
    # a drift of one stitch in a hundred is within the hand's range: back in place, and it stays
    assert at[0] >= 56
    assert all(abs(stitch - 50) <= 4 for stitch in at[12:])


def test_a_place_taken_anew_is_the_place_of_that_future_alone(tmp_path: Path) -> None:
    view = hut_hat(tmp_path, *(50.0 + number for number in range(8)))
    found = played(view, CARRY_ON, Plan(Remedy.STACK_FROM_HERE, Manner.MIND_TENSION, new_home=True))
    carried, stacked = found.futures
    assert carried.place == pytest.approx(50, abs=0.5)
    # at 57 as the eighth round is read: in the next one a little further
    assert stacked.place == pytest.approx(57.7, abs=1)
    at = [changes_at(found, stacked, number) for number in range(15, 41)]
    assert all(abs(stitch - stacked.place) <= 5 for stitch in at)


def test_started_again_the_fabric_is_all_new(tmp_path: Path) -> None:
    view = hut_hat(tmp_path, *(50.0 + 3 * number for number in range(6)))
    assert view.fit is not None
    turn = 100 + view.fit.drift.mean
    plan = Plan(
        Remedy.START_AGAIN, Manner.MIND_TENSION, way=Way(4.0, 103, Turn(turn, 0.3, 0.0), 3.0)
    )
    found = played(view, plan)
    fabric = found.futures[0].fabric
    assert fabric is not None
    assert (fabric.rounds, fabric.stitches, found.futures[0].knitted) == (40, 103, 0)
    assert changes_at(found, found.futures[0], 1) == pytest.approx(50, abs=1.5)
    assert abs(changes_at(found, found.futures[0], 40) - 50) <= 5


def test_the_same_seed_knits_the_same_and_even_leaves_the_hand_out() -> None:
    one, same, other = (sample("in-line", seed=seed).futures[0].fabric for seed in (1, 1, 2))
    assert one is not None
    assert same is not None
    assert other is not None
    assert (one.cells == same.cells).all()
    assert (one.cells != other.cells).any()


def test_without_colours_there_are_stand_ins_of_the_repeats_length(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hat", make_facts(stitches=40, repeat_length_mm=800.0))
    run = run_of(journal.state)
    assert len({segment.colour for segment in run.segments}) == 4
    assert run.repeat_length_mm == pytest.approx(800.0)
    assert project_fabric(analyse(journal.state)).stands_in


def test_a_project_without_rounds_is_drawn_as_planned(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hat", make_facts(stitches=40, planned_rounds=12))
    found = project_fabric(analyse(journal.state))
    assert (found.knitted, found.stage) == (0, Stage.PLANNED)
    (future,) = found.futures
    assert future.fabric is not None
    assert future.fabric.rounds == 12
    assert stacked_share(future.fabric) == 1.0


def test_a_finished_project_has_no_rounds_to_come(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hat", make_facts(stitches=40, planned_rounds=12))
    for stitch in (5, 6, 7, 9):
        actions.log_round(journal, [float(stitch)])
    actions.finish(journal)
    found = project_fabric(analyse(journal.state))
    (future,) = found.futures
    assert found.stage == Stage.ALL_KNITTED
    assert future.fabric is not None
    assert future.fabric.rounds == 4


def test_rounds_before_the_first_logged_are_drawn_too(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hat", make_facts(stitches=40, planned_rounds=12))
    for number, stitch in ((3, 5.0), (4, 6.0), (5, 7.0), (6, 8.0)):
        actions.log_round(journal, [stitch], round_number=number)
    found = project_fabric(analyse(journal.state), uneven=False)
    assert found.knitted == 6
    assert all(f.fabric is None or f.fabric.rounds == 12 for f in found.futures)


def test_without_advice_it_goes_on_as_it_does(tmp_path: Path) -> None:
    view = analyse(read_log_file(SAMPLES / "too-small.knitlog"), with_advice=False)
    (future,) = project_fabric(view, uneven=False).futures
    carried = under(sample("too-small", uneven=False), "carry on")
    assert future.option is None
    assert future.fabric is not None
    assert carried.fabric is not None
    assert (future.fabric.cells == carried.fabric.cells[:, : future.fabric.stitches]).all()


def test_flat_work_begun_on_a_wrong_side_row_falls_where_it_was_read(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hut scarf", make_facts(stitches=60, flat=True))
    for row, stitch in ((2, 40.0), (3, 20.5), (4, 39.0), (5, 21.0)):
        actions.log_round(journal, [stitch], round_number=row)
    found = project_fabric(analyse(journal.state))
    # row 2 is knitted back: 40 from the right as seen is 20 in knitting order
    assert found.home == pytest.approx(20.0, abs=1.5)


RUN = parse_colour_run("ice 60cm #aaccee, pine 40cm #114433, rose 52.4cm #cc6677")
WORK = Work(
    stitches=128,
    repeats=1,
    repeat_length_mm=1524.0,
    needle_mm=4.5,
    yarn_thickness_mm=2.2,
    rounds=24,
    places=(40.0,),
    places_stated=True,
)


def knit_evenly(*deeds: tuple[int, Callable[[Knitting], Any]], drift: float = 1.5) -> Knitting:
    """Real yarn laid stitch by stitch by a hand without slips, deeds done after some rounds."""
    hand = hand_for(WORK, drift=drift, tension_noise_sd=0.0, rounding=0.0)
    knitting = Knitting(hand, WORK, seed=1)
    due = dict(deeds)
    for number in range(1, WORK.rounds + 1):
        knitting.knit_round()
        if number in due:
            due[number](knitting)
    return knitting


@pytest.mark.parametrize(
    "deeds",
    [
        (),
        ((8, lambda k: k.change_stitches(134)),),
        ((8, lambda k: k.change_needle(5.0)),),
        ((6, lambda k: k.ease(5.0, over=15)), (14, lambda k: k.ease(6.0, over=15))),
        ((9, lambda k: k.new_home()),),
    ],
    ids=["nothing", "count", "needle", "fixes", "new place"],
)
def test_the_fabric_is_that_of_yarn_laid_stitch_by_stitch(deeds: Any) -> None:
    drawn_as_read(knit_evenly(*deeds))


@pytest.mark.parametrize("drift", [5.0, -5.0])
def test_the_fabric_is_that_of_yarn_whose_change_leaves_its_round(drift: float) -> None:
    drawn_as_read(knit_evenly(drift=drift))


def drawn_as_read(knitting: Knitting) -> None:
    """Hold the fabric of a log to its readings."""
    log = knitting.to_drift_log()
    fitted = fit(log)
    path = knitted_path(fitted)
    home = float(fitted.path.homes[0])
    fabric = knit_fabric(RUN, path, start_mm=start_mm(RUN, 1, path, home))
    read = {reading.round: reading.stitch for reading in log.readings}
    misses = []
    for number, stitch in read.items():
        row = fabric.cells[number - 1]
        ends = np.flatnonzero((row[:-1] == 0) & (row[1:] == 1)) + 1
        misses.append(min((abs(end - stitch) for end in ends), default=99.0))
    assert len(misses) > 20
    counts = {stint.first_round: stint.stitches for stint in log.stints}
    told = [counts[max(n for n in counts if n <= number)] for number in range(1, path.rounds + 1)]
    assert path.stitches.tolist() == told
    # a stitch is coloured by its middle, half a stitch; the fit smooths where a change is told
    assert np.median(misses) <= 0.6
    assert np.max(misses) <= 2.0
