"""Words she wrote are found again."""

from pathlib import Path

import pytest

from knitlog.journal.actions import log_round, make_fix
from knitlog.journal.errors import JournalError
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library, search

YEAR = Path(__file__).parents[2] / "sample_logs" / "history"


def states():
    return [shelf.state for shelf in Library(YEAR).projects()]


def test_a_word_is_found_where_it_was_written() -> None:
    hits = search(states(), "STORM")
    assert {(h.slug, h.where) for h in hits} == {
        ("03-storm-week-yoke", "name"),
        ("03-storm-week-yoke", "about"),
        ("03-storm-week-yoke", "round 33"),
    }


def test_every_word_must_be_there_in_any_order() -> None:
    hits = search(states(), "needle thought")
    assert [(h.slug, h.where) for h in hits] == [("02-woodpile-cowl", "round 17")]
    assert search(states(), "needle moonrise") == ()


def test_nothing_to_look_for_is_said() -> None:
    with pytest.raises(JournalError, match="word to look for"):
        search(states(), "  ")


def test_the_words_of_a_fix_are_found_where_it_was_made(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hut hat", make_facts(stitches=96))
    log_round(journal, [37])
    make_fix(journal, 4.0, note="by candle light")
    assert [h.where for h in search([journal.state], "candle")] == ["round 1"]
