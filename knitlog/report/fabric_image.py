"""Pictures of the fabric, as SVG text and as PNG bytes.

A knitter shows a picture to others, so it must stand alone: colours named in words,
rounds and stitches numbered as on a chart (round 1 at the bottom, stitch 1 at the
right), every stitch in the shape of the gauge, several fabrics side by side where
remedies are compared.  Nothing here writes to disk.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.sax.saxutils import escape

import numpy as np
import numpy.typing as npt

from knitlog.plan.stitch_colours import NO_STITCH, Fabric, as_drawn
from knitlog.yarn.gauge import Gauge, stitch_height_mm, stitch_width_mm

_INK = "#222222"
_PAPER = "#ffffff"
_MARGIN = 12.0
_CAPTION = 24.0
_NUMBERS = 40.0
_LEGEND = 20.0
_NUMBERED_EVERY = 10
_LARGEST_PNG_PX = 20_000
_PNG_FRAME_IN = 0.6


class PictureError(ValueError):
    """A picture that cannot be made; the message says why and what to do instead."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One fabric of a picture."""

    caption: str
    """What it shows, in a few words."""
    fabric: Fabric
    """Its stitches."""


def stitch_aspect(gauge: Gauge | None) -> float:
    """Height of a stitch over its width; that of relaxed plain knitting if no gauge is known."""
    shape = gauge if gauge is not None else Gauge(2.0)
    return stitch_height_mm(shape) / stitch_width_mm(shape)


def fabric_svg(panels: Sequence[Panel], gauge: Gauge | None = None, stitch_px: float = 6.0) -> str:
    """The fabrics side by side, as the text of an SVG file.

    Args:
        panels: one or more fabrics.
        gauge: gives a stitch its shape.
        stitch_px: width of a stitch, px.

    Raises:
        PictureError: there is no panel, or the stitch has no width.

    """
    _check(panels, stitch_px)
    wide, tall = stitch_px, stitch_px * stitch_aspect(gauge)
    most_rounds = max(panel.fabric.rounds for panel in panels)
    legend = _legend(panels)
    bottom = _MARGIN + _CAPTION + most_rounds * tall
    height = bottom + _NUMBERS / 2 + _LEGEND * (len(legend) + 1) + _MARGIN
    parts: list[str] = []
    left = _MARGIN
    for panel in panels:
        top = bottom - panel.fabric.rounds * tall
        parts.extend(_panel_svg(panel, left, top, wide, tall))
        left += panel.fabric.stitches * wide + _NUMBERS + _MARGIN
    for line, (name, colour) in enumerate(legend):
        y = bottom + _NUMBERS / 2 + _LEGEND * (line + 1)
        parts.append(
            f'<rect x="{_MARGIN:g}" y="{y - 11:g}" width="14" height="14" fill="{colour}" '
            f'stroke="{_INK}" stroke-width="0.5"/>'
            f'<text x="{_MARGIN + 20:g}" y="{y:g}">{escape(name)}</text>'
        )
    summary = "; ".join(panel.caption for panel in panels)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{left:g}" height="{height:g}" '
        f'viewBox="0 0 {left:g} {height:g}" font-family="sans-serif" font-size="12" fill="{_INK}" '
        'role="img">\n'
        f"<title>{escape(summary)}</title>\n"
        "<desc>Knitted fabric, round 1 at the bottom and stitch 1 at the right.</desc>\n"
        f"{_stitch_pattern(wide, tall)}\n"
        f'<rect width="100%" height="100%" fill="{_PAPER}"/>\n' + "\n".join(parts) + "\n</svg>\n"
    )


def _panel_svg(panel: Panel, left: float, top: float, wide: float, tall: float) -> list[str]:
    """One fabric, its caption and its numbers."""
    fabric = panel.fabric
    parts = [f'<text x="{left:g}" y="{top - 8:g}">{escape(panel.caption)}</text>']
    parts.append(f'<g shape-rendering="crispEdges" transform="translate({left:g} {top:g})">')
    for line, row in enumerate(as_drawn(fabric.cells).tolist()):
        column = 0
        for index, cells in groupby(row):
            length = len(list(cells))
            if index != NO_STITCH:
                parts.append(
                    f'<rect x="{column * wide:g}" y="{line * tall:g}" width="{length * wide:g}" '
                    f'height="{tall:g}" fill="{fabric.palette[index]}"/>'
                )
            column += length
    right, low = fabric.stitches * wide, fabric.rounds * tall
    parts.append(f'<rect width="{right:g}" height="{low:g}" fill="url(#stitch)"/></g>')
    for number in _numbered(fabric.rounds):
        y = top + low - (number - 0.5) * tall + 4
        parts.append(f'<text x="{left + right + 4:g}" y="{y:g}">{number}</text>')
    for number in _numbered(fabric.stitches):
        x = left + right - (number - 0.5) * wide
        parts.append(f'<text x="{x:g}" y="{top + low + 14:g}" text-anchor="middle">{number}</text>')
    return parts


