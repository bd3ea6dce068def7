"""Nothing from a file is obeyed by a terminal."""

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal import JournalFile, add_note, change_facts, log_round, make_fix
from knitlog.journal.text import plain_text, quoted

HOSTILE = "\x1b]0;owned\x07\x1b[2J\u202egnp.exe\u200b\x9b31m\r\nline\tend\x00"


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


def test_a_state_holds_plain_text_only(journal: JournalFile) -> None:
    log_round(journal, [37], note=HOSTILE)
    add_note(journal, HOSTILE)
    make_fix(journal, 1, how=HOSTILE, note=HOSTILE)
    change_facts(journal, name=HOSTILE, about=HOSTILE)
    state = JournalFile.open(journal.path).state
    texts = [state.name, state.about, *(n.text for n in state.notes), state.fixes[0].how]
    assert len(texts) == 6
    for text in texts:
        assert "line end" in text
        assert not set(text) & set("\x1b\x07\u202e\u200b\x9b\r\t\x00")


def test_hostile_text_in_a_file_is_plain_once_read(journal: JournalFile) -> None:
    line = (
        '{"schema":1,"id":"' + "a" * 32 + '","at":"2031-01-05T19:00:00Z","kind":"note",'
        '"text":"\\u001b[2J\\u202egnp"}\n'
    )
    with journal.path.open("a") as file:
        file.write(line)
    assert [n.text for n in JournalFile.open(journal.path).state.notes] == ["␛[2J\ufffdgnp"]
