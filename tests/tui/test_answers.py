import pytest

from knitlog.journal.factkeys import parse_facts
from knitlog.tui import answers


def test_what_can_be_read():
    assert answers.name("Red hat") == "Red hat"
    assert answers.whole("128", what="x", example=1) == 128
    assert answers.maybe_whole("", what="x", example=1) is None
    assert answers.number("-3,5", what="x", example="1") == -3.5
    assert answers.number("\u22122", what="x", example="1") == -2
    assert answers.maybe_length("60in") == 1524.0  # 1 in = 25.4 mm, exact (1959)
    assert answers.maybe_needle("") is None
    assert answers.needles("4, 4.5mm,") == (4.0, 4.5)
    assert answers.round_or_flat("In the round") == "round"


@pytest.mark.parametrize("typed", ["4", "fixed", "Fixed", "0"])
def test_a_multiple_reads_as_it_does_on_the_command_line(typed):
    found = answers.multiple(typed)
    assert parse_facts({"multiple": typed}) == {"multiple": found}
    assert answers.multiple(answers.multiple_words(found)) == found


@pytest.mark.parametrize(
    "read",
    [
        lambda: answers.name(""),
        lambda: answers.whole("0", what="the stitches", example=128),
        lambda: answers.whole("12.5", what="the stitches", example=128),
        lambda: answers.whole("9" * 40, what="the stitches", example=128),
        lambda: answers.whole("\u0663", what="the stitches", example=128),
        lambda: answers.number("nan", what="the stitches", example="3"),
        lambda: answers.number("1e999", what="the stitches", example="3"),
        lambda: answers.number("", what="the stitches", example="3"),
        lambda: answers.maybe_length("60"),
        lambda: answers.maybe_needle("big"),
        lambda: answers.round_or_flat("square"),
        lambda: answers.multiple("-4"),
        lambda: answers.multiple("fix"),
    ],
)
def test_what_cannot_be_read_says_what_to_type(read):
    with pytest.raises(ValueError, match=r"(?i)type|such as|add mm"):
        read()