def _stitch_pattern(wide: float, tall: float) -> str:
    """A faint V in every stitch, as plain knitting shows it."""
    return (
        f'<defs><pattern id="stitch" width="{wide:g}" height="{tall:g}" '
        'patternUnits="userSpaceOnUse">'
        f'<path d="M0 0L{wide / 2:g} {tall:g}L{wide:g} 0" fill="none" stroke="#000000" '
        'stroke-opacity="0.18" stroke-width="0.6"/></pattern></defs>'
    )


def fabric_png(panels: Sequence[Panel], gauge: Gauge | None = None, stitch_px: int = 6) -> bytes:
    """The fabrics side by side, as the bytes of a PNG file.

    Args:
        panels: one or more fabrics.
        gauge: gives a stitch its shape.
        stitch_px: width of a stitch, px.

    Raises:
        PictureError: there is no panel, the stitch has no width, the picture would be too
            large, or matplotlib is not installed.

    """
    _check(panels, stitch_px)
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
        from matplotlib.patches import Patch
    except ImportError as error:
        raise PictureError(
            "a PNG picture needs matplotlib: install it with pip install matplotlib, "
            "or ask for SVG, which needs nothing"
        ) from error
    aspect = stitch_aspect(gauge)
    most_rounds = max(panel.fabric.rounds for panel in panels)
    columns = [panel.fabric.stitches for panel in panels]
    dpi = 100
    legend = _legend(panels)
    width = sum(columns) * stitch_px / dpi + _PNG_FRAME_IN * (len(panels) + 1)
    height = most_rounds * stitch_px * aspect / dpi + 2 * _PNG_FRAME_IN + 0.25 * len(legend)
    if max(width, height) * dpi > _LARGEST_PNG_PX:
        raise PictureError(
            f"the picture would be {width * dpi:.0f} by {height * dpi:.0f} px: "
            "ask for fewer rounds or narrower stitches"
        )
    figure = Figure(figsize=(width, height), dpi=dpi, layout="constrained", facecolor=_PAPER)
    FigureCanvasAgg(figure)
    axes = figure.subplots(1, len(panels), squeeze=False, width_ratios=columns)[0]
    for panel, axis in zip(panels, axes, strict=True):
        fabric = panel.fabric
        # stitch 1 at the right: the column axis runs from right to left
        edges = (fabric.stitches + 0.5, 0.5, 0.5, fabric.rounds + 0.5)
        axis.imshow(
            cell_colours(fabric)[:, ::-1],
            origin="lower",
            extent=edges,
            aspect=aspect,
            interpolation="nearest",
        )
        axis.set_title(panel.caption, fontsize=10, loc="left")
        axis.yaxis.tick_right()
        axis.set_xticks(_numbered(fabric.stitches))
        axis.set_yticks(_numbered(fabric.rounds))
        axis.tick_params(labelsize=8, length=2)
    figure.legend(
        handles=[Patch(facecolor=c, edgecolor=_INK, label=name) for name, c in legend],
        loc="outside lower left",
        fontsize=9,
        frameon=False,
    )
    written = io.BytesIO()
    figure.savefig(written, format="png", dpi=dpi)
    return written.getvalue()


def cell_colours(fabric: Fabric) -> npt.NDArray[np.uint8]:
    """Red, green and blue of every cell as knitted, shape (rounds, stitches, 3), 0 to 255.

    Where there is no stitch it is the colour of the paper.
    """
    table = np.array([_rgb(colour) for colour in (*fabric.palette, _PAPER)], dtype=np.uint8)
    # -1 for no stitch takes the last of the table
    return table[fabric.cells]


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _legend(panels: Sequence[Panel]) -> list[tuple[str, str]]:
    """Each name and colour once, in the order of the yarn."""
    pairs = (
        pair
        for panel in panels
        for pair in zip(panel.fabric.names, panel.fabric.palette, strict=True)
    )
    return list(dict.fromkeys(pairs))


def _numbered(count: int) -> list[int]:
    """Rounds or stitches that get a number: the first, then every tenth."""
    return [1, *range(_NUMBERED_EVERY, count + 1, _NUMBERED_EVERY)]


def _check(panels: Sequence[Panel], stitch_px: float) -> None:
    if not panels:
        raise PictureError("there is no fabric to draw: give at least one")
    if not stitch_px > 0:
        raise PictureError("a stitch must be wider than nothing: ask for 6 px")
