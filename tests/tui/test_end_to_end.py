"""The whole job in a pseudo-terminal: begin, log ten rounds, take the advice, undo, come back.

And steer fifteen rounds by hand, with nothing to go by but the prompt.
"""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from tests.simulator.hand import Work, hand_for
from tests.simulator.knitting import Knitting

from .terminal import Terminal


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    opened: list[Terminal] = []

    def start(*arguments: str) -> Terminal:
        opened.append(Terminal(tmp_path / "wool", *arguments))
        return opened[-1]

    yield start
    for each in opened:
        each.close()


def test_a_winter_evening(terminal: Callable[..., Terminal], tmp_path: Path) -> None:
    first = terminal()
    first.wait_for("a project of your own")
    first.type("a")
    first.wait_for("Its name")
    for answer, next_picture in (
        ("Hut hat", "count every"),
        ("128", "one repeat"),
        ("152cm", "the size on the needle"),
        ("4.5mm", "once around"),
        ("", "bind off"),
        ("60", "too far"),
        ("", "ribbing"),
        ("4", "10 cm or 4 in"),
    ):
        first.type(f"{answer}\r")
        first.wait_for(next_picture)
    first.type("\x13")  # Ctrl+S begins the project
    first.wait_for("Round 1 · where did the colour change?")
    for number, typed in enumerate(
        ("37", "+3", "+2.5", "+3", "+3", "+2", "+3.5", "+3", "+2.5", "+3"), start=1
    ):
        first.type(f"{typed}\r")
        first.wait_for(f"Saved: round {number} at stitch")
    first.wait_for("Stitches too small")
    first.wait_for(lambda text: "STITCHES" in text or "│ 1 " in text)  # the advice stands
    first.type("f")
    first.wait_for("What did you do after round 10?")
    first.type("\r")  # the recommended one, as it stands
    first.wait_for(lambda text: "from round 11" in text or "after round 10." in text)
    state = Library(tmp_path / "wool").open("Hut hat").state
    logged = [*state.stints[1:], *state.fixes, *state.new_homes, *state.tension]
    assert logged
    first.type("9")
    first.wait_for("│ 9 ")
    first.type("\x1b")  # Escape clears the entry
    first.wait_for("a stitch, then Enter")
    first.wait_for("round 10 of 60")
    first.type("u")  # one step, whatever it was made of
    first.wait_for("Took back")
    first.wait_for("round 10 of 60")
    first.type("u")
    first.wait_for("round 9 of 60")
    first.type("\x11")  # Ctrl+Q leaves
    assert first.ended() == 0

    second = terminal()
    second.wait_for("9 of 60")
    second.type("\r")
    second.wait_for("Round 10: expect")
    second.wait_for("Stitches too small")
    second.type("r")
    second.wait_for("round 10 of 60")
    second.type("\x11")
    assert second.ended() == 0
    entries = Library(tmp_path / "wool").open("Hut hat").state.entries
    assert [entry.positions[0].stitch for entry in entries] == [
        37, 40, 42.5, 45.5, 48.5, 50.5, 54, 57, 59.5, 62.5,
    ]  # fmt: skip


def _once_advised(screen: Terminal, number: int) -> str:
    """What stands on the screen once the advice for the coming round stands beside its prompt."""
    prompt = f"Round {number}: expect" if number > 2 else f"Round {number} "

    def advised(text: str) -> bool:
        return prompt in text and "Working it out" not in text

    while True:
        screen.wait_for(advised)
        screen.look()  # the prompt may be drawn before the advice is taken away
        if advised(screen.text):
            return screen.text


def test_steered_by_the_hand_for_eighteen_rounds_the_fabric_stacks(
    terminal: Callable[..., Terminal], tmp_path: Path
) -> None:
    # a hand that slides by 1.6 a round and gives four fifths of what it is asked, three in a
    # hundred at most (common practice, no source); the simulator lays her yarn stitch by stitch
    work = Work()
    hand = hand_for(work, 1.6, answer=0.8, reading_sd=0.3, rounding=0.5)
    left_alone, steered = Knitting(hand, work, seed=4), Knitting(hand, work, seed=4)
    facts = make_facts(stitches=128, repeat_length_mm=1524.0, needle_mm=4.5, planned_rounds=60)
    Library(tmp_path / "wool").create("Hut hat", facts)
    screen = terminal()
    screen.wait_for("Hut hat")
    screen.type("\r")
    for number in range(1, 19):
        told = _once_advised(screen, number)
        if "Let the colours stack from" in told:  # she does: the recommended one, as it stands
            screen.type("f")
            screen.wait_for(f"What did you do after round {number - 1}?")
            screen.type("\r")
            screen.wait_for(f"Saved: the colours stack from round {number} on")
            steered.new_home()
            told = _once_advised(screen, number)
        if aim := re.search(rf"Round {number}: .*let it fall at (\d+)", told):
            beside = 100.0 * (steered.expected_next - float(aim[1])) / work.stitches
            steered.ask_tension(float(np.clip(steered.asked + beside / hand.answer, -3.0, 3.0)))
        left_alone.knit_round()
        (read,) = steered.knit_round()
        screen.type(f"{read.stitch:g}\r")
        screen.wait_for(f"Saved: round {number} at stitch {read.stitch:g}.")
    screen.type("\x11")
    assert screen.ended() == 0
    assert abs(left_alone.off_by[-1]) > 15.0
    assert np.abs(steered.off_by[-7:]).max() <= work.tolerance
    state = Library(tmp_path / "wool").open("Hut hat").state
    assert len(state.entries) == 18
    assert state.aims  # the marks she was given stand beside the rounds, at no key more
    assert len(state.stints) == 1  # neither needle nor stitch count
