"""Which colour ends where in the round to come: against yarn counted stitch by stitch."""

import io
from itertools import pairwise
from pathlib import Path

import pytest

import knitlog
from knitlog.advice import Refusal
from knitlog.analysis.analysis import analyse
from knitlog.analysis.next_round import NextRound, aimed, next_round
from knitlog.journal.actions import change_stitches, log_round, take_new_home
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState
from knitlog.report.verdict_words import colours_sentence, verdict

RUN = {"rust": 50.0, "ash": 45.0, "lake": 57.0}
LENGTH = sum(RUN.values())


def told(stitches: str, **facts: object) -> ProjectState:
    """An invented project of 128 stitches whose yarn is rust, ash and lake."""
    told = {"stitches": 128, "colours": "rust 50cm, ash 45cm, lake 57cm", "rounds": 80, **facts}
    head = "".join(f"# {name.replace('_', '-')}: {value}\n" for name, value in told.items())
    rows = "".join(f"{n},{at}\n" for n, at in enumerate(stitches.split(), start=1))
    return knitlog.read(io.StringIO(f"{head}round,stitch\n{rows}"))


def coming(state: ProjectState, aim: float | None = None) -> tuple[NextRound, float]:
    """The round to come, and the drift."""
    fit = analyse(state, with_advice=False).fit
    assert fit is not None
    found = next_round(state, fit)
    return found if aim is None else aimed(found, state, aim), fit.drift.mean


def counted(ash_begins: float, stitches_a_repeat: float, stitches: int) -> list[tuple[str, int]]:
    """The last stitch of each colour, the yarn followed stitch by stitch from the round's first."""
    each = LENGTH / stitches_a_repeat
    # rust ends, and ash begins, after so many stitches
    along = RUN["rust"] - ash_begins * each

    def colour(middle: float) -> str:
        within = middle % LENGTH
        return "rust" if within < 50 else "ash" if within < 95 else "lake"

    seen = [colour(along + (stitch + 0.5) * each) for stitch in range(stitches + 1)]
    return [(a, n) for n, (a, b) in enumerate(pairwise(seen), start=1) if a != b]


@pytest.mark.parametrize(("repeats", "ends"), [(1, 3), (2, 6)])
def test_every_colour_ends_where_the_yarn_counted_stitch_by_stitch_has_it(
    repeats: int, ends: int
) -> None:
    found, drift = coming(told("41 43 44.5 47 49 51", repeats=repeats))
    by_hand = counted(found.changes[0].mean, (128 + drift) / repeats, 128)
    assert [one.colour for one in found.colours] == [name for name, _ in by_hand]
    assert len(by_hand) == ends
    for one, (_, stitch) in zip(found.colours, by_hand, strict=True):
        assert one.stitch == pytest.approx(stitch, abs=1)


def test_in_place_they_end_where_they_would_without_a_slide() -> None:
    found, _ = coming(told("31 33 34.5 37 39 41"))
    at_home = dict(counted(found.changes[0].place, 128, 128))
    for one in found.colours:
        assert one.place == pytest.approx(at_home[one.colour], abs=1)


def test_colours_before_the_mark_aimed_at_are_marks_on_the_way() -> None:
    found, _ = coming(told("61 64 66 69 71 74"), aim=72.0)
    first = found.changes[0].mean
    for one in found.colours:
        # a round knitted looser alike: three fifths of the way to one mark are to the other
        assert one.aim == pytest.approx(one.stitch * 72 / first)
    assert {one.colour: one.aim for one in found.colours}["rust"] == pytest.approx(72)


def test_a_mark_at_the_very_beginning_says_nothing_of_the_round() -> None:
    found, _ = coming(told("2 4 6 8 10 12"), aim=10.0)
    assert all(one.aim is None for one in found.colours)


def test_back_rows_are_counted_from_the_other_edge() -> None:
    found, _ = coming(told("31 97 32 96 31", flat="yes"))
    assert found.round == 6
    rust = next(one for one in found.colours if one.colour == "rust")
    assert rust.stitch == pytest.approx(found.changes[0].mean)
    assert rust.place == pytest.approx(found.changes[0].place)
    # knitted from the left edge, counted from the right: what ends first is counted highest
    stitches = [one.stitch for one in found.colours]
    assert stitches == sorted(stitches, reverse=True)


def test_nothing_is_said_of_colours_nobody_told() -> None:
    state = told("31 33 34.5 37 39 41")
    plain = knitlog.read(io.StringIO("# stitches: 128\nround,stitch\n1,31\n2,33\n3,35\n4,37\n"))
    assert coming(plain)[0].colours == ()
    assert colours_sentence(coming(plain)[0], plain) == ""
    assert coming(state)[0].colours


def test_the_sentence_keeps_whole_colours_where_there_is_little_room() -> None:
    state = told("41 43 44.5 47 49 51")
    found, _ = coming(state)
    whole = colours_sentence(found, state)
    assert whole.count(" at ") == 3
    assert colours_sentence(found, state, len(whole)) == whole
    short = colours_sentence(found, state, len(whole) - 1)
    assert len(short) < len(whole)
    assert short.endswith(", ... w tells all")
    assert whole.startswith(short.removesuffix(" ... w tells all"))


def test_a_place_taken_anew_and_not_read_yet_is_the_one_that_counts(tmp_path: Path) -> None:
    """Told to let the colours stack where they are, and done: they are in place."""
    facts = make_facts(stitches=96, planned_rounds=60)
    journal = Library(tmp_path).create("Hut hat", facts)
    for stitch in (31, 33.5, 36, 38.5, 41):
        log_round(journal, [stitch])
    take_new_home(journal, from_round=6)
    change_stitches(journal, 98)
    look = analyse(journal.state)
    assert look.next is not None
    assert look.advice is not None
    # counted along the strand: 55 of the 98.5 stitches of a turn were still knitted as before
    assert look.next.changes[0].mean == pytest.approx(41 + 2.5, abs=0.7)
    assert look.next.changes[0].place == pytest.approx(look.next.changes[0].mean, abs=0.6)
    assert "right in place" in verdict(look)
    assert look.advice.recommended.remedy == "carry on"
    stack = next(o for o in look.advice.options if o.remedy == "stack from here")
    assert stack.refusal is Refusal.NEAR_PLACE  # it has just been taken
