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


def _painted(name: str, palette: Palette, *, dark: bool) -> Theme:
    return Theme(
        name=name,
        primary=palette.expected,
        secondary=palette.deed,
        warning=palette.watch,
        error=palette.act,
        success=palette.calm,
        accent=palette.key,
        foreground=palette.ink,
        background=palette.ground,
        surface=palette.cloth,
        panel=palette.cloth,
        dark=dark,
        text_alpha=1.0,
        variables={
            **asdict(palette),
            "text": palette.ink,
            "text-muted": palette.faint,
            "text-disabled": palette.faint,
            "text-primary": palette.expected,
            "text-secondary": palette.deed,
            "text-warning": palette.watch,
            "text-error": palette.act,
            "text-success": palette.calm,
            "text-accent": palette.key,
            "border": palette.key,
            "border-blurred": palette.line,
            "block-cursor-foreground": palette.ground,
            "block-cursor-background": palette.key,
            "block-cursor-text-style": "bold",
            "block-cursor-blurred-foreground": palette.ink,
            "block-cursor-blurred-background": palette.band,
            "block-hover-background": palette.band,
            "button-color-foreground": palette.ground,
            "button-foreground": palette.ink,
            "button-focus-text-style": "bold",
            "footer-background": palette.cloth,
            "footer-foreground": palette.ink,
            "footer-key-foreground": palette.key,
            "footer-description-foreground": palette.ink,
            "input-cursor-background": palette.ink,
            "input-cursor-foreground": palette.ground,
            "input-selection-background": palette.key,
            "input-selection-foreground": palette.ground,
            "screen-selection-background": palette.key,
            "screen-selection-foreground": palette.ground,
            "scrollbar": palette.line,
            "scrollbar-hover": palette.key,
            "scrollbar-active": palette.key,
            "scrollbar-background": palette.cloth,
            "scrollbar-background-hover": palette.cloth,
            "scrollbar-background-active": palette.cloth,
            "scrollbar-corner-color": palette.cloth,
            "link-color": palette.key,
        },
    )


TERMINAL_COLOUR = "ansi_default"
"""The terminal's own colour, in place of one of ours."""
_DEFAULT = TERMINAL_COLOUR

TERMINAL_COLOURS = {"ansi-background": _DEFAULT, "ansi-foreground": _DEFAULT}
"""What Textual asks a theme of terminal colours for."""


def _plain() -> Theme:
    own = dict.fromkeys(asdict(LAMPLIGHT_PALETTE), _DEFAULT)
    return Theme(
        name=PLAIN,
        ansi=True,
        primary=_DEFAULT,
        secondary=_DEFAULT,
        warning=_DEFAULT,
        error=_DEFAULT,
        success=_DEFAULT,
        accent=_DEFAULT,
        foreground=_DEFAULT,
        background=_DEFAULT,
        surface=_DEFAULT,
        panel=_DEFAULT,
        boost=_DEFAULT,
        variables={
            **own,
            **TERMINAL_COLOURS,
            "text-muted": _DEFAULT,
            "text-disabled": _DEFAULT,
            "border": _DEFAULT,
            "border-blurred": _DEFAULT,
            "block-cursor-foreground": _DEFAULT,
            "block-cursor-background": _DEFAULT,
            "block-cursor-text-style": "bold reverse",
            "block-cursor-blurred-text-style": "reverse",
            "footer-key-foreground": _DEFAULT,
            "input-cursor-text-style": "reverse",
            "input-selection-background": _DEFAULT,
            "input-selection-foreground": _DEFAULT,
            "scrollbar": _DEFAULT,
            "scrollbar-hover": _DEFAULT,
            "scrollbar-active": _DEFAULT,
            "scrollbar-background": _DEFAULT,
            "scrollbar-background-hover": _DEFAULT,
            "scrollbar-background-active": _DEFAULT,
            "link-color": _DEFAULT,
            "link-background-hover": _DEFAULT,
            "link-color-hover": _DEFAULT,
        },
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
