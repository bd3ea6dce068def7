"""Nothing from a file is obeyed by a terminal."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.typed.text import as_sentence, plain_text, quoted


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Hut shawl", "Hut shawl"),
        ("Kälte 雪 снег ❄", "Kälte 雪 снег ❄"),
        ("\x1b[31m", "␛[31m"),
        ("\x07\x7f\x9b", "␇␡\ufffd"),
        ("a\u202eb", "a\ufffdb"),
        ("a\u200bb\ufeff", "a\ufffdb\ufffd"),
        ("a\ud800b", "a\ufffdb"),
        ("a\u00a0b\u2003c", "a b c"),
        ("a\tb\nc\r\nd", "a b c d"),
        ("👩\u200d🌾", "👩\u200d🌾"),
        ("e" + "\u0301" * 50, "e" + "\u0301" * 4),
    ],
)
def test_what_a_terminal_might_obey_is_shown_as_a_sign(text: str, shown: str) -> None:
    assert plain_text(text) == shown


@given(st.text())
@settings(derandomize=True, deadline=None)
def test_no_control_or_direction_character_comes_through(text: str) -> None:
    for char in plain_text(text):
        assert unicodedata.category(char) not in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp")
        assert unicodedata.bidirectional(char) not in (
            "LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI",
        )  # fmt: skip


@given(st.text())
@settings(derandomize=True, deadline=None)
def test_making_plain_twice_changes_nothing(text: str) -> None:
    once = plain_text(text, lines=True)
    assert plain_text(once, lines=True) == once


def test_quotes_are_short() -> None:
    assert quoted("x" * 1000) == f"'{'x' * 40}...'"


def test_an_error_of_a_lower_room_is_a_whole_sentence() -> None:
    assert as_sentence(ValueError("a gauge is above zero")) == "A gauge is above zero."
    assert as_sentence(ValueError("Is that a gauge?")) == "Is that a gauge?"
    assert as_sentence(ValueError("")) == "."
    at_most = "X" + "x" * 238 + "."
    assert as_sentence(ValueError(at_most)) == at_most
    told = as_sentence(ValueError("a" * 200 + "b" * 120))
    assert told == f"A{'a' * 99}...{'b' * 120}."


@pytest.mark.parametrize("mark", ["\u0301", "\u20dd"])  # an accent above; a circle around
def test_marks_piled_on_one_letter_are_cut_short(mark: str) -> None:
    assert plain_text("o" + 50 * mark + "k" + mark) == "o" + 4 * mark + "k" + mark
