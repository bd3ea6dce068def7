"""The entry line: a number and Enter logs a round.

It keeps the focus.  Digits, signs, the point, ``=``, ``@`` and spaces are typed into
it; letters are never part of an entry, so each is a key at once, with one hand
and no key held down: the other hand has the wool.  In the middle of an entry a letter
does nothing, and ``?`` at its end asks instead of logging.  Above it stands what was
just saved, or what was wrong with what was typed.
"""

from __future__ import annotations

from dataclasses import dataclass

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input

from knitlog.tui.widgets.text_in_place import TextInPlace

_PLACEHOLDER = "a stitch, then Enter"
_GRAMMAR = "37 the stitch · +2 against the {unit} below · = in line · 15? on track?"


class RoundInput(Input):
    """Takes an entry; lets letters and ``?`` through to the screen's keys."""

    virtual_size = Reactive(Size(0, 0))  # what is typed asks for no layout of the screen

    @dataclass
    class Held(Message):
        """A letter was pressed in the middle of an entry: nothing is done."""

    def _on_key(self, event: events.Key) -> None:  # type: ignore[override]
        if not _is_command(event.character) or (event.character == "?" and self.value):
            return
        event.prevent_default()  # not typed here; it goes on to the screen
        if self.value:
            event.stop()
            self.post_message(self.Held())

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Only what an entry is made of is taken; so the footer may show the letters."""
        return not _is_command(character) and super().check_consume_key(key, character)


class EntryLine(Vertical):
    """What was just saved, and where the next round is typed.

    What was said is never cut short: a sentence that needs two lines gets them.
    """

    DEFAULT_CSS = """
    EntryLine {
        height: auto;
        & #said { min-height: 1; max-height: 3; padding: 0 2; color: $faint; }
        & #said.-wrong { color: $act; text-style: bold; }
        & #said.-saved { color: $calm; }
        & RoundInput, & RoundInput:focus {
            border: round $key;
            background: $ground;
            background-tint: $ground 0%;
            border-title-color: $key;
            border-title-style: bold;
            border-subtitle-color: $faint;
            text-style: bold;
            padding: 0 1;
        }
        & .input--placeholder { color: $faint; text-style: none; }
    }
    """

    @dataclass
    class Entered(Message):
        """The knitter typed ``text`` and Enter."""

        text: str

    def compose(self) -> ComposeResult:
        """One line of what was said, one line to type on."""
        yield TextInPlace(id="said", markup=False)
        field = RoundInput(placeholder=_PLACEHOLDER, id="round", select_on_focus=False)
        yield field

    @property
    def field(self) -> RoundInput:
        """The line that is typed on."""
        return self.query_one(RoundInput)

    def ask_for(self, title: str, unit: str, colours: str = "") -> None:
        """Name the round that is asked for; ``unit`` is what a round is called here.

        ``colours``: which colour ends where in it; stands where she types, until she does.
        """
        self.field.border_title = title
        self.field.placeholder = colours or _PLACEHOLDER
        self.field.border_subtitle = _GRAMMAR.format(unit=unit)

    def clear(self) -> None:
        """Empty the line for the next round."""
        self.field.value = ""

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say what was saved, or what was wrong; the words tell which, the colour helps."""
        said = self.query_one("#said", TextInPlace)
        said.set_class(wrong, "-wrong")
        said.set_class(not wrong and sentence.startswith("Saved"), "-saved")
        said.update(f"! {sentence}" if wrong else sentence)

    @on(RoundInput.Held)
    def _held(self) -> None:
        self.say("Enter logs what you typed, Esc clears it: then the letters are keys again.")

    @on(Input.Submitted)
    def _enter(self, event: Input.Submitted) -> None:
        event.stop()
        self.post_message(self.Entered(event.value))


def _is_command(character: str | None) -> bool:
    return character is not None and (character.isalpha() or character == "?")
