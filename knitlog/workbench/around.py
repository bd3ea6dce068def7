"""Around the round, in words: which part of it takes more yarn a stitch."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.drift import DriftFit, Section


def around_the_round(fit: DriftFit) -> Iterator[tuple[str, str]]:
    """Yield each part between two colour changes, and how its yarn compares with the round's.

    Nothing where fewer than two changes a round are logged, or where nobody can know how much
    yarn lies between them.
    """
    for part in fit.sections:
        yield f"Change {part.from_change} to change {part.to_change}", _told(part)


def _told(part: Section) -> str:
    off = part.against_round_percent
    if off.low95 > 0.0:
        span = _span(off.low95, off.high95)
        words = f"{off.mean:.1f} % more yarn a stitch than the round ({span})"
    elif off.high95 < 0.0:
        span = _span(-off.high95, -off.low95)
        words = f"{-off.mean:.1f} % less yarn a stitch than the round ({span})"
    else:
        most = max(abs(off.low95), abs(off.high95))
        words = f"as much yarn a stitch as the round, to within {most:.1f} %"
    return words


def _span(low: float, high: float) -> str:
    return f"{low:.1f} to {high:.1f}"
