"""Colours of the yarn on a terminal: sixteen of them, and ink that is legible on any.

Why not simply the nearest of the sixteen: rose and brick would both become red, and their stripes
would run together.
"""

from __future__ import annotations

from collections.abc import Sequence

ANSI16 = (
    "#000000",
    "#cd0000",
    "#00cd00",
    "#cdcd00",
    "#0000ee",
    "#cd00cd",
    "#00cdcd",
    "#e5e5e5",
    "#7f7f7f",
    "#ff0000",
    "#00ff00",
    "#ffff00",
    "#5c5cff",
    "#ff00ff",
    "#00ffff",
    "#ffffff",
)
"""What most terminals show for the sixteen colours (the defaults of xterm)."""


def distinct_ansi16(palette: Sequence[str]) -> tuple[int, ...]:
    """One of the sixteen for each "#rrggbb": the same for the same, another for another.

    The pairs nearest to each other are matched first.  Beyond sixteen colours, the rest
    take the nearest whether used or not.
    """
    wanted = list(dict.fromkeys(palette))
    pairs = sorted(
        (_distance(colour, own), colour, number)
        for colour in wanted
        for number, own in enumerate(ANSI16)
    )
    given: dict[str, int] = {}
    for _, colour, number in pairs:
        if colour not in given and number not in given.values():
            given[colour] = number
    for _, colour, number in pairs:
        given.setdefault(colour, number)
    return tuple(given[colour] for colour in palette)


def _distance(one: str, other: str) -> float:
    """How different two colours look: squares weighted as the eye does, red by brightness.

    A common low-cost approximation (T. Riemersma, "Colour metric").
    """
    (r1, g1, b1), (r2, g2, b2) = _parts(one), _parts(other)
    mean = (r1 + r2) / 2
    return (
        (2 + mean / 256) * (r1 - r2) ** 2
        + 4 * (g1 - g2) ** 2
        + (2 + (255 - mean) / 256) * (b1 - b2) ** 2
    )


def _parts(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def legible_on(colour: str) -> int:
    """Black (0) or bright white (15), whichever stands out more on a colour."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    # relative luminance, WCAG 2.2, with the plain 2.2 power for the sRGB curve; the two
    # contrasts are equal where (Y + 0.05)^2 = 1.05 * 0.05
    luminance = 0.2126 * red**2.2 + 0.7152 * green**2.2 + 0.0722 * blue**2.2
    return 0 if luminance > 0.179 else 15
