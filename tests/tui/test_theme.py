import pytest
from rich.color import Color, ColorSystem

from knitlog.tui.theme import (
    LAMPLIGHT,
    PALETTES,
    PLAIN,
    SNOWLIGHT,
    THEMES,
    choose_theme,
)

from .colour_maths import MACHADO, contrast

TEXT = ("ink", "faint", "key", "calm", "watch", "act", "expected", "deed")
GROUNDS = ("ground", "cloth", "band")


def test_the_contrast_arithmetic_agrees_with_published_values():
    # W3C, WCAG 2.2: black on white is 21:1. WebAIM's contrast checker: #767676 on
    # white is 4.54:1, the lightest grey that passes AA; #777777 is 4.48:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("matrix", MACHADO.values(), ids=MACHADO)
def test_colour_blindness_leaves_greys_alone(matrix):
    # a property of the published matrices: each row adds up to one
    for row in matrix:
        assert sum(row) == pytest.approx(1.0, abs=2e-6)


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXT)
@pytest.mark.parametrize("name", PALETTES)
def test_text_meets_wcag_aa_on_every_ground(name, text, ground):
    palette = PALETTES[name]
    # WCAG 2.2, success criterion 1.4.3: at least 4.5:1
    assert contrast(getattr(palette, text), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("name", PALETTES)
def test_lines_and_focus_meet_wcag_for_what_is_not_text(name):
    palette = PALETTES[name]
    # WCAG 2.2, success criterion 1.4.11: at least 3:1
    for ground in GROUNDS:
        assert contrast(palette.line, getattr(palette, ground)) >= 3.0
    # text on the bar that marks the choice
    assert contrast(palette.ground, palette.key) >= 4.5


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXT)
@pytest.mark.parametrize("name", PALETTES)
def test_text_stays_legible_where_there_are_256_colours(name, text, ground):
    def nearest(colour: str) -> str:
        # as Rich, which writes to the terminal, chooses among xterm's 256
        return Color.parse(colour).downgrade(ColorSystem.EIGHT_BIT).get_truecolor().hex

    palette = PALETTES[name]
    assert contrast(nearest(getattr(palette, text)), nearest(getattr(palette, ground))) >= 4.5


@pytest.mark.parametrize("deficiency", MACHADO)
@pytest.mark.parametrize("name", PALETTES)
def test_text_stays_legible_to_colour_blind_eyes(name, deficiency):
    palette = PALETTES[name]
    for text in TEXT:
        assert contrast(getattr(palette, text), palette.ground, deficiency) >= 4.5


def test_plain_paints_nothing():
    plain = next(theme for theme in THEMES if theme.name == PLAIN)
    named = {plain.primary, plain.background, plain.foreground, plain.accent, plain.error}
    assert named == {"ansi_default"}
    colours = {v for v in plain.variables.values() if v.startswith("#") or v.startswith("ansi")}
    assert colours == {"ansi_default"}


@pytest.mark.parametrize(
    ("environ", "color_system", "expected"),
    [
        ({}, "truecolor", LAMPLIGHT),
        ({"COLORFGBG": "15;0"}, "truecolor", LAMPLIGHT),
        ({"COLORFGBG": "0;15"}, "truecolor", SNOWLIGHT),
        ({"COLORFGBG": "0;default;15"}, "256", SNOWLIGHT),
        ({"NO_COLOR": "1"}, "truecolor", PLAIN),
        ({"NO_COLOR": ""}, "truecolor", LAMPLIGHT),
        ({}, "standard", PLAIN),
        ({}, None, PLAIN),
        ({"KNITLOG_THEME": "Snowlight", "NO_COLOR": "1"}, "standard", SNOWLIGHT),
        ({"KNITLOG_THEME": "tartan"}, "truecolor", LAMPLIGHT),
    ],
)
def test_the_colours_to_begin_with(environ, color_system, expected):
    assert choose_theme(environ, color_system) == expected
