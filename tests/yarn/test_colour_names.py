"""Colours by name: against CSS (W3C CSS Color 4) and what a survey of people said."""

import pytest
from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

from knitlog.yarn.colour_names import colour_named
from tests.make_colour_table import TABLE, module, table

COMMON = """\
rose moss snow cream charcoal teal rust ochre mustard plum sage ecru heather denim indigo
terracotta burgundy wine berry forest sea sky lilac mauve peach apricot saffron copper bronze
brick slate stone sand camel chestnut chocolate coffee mint jade emerald fern olive lemon butter
straw amber caramel cinnamon cocoa raspberry cherry cranberry magenta aubergine midnight silver
ivory blush thistle cobalt seafoam spruce russet pumpkin
oatmeal oat natural undyed fog mist smoke storm pewter graphite coal soot pebble birch walnut peat
tobacco toffee ginger honey hay linen nettle juniper loden bracken bramble damson bluebell violet
lavender orchid
"""
"""Common practice, no source."""


@pytest.mark.parametrize(
    ("name", "colour"),
    [
        # CSS Color 4, named colours
        ("teal", "#008080"),
        ("snow", "#fffafa"),
        ("rebecca purple", "#663399"),
        ("grey", "#808080"),
        ("gray", "#808080"),
        # the xkcd survey, as matplotlib keeps it
        ("rose", "#cf6275"),
        ("moss", "#769958"),
        ("cream", "#ffffc2"),
        ("charcoal", "#343837"),
        ("rust", "#a83c09"),
        ("robin's egg", "#6dedfd"),
    ],
)
def test_a_name_has_the_colour_of_the_lists(name: str, colour: str) -> None:
    assert colour_named(name) == colour
    assert colour_named(f"  {name.upper()} ") == colour


@pytest.mark.parametrize("name", COMMON.split())
def test_the_common_words_for_yarn_draw_as_themselves(name: str) -> None:
    assert colour_named(name) is not None


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("moss-green", "moss green"),
        ("mossgreen", "moss green"),
        ("Forest_Green", "forest green"),
        ("turqoise", "turquoise"),
        ("lavendar", "lavender"),
        ("fuschia", "fuchsia"),
        ("burgandy", "burgundy"),
        ("charcol", "charcoal"),
        ("sunset orange", "orange"),
        ("cottage rose", "rose"),
    ],
)
def test_a_slip_of_the_pen_and_words_before_a_colour_are_forgiven(typed: str, meant: str) -> None:
    assert colour_named(typed) == colour_named(meant) is not None


def test_a_word_is_what_knitters_mean_by_it() -> None:
    # common practice, no source: plum is dark and chocolate darker than caramel, lavender is not
    # white, and fog, smoke and coal darken in that order
    assert brightness(colour_named("plum")) < 300
    assert brightness(colour_named("lavender")) < brightness(colour_named("snow")) - 100
    for lighter, darker in (("caramel", "chocolate"), ("fog", "smoke"), ("smoke", "coal")):
        assert brightness(colour_named(lighter)) > brightness(colour_named(darker))


def brightness(colour: str | None) -> int:
    assert colour is not None
    return sum(int(colour[i : i + 2], 16) for i in (1, 3, 5))


@pytest.mark.parametrize("name", ["rose", "grey", "moss", "ochre", "heather", "cottage rose"])
def test_dark_is_darker_and_light_is_lighter(name: str) -> None:
    plain = brightness(colour_named(name))
    assert (
        brightness(colour_named(f"dark {name}")) < plain < brightness(colour_named(f"light {name}"))
    )
    assert (
        brightness(colour_named(f"pale {name}")) > plain > brightness(colour_named(f"deep {name}"))
    )


@pytest.mark.parametrize("name", ["ember", "hearth", "lake", "ash", "ferry", "lamp light", "", "7"])
def test_a_name_that_stands_for_no_colour_is_none(name: str) -> None:
    assert colour_named(name) is None


def test_the_table_is_what_matplotlib_keeps() -> None:
    assert TABLE.read_text(encoding="utf-8") == module()
    listed = table()
    assert len(listed) > 900
    # CSS Color 4 and the survey, as matplotlib has them
    assert f"#{listed['rosybrown']}" == CSS4_COLORS["rosybrown"].lower()
    assert f"#{listed['dustyrose']}" == XKCD_COLORS["xkcd:dusty rose"]
