"""A new project: a few questions, each with a picture of what it means.

Why so few: four answers are enough to begin (a name, the stitches, the repeat,
the needle); the others have sensible defaults that may be left alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Footer, Static

from knitlog.journal.errors import JournalError
from knitlog.journal.facts import make_facts
from knitlog.journal.registry import parse_facts
from knitlog.tui import pictures
from knitlog.tui.fact_fields import fact_field, name_field
from knitlog.tui.screens.base import COMMON_KEYS, Begun, KnitScreen, Masthead
from knitlog.tui.widgets.question import Form

if TYPE_CHECKING:
    from knitlog.journal.library import Library


_FIELDS = (
    name_field(picture=pictures.NAME),
    fact_field(
        "stitches",
        about="All stitches around, as cast on; worked flat, all in a row.",
        picture=pictures.STITCHES,
        needed=True,
    ),
    fact_field(
        "repeat-length",
        about="How far along the yarn until the colours begin again. Leave it empty if you "
        "do not know: only the yarn per stitch needs it.",
        picture=pictures.REPEAT_LENGTH,
    ),
    fact_field("needle", about="The needle you begin with.", picture=pictures.NEEDLE),
    fact_field(
        "repeats", "1", about="Once around the colours, or twice.", picture=pictures.REPEATS
    ),
    fact_field(
        "rounds",
        about="About how many rounds it will have: a fix that pays over 80 rounds may not over 8.",
        picture=pictures.ROUNDS,
    ),
    fact_field(
        "tolerance",
        "3",
        about="Up to this far off you are content; fuzzy stripes are a fine look.",
        picture=pictures.TOLERANCE,
    ),
    fact_field(
        "multiple",
        about="The stitch count must stay a multiple of this. Type fixed if it cannot change.",
        picture=pictures.MULTIPLE,
    ),
    fact_field(
        "gauge",
        about="Tells how many stitches an inch of tapestry-needle work reaches over.",
        picture=pictures.GAUGE,
    ),
    fact_field(
        "flat",
        about="No: in the round on a circular needle. Yes: in rows back and forth.",
        picture=pictures.WORKED,
    ),
    fact_field(
        "needles-owned",
        about="Only these are advised. Empty: any size may be.",
        picture=pictures.OWNED,
    ),
)


class NewProjectScreen(KnitScreen):
    """Asks what a project needs, and begins it."""

    WORDS = "A new project"
    ABOUT = (
        "Answer what you know. The first two are needed; the others make the advice better, "
        "and their usual answers are filled in."
    )
    TYPED_KEYS = (
        ("Enter", "On to the next question; after the last, begin the project."),
        ("↑ ↓", "The question above, or below."),
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "begin", "Begin the project", tooltip="Begin the project."),
        Binding("escape", "leave", "Back", tooltip="Leave without beginning it."),
        Binding("f1", "help", "Help", tooltip="This help."),
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    NewProjectScreen {
        background: $ground;
        & #form { width: 1fr; height: 1fr; padding: 0 1; }
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

    def compose(self) -> ComposeResult:
        """Questions at the left, the picture of the one in focus at the right."""
        yield Masthead("A new project", "Enter next · Ctrl+S begin")
        with Horizontal():
            yield Form(_FIELDS)
            with Vertical(id="beside"):
                yield Static(id="picture", markup=False)
                yield Static(id="about", markup=False)
        yield Static(id="told", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Begin with the name."""
        self.query_one(Form).begin()

    @on(Form.At)
    def _at(self, event: Form.At) -> None:
        """Show the picture of the question in focus."""
        self.query_one("#picture", Static).update(event.asked.picture)
        self.query_one("#about", Static).update(event.asked.about)

    @on(Form.Done)
    def action_begin(self) -> None:
        """Begin the project, or go to the first answer that cannot be read."""
        form = self.query_one(Form)
        if form.answers() is None:
            return
        told = {key: text for key, text in form.texts().items() if text}
        name = told.pop("name")
        try:
            journal = self._library.create(name, make_facts(**parse_facts(told)))
        except JournalError as error:
            self.query_one("#told", Static).update(f"! {error}")
            return
        self.post_message(Begun(journal))

    def action_leave(self) -> None:
        """Back to the projects."""
        self.leave()
