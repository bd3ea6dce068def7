"""Words she wrote are found again."""

from pathlib import Path

import pytest

from knitlog.journal import JournalError, Library
from knitlog.journal.search import search

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
