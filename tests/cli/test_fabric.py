"""The fabric from the command line: letters, words, pictures, colours, numbers."""

import json
import os
import re
import shutil
from pathlib import Path
from xml.etree import ElementTree

import pexpect
import pytest

from .conftest import SAMPLES, Knitlog


@pytest.fixture
def cowl(folder: Path) -> str:
    folder.mkdir(parents=True)
    shutil.copy(SAMPLES / "too-small.knitlog", folder)
    return "too-small"


def test_letters_show_the_fabric_so_far_and_to_come(knitlog: Knitlog, cowl: str) -> None:
    done = knitlog("fabric", cowl)
    assert (done.code, done.err) == (0, "")
    lines = done.out.splitlines()
    assert lines[0].startswith("Carry on: +")
    assert sum("knitted so far" in line for line in lines) == 1
    assert max(map(len, lines)) <= 80 + len(" < knitted so far")
    assert lines[-1].split()[::3] == ["E", "A", "D"]
    assert lines[-1].split()[1::3] == ["ember", "ash", "dusk"]


def test_the_futures_are_what_advise_tells(knitlog: Knitlog, cowl: str) -> None:
    found = json.loads(knitlog("fabric", cowl, "--under", "all", "--json").out)
    advice = json.loads(knitlog("advise", cowl, "--json").out)
    assert found["rounds_knitted"] == 6
    for way, option in zip(found["ways"], advice["options"], strict=True):
        assert (way["way"], way["title"]) == (option["remedy"], option["title"])
        if option["feasible"]:
            assert way["share_in_tolerance"] == option["share_in_tolerance"]
            assert way["fixes"] == option["expected_fixes"]
            assert len(way["fabric"]["rows"]) == 60
        else:
            assert (way["share_in_tolerance"], way["fixes"], way["fabric"]) == (None, None, None)
        assert way["reason"] == option["reason"]
    assert found["ways"][0]["title"] == advice["recommended"]["title"]


def test_the_futures_know_of_her_past(folder: Path, knitlog: Knitlog) -> None:
    folder.mkdir(parents=True)
    for path in (SAMPLES / "history").glob("*.knitlog"):
        shutil.copy(path, folder)
    shutil.copy(SAMPLES / "too-small.knitlog", folder)
    for how in ((), ("--without-hands",)):
        advice = json.loads(knitlog("advise", "too-small", "--json", *how).out)
        found = json.loads(knitlog("fabric", "too-small", "--under", "advised", "--json", *how).out)
        (way,) = found["ways"]
        assert way["title"] == advice["recommended"]["title"]
        assert way["share_in_tolerance"] == advice["options"][0]["share_in_tolerance"]


def test_spreads_in_the_advices_order(knitlog: Knitlog, cowl: str) -> None:
    spread = knitlog("fabric", cowl, "--under", "carry-on", "--under", "advised").out
    advice = json.loads(knitlog("advise", cowl, "--json").out)
    titles = [advice["recommended"]["title"], "Carry on"]
    assert spread.startswith(f"{titles[0]}: ")
    assert spread.index(titles[0]) < spread.index(titles[1])


def test_one_round_in_words(knitlog: Knitlog, cowl: str) -> None:
    # logged at 36.5 in round 1, where ember gives way to ash
    first = knitlog("fabric", cowl, "--round", "1").out
    assert re.match(r"Round 1: ember to stitch 3[67], ash", first)
    all_of_it = json.loads(knitlog("fabric", cowl, "--under", "all", "--json").out)["ways"]
    lines = knitlog("fabric", cowl, "--under", "all", "--round", "40").out.splitlines()
    for line, way in zip(lines, all_of_it, strict=True):
        told = "" if way["fabric"] is None else "Round 40: "
        assert line.startswith(f"{way['title']}{'. ' if told else ': '}{told}")
    done = knitlog("fabric", cowl, "--round", "61")
    assert done.code == 2
    assert "60 rounds" in done.sentence


def test_rounds_ahead_and_evenness(knitlog: Knitlog, cowl: str) -> None:
    def rows(*options: str) -> list[list[int]]:
        way = json.loads(knitlog("fabric", cowl, *options, "--json").out)["ways"][0]
        found: list[list[int]] = way["fabric"]["rows"]
        return found

    assert len(rows("--ahead", "3")) == 9
    assert rows("--seed", "1") != rows("--seed", "2")
    assert rows("--even", "--seed", "1") == rows("--even", "--seed", "2")


