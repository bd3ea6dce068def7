"""The facts of a project as fields of a form, from the one table of facts."""

from __future__ import annotations

from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

from knitlog.analysis.counted_at import counted_at
from knitlog.journal.minutes import USUAL
from knitlog.journal.registry import BY_KEY, FACTS, fact_text, parse_fact
from knitlog.report.fit_words import WORK_HEADING, WORK_WORTH
from knitlog.tui.form import Field
from knitlog.typed.numbers import format_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from knitlog.journal.project import ProjectState

_HEADS = {
    "knitting": "What is knitted",
    "yarn": "The yarn",
    "looks": "What looks right to you",
    "work": "Your hand and your work",
}
_MINUTES = "minutes-"
"""Before the name of a kind of work, in the key of its field."""


def name_field(value: str = "", *, picture: str = "") -> Field:
    """Ask for the project's name."""
    return Field(
        "name",
        "Its name",
        partial(parse_fact, "name"),
        value,
        "such as Red hat",
        about="What you call it. When it begins it names the file too.",
        picture=picture,
        missing="Type a name, such as Red hat.",
    )


def fact_field(
    key: str,
    value: str = "",
    *,
    about: str = "",
    picture: str = "",
    head: str = "",
    needed: bool = False,
) -> Field:
    """Ask for one fact, as the table has it; ``about`` says more than its help."""
    fact = BY_KEY[key]
    return Field(
        key,
        fact.label,
        partial(parse_fact, key),
        value,
        fact.placeholder,
        about=about or fact.help,
        picture=picture,
        head=head,
        missing=f"Type it, such as {fact.placeholder}." if needed else "",
        tells_flat=key == "flat",
    )


def facts_form(state: ProjectState) -> tuple[Field, ...]:
    """Ask for everything that can be told of a project, filled in as it is."""
    fields = [
        name_field(state.name),
        Field("about", "About it", partial(parse_fact, "about"), state.about, "in your words"),
    ]
    ordered = sorted(FACTS, key=lambda fact: list(_HEADS).index(fact.group))
    for group, facts in groupby(ordered, key=lambda fact: fact.group):
        head = _HEADS[group]
        for fact in facts:
            if fact.key != "minutes":
                text = fact_text(state.facts, fact.key)
                fields.append(fact_field(fact.key, text, head=head, needed=not fact.clearable))
                head = ""
    head = WORK_HEADING
    for work in counted_at(state.facts):
        fields.append(
            Field(
                f"{_MINUTES}{work.kind.name}",
                work.kind.what,
                partial(_minutes, work.kind.name),
                format_number(work.minutes) if work.own else "",
                f"{format_number(work.usual)}, as usual",
                about=f"Leave it empty for the usual. {WORK_WORTH}",
                head=head,
            )
        )
        head = ""
    return tuple(fields)


def told_texts(texts: Mapping[str, str]) -> dict[str, str]:
    """Put the minutes, a field each, together as the one fact they are."""
    minutes = {
        key.removeprefix(_MINUTES): text for key, text in texts.items() if key.startswith(_MINUTES)
    }
    told = {key: text for key, text in texts.items() if not key.startswith(_MINUTES)}
    if minutes:
        told["minutes"] = "; ".join(f"{name}={text or USUAL}" for name, text in minutes.items())
    return told


def _minutes(name: str, text: str) -> object:
    return parse_fact("minutes", f"{name}={text}")
