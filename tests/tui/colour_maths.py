"""Contrast and colour-blindness arithmetic, for the tests alone.

Contrast: W3C, Web Content Accessibility Guidelines 2.2, "relative luminance" and
"contrast ratio".  Colour blindness: Machado, Oliveira and Fernandes, A
Physiologically-based Model for Simulation of Color Vision Deficiency, IEEE TVCG
15(6), 2009, the matrices for severity 1.0 (applied to linear light).
"""

Rgb = tuple[float, float, float]

MACHADO = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def linear(colour: str) -> Rgb:
    """``#rrggbb`` as linear light, 0 to 1 each."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return red, green, blue


def luminance(light: Rgb) -> float:
    """Relative luminance of linear light."""
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]


def contrast(one: str, other: str, deficiency: str | None = None) -> float:
    """Contrast ratio of two colours, 1 to 21, as seen with ``deficiency``."""
    lights = [luminance(seen(colour, deficiency)) for colour in (one, other)]
    return (max(lights) + 0.05) / (min(lights) + 0.05)


def seen(colour: str, deficiency: str | None) -> Rgb:
    """``colour`` as linear light, as seen with ``deficiency``."""
    light = linear(colour)
    if deficiency is None:
        return light
    rows = MACHADO[deficiency]
    red, green, blue = (
        min(max(sum(m * c for m, c in zip(row, light, strict=True)), 0.0), 1.0) for row in rows
    )
    return red, green, blue
