"""The charts of a review, as SVG text to be put into a page.

matplotlib draws; its colours are then replaced by the page's own (CSS variables), so that
one picture serves light, dark and paper.  Rounds go upward, and what is past its place
stands to the left, as on a knitting chart (common practice).
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from knitlog.report.review import Review

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


def offset_chart(found: Review) -> str:
    """Where the colours fell, round by round, with what was done about it; "" without a fit."""
    from matplotlib.ticker import MaxNLocator

    fit = found.fit
    if fit is None:
        return ""
    path, limit = fit.path, found.state.facts.tolerance
    rounds = path.rounds.astype(float)
    figure, axes = _figure(min(max(2.6 + 0.055 * len(rounds), 3.4), 8.0))
    axes.axvspan(-limit, limit, color=BAND, lw=0, zorder=0, label=f"within {limit:g} stitches")
    axes.axvline(0.0, color=MUTED, lw=0.8, zorder=1)
    low, high = path.mean - 1.96 * path.sd, path.mean + 1.96 * path.sd
    axes.fill_betweenx(rounds, low, high, color=ACCENT, alpha=0.22, lw=0, zorder=2)
    axes.plot(path.mean, rounds, color=ACCENT, lw=1.6, zorder=3, label="as fitted")
    bad = {(s.round, s.change) for s in fit.suspects}
    pairs = zip(path.reading_rounds, path.reading_changes, strict=True)
    odd = np.array([(int(r), int(c)) in bad for r, c in pairs], dtype=bool)
    axes.plot(
        path.reading_offsets[~odd], path.reading_rounds[~odd], "o", ms=3, color=INK, zorder=4,
        label="as read",
    )  # fmt: skip
    if odd.any():
        widest = float(np.max(np.abs(np.concatenate((low, high))))) + 2.0
        axes.plot(
            np.clip(path.reading_offsets[odd], -widest, widest), path.reading_rounds[odd], "x",
            ms=7, mew=1.8, color=OTHER, zorder=5, label="perhaps miscounted",
        )  # fmt: skip
    at = {int(r): float(m) for r, m in zip(path.rounds, path.mean, strict=True)}
    fixed = [f.after_round for f in found.fixes if f.after_round in at]
    if fixed:
        axes.plot(
            [at[r] for r in fixed], fixed, "D", ms=6, mfc=PAPER, mec=OTHER, mew=1.5, zorder=6,
            label="mended by hand",
        )  # fmt: skip
    for stint in found.stints[1:]:
        style = "-" if stint.logged else ":"
        axes.axhline(stint.first_round - 0.5, color=OTHER, lw=1.2, ls=style, zorder=1)
    if any(s.logged for s in found.stints[1:]):
        axes.plot([], [], "-", color=OTHER, label="needle or count changed")
    if any(not s.logged for s in found.stints[1:]):
        axes.plot([], [], ":", color=OTHER, label="changed, not logged")
    axes.invert_xaxis()
    axes.xaxis.set_major_locator(MaxNLocator(nbins=7, integer=True))
    axes.set_xlabel("stitches off its place:  past  \u2190     \u2192  short of")
    axes.set_ylabel("row" if found.state.facts.flat else "round")
    axes.set_ylim(rounds[0] - 1.0, rounds[-1] + 1.0)
    figure.legend(loc="outside lower left", ncols=2, fontsize=10, frameon=False)
    return _svg(figure, "offset", "Where the colours fell, round by round")


def stint_chart(found: Review) -> str:
    """The drift of each stint with its 95 % interval; "" without a fit."""
    if not found.stints:
        return ""
    target = found.state.facts.target_drift
    labels = []
    for stint in found.stints:
        needle = "" if stint.needle_mm is None else f"\n{stint.needle_mm:g} mm"
        labels.append(f"{stint.first_round}\u2013{stint.last_round}{needle}, {stint.stitches} st")
    rows = [(s.drift.mean, s.drift.low95, s.drift.high95) for s in found.stints]
    figure, axes = _figure(1.5 + 0.55 * len(rows))
    axes.axvline(target, color=MUTED, lw=0.8)
    _intervals(axes, rows, [ACCENT if s.logged else OTHER for s in found.stints])
    axes.set_yticks(range(len(rows)), labels)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.invert_xaxis()
    axes.set_xlabel("drift, stitches a round:  past  \u2190     \u2192  short of")
    return _svg(figure, "stints", "Drift by stint")


def interval_chart(
    rows: Sequence[tuple[str, tuple[float, float, float], tuple[float, float, float]]],
    xlabel: str,
    name: str,
    title: str,
) -> str:
    """Pairs of intervals, before (grey) and after (in colour): (label, before, after)."""
    figure, axes = _figure(1.3 + 0.5 * len(rows))
    for place, (_, before, after) in enumerate(reversed(rows)):
        axes.plot(before[1:], (place + 0.16, place + 0.16), color=MUTED, lw=2.0)
        axes.plot(before[0], place + 0.16, "o", mfc=PAPER, mec=MUTED, ms=6)
        axes.plot(after[1:], (place - 0.16, place - 0.16), color=ACCENT, lw=3.0)
        axes.plot(after[0], place - 0.16, "o", color=ACCENT, ms=7)
    axes.plot([], [], "o-", color=MUTED, mfc=PAPER, label="any knitter")
    axes.plot([], [], "o-", color=ACCENT, label="you")
    axes.set_yticks(range(len(rows)), [label for label, _, _ in reversed(rows)])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_xlabel(xlabel)
    figure.legend(loc="outside lower left", ncols=2, fontsize=10, frameon=False)
    return _svg(figure, name, title)


def _intervals(
    axes: Any, rows: Sequence[tuple[float, float, float]], colours: Sequence[str]
) -> None:
    for place, ((mean, low, high), colour) in enumerate(zip(rows, colours, strict=True)):
        axes.plot((low, high), (place, place), color=colour, lw=3.0, solid_capstyle="round")
        axes.plot(mean, place, "o", color=colour, ms=8)
        axes.annotate(
            f"{mean:+.2f}", (mean, place), xytext=(0, 9), textcoords="offset points", ha="center",
            color=INK, fontsize=10,
        )  # fmt: skip


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
