"""The charts of a review and of her hands, as SVG text to be put into a page.

matplotlib draws; its colours are then replaced by the page's own (CSS variables), so that
one picture serves light, dark and paper.  Rounds go upward, and what is past its place
stands to the left, as on a knitting chart (common practice).
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import numpy as np

from knitlog.report.history import What

if TYPE_CHECKING:
    from knitlog.report.history import RoundHistory
    from knitlog.report.interval_drawing import IntervalDrawing

_LOGGED = {What.NEEDLE, What.STITCHES, What.TENSION, What.PLACE}

# stand-ins that matplotlib would never write by itself; the page knows them by name
_COLOURS = {
    "#010101": "var(--ink)",
    "#020202": "var(--muted)",
    "#030303": "var(--accent)",
    "#040404": "var(--band)",
    "#050505": "var(--other)",
    "#060606": "var(--paper)",
}
INK, MUTED, ACCENT, BAND, OTHER, PAPER = _COLOURS
_WIDTH_IN = 5.0
_IDS = re.compile(r'(id="|href="#|url\(#)([A-Za-z_][\w.-]*)')


def offset_chart(told: RoundHistory) -> str:
    """Where the colours fell, round by round, with what was done about it."""
    limit, rounds = told.tolerance, told.rounds.astype(float)
    figure, axes = _figure(min(max(2.6 + 0.055 * len(rounds), 3.4), 8.0))
    axes.axvspan(-limit, limit, color=BAND, lw=0, zorder=0, label=f"within {limit:g} stitches")
    axes.axvline(0.0, color=MUTED, lw=0.8, zorder=1)
    low, high = told.offset_low95, told.offset_high95
    _path(axes, told.rounds, told.offset, low, high)
    sure = [r for r in told.readings if not r.doubtful]
    odd = [r for r in told.readings if r.doubtful]
    axes.plot(
        [r.offset for r in sure], [r.round for r in sure], "o", ms=3, color=INK, zorder=4,
        label="as read",
    )  # fmt: skip
    if odd:
        widest = float(np.max(np.abs(np.concatenate((low, high))))) + 2.0
        axes.plot(
            [min(max(r.offset, -widest), widest) for r in odd], [r.round for r in odd], "x",
            ms=7, mew=1.8, color=OTHER, zorder=5, label="perhaps miscounted",
        )  # fmt: skip
    at = dict(zip(told.rounds.tolist(), told.offset.tolist(), strict=True))
    fixed = [h.round for h in told.marks if h.what is What.FIX and h.round in at]
    if fixed:
        axes.plot(
            [at[r] for r in fixed], fixed, "D", ms=6, mfc=PAPER, mec=OTHER, mew=1.5, zorder=6,
            label="a fix",
        )  # fmt: skip
    _changes(axes, told)
    _upward(axes, told)
    axes.set_xlabel("stitches off its place:  past  \u2190     \u2192  short of")
    figure.legend(loc="outside lower left", ncols=2, fontsize=10, frameon=False)
    return _svg(figure, "offset", "Where the colours fell, round by round")


def drift_chart(told: RoundHistory) -> str:
    """The drift round by round with its 95 % interval: by stint, and how it creeps in one."""
    figure, axes = _figure(min(max(2.0 + 0.03 * len(told.rounds), 2.6), 5.0))
    axes.axvline(told.target_drift, color=MUTED, lw=0.8)
    _path(axes, told.rounds, told.drift, told.drift_low95, told.drift_high95)
    _changes(axes, told)
    _upward(axes, told)
    axes.set_xlabel(f"drift, stitches a {axes.get_ylabel()}:  past  \u2190     \u2192  short of")
    return _svg(figure, "drift", "The drift, round by round")


def _path(axes: Any, rounds: Any, mean: Any, low: Any, high: Any) -> None:
    axes.fill_betweenx(rounds, low, high, color=ACCENT, alpha=0.22, lw=0, zorder=2)
    axes.plot(mean, rounds, color=ACCENT, lw=1.6, zorder=3, label="as fitted")


def _changes(axes: Any, told: RoundHistory) -> None:
    """A line below each round from which something was another way."""
    for kinds, style, label in (
        (_LOGGED, "-", "needle, count, tension or place changed"),
        ({What.UNLOGGED}, ":", "changed, not logged"),
    ):
        found = [h.round for h in told.marks if h.what in kinds]
        for number in found:
            axes.axhline(number - 0.5, color=OTHER, lw=1.2, ls=style, zorder=1)
        if found:
            axes.plot([], [], style, color=OTHER, label=label)


def _upward(axes: Any, told: RoundHistory) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.invert_xaxis()
    axes.xaxis.set_major_locator(MaxNLocator(nbins=7))
    axes.set_ylabel("row" if told.flat else "round")
    axes.set_ylim(float(told.rounds[0]) - 1.0, float(told.rounds[-1]) + 1.0)


def interval_chart(drawn: IntervalDrawing, name: str) -> str:
    """Pairs of intervals, any knitter's (grey) and hers (in colour)."""
    rows = list(reversed(drawn.rows))
    figure, axes = _figure(1.3 + 0.5 * len(rows))
    if drawn.at is not None:
        axes.axvline(drawn.at, color=MUTED, lw=0.8)
    for place, row in enumerate(rows):
        before, after = row.any_knitter, row.yours
        up, down = place + 0.16, place - 0.16
        axes.plot((before.low95, before.high95), (up, up), color=MUTED, lw=2.0)
        axes.plot(before.mean, up, "o", mfc=PAPER, mec=MUTED, ms=6)
        axes.plot((after.low95, after.high95), (down, down), color=ACCENT, lw=3.0)
        axes.plot(after.mean, down, "o", color=ACCENT, ms=7)
    axes.plot([], [], "o-", color=MUTED, mfc=PAPER, label="any knitter")
    axes.plot([], [], "o-", color=ACCENT, label="you")
    axes.set_yticks(range(len(rows)), [row.label.replace(" by", "\nby") for row in rows])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlabel(drawn.unit)
    figure.legend(loc="outside lower left", ncols=2, fontsize=10, frameon=False)
    return _svg(figure, name, f"Hands: {drawn.unit}")


def _figure(height_in: float) -> tuple[Any, Any]:
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH_IN, height_in), layout="constrained")
    FigureCanvasSVG(figure)
    axes = figure.subplots()
    axes.set_facecolor("none")
    figure.patch.set_alpha(0.0)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(MUTED)
    axes.tick_params(colors=INK, labelsize=11)
    axes.xaxis.label.set(color=INK, fontsize=11)
    axes.yaxis.label.set(color=INK, fontsize=11)
    return figure, axes


def _svg(figure: Any, name: str, title: str) -> str:
    """Give a figure as SVG text in the page's own colours; ids begin with ``name``."""
    import matplotlib as mpl

    for legend in figure.legends:
        for text in legend.get_texts():
            text.set_color(INK)
    out = io.StringIO()
    how: Any = {"svg.fonttype": "none", "svg.hashsalt": name, "font.family": "sans-serif"}
    with mpl.rc_context(how):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    svg = out.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = _IDS.sub(rf"\1{name}-\2", svg)
    # sizes come from the page
    svg = re.sub(r'<svg ([^>]*?)height="[^"]*"', r"<svg \1", svg, count=1)
    svg = re.sub(r'<svg ([^>]*?)width="[^"]*"', r"<svg \1", svg, count=1)
    svg = svg.replace("<svg ", f'<svg role="img" aria-label="{title}" class="chart" ', 1)
    for stand_in, own in _COLOURS.items():
        svg = svg.replace(stand_in, own)
    return svg