@pytest.mark.parametrize("suffix", [".svg", ".png"])
def test_pictures_side_by_side(knitlog: Knitlog, cowl: str, tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"cowl{suffix}"
    done = knitlog("fabric", cowl, "--under", "all", "-o", path)
    assert done.out.startswith("Drew 60 rounds")
    if suffix == ".svg":
        assert (ElementTree.parse(path).getroot()[0].text or "").count(";") >= 1
    else:
        assert path.read_bytes().startswith(b"\x89PNG")


def test_a_project_without_rounds_or_colours_is_drawn_as_planned(knitlog: Knitlog) -> None:
    knitlog("new", "Red hat", "--stitches", "40", "--rounds", "6")
    out = knitlog("fabric", "red-hat").out
    assert out.startswith("As planned.")
    assert "not described yet" in out
    done = knitlog("fabric", "red-hat", "--under", "needle")
    assert done.code == 2
    assert "Log two rounds" in done.sentence


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (["nobody"], "nobody"),
        (["too-small", "-o", "cowl.gif"], ".svg or .png"),
        (["too-small", "--under", "magic"], "magic"),
    ],
)
def test_nonsense_is_answered_in_a_sentence(
    knitlog: Knitlog, cowl: str, arguments: list[str], hint: str
) -> None:
    done = knitlog("fabric", *arguments)
    assert done.code == 2
    assert hint in done.sentence


@pytest.mark.parametrize(
    ("environ", "sign"),
    [
        ({"COLORTERM": "truecolor", "TERM": "xterm-256color"}, "48;2;181;69;44"),  # #b5452c, ember
        ({"COLORTERM": "", "TERM": "xterm-256color"}, "48;5;"),
        ({"COLORTERM": "", "TERM": "xterm-16color"}, "\x1b[41m"),
    ],
    ids=["true", "256", "16"],
)
def test_a_terminal_gets_the_colours_it_can_show(
    folder: Path, cowl: str, environ: dict[str, str], sign: str
) -> None:
    out = in_a_terminal(folder, cowl, environ)
    assert sign in out
    assert "EEEE" not in out


def test_a_terminal_without_colour_gets_letters(folder: Path, cowl: str) -> None:
    out = in_a_terminal(folder, cowl, {"NO_COLOR": "1", "TERM": "xterm-256color"})
    assert "EEEE" in out
    assert "\x1b[" not in out


def in_a_terminal(folder: Path, project: str, environ: dict[str, str]) -> str:
    """What the installed command prints into a pseudo-terminal."""
    import sys

    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR")}
    child = pexpect.spawn(
        sys.executable,
        ["-m", "knitlog", "--folder", str(folder), "fabric", project],
        env={**env, **environ},
        dimensions=(40, 100),
        encoding="utf-8",
        timeout=60,
    )
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert isinstance(child.before, str)
    return child.before


def test_a_way_that_cannot_be_says_why_in_words_and_refuses_a_picture(
    knitlog: Knitlog, tmp_path: Path
) -> None:
    knitlog("new", "Needle hat", "--stitches", "96", "--repeat-length", "60in")
    for entry in ("37", "40", "43", "46"):
        knitlog("log", "needle-hat", entry)
    out = knitlog("fabric", "needle-hat", "--under", "needle").out
    assert out.startswith("Change needle.\nSay which needle you knit with")
    done = knitlog("fabric", "needle-hat", "--under", "needle", "-o", tmp_path / "a.svg")
    assert done.code == 2
    assert "There is no fabric to draw: Say which needle you knit with" in done.sentence


@pytest.mark.parametrize("asks", [True, False])
def test_colours_nobody_knows_are_asked_about(knitlog: Knitlog, asks: bool) -> None:
    run = f"{'zorp' if asks else 'rose'} 30cm, moss 45cm, snow 77cm"
    assert knitlog("new", "Hut hat", "--stitches", "96").code == 0
    for done in (
        knitlog("settings", "hut-hat", "--colours", run),
        knitlog("plan", "fabric", "--colours", run, "--stitches", "96", "--rounds", "3"),
        knitlog("fabric", "hut-hat"),
    ):
        assert done.code == 0
        assert ("'zorp' is drawn in a stand-in: what does it look like?" in done.out) == asks
