"""Two projects side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from knitlog.report.review_text import hours, spread
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from knitlog.report.review import Review


@dataclass(frozen=True, slots=True)
class Compared:
    """One line of the comparison."""

    key: str
    """For JSON, with its unit."""
    label: str
    left: Any
    right: Any
    left_words: str
    right_words: str


def compare(left: Review, right: Review) -> tuple[Compared, ...]:
    """Put two reviews side by side, line by line."""
    lines = []
    for key, label, get, words in _LINES:
        a, b = get(left), get(right)
        lines.append(
            Compared(
                key, label, a, b, "-" if a is None else words(a), "-" if b is None else words(b)
            )
        )
    return tuple(lines)


def compare_rows(left: Review, right: Review) -> list[tuple[str, str, str]]:
    """The comparison as rows of words, with a line of headings."""
    head = ("", left.state.name, right.state.name)
    return [head, *((c.label, c.left_words, c.right_words) for c in compare(left, right))]


def compare_lines(left: Review, right: Review) -> Iterator[str]:
    """The comparison as text, and what stands out."""
    from knitlog.report.tables import table

    yield from table(compare_rows(left, right), numbers_right=False)
    said = list(_standing_out(left, right))
    if said:
        yield ""
        yield from said


def _standing_out(left: Review, right: Review) -> Iterator[str]:
    a, b = left.share_in_tolerance, right.share_in_tolerance
    if a is not None and b is not None and abs(a - b) >= 0.1:
        better, worse = (left, right) if a > b else (right, left)
        yield (
            f"{better.state.name} has {100.0 * max(a, b):.0f} % of its fabric in place, "
            f"{worse.state.name} {100.0 * min(a, b):.0f} %."
        )
    x, y = _yarn(left), _yarn(right)
    if x is not None and y is not None:
        e, f = x, y
        apart = abs(e.mean - f.mean)
        sure = apart > 1.96 * (e.sd**2 + f.sd**2) ** 0.5
        if sure:
            more = left if e.mean > f.mean else right
            yield (
                f"A stitch of {more.state.name} takes {apart:.2f} mm more yarn "
                f"({100.0 * apart / min(e.mean, f.mean):.1f} %)."
            )
        else:
            yield "Their yarn per stitch cannot be told apart."


def _yarn(found: Review) -> Any:
    return None if found.fit is None else found.fit.yarn_per_stitch_mm


def _kinds(found: Review) -> str | None:
    facts = found.state.facts
    return ", ".join(w for w in (facts.fibre, facts.stitch_pattern) if w) or None


def _minutes(found: Review) -> float | None:
    return None if found.time is None else found.time.knitting + found.time.mending


def _needles(found: Review) -> list[float] | None:
    return [s.needle_mm for s in found.state.stints if s.needle_mm is not None] or None


def _mended(found: Review) -> float | None:
    seen = [f for f in found.fixes if f.did is not None]
    if not seen:
        return None
    did = sum(abs(f.did.mean) for f in seen if f.did is not None)
    return did / sum(abs(f.meant) for f in seen)


_LINES: tuple[tuple[str, str, Callable[[Review], Any], Callable[[Any], str]], ...] = (
    ("began", "Begun", lambda r: r.began.date().isoformat(), str),
    ("finished", "Finished", lambda r: r.state.finished, lambda v: "yes" if v else "not yet"),
    ("yarn", "Yarn and pattern", _kinds, str),
    ("stitches", "Stitches", lambda r: [s.stitches for s in r.state.stints],
     lambda v: ", then ".join(map(str, dict.fromkeys(v)))),
    ("needle_mm", "Needle", _needles,
     lambda v: ", then ".join(f"{mm:g} mm" for mm in dict.fromkeys(v))),
    ("gauge_stitches_per_cm", "Gauge", lambda r: r.state.facts.gauge_stitches_per_cm,
     lambda v: f"{10.0 * v:g} st/10cm"),
    ("rounds", "Rounds", lambda r: r.state.last_round, str),
    ("first_drift_stitches_per_round", "Drift at first",
     lambda r: r.stints[0].drift if r.stints else None, spread),
    ("last_drift_stitches_per_round", "Drift at last",
     lambda r: r.fit.drift if r.fit else None, spread),
    ("yarn_per_stitch_mm", "Yarn per stitch", _yarn,
     lambda e: f"{e.mean:.2f} mm ({e.low95:.2f} to {e.high95:.2f})"),
    ("tension_noise_stitches", "Rounds differ by",
     lambda r: r.fit.tension_noise_sd if r.fit else None,
     lambda v: f"{v:.1f} stitches"),
    ("share_in_tolerance", "In place", lambda r: r.share_in_tolerance,
     lambda v: f"{100.0 * v:.0f} %"),
    ("fixes", "Fixes", lambda r: len(r.fixes), str),
    ("share_of_fix_done", "Fixes did", _mended, lambda v: f"{100.0 * v:.0f} % of what was meant"),
    ("breaks", "Changed, not logged", lambda r: len(r.breaks), str),
    ("minutes", "At the needles", _minutes, hours),
    ("yarn_used_mm", "Yarn used", lambda r: r.yarn.used_mm.mean if r.yarn else None, format_length),
)  # fmt: skip
