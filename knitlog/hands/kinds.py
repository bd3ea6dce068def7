"""Yarn per stitch as it was, by needle, fibre and stitch pattern, and as it is expected next."""

from dataclasses import dataclass

from knitlog.drift.result import Estimate
from knitlog.hands.learn import Hands
from knitlog.hands.next_project import yarn_per_stitch
from knitlog.hands.records import Work


@dataclass(frozen=True, slots=True)
class KindKnitted:
    """One needle, fibre and pattern she has knitted."""

    needle_mm: float | None
    fibre: str | None
    stitch_pattern: str | None
    projects: int
    low_mm: float
    """Least yarn per stitch of those projects, mm."""
    high_mm: float
    """Most."""
    next_mm: Estimate | None
    """What to expect of another such project with a new yarn, mm; None without a needle."""


def kinds_knitted(hands: Hands) -> tuple[KindKnitted, ...]:
    """Return every kind of work in the finished projects, by needle, then fibre and pattern."""
    found: dict[tuple[float, str, str], list[tuple[str, float, Work]]] = {}
    for project in hands.projects:
        for stint in project.stints:
            key = (
                stint.needle_mm or 0.0,
                project.work.fibre or "",
                project.work.stitch_pattern or "",
            )
            found.setdefault(key, []).append((project.name, stint.yarn_per_stitch_mm, project.work))
    rows = []
    for (needle, fibre, pattern), cases in sorted(found.items()):
        thick = [w.yarn_thickness_mm for _, _, w in cases if w.yarn_thickness_mm is not None]
        work = Work(
            needle_mm=needle or None,
            yarn_thickness_mm=sum(thick) / len(thick) if thick else None,
            fibre=fibre or None,
            stitch_pattern=pattern or None,
        )
        yarn = [value for _, value, _ in cases]
        rows.append(
            KindKnitted(
                needle_mm=work.needle_mm,
                fibre=work.fibre,
                stitch_pattern=work.stitch_pattern,
                projects=len({name for name, _, _ in cases}),
                low_mm=min(yarn),
                high_mm=max(yarn),
                next_mm=yarn_per_stitch(hands, work),
            )
        )
    return tuple(rows)
