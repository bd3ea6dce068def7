"""Two projects side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from knitlog.journal.registry import units_of
from knitlog.report.parts import Part
from knitlog.report.words import about_length, between, hours, spread
from knitlog.yarn.gauge import Gauge

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from knitlog.analysis.project_review import Review
    from knitlog.drift.fit_result import Estimate
    from knitlog.typed.measures import Units


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
        values = get(left), get(right)
        said = [
            "-" if value is None else words(value, units_of(found.state.facts))
            for value, found in zip(values, (left, right), strict=True)
        ]
        lines.append(Compared(key, label, *values, *said))
    return tuple(lines)


def compare_parts(left: Review, right: Review) -> Iterator[Part]:
    """The comparison, and what stands out."""
    yield Part(
        head=("", left.state.name, right.state.name),
        rows=tuple((c.label, c.left_words, c.right_words) for c in compare(left, right)),
    )
    if said := tuple(_standing_out(left, right)):
        yield Part(said=said)


def compare_object(left: Review, right: Review) -> dict[str, Any]:
    """The comparison as plain data."""
    return {
        "first": left.state.slug or left.state.name,
        "second": right.state.slug or right.state.name,
        "lines": [
            {"what": c.key, "first": _plain(c.left), "second": _plain(c.right)}
            for c in compare(left, right)
        ],
    }


def _plain(value: Any) -> Any:
    from knitlog.drift import Estimate
    from knitlog.report.json_objects import numbers

    return numbers(value) if isinstance(value, Estimate) else value


def _standing_out(left: Review, right: Review) -> Iterator[str]:
    a, b = left.share_of_fabric, right.share_of_fabric
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
    return None if found.time is None else found.time.knitting + found.time.fixing


def _needles(found: Review) -> list[float] | None:
    return [s.needle_mm for s in found.state.stints if s.needle_mm is not None] or None


def _share_done(found: Review) -> float | None:
    seen = [f for f in found.fixes if f.did is not None]
    if not seen:
        return None
    did = sum(abs(f.did.mean) for f in seen if f.did is not None)
    return did / sum(abs(f.meant) for f in seen)


def _needle_words(sizes: list[float], units: Units) -> str:
    return ", then ".join(units.needle(mm) for mm in dict.fromkeys(sizes))


def _percent_words(share: float, _: Units) -> str:
    return f"{100.0 * share:.0f} %"


def _text(value: object, _: Units) -> str:
    return str(value)


def _spread_words(e: Estimate, _: Units) -> str:
    return spread(e)


_LINES: tuple[tuple[str, str, Callable[[Review], Any], Callable[[Any, Units], str]], ...] = (
    ("began", "Begun", lambda r: r.began.date().isoformat(), _text),
    ("finished", "Finished", lambda r: r.state.finished, lambda v, _: "yes" if v else "not yet"),
    ("yarn", "Yarn and pattern", _kinds, _text),
    ("stitches", "Stitches", lambda r: [s.stitches for s in r.state.stints],
     lambda v, _: ", then ".join(map(str, dict.fromkeys(v)))),
    ("needle_mm", "Needle", _needles, _needle_words),
    ("gauge_stitches_per_cm", "Gauge", lambda r: r.state.facts.gauge_stitches_per_cm,
     lambda v, units: units.gauge(Gauge(v))),
    ("rounds", "Rounds", lambda r: r.state.last_round, _text),
    ("first_drift_stitches_per_round", "Drift at first",
     lambda r: r.stints[0].drift if r.stints else None, _spread_words),
    ("last_drift_stitches_per_round", "Drift at last",
     lambda r: r.fit.drift if r.fit else None, _spread_words),
    ("yarn_per_stitch_mm", "Yarn per stitch", _yarn,
     lambda e, _: between(e, unit=" mm", least=0.1)),
    ("tension_noise_stitches", "Rounds differ by",
     lambda r: r.fit.tension_noise_sd if r.fit else None,
     lambda v, _: f"{v:.1f} stitches"),
    ("share_in_tolerance", "In place", lambda r: r.share_in_tolerance, _percent_words),
    ("fixes", "Fixes", lambda r: len(r.fixes), _text),
    ("share_of_fix_done", "Fixes did", _share_done,
     lambda v, _: f"{100.0 * v:.0f} % of what was meant"),
    ("breaks", "Changed, not logged", lambda r: len(r.breaks), _text),
    ("minutes", "At the needles", _minutes, lambda v, _: hours(v)),
    ("yarn_used_mm", "Yarn used", lambda r: r.yarn.used_mm.mean if r.yarn else None,
     lambda v, units: about_length(v, units.lengths)),
)  # fmt: skip
