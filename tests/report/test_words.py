import doctest

from knitlog.report import words


def test_the_examples_are_right():
    found = doctest.testmod(words)
    assert found.attempted
    assert found.failed == 0
