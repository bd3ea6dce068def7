"""What can be told of a project in a few lines: a note, a new skein, a change, rounds ripped back.

Each gives one typed value; the screen at the needles writes it to the journal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from knitlog.tui.form import Field, number_of, whole_of
from knitlog.tui.modals.form_sheet import FormSheet
from knitlog.typed.measures import GivenNeedle, given_needle

SURE_BEYOND = 3
"""Rounds ripped back beyond which she is asked once more (common practice, no source)."""
_ENTER_SAVES = "Enter saves · F1 help · Esc leaves"


class NoteSheet(FormSheet[str | None]):
    """Asks for a note; ``where``: as in 'on round 7'."""

    def __init__(self, where: str) -> None:
        super().__init__(
            (Field("text", "In your words", _words),),
            f"A note {where}",
            "Anything worth remembering: a mood, a cable, a new ball.",
            value=lambda told: told["text"],
            hint=_ENTER_SAVES,
            inline=False,
        )


@dataclass(frozen=True, slots=True)
class Join:
    """A new skein."""

    stitch: float | None
    """Where in the round, if noted."""


class SkeinSheet(FormSheet[Join]):
    """Asks at which stitch a new skein was joined; ``where``: as in 'round 7'."""

    def __init__(self, where: str) -> None:
        stitch = number_of("the stitch", "64")
        super().__init__(
            (Field("stitch", "At which stitch", stitch, "", "64; may be left empty"),),
            f"A new skein joined in {where}",
            "A new skein may begin elsewhere in its colours: the fit allows for it.",
            value=lambda told: Join(told["stitch"]),
            hint=_ENTER_SAVES,
        )


@dataclass(frozen=True, slots=True)
class Change:
    """A change of needle, stitch count or tension, from some round on."""

    from_round: int
    needle: GivenNeedle | None = None
    """None leaves the needle as it is."""
    stitches: int | None = None
    """None leaves the stitch count as it is."""
    tension_percent: float | None = None
    """Asked of the hand, + is looser; None leaves it as it is."""


class ChangeSheet(FormSheet[Change]):
    """Asks what changed, and from which round on."""

    TITLE_WORDS: ClassVar[str] = "Change needle, stitch count or tension"
    ABOUT: ClassVar[str] = "Leave empty what stays as it is."

    def __init__(
        self, *, unit: str, next_round: int, needle: str, stitches: int, tension: float | None
    ) -> None:
        """``tension``: what is asked of the hand now, %; None where that cannot be logged."""
        whole = whole_of(f"the stitches in the {unit}", 132, least=2)
        fields = [
            Field(
                "needle",
                "Needle from now on",
                given_needle,
                placeholder=f"now {needle}; such as 5mm, US 8",
                about="The needle you took up.",
            ),
            Field(
                "stitches",
                f"Stitches in the {unit}",
                whole,
                placeholder=f"now {stitches}",
                about="After increasing or decreasing.",
            ),
        ]
        if tension is not None:
            fields.append(
                Field(
                    "tension",
                    "Tension, % looser (- tighter)",
                    number_of("the tension", "2, -1.5, or 0 as usual"),
                    placeholder=f"now {tension:+g}" if tension else "now as usual; such as 2",
                    about="What you ask of your hand against its usual: 2 is a shade looser, "
                    "-2 a shade tighter, 0 as usual again.",
                )
            )
        fields.append(
            Field(
                "from-round",
                f"First {unit} knitted that way",
                whole_of(f"the {unit}", next_round),
                str(next_round),
                missing=f"Type the first {unit} knitted that way, such as {next_round}.",
            )
        )
        super().__init__(fields)

    def value(self, told: dict[str, Any]) -> Change:
        """The change; it must be one."""
        change = Change(told["from-round"], told["needle"], told["stitches"], told.get("tension"))
        if change == Change(change.from_round):
            raise ValueError("Fill in what changed, or leave with Esc.")
        return change


class RipBackSheet(FormSheet[int]):
    """Asks how many rounds were ripped back; gives the last one still on the needles."""

    HINT = _ENTER_SAVES
    ABOUT: ClassVar[str] = (
        "What was logged in them stays in the journal but no longer counts. u brings it back."
    )

    def __init__(self, last_round: int, unit: str) -> None:
        self._last, self._unit = last_round, unit
        self._asked: int | None = None
        super().__init__(
            (
                Field(
                    "rounds",
                    f"How many {unit}s?",
                    whole_of(f"how many {unit}s", 1),
                    "1",
                    missing=f"Type how many {unit}s were ripped back, such as 1.",
                ),
            ),
            title=f"Ripped back from {unit} {last_round}",
        )

    def value(self, told: dict[str, Any]) -> int:
        """The last round that is left; asks once more before many go."""
        rounds: int = told["rounds"]
        if rounds > self._last:
            raise ValueError(f"There are only {self._last} {self._unit}s to rip back.")
        if rounds > SURE_BEYOND and rounds != self._asked:
            self._asked = rounds
            raise ValueError(
                f"{rounds} {self._unit}s, back to {self._unit} {self._last - rounds}? "
                "Enter once more rips them back, Esc leaves them."
            )
        return self._last - rounds


def _words(text: str) -> str:
    if len(text) > 4000:
        raise ValueError("A note has room for 4000 letters: part it in two.")
    return text
