"""Sixteen colours, and ink that is legible on any."""

from hypothesis import given
from hypothesis import strategies as st

from knitlog.report.ansi16 import ANSI16, distinct_ansi16, legible_on
from tests.tui.colour_maths import contrast

COLOURS = st.integers(0, 0xFFFFFF).map("#{:06x}".format)


def test_the_sixteen_themselves_are_found() -> None:
    assert distinct_ansi16(ANSI16) == tuple(range(16))


def test_two_reds_do_not_run_together() -> None:
    first, second = distinct_ansi16(["#cc0000", "#c80404"])
    assert first != second


@given(st.lists(COLOURS, min_size=1, max_size=30))
def test_up_to_sixteen_colours_each_get_their_own(colours: list[str]) -> None:
    given_ = distinct_ansi16(colours)
    wanted = dict.fromkeys(colours)
    assert len(given_) == len(colours)
    assert len(set(given_)) == min(len(wanted), 16)
    for colour in wanted:
        assert len({n for n, c in zip(given_, colours, strict=True) if c == colour}) == 1


@given(COLOURS)
def test_letters_on_any_colour_meet_wcag_aa(colour: str) -> None:
    # WCAG 2.2, 1.4.3: 4.5:1; black or white always reaches sqrt(1.05 / 0.05) = 4.58
    ink = "#000000" if legible_on(colour) == 0 else "#ffffff"
    assert contrast(ink, colour) >= 4.5
