"""The fabric in letters and words."""

from knitlog.plan.run_notation import lettered, parse_colour_run
from knitlog.plan.stitch_colours import knit_fabric
from knitlog.plan.yarn_path import carry_on
from knitlog.report.drawing import LETTERS
from knitlog.report.fabric_drawing import FabricDrawing
from knitlog.report.fabric_text import key_words, round_stretches, round_words

RUN = parse_colour_run("rose 4cm, moss 3cm, snow 3cm")
# ten stitches of one centimetre each: worked out by hand
TEN = knit_fabric(RUN, carry_on(0.0, 0.0, 10, 4))
SLIDING = knit_fabric(RUN, carry_on(0.0, 1.0, 10, 4))


def test_a_round_in_words_counts_from_the_right_edge() -> None:
    assert round_words(TEN, 1) == "Round 1: rose to stitch 4, moss to 7, snow to 10."
    assert round_stretches(TEN, 4) == [("rose", 1, 4), ("moss", 5, 7), ("snow", 8, 10)]


def test_a_slide_shows_in_words() -> None:
    # drift 1: each stitch takes 10/11 cm, so 4 cm of rose are 4.4 stitches, and each round
    # begins one stitch earlier in the colours
    assert round_words(SLIDING, 2).startswith("Round 2: snow to stitch 1, rose to 5")


def test_flat_work_says_row_and_counts_from_the_right_edge_as_seen() -> None:
    flat = knit_fabric(RUN, carry_on(0.0, 0.0, 10, 2), flat=True)
    assert round_words(flat, 2) == "Row 2: snow to stitch 3, moss to 6, rose to 10."


def test_letters_have_rulers_and_mark_what_is_knitted() -> None:
    drawn = FabricDrawing(TEN, 2.0, knitted=2, keyed=False).lines(16, 4, LETTERS)
    lines = ["".join(stroke.text for stroke in line) for line in drawn]
    # one column a stitch, one line a round
    assert [line[:10] for line in lines[:-1]] == ["SSSMMMRRRR"] * 4
    assert [line for line in lines if "knitted so far" in line] == [lines[2]]
    assert lines[-1].split()[-1] == "1"
    assert all(len(line) <= 16 + len(" < knitted so far") for line in lines)


def test_the_key_names_each_colour_once_even_where_it_comes_twice() -> None:
    there_and_back = knit_fabric(
        parse_colour_run("rose 2cm, moss 3cm, snow 2cm, and back"), carry_on(0.0, 0.0, 10, 2)
    )
    assert [(letter, name) for letter, name, _ in key_words(there_and_back)] == [
        ("R", "rose"),
        ("M", "moss"),
        ("S", "snow"),
    ]


def test_letters_are_told_apart_whatever_the_names() -> None:
    names = [f"r{n}" for n in range(40)]
    assert len(set(lettered(names))) == 40
    assert lettered(["rose", "rust", "Rose"]) == ("R", "U", "R")
