"""At the needles, from the command line."""

import re
from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile

from .conftest import Knitlog


def journal(folder: Path, slug: str = "red-hat") -> JournalFile:
    return JournalFile.open(folder / f"{slug}.knitlog")


def stitches(folder: Path) -> list[list[float]]:
    return [[p.stitch for p in e.positions] for e in journal(folder).state.entries]


@pytest.mark.parametrize(
    ("entry", "stitch", "told"),
    [
        (["37"], [37.0], "4 short of the one below"),
        (["+2"], [43.0], "2 past the one below"),
        (["-1.5"], [39.5], "1.5 short of the one below"),
        (["="], [41.0], "in line with the one below"),
        (["37.5", "81"], [37.5, 81.0], "stitch 81"),
        (["0"], [0.0], "41 short of"),
        (["96"], [96.0], "41 short of"),
        (["+60"], [5.0], "36 short of"),  # wraps at 96
    ],
)
def test_a_round_costs_one_word(
    knitlog: Knitlog, hat: str, folder: Path, entry: list[str], stitch: list[float], told: str
) -> None:
    done = knitlog("log", hat, *entry)
    assert done.code == 0
    assert done.out.startswith("Round 4 logged: ")
    assert told in done.out
    assert stitches(folder)[-1] == stitch


def test_a_minus_is_an_entry_wherever_it_stands(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("log", hat, "-1.5", "--note", "after the storm").code == 0
    assert knitlog("log", "--note", "and more", hat, "-.5").code == 0
    assert stitches(folder)[3:] == [[39.5], [39.0]]
    assert [n.text for n in journal(folder).state.notes] == ["after the storm", "and more"]


def test_a_mistyped_option_is_not_taken_for_an_entry(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    done = knitlog("log", hat, "37", "--rond", "3")
    assert done.code == 2
    assert "--rond" in done.sentence
    assert len(stitches(folder)) == 3


def test_a_round_can_be_skipped_and_corrected(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert "Round 7 logged" in knitlog("log", hat, "50", "--round", "7").out
    done = knitlog("log", hat, "40", "--round", "2")
    assert "Round 2 corrected: stitch 40 (3 past the one below)." in done.out
    assert [e.round for e in journal(folder).state.entries] == [1, 2, 3, 7]
    assert "Round 8 logged" in knitlog("log", hat, "=").out


def test_undo_and_redo_say_what_they_do_and_erase_nothing(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    assert knitlog("undo", hat).out == "Took back round 3.\n"
    assert len(stitches(folder)) == 2
    assert knitlog("redo", hat).out == "Brought back round 3.\n"
    assert len(stitches(folder)) == 3
    assert (folder / "red-hat.knitlog").read_bytes().startswith(before)
    done = knitlog("redo", hat)
    assert done.code == 2
    assert "nothing to bring back" in done.sentence


def test_fixes_and_changes_are_logged(knitlog: Knitlog, hat: str, folder: Path) -> None:
    done = knitlog("fix", hat, "-8", "--how", "rip back", "--over", "20", "--minutes", "6")
    assert done.out == "Fix logged after round 3: -8 stitches taken out.\n"
    done = knitlog("change", hat, "--needle", "US 5", "--stitches", "98")
    assert done.out == "From round 4: needle US 5 (3.75 mm).\nFrom round 4: 98 stitches.\n"
    assert knitlog("join", hat, "--stitch", "40").out == "New skein joined in round 4.\n"
    state = journal(folder).state
    fix = state.fixes[0]
    assert (fix.taken_out, fix.how, fix.over_stitches, fix.minutes) == (-8.0, "rip back", 20.0, 6.0)
    assert (state.stitches, state.needle_mm) == (98, 3.75)
    assert (state.joins[0].round, state.joins[0].stitch) == (4, 40.0)


def test_change_without_a_change_says_what_to_type(knitlog: Knitlog, hat: str) -> None:
    done = knitlog("change", hat)
    assert done.code == 2
    assert "--needle" in done.sentence


def test_rounds_can_be_ripped_back(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("rip", hat, "1").out == "Ripped back to round 1; the next is round 2.\n"
    assert stitches(folder) == [[37.0]]
    assert knitlog("rip", hat, "5").code == 2


def test_one_round_is_ripped_to_be_knitted_again(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("rip", hat).out == "Ripped back to round 2; the next is round 3.\n"
    assert stitches(folder) == [[37.0], [39.0]]


def test_what_is_asked_of_the_hand_is_logged(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("change", hat, "--tension", "+2", "--aim", "40").out == (
        "From round 4: 2 % looser.\n"
    )
    state = journal(folder).state
    assert (state.tension_percent, state.aims) == (2.0, {4: 40.0})
    assert knitlog("log", hat, "41", "--tension", "-1.5").code == 0
    assert [(t.first_round, t.percent) for t in journal(folder).state.tension] == [(4, -1.5)]
    assert knitlog("change", hat, "--tension", "0").out == "From round 5: your usual tension.\n"
    assert knitlog("change", hat, "--aim", "40").code == 2
    assert "+2 or -1.5" in knitlog("change", hat, "--tension", "looser").sentence


def test_the_colours_are_let_stack_where_they_are(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("change", hat, "--place", "here").out == (
        "From round 3: the colours stack where they are.\n"
    )
    assert knitlog("change", hat, "--place", "43", "--from-round", "4").out == (
        "From round 4: the colours stack at stitch 43.\n"
    )
    assert [(h.from_round, h.stitch) for h in journal(folder).state.new_homes] == [
        (3, None),
        (4, 43.0),
    ]
    assert "or here" in knitlog("change", hat, "--place", "there").sentence


def test_notes_and_sittings(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert (
        knitlog("note", hat, "by", "candle", "light", "--round", "2").out == "Noted on round 2.\n"
    )
    assert knitlog("note", hat, "for the hut").out == "Noted.\n"
    assert [(n.text, n.round) for n in journal(folder).state.notes] == [
        ("by candle light", 2),
        ("for the hut", None),
    ]
    assert knitlog("sitting", hat, "start").code == 0
    assert knitlog("sitting", hat, "end").code == 0
    assert knitlog("sitting", hat, "pause").code == 2


def test_a_project_is_found_by_any_part_of_its_name(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    assert knitlog("log", "red", "=").code == 0
    assert knitlog("log", "hat", "=").code == 0  # any part that no other has
    assert "did you mean red-hat" in knitlog("log", "hatt", "=").sentence
    done = knitlog("log", "blue", "=")
    assert done.code == 2
    assert "no project 'blue'" in done.sentence


def test_flat_rows_do_not_wrap(knitlog: Knitlog) -> None:
    knitlog("new", "scarf", "--stitches", "72", "--flat")
    assert knitlog("log", "scarf", "70").code == 0
    done = knitlog("log", "scarf", "+5")
    assert done.code == 2
    assert "off the edge" in done.sentence


def test_flat_work_is_answered_in_rows(knitlog: Knitlog) -> None:
    first = knitlog("new", "scarf", "--stitches", "72", "--flat")
    assert "log the first row with" in first.out
    for words in (
        ("log", "scarf", "40"),
        ("log", "scarf", "41"),
        ("log", "scarf", "99"),
        ("fix", "scarf", "2"),
        ("change", "scarf", "--tension", "+2"),
        ("join", "scarf"),
        ("note", "scarf", "a dropped stitch", "--round", "2"),
        ("rip", "scarf", "7"),
        ("rip", "scarf"),
        ("undo", "scarf"),
        ("redo", "scarf"),
        ("show", "scarf"),
        ("show", "scarf", "--all"),
        ("fit", "scarf"),
        ("advise", "scarf"),
        ("finish", "scarf"),
        ("mend", "scarf"),
        ("review", "scarf"),
    ):
        done = knitlog(*words)
        said = done.out + done.err
        assert "row" in said.lower(), said
        assert not re.search(r"(?<!-)\brounds?\b(?!-)", said, re.IGNORECASE), said


def test_a_step_across_the_beginning_of_the_round_is_the_short_way(
    knitlog: Knitlog, hat: str
) -> None:
    knitlog("log", hat, "94")
    knitlog("log", hat, "1")
    assert "1 (+3)" in knitlog("show", hat, "--all").out
