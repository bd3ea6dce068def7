"""What the advice was a step ago, from the log as it stood then."""

from dataclasses import replace
from itertools import pairwise

import pytest

from knitlog.advice import Remedy, Situation
from knitlog.analysis.analysis import analyse
from knitlog.analysis.last_time import log_last_time, remedy_last_time
from knitlog.drift import DriftLog, Fix, Reading, Stint, fit
from knitlog.journal.events import Position, ProjectSetUp, RoundLogged
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.report.advice_words import tell

LOG = DriftLog(
    readings=tuple(Reading(r, 40.0 + r) for r in (1, 2, 3, 5)),
    stints=(Stint(1, 128, 4.5), Stint(4, 130, 4.5)),
    fixes=(Fix(2, 1.0), Fix(3, 2.0)),
)


def test_a_step_ago_the_last_round_was_not_read_yet_nor_what_led_to_it_done() -> None:
    # the look at round 3: before the fix after it, and before the count changed for round 4
    before = log_last_time(LOG)
    assert before is not None
    assert [r.round for r in before.readings] == [1, 2, 3]
    assert before.fixes == (Fix(2, 1.0),)
    assert before.stints == (Stint(1, 128, 4.5),)


def test_what_was_done_since_the_last_round_is_the_last_step() -> None:
    for done in (
        replace(LOG, fixes=(*LOG.fixes, Fix(5, 3.0))),
        replace(LOG, stints=(*LOG.stints, Stint(6, 132, 4.5))),
    ):
        assert log_last_time(done) == LOG
    plain = replace(LOG, stints=LOG.stints[:1], fixes=())
    assert log_last_time(replace(plain, stints=(*plain.stints, Stint(6, 132, 4.5)))) == plain


def test_a_step_ago_she_had_the_needles_of_then(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Situation] = []

    def noted(situation: Situation, **_: object) -> None:
        asked.append(situation)

    monkeypatch.setattr("knitlog.advice.policy.recommend", noted)
    changed = replace(LOG, stints=(*LOG.stints, Stint(6, 132, 5.0)), fixes=())
    now = Situation(fit=fit(changed), stitches=132, repeats=1.0, needle_mm=5.0)
    remedy_last_time(now)
    # the step before first, then the one before that
    assert [(then.stitches, then.needle_mm) for then in asked] == [(128, 4.5), (130, 4.5)]


def test_there_is_nothing_before_the_first_round() -> None:
    one = replace(LOG, readings=LOG.readings[:1], fixes=(), stints=LOG.stints[:1])
    assert log_last_time(one) is None
    assert log_last_time(replace(one, readings=())) is None


def test_advice_asked_afresh_says_what_changed_since_the_round_before() -> None:
    # in place for seven rounds, then further past each round: some round tips the advice
    places = [40, 40, 41, 40, 40, 41, 40, 43, 46, 49, 52]
    facts = make_facts(stitches=128, needle_mm=4.5, planned_rounds=80, homes={1: 40.0})
    rounds: list[RoundLogged] = []
    said: list[tuple[Remedy, str]] = []
    for number, place in enumerate(places, start=1):
        rounds.append(RoundLogged(round=number, positions=(Position(stitch=float(place)),)))
        advice = analyse(fold([ProjectSetUp(name="Hut hat", facts=facts), *rounds])).advice
        assert advice is not None
        said.append((advice.recommended.remedy, tell(advice).changed))
    changes = 0
    for (before, _), (now, changed) in pairwise(said):
        if before is not now:
            changes += 1
            assert f"'{before}'" in changed
        else:
            assert changed == ""
    assert changes >= 1
