"""Colours by the words knitters use for yarn: rose, moss, snow, cream, charcoal, teal.

The names are a few of our own, those of CSS (W3C CSS Color 4) and, after them, those of a large
survey in which people named colours they were shown (xkcd, 2010; public domain), a table made from
the lists matplotlib keeps: to load it for a name would take 78 ms, measured.
"""

from __future__ import annotations

import re
from functools import cache

_YARNS = {
    "birch": "d9d2c3",
    "bluebell": "6a6fb5",
    "bracken": "8a5a2b",
    "bramble": "4a2545",
    "chocolate": "4a2c1d",
    "coal": "26282b",
    "damson": "43284f",
    "duckegg": "b4d3cf",
    "fog": "c3c8cb",
    "ginger": "b5651d",
    "graphite": "45494d",
    "hay": "d8c27a",
    "honey": "d9a441",
    "juniper": "3d5a50",
    "lavender": "b3a0d1",
    "linen": "d8cbb0",
    "loden": "45533b",
    "mist": "cdd4d6",
    "natural": "ede4d3",
    "nettle": "5d6f3c",
    "oatmeal": "d9cbb0",
    "oat": "d9cbb0",
    "orchid": "b565a7",
    "peat": "3e2f26",
    "pebble": "a8a59c",
    "pewter": "7d8387",
    "plum": "5d2d50",
    "smoke": "8d9398",
    "soot": "2a2c2e",
    "storm": "5f6b75",
    "toffee": "8c5a32",
    "tobacco": "6f4f2e",
    "undyed": "ede4d3",
    "violet": "6f3fa0",
    "walnut": "5c4332",
}
"""What the two lists lack, or mean otherwise than knitters do (own choice, by eye): in CSS plum
is a pale pink, and lavender nearly white."""
_DARKER = frozenset({"dark", "deep", "darker"})
_LIGHTER = frozenset({"light", "pale", "lighter", "soft"})
_DARKENED = 0.62
"""What is left of each part of a colour called dark (own choice)."""
_LIGHTENED = 0.45
"""How far a colour called light goes towards white (own choice)."""
_NEAR = 0.8
"""How alike two spellings must be to be taken for one: one letter in five."""
_FEWEST_LETTERS = 5
"""Shorter words are too much alike: lake, lava, lime."""


def colour_named(text: str) -> str | None:
    """The colour a name stands for, as "#rrggbb"; None for a name that stands for none.

    Case, spaces and hyphens do not matter, nor a slip of the pen in a longer word; "dark"
    and "light" shade any colour, and of other words before a colour the colour counts.

    >>> colour_named("Teal"), colour_named("moss-green"), colour_named("cottage red")
    ('#008080', '#658b38', '#ff0000')
    >>> colour_named("turqoise") == colour_named("turquoise"), colour_named("ember")
    (True, None)
    """
    words = re.sub(r"[\W_]+", " ", text.casefold()).split()
    if not words:
        return None
    known = _known()
    joined = "".join(words)
    if joined in known:
        return known[joined]
    if len(words) > 1:
        base = colour_named(" ".join(words[1:]))
        if words[0] in _DARKER | _LIGHTER:
            return None if base is None else _shaded(base, darker=words[0] in _DARKER)
    near = _near(joined)
    if near is not None:
        return known[near]
    return known.get(words[-1]) if len(words) > 1 else None


@cache
def _known() -> dict[str, str]:
    """Colour by name, letters only."""
    from knitlog.yarn.colour_table import TABLE

    pairs = (entry.split() for entry in TABLE.split(","))
    return {name: f"#{colour}" for name, colour in (*pairs, *_YARNS.items())}


def _near(word: str) -> str | None:
    """The known name that is spelled nearly so."""
    from difflib import get_close_matches

    if len(word) < _FEWEST_LETTERS:
        return None
    # a slip is seldom in the first letter, and a hearth is no earth
    alike = [name for name in _known() if name[0] == word[0]]
    found = get_close_matches(word, alike, n=1, cutoff=_NEAR)
    return found[0] if found else None


def _shaded(colour: str, *, darker: bool) -> str:
    """A colour darker or lighter than it is."""
    parts = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    if darker:
        shades = [round(part * _DARKENED) for part in parts]
    else:
        shades = [round(part + (255 - part) * _LIGHTENED) for part in parts]
    return "#" + "".join(f"{shade:02x}" for shade in shades)
