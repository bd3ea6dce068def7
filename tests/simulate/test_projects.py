"""Projects played through: the same luck for every policy, and no policy does the impossible."""

from dataclasses import dataclass

import pytest

from knitlog.advice import Costs, Limits, Remedy
from knitlog.simulate.projects import Hands, Moment, Move, Project, move_minutes, play

EVEN = {"tension_noise_sd": 0.0, "reading_noise_sd": 0.0, "miss_stitches": 0.0, "miss_share": 0.0}


@dataclass
class Once:
    """Does one thing at one look."""

    move: Move
    at: int = 1

    def decide(self, moment: Moment) -> Move:
        return self.move if moment.looks == self.at else Move()


def test_doing_nothing_with_an_even_hand_is_out_once_the_slide_is_beyond_tolerance() -> None:
    project = Project(rounds=20, tolerance=3.2)
    done = play(project, Hands(drift=0.5, **EVEN), Once(Move()), 1)
    # offset 0.5 (r - 1): beyond 3.2 from round 8 on; rounds 6 to 20 count
    assert (done.rounds, done.rounds_out, done.fixes, done.minutes) == (15, 13, 0, 0.0)
    assert done.cost == 13 * Costs().round_out_of_tolerance_minutes


def test_a_stitch_count_takes_the_slide_away() -> None:
    # M = N + d stitches make k repeats: 132 on 132 do not slide
    project = Project(rounds=30, tolerance=30.0)
    done = play(project, Hands(drift=4.0, **EVEN), Once(Move(stitches=132)), 1)
    assert (done.changes, done.rounds_out) == (1, 0)
    left = play(project, Hands(drift=4.0, **EVEN), Once(Move()), 1)
    assert left.rounds_out > 0


def test_the_same_seed_gives_every_policy_the_same_luck() -> None:
    project = Project(rounds=12)
    seen: list[list[float]] = []
    for move in (Move(), Move(way=Remedy.TAPESTRY, taken_out=1.0)):
        watched = Once(move, at=8)  # the last look
        logs: list[float] = []
        decide = watched.decide

        def watch(moment: Moment, logs: list[float] = logs, decide=decide) -> Move:
            logs.append(moment.true_offset)
            return decide(moment)

        watched.decide = watch  # type: ignore[method-assign]
        play(project, Hands(drift=1.0), watched, 5)
        seen.append(logs)
    assert seen[0][:7] == seen[1][:7]


@pytest.mark.parametrize(
    ("move", "words"),
    [
        (Move(taken_out=4.0), "one way or the other"),
        (Move(way=Remedy.TAPESTRY, taken_out=500.0), "more than a tapestry needle can do"),
        (Move(needle_mm=9.0), "9 mm is not among those owned"),
        (Move(stitches=129), "129 stitches do not fit the stitch pattern"),
    ],
)
def test_what_cannot_be_done_is_refused(move: Move, words: str) -> None:
    project = Project(multiple=4)
    with pytest.raises(ValueError, match=words):
        move_minutes(move, project, 128, 4.5, Costs(), Limits())


def test_what_a_move_takes_is_its_work_added_up() -> None:
    costs = Costs()
    project = Project(needles_owned_mm=(4.5, 5.0))
    move = Move(needle_mm=5.0, stitches=131)
    assert move_minutes(move, project, 128, 4.5, costs, Limits()) == pytest.approx(
        costs.needle_change_minutes
        + costs.count_change_minutes
        + 3 * costs.count_change_minutes_per_stitch
    )
    assert move_minutes(Move(), project, 128, 4.5, costs, Limits()) == 0.0
