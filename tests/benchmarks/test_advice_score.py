"""The score itself, a small sample of it, and what it must come to."""

import numpy as np
import pytest

import tests.benchmarks.advice_score as bench
from tests.benchmarks.advice_policies import Clairvoyant, DoNothing, PlainController, finish
from tests.benchmarks.advice_projects import COSTS, Play, alike, invent, turn_on

SAMPLE = ((1, 1, 1000), (2, 2, 5003), (0, 4, 12002))


@pytest.fixture(scope="module")
def sample() -> list[bench.Row]:
    return [bench.score(*job) for job in SAMPLE]


def test_following_the_advice_costs_less_than_doing_nothing(sample) -> None:
    assert bench.mean(sample, "knitlog") < 0.7 * bench.mean(sample, "nothing")


def test_following_the_advice_costs_less_than_the_rule(sample) -> None:
    assert bench.mean(sample, "knitlog") < 0.7 * bench.mean(sample, "rule")


def test_lines_across_the_work_are_few(sample) -> None:
    assert bench.mean(sample, "changes") <= 1.0


def test_the_table_has_a_line_for_all(sample) -> None:
    assert "| all | all | 3 |" in bench.table(sample)


def test_a_bill_is_what_its_parts_come_to() -> None:
    play = Play(invent(1000, 4, 2), 1000)
    for _ in range(5):
        play.knit()
    out = 2.0 * sum(play.out)
    play.change_count(play.knitting.stitches + 4)
    # 3, 0.5 a stitch, the line 12, the pattern anew 20
    assert play.cost == pytest.approx(out + 3 + 2 + 12 + 20)
    play.change_needle(5.0)
    assert play.cost == pytest.approx(out + 37 + 4 + 8)
    play.ask(2.0)
    play.stack_from_here()
    play.knit()
    assert play.out[-1] is False
    assert play.cost == pytest.approx(out + 49 + 0.3 + 6)


def test_a_turn_on_another_needle_is_what_comes_of_it() -> None:
    play = Play(alike(invent(1001, 1, 4), answer=0.0, stitch_percent=0.0, creep_percent=0.0), 1)
    for _ in range(3):
        play.knit()
    told = turn_on(play, 5.0)
    play.knitting.change_needle(5.0)
    assert play.knitting.drift + play.knitting.stitches == pytest.approx(told, rel=1e-9)


def test_policies_meet_the_same_knitting() -> None:
    one, two = (finish(Play(invent(1002, 1, 1), 7), DoNothing()) for _ in range(2))
    assert one.cost == two.cost
    assert one.knitting.offsets == two.knitting.offsets


def test_the_clairvoyant_pays_about_what_her_tables_say() -> None:
    # backwards over her tables against forwards over many projects: a check of the yardstick
    project = alike(
        invent(1000, 0, 1), answer=0.8, creep_percent=0.0, sitting_percent=0.0, miscount_rate=0.0
    )
    paid, said = [], []
    for seed in range(30):
        her = Clairvoyant()
        play = Play(project, seed)
        for _ in range(her.first_look):
            play.knit()
        her.decide(play)
        before = play.cost
        (values, _), left = next(iter(her._solved.values())), project.work.rounds - her.first_look
        said.append(float(np.interp(her._at_end(play), her._grid(), values[left])))
        while not play.done:
            play.knit()
            if not play.done:
                her.decide(play)
        paid.append(play.cost - before)
    # she reads the colours with a filter's error, her tables know them: she pays more, not less
    spread = np.std(paid) / np.sqrt(len(paid))
    assert np.mean(paid) > np.mean(said) - 3 * spread
    assert np.mean(paid) < 2.5 * np.mean(said) + COSTS.new_place_minutes


def test_a_plain_controller_beats_doing_nothing() -> None:
    jobs = [(m, n, s) for m, n, s in SAMPLE]
    plain = [finish(Play(invent(s, m, n), s), PlainController()).cost for m, n, s in jobs]
    nothing = [finish(Play(invent(s, m, n), s), DoNothing()).cost for m, n, s in jobs]
    assert sum(plain) < sum(nothing)


@pytest.mark.long
def test_the_whole_table(capsys: pytest.CaptureFixture[str]) -> None:
    rows = bench.run(42)
    with capsys.disabled():
        print("\n" + bench.table(rows))
    assert len(rows) >= 500
    fixed = [r for r in rows if (r["multiple"], r["needles"]) == (0, 1)]
    assert bench.ratio(rows, "nothing")[0] <= 0.50
    assert bench.ratio(fixed, "nothing")[0] <= 0.75
    for multiple, needles in bench.CELLS:
        cell = [r for r in rows if (r["multiple"], r["needles"]) == (multiple, needles)]
        assert bench.ratio(cell, "plain")[0] < 1.0
    assert bench.ratio(rows, "clairvoyant")[0] <= 1.25
    assert bench.mean(rows, "changes") <= 1.0
    assert np.mean([row["changes"] > 2 for row in rows]) <= 0.02
    looks = sum(row["looks"] for row in rows)
    assert sum(row["unforetold"] for row in rows) / looks <= 0.03
