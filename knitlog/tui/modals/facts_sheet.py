"""The facts sheet: everything that can be told of a project, filled in as it is.

Gives what is to change, ready for the journal.  What is emptied is forgotten, where it can be.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from knitlog.journal.registry import parse_changes
from knitlog.tui.fact_fields import facts_form, told_texts
from knitlog.tui.modals.form_sheet import FormSheet

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState

Changes = dict[str, Any]
"""What :func:`knitlog.journal.actions.change_facts` takes."""


class FactsSheet(FormSheet[Changes]):
    """Asks for the facts; only what was touched is written."""

    TITLE_WORDS = "The facts of this project"
    HINT = "Enter next · Ctrl+S saves · F1 help · Esc leaves"
    ABOUT = (
        "Needle and stitches here are what it was cast on with: log a change with c. Ctrl+S saves."
    )

    def __init__(self, state: ProjectState) -> None:
        super().__init__(facts_form(state))

    def action_save(self) -> None:
        """Give back what was changed."""
        told = self.form.answers(touched=True)
        if told is None:
            return
        texts = self.form.texts()
        try:
            self.dismiss(parse_changes(told_texts({key: texts[key] for key in told})))
        except ValueError as error:
            self.tell(f"! {error}")
