"""The advice, scored against doing nothing, the common rule and a clairvoyant.

A small sample runs by default; the whole table by ``-m long -s``, and its last print is
kept in ADVICE_RESULTS.md.
"""

import advice_score as bench
import numpy as np
import pytest
from advice_policies import Clairvoyant, DoNothing, Knitlog

from knitlog.simulate.projects import Hands, Project, invent, play

SAMPLE = [(m, n, bench.seed_of(m, n, i)) for i in range(2) for m, n in ((1, 1), (2, 1), (4, 2))]


@pytest.fixture(scope="module")
def sample() -> list[dict[str, float]]:
    return [bench.score(*job) for job in SAMPLE]


def test_following_the_advice_costs_less_than_doing_nothing(sample) -> None:
    assert bench.mean(sample, "knitlog") < 0.9 * bench.mean(sample, "nothing")


def test_following_the_advice_costs_less_than_the_rule(sample) -> None:
    assert bench.mean(sample, "knitlog") < 0.9 * bench.mean(sample, bench.the_rule(sample))


def test_nobody_beats_the_one_who_knows_everything_by_more_than_luck(sample) -> None:
    assert bench.mean(sample, "all_seeing") < 1.05 * bench.mean(sample, "knitlog")


def test_the_clairvoyants_own_price_is_what_it_pays() -> None:
    # backwards over its tables against forwards over many projects: an independent check
    # of the yardstick itself
    project, hands = Project(rounds=40, home=64.0), Hands(drift=1.0)
    tables = Clairvoyant(project, hands)
    tables.prepare(4.0)
    paid = [
        play(project, hands, Clairvoyant(project, hands, all_seeing=True, tables=tables), s).cost
        for s in range(60)
    ]
    at_first_look = []
    for s in range(60):
        luck = np.random.default_rng(s).standard_normal((41, 3))
        offset = 4 * 1.0 + 0.7 * luck[2:6, 0].sum()
        at_first_look.append(np.interp(offset, tables.o, _value(tables, 35)))
    assert np.mean(paid) == pytest.approx(np.mean(at_first_look), rel=0.15)


def _value(tables: Clairvoyant, rounds_left: int) -> np.ndarray:
    """Least of leaving it and of the cheapest change, fixes apart: an upper price."""
    after = tables.after[rounds_left]
    return np.min(
        [
            np.interp(tables.o + tables.slip[0, b], tables.o, after[b]) + tables.change[0, b]
            for b in range(len(tables.ways))
        ],
        axis=0,
    )


def test_policies_meet_the_same_knitting() -> None:
    project, hands = invent(3, 1, 1)
    first, again = (play(project, hands, DoNothing(), 3) for _ in range(2))
    assert first == again


@pytest.mark.long
def test_the_whole_table(capsys: pytest.CaptureFixture[str]) -> None:
    rows = bench.run(34)
    with capsys.disabled():
        print("\n" + bench.table(rows))
    assert len(rows) >= 500
    rule = bench.the_rule(rows)
    for multiple, needles in bench.CELLS:
        cell = [r for r in rows if (r["multiple"], r["needles"]) == (multiple, needles)]
        assert bench.mean(cell, "knitlog") < bench.mean(cell, rule), (multiple, needles)
        assert bench.mean(cell, "knitlog") < bench.mean(cell, "nothing"), (multiple, needles)


@pytest.mark.long
def test_advice_nobody_follows_changes_seldom() -> None:
    changed = looks = 0
    for number in range(20):
        project, hands = invent(90_000 + number, (1, 2, 4, 8, 0)[number % 5], (1, 2)[number % 2])
        onlooker = Knitlog(follows=False)
        play(project, hands, onlooker, number)
        some, _, of = onlooker.changed_by_a_reading()
        changed, looks = changed + some, looks + of
    assert changed / looks < 0.10
