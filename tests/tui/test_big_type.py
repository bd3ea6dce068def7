import doctest

import pytest

from knitlog.tui import big_type
from knitlog.tui.big_type import HEIGHT, set_big
from knitlog.tui.headlines import _BY_REMEDY, _BY_TONE


def test_the_example_is_right():
    assert doctest.testmod(big_type).failed == 0


@pytest.mark.parametrize("words", sorted({*_BY_TONE.values(), *_BY_REMEDY.values(), "begin"}))
def test_every_headline_fits_a_screen_of_80(words):
    lines = set_big(words)
    assert lines is not None
    assert len(lines) == HEIGHT
    assert len({len(line) for line in lines}) == 1
    assert len(lines[0]) <= 78


def test_letters_are_told_apart():
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+-.,?!"
    drawn = {letter: set_big(letter) for letter in letters}
    same = [
        (one, other)
        for i, one in enumerate(letters)
        for other in letters[i + 1 :]
        if drawn[one] == drawn[other]
    ]
    assert same == [("O", "0")]  # told apart by the word they stand in


def test_a_character_without_a_letter_is_not_set():
    assert set_big("ça") is None
    assert set_big("") is not None
