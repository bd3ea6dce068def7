"""A form, declared: what is asked, how it is read, and whether it may be left empty.

Why declared: a sheet then says what it asks and what becomes of the answers, and nothing of
lines, focus or errors; and every form goes on, helps and complains in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from knitlog.typed.numbers import parse_number, parse_whole
from knitlog.typed.text import TypedError, as_sentence


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that is asked."""

    key: str
    label: str
    read: Callable[[str], Any] = str
    """Turns what was typed, never empty, into the answer; raises ValueError."""
    value: str = ""
    """Filled in to begin with."""
    placeholder: str = ""
    about: str = ""
    """What it means, in a sentence or two."""
    picture: str = ""
    """A small picture of it, for a fixed-width screen."""
    head: str = ""
    """Head of the group it begins."""
    missing: str = ""
    """What is said where it is left empty; empty if it may be."""
    ends: bool = False
    """Whether Enter on it, left empty, ends the form."""
    tells_flat: bool = False
    """Whether its answer, "flat" or the fact of that name, says that the work is in rows."""

    def answer(self, text: str) -> Any:
        """Read an answer; None where it is left empty and may be.

        Raises:
            ValueError: it cannot be read; a whole sentence.

        """
        typed = text.strip()
        if not typed and self.missing:
            raise ValueError(self.missing)
        try:
            return self.read(typed) if typed else None
        except ValueError as error:
            raise ValueError(as_sentence(error)) from None


def read_form(fields: Iterable[Field], texts: Mapping[str, str]) -> dict[str, Any]:
    """Each answer by its key; None where nothing, or nothing readable, is typed."""
    told: dict[str, Any] = {}
    for field in fields:
        try:
            told[field.key] = field.answer(texts.get(field.key, ""))
        except ValueError:
            told[field.key] = None
    return told


def number_of(what: str, example: str) -> Callable[[str], float]:
    """A reader of numbers; ``what`` is typed, such as ``example``.

    >>> number_of("the stitches", "-4")("-3,5")
    -3.5
    """

    def read(text: str) -> float:
        try:
            return parse_number(text, example)
        except TypedError:
            raise ValueError(f"Type {what} as a number, such as {example}.") from None

    return read


def whole_of(what: str, example: int, *, least: int = 1) -> Callable[[str], int]:
    """A reader of whole numbers of at least ``least``.

    >>> whole_of("the rounds", 60)("12")
    12
    """

    def read(text: str) -> int:
        try:
            return parse_whole(text, str(example), least=least)
        except TypedError:
            raise ValueError(
                f"Type {what} as a whole number from {least} up, such as {example}."
            ) from None

    return read


def whole_field(
    key: str, label: str, example: int, value: int | None, placeholder: str = "", *, least: int = 1
) -> Field:
    """Ask for a whole number of at least ``least``, such as ``example``."""
    read = whole_of(f"the {label[0].lower()}{label[1:]}", example, least=least)
    text = "" if value is None else str(value)
    return Field(key, label, read, text, placeholder or f"such as {example}")
