"""A new project: a few questions, each with a picture of what it means.

Why so few: four answers are enough to begin (a name, the stitches, the repeat,
the needle); the others have sensible defaults that may be left alone.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Footer, Input, Static

from knitlog.journal.errors import JournalError
from knitlog.journal.facts import make_facts
from knitlog.tui import answers, pictures
from knitlog.tui.screens.base import COMMON_KEYS, KnitScreen
from knitlog.tui.widgets.masthead import Masthead
from knitlog.tui.widgets.question import Question

if TYPE_CHECKING:
    from knitlog.journal.library import Library


def _questions() -> tuple[Question[Any], ...]:
    return (
        Question(
            "Its name",
            answers.name,
            id="name",
            placeholder="such as Red hat",
            about="What you call it. It names the file too.",
            picture=pictures.NAME,
        ),
        Question(
            "Stitches in a round",
            partial(answers.whole, what="the stitches in a round", example=128, least=2),
            id="stitches",
            placeholder="such as 128",
            about="All stitches around, as cast on.",
            picture=pictures.STITCHES,
        ),
        Question(
            "Length of one colour repeat",
            answers.maybe_length,
            id="repeat",
            placeholder="such as 152cm or 60in",
            about="How far along the yarn until the colours begin again. Leave it empty if you "
            "do not know: only the yarn per stitch needs it.",
            picture=pictures.REPEAT_LENGTH,
        ),
        Question(
            "Needle",
            answers.maybe_needle,
            id="needle",
            placeholder="such as 4.5mm or US 7",
            about="The needle you begin with.",
            picture=pictures.NEEDLE,
        ),
        Question(
            "Repeats meant to go into a round",
            partial(answers.number, what="the repeats", example="1 or 2"),
            id="repeats",
            value="1",
            about="Once around the colours, or twice.",
            picture=pictures.REPEATS,
        ),
        Question(
            "Rounds planned",
            partial(answers.maybe_whole, what="the rounds", example=60),
            id="rounds",
            placeholder="may be left empty",
            about="About how many rounds it will have: a fix that pays over 80 rounds may not "
            "over 8.",
            picture=pictures.ROUNDS,
        ),
        Question(
            "Tolerance, in stitches",
            partial(answers.number, what="the stitches", example="3"),
            id="tolerance",
            value="3",
            about="Up to this far off you are content; fuzzy stripes are a fine look.",
            picture=pictures.TOLERANCE,
        ),
        Question(
            "Stitch pattern repeats over",
            answers.multiple,
            id="multiple",
            value="1",
            about="The stitch count must stay a multiple of this. Type fixed if it cannot change.",
            picture=pictures.MULTIPLE,
        ),
        Question(
            "Gauge",
            answers.maybe_gauge,
            id="gauge",
            placeholder="may be left empty",
            about="Tells how many stitches an inch of tapestry-needle work reaches over.",
            picture=pictures.GAUGE,
        ),
        Question(
            "In the round, or flat",
            answers.round_or_flat,
            id="worked",
            value="round",
            about="Round and round on a circular needle, or rows back and forth.",
            picture=pictures.WORKED,
        ),
        Question(
            "Other needles you own",
            answers.needles,
            id="owned",
            placeholder="such as 4, 4.5, 5",
            about="Only these are advised. Empty: any size may be.",
            picture=pictures.OWNED,
        ),
    )


class _Form(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Scrolls with the focus; the arrows go from question to question."""


class NewProjectScreen(KnitScreen):
    """Asks what a project needs, and begins it."""

    WORDS = "A new project"
    ABOUT = (
        "Answer what you know. The first two are needed; the others make the advice better, "
        "and their usual answers are filled in."
    )
    TYPED_KEYS = (("Enter", "On to the next question; after the last, begin the project."),)

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "begin", "Begin the project", tooltip="Begin the project."),
        Binding("escape", "leave", "Back", tooltip="Leave without beginning it."),
        Binding("f1", "help", "Help", tooltip="This help."),
        Binding("up", "app.focus_previous", "Up", show=False, tooltip="The question above."),
        Binding("down", "app.focus_next", "Down", show=False, tooltip="The question below."),
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    NewProjectScreen {
        background: $ground;
        & #form { width: 1fr; height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
        & Question { margin: 1 0 0 0; }
        & #beside { width: 40; height: 1fr; padding: 1 1; border-left: vkey $line; }
        & #picture { height: auto; color: $expected; text-wrap: nowrap; }
        & #about { height: auto; margin: 1 0 0 0; color: $ink; }
        & #told { height: auto; color: $act; padding: 0 2; }
    }
    """

    def __init__(self, library: Library) -> None:
        super().__init__()
        self._library = library
        self._questions = _questions()

    def compose(self) -> ComposeResult:
        """Questions at the left, the picture of the one in focus at the right."""
        yield Masthead("A new project", "Enter next · Ctrl+S begin")
        with Horizontal():
            with _Form(id="form"):
                yield from self._questions
            with Vertical(id="beside"):
                yield Static(id="picture", markup=False)
                yield Static(id="about", markup=False)
        yield Static(id="told", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Begin with the name."""
        self._questions[0].field.focus()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Show the picture of the question in focus."""
        for question in self._questions:
            if question.field is event.widget:
                self.query_one("#picture", Static).update(question.picture)
                self.query_one("#about", Static).update(question.about)
                self.query_one("#form").scroll_to_widget(question, animate=False)

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        here = next(i for i, q in enumerate(self._questions) if q.field is event.input)
        try:
            self._questions[here].answer()
        except ValueError:
            return  # the question says what was wrong
        if here + 1 < len(self._questions):
            self._questions[here + 1].field.focus()
        else:
            self.action_begin()

    def action_begin(self) -> None:
        """Begin the project, or go to the first answer that cannot be read."""
        answered: dict[str, Any] = {}
        for question in self._questions:
            try:
                answered[question.id or ""] = question.answer()
            except ValueError:
                question.field.focus()
                return
        gauge = answered["gauge"]
        try:
            facts = make_facts(
                stitches=answered["stitches"],
                repeats=answered["repeats"],
                repeat_length_mm=answered["repeat"],
                needle_mm=answered["needle"],
                planned_rounds=answered["rounds"],
                tolerance=answered["tolerance"],
                multiple=answered["multiple"],
                needles_owned_mm=answered["owned"],
                flat=answered["worked"] == "flat",
                gauge_stitches_per_cm=gauge and gauge.stitches_per_cm,
                gauge_rounds_per_cm=gauge and gauge.rounds_per_cm,
            )
            journal = self._library.create(answered["name"], facts)
        except JournalError as error:
            self.query_one("#told", Static).update(f"! {error}")
            return
        self.app.open_journal(journal)  # type: ignore[attr-defined]

    def action_leave(self) -> None:
        """Back to the projects."""
        self.app.pop_screen()
