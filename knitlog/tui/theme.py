"""Our three sets of colours: lamplight, snowlight and plain.

Why three: wool is knitted by a lamp at night and at a window by day, and some
terminals have sixteen colours or none.  ``lamplight`` and ``snowlight`` paint
their own ground, so the text is legible whatever the terminal's own colours
are; ``plain`` paints nothing and speaks in the terminal's own two colours,
with bold and reverse, for sixteen colours and for NO_COLOR.

Colour never carries a meaning alone: each tone has its word (see
:mod:`knitlog.report.words`) and each thing on the chart its own character (see
:mod:`knitlog.tui.marks`).  The hues are kept apart for eyes that do not tell
red from green: blue for what is expected, ochre for watch, brick for act.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from textual.theme import Theme

LAMPLIGHT = "lamplight"
SNOWLIGHT = "snowlight"
PLAIN = "plain"


@dataclass(frozen=True, slots=True)
class Palette:
    """One set of colours, by what each is for."""

    ground: str
    """Behind everything."""
    cloth: str
    """Behind panels and the entry line."""
    band: str
    """Behind the tolerance band of the chart."""
    ink: str
    """Text and readings."""
    faint: str
    """Text of second rank: axes, hints."""
    line: str
    """Home line, borders and the tolerance edges: not text."""
    key: str
    """Names of keys, and whatever has the focus."""
    calm: str
    """The colours are in line."""
    watch: str
    """Sliding, still within tolerance; unclear; a reading in doubt."""
    act: str
    """A fix is due; an error."""
    expected: str
    """Where the fit expects the colour change."""
    deed: str
    """What the knitter did: fixes, changes, notes."""


LAMPLIGHT_PALETTE = Palette(
    ground="#171a1f",
    cloth="#20252c",
    band="#2e343b",
    ink="#f3eee4",
    faint="#b9bec4",
    line="#8b949e",
    key="#f2c879",
    calm="#93d6b8",
    watch="#f0c869",
    act="#ffa183",
    expected="#93c3f2",
    deed="#dab4f2",
)

SNOWLIGHT_PALETTE = Palette(
    ground="#fbf9f4",
    cloth="#f1ede4",
    band="#e6e8ea",
    ink="#20242a",
    faint="#515960",
    line="#71787f",
    key="#7a4a00",
    calm="#17603f",
    watch="#755000",
    act="#a02f14",
    expected="#1c5790",
    deed="#6f3491",
)

PALETTES: Mapping[str, Palette] = {
    LAMPLIGHT: LAMPLIGHT_PALETTE,
    SNOWLIGHT: SNOWLIGHT_PALETTE,
}


TERMINAL_COLOUR = "ansi_default"
"""The terminal's own colour, in place of one of ours."""
TERMINAL_COLOURS = dict.fromkeys(("ansi-background", "ansi-foreground"), TERMINAL_COLOUR)
"""What Textual asks a theme of terminal colours for."""

_TONES = {
    "primary": "expected",
    "secondary": "deed",
    "warning": "watch",
    "error": "act",
    "success": "calm",
    "accent": "key",
    "foreground": "ink",
    "background": "ground",
    "surface": "cloth",
    "panel": "cloth",
}
"""Textual's names for the colours of a theme, and which of ours stands for each."""
_VARIABLES = {
    "ground": "block-cursor-foreground button-color-foreground input-cursor-foreground "
    "input-selection-foreground screen-selection-foreground",
    "cloth": "footer-background scrollbar-background scrollbar-background-hover "
    "scrollbar-background-active scrollbar-corner-color",
    "band": "block-cursor-blurred-background block-hover-background",
    "ink": "text block-cursor-blurred-foreground button-foreground footer-foreground "
    "footer-description-foreground input-cursor-background",
    "faint": "text-muted text-disabled",
    "line": "border-blurred scrollbar",
    "key": "text-accent border block-cursor-background footer-key-foreground "
    "input-selection-background screen-selection-background scrollbar-hover scrollbar-active "
    "link-color",
    "calm": "text-success",
    "watch": "text-warning",
    "act": "text-error",
    "expected": "text-primary",
    "deed": "text-secondary",
}
"""Textual's names for the colours of its widgets, by which of ours stands for them."""
_IN_PLAIN = (
    "text-muted text-disabled border border-blurred block-cursor-foreground "
    "block-cursor-background footer-key-foreground input-selection-background "
    "input-selection-foreground scrollbar scrollbar-hover scrollbar-active scrollbar-background "
    "scrollbar-background-hover scrollbar-background-active link-color link-background-hover "
    "link-color-hover"
)
"""Those that are not the terminal's own colour anyhow."""


def _painted(name: str, palette: Palette, *, dark: bool) -> Theme:
    own = asdict(palette)
    variables = {name: own[tone] for tone, names in _VARIABLES.items() for name in names.split()}
    variables |= {"block-cursor-text-style": "bold", "button-focus-text-style": "bold"}
    colours: dict[str, Any] = {theirs: own[ours] for theirs, ours in _TONES.items()}
    return Theme(
        name=name,
        **colours,
        dark=dark,
        text_alpha=1.0,
        variables=own | variables,
    )


def _plain() -> Theme:
    own = dict.fromkeys([*asdict(LAMPLIGHT_PALETTE), *_IN_PLAIN.split()], TERMINAL_COLOUR)
    styles = {
        "block-cursor-text-style": "bold reverse",
        "block-cursor-blurred-text-style": "reverse",
        "input-cursor-text-style": "reverse",
    }
    colours: dict[str, Any] = dict.fromkeys([*_TONES, "boost"], TERMINAL_COLOUR)
    return Theme(
        name=PLAIN,
        ansi=True,
        **colours,
        variables=own | TERMINAL_COLOURS | styles,
    )


THEMES: tuple[Theme, ...] = (
    _painted(LAMPLIGHT, LAMPLIGHT_PALETTE, dark=True),
    _painted(SNOWLIGHT, SNOWLIGHT_PALETTE, dark=False),
    _plain(),
)

_LIGHT_GROUNDS = frozenset({"7", "15"})


def choose_theme(environ: Mapping[str, str], color_system: str | None) -> str:
    """Which set of colours to begin with.

    ``environ``: the process's environment; ``KNITLOG_THEME`` decides if it names
    one of ours, ``NO_COLOR`` (set and not empty, https://no-color.org) asks for
    plain, and ``COLORFGBG`` (set by several terminals, "foreground;background")
    tells a light ground from a dark one.  ``color_system``: what the terminal can
    do ("standard" is sixteen colours, None is none).
    """
    wanted = environ.get("KNITLOG_THEME", "").strip().lower()
    if wanted in (LAMPLIGHT, SNOWLIGHT, PLAIN):
        return wanted
    if environ.get("NO_COLOR") or color_system in (None, "standard", "windows"):
        return PLAIN
    ground = environ.get("COLORFGBG", "").rpartition(";")[2]
    return SNOWLIGHT if ground in _LIGHT_GROUNDS else LAMPLIGHT
