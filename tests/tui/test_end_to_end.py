"""The whole job in a pseudo-terminal: begin, log ten rounds, take the advice, undo, come back."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from knitlog.journal.library import Library

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
