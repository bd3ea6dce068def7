"""The fix sheet: what was done about the drift, the advice filled in.

Returns :class:`Done`: what to write to the journal, and how to say it.  The list holds the
recommended remedy first: Enter takes it as it stands.  Tab goes to the numbers, for what was
done a little differently; Enter on the last of them, or Ctrl+S, saves.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.widget import Widget
from textual.widgets.option_list import Option

from knitlog.journal import actions
from knitlog.report.words import one_round, plain, signed
from knitlog.tui.fix_choices import START_AGAIN, FixChoice, fix_choices
from knitlog.tui.form import Field, number_of, whole_of
from knitlog.tui.modals.form_sheet import FormSheet
from knitlog.tui.widgets.choices import Choices
from knitlog.typed.measures import GivenNeedle, Units, given_needle

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis
    from knitlog.journal.project import ProjectState


@dataclass(frozen=True, slots=True)
class Done:
    """What was done, ready for the journal."""

    words: str
    """As in 'Saved: ...'."""
    steps: tuple[actions.Doing, ...]
    """In the order they are to be written."""


class FixSheet(FormSheet[Done]):
    """Asks what was done."""

    HINT: ClassVar[str] = "↑ ↓ choose · Enter saves · Tab changes the numbers · F1 help · Esc"
    ABOUT: ClassVar[str] = (
        "Choose what you did: the remedies of the advice, the recommended first, with their "
        "numbers filled in. Change a number if you did it a little differently."
    )

    DEFAULT_CSS = """
    FixSheet Choices { max-height: 9; margin: 1 0; }
    """

    def __init__(self, state: ProjectState, view: Analysis | None) -> None:
        super().__init__(
            _FIELDS, title=f"What did you do after {one_round(state.facts)} {state.last_round}?"
        )
        self._state = state
        self._choices = fix_choices(view)
        self._chosen = self._choices[0]

    def above(self) -> Iterable[Widget]:
        """The choices."""
        yield Choices(*(Option(choice.words) for choice in self._choices), markup=False)

    def start(self) -> None:
        """Begin with the recommended choice."""
        self.query_one(Choices).focus()
        self.query_one(Choices).highlighted = 0
        self._fill_in(self._choices[0])

    @on(Choices.OptionHighlighted)
    def _look_at(self, event: Choices.OptionHighlighted) -> None:
        self._fill_in(self._choices[event.option_index])

    @on(Choices.OptionSelected)
    def _take(self, event: Choices.OptionSelected) -> None:
        self._fill_in(self._choices[event.option_index])
        self.action_save()

    def _fill_in(self, choice: FixChoice) -> None:
        self._chosen = choice
        for key, text in choice.texts().items():
            self.form.question(key).set_value(text)

    def value(self, told: dict[str, Any]) -> Done:
        """What is to be written."""
        done = _done(self._state, self._chosen, told)
        if done is None:
            raise ValueError("Fill in what was done, or leave with Esc.")
        return done


_number = number_of("the stitches", "12 or -3.5")
_FIELDS = (
    Field(
        "taken-out",
        "Offset taken out (minus: put in)",
        _number,
        placeholder="stitches; empty if none",
        about="How many stitches nearer its place the colour change came.",
    ),
    Field(
        "over",
        "Spread over",
        _number,
        placeholder="stitches; may be left empty",
        about="Over how many stitches you spread it.",
    ),
    Field("needle", "New needle", given_needle, placeholder="empty if it is the same"),
    Field(
        "stitches",
        "New stitch count",
        whole_of("the stitches in the round", 132, least=2),
        placeholder="empty if it is the same",
    ),
    Field(
        "tension",
        "Tension, % looser (- tighter)",
        number_of("the tension", "2, or -1.5"),
        placeholder="empty if it is as before",
        about="What you ask of your hand from here on, against its usual.",
    ),
)


def _done(state: ProjectState, chosen: FixChoice, told: dict[str, Any]) -> Done | None:
    unit, last, coming = one_round(state.facts), state.last_round, state.next_round
    how = chosen.how
    words: list[str] = []
    steps: list[actions.Doing] = []
    if how == START_AGAIN:
        words.append("started again from round 1")
        steps.append(partial(actions.rip_back, to_round=0))
        coming = 1
    if chosen.new_home:
        words.append(f"the colours stack from {unit} {coming} on, where they are now")
        steps.append(partial(actions.take_new_home, from_round=coming))
    if taken_out := told["taken-out"]:
        words.append(f"{how}, {signed(-taken_out)} stitches after {unit} {last}")
        fix = partial(actions.make_fix, taken_out=taken_out, after_round=last, how=how)
        steps.append(partial(fix, over_stitches=told["over"]))
    needle, stitches, tension = told["needle"], told["stitches"], told["tension"]
    changed = changes_from(
        coming,
        needle=None if needle is None or needle.mm == state.needle_mm else needle,
        stitches=None if stitches == state.stitches else stitches,
        tension_percent=None if tension == state.tension_percent else tension,
        aim_stitch=chosen.aim_stitch,
    )
    words += [f"{what} from {unit} {coming}" for what, _ in changed]
    steps += [step for _, step in changed]
    return Done(" and ".join(words), tuple(steps)) if steps else None


def changes_from(
    first_round: int,
    *,
    needle: GivenNeedle | None,
    stitches: int | None,
    tension_percent: float | None,
    aim_stitch: float | None = None,
) -> list[tuple[str, actions.Doing]]:
    """What is knitted otherwise from a round on, each in words and as what is to be logged.

    None is what stays as it is.
    """
    found: list[tuple[str, actions.Doing]] = []
    if needle is not None:
        step = partial(actions.change_needle, needle_mm=needle.mm, as_given=needle.text)
        words = f"{Units().needle(needle.mm, needle.text)} needles"
        found.append((words, partial(step, from_round=first_round)))
    if stitches is not None:
        step = partial(actions.change_stitches, stitches=stitches, from_round=first_round)
        found.append((f"{stitches} stitches", step))
    if tension_percent is not None:
        ask = partial(actions.ask_tension, percent=tension_percent, from_round=first_round)
        found.append((tension_words(tension_percent), partial(ask, aim_stitch=aim_stitch)))
    return found


def tension_words(percent: float) -> str:
    """What is asked of the hand.

    >>> tension_words(-1.5)
    'a shade tighter (1.5 %)'
    """
    if not percent:
        return "tension as usual"
    return f"a shade {'looser' if percent > 0 else 'tighter'} ({plain(abs(percent))} %)"
