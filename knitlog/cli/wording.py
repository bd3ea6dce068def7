"""What the commands print for people: a look at a project in plain words.

Everything the screens show, as text, so that a screen reader has it too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from knitlog.journal.text import plain_text
from knitlog.report.tables import table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.advice import Advice, Option
    from knitlog.drift import DriftFit, Estimate
    from knitlog.journal.project import ProjectState
    from knitlog.workbench import Look

__all__ = ["advice_lines", "fit_lines", "log_lines", "say", "state_lines", "table"]

_RECENT = 8
_AHEAD = 10


def fit_lines(view: Look) -> Iterator[str]:
    """The fit as a readable report."""
    yield view.verdict
    fit = view.fit
    if fit is not None:
        yield ""
        yield from table(_fit_rows(fit, view.state))
        yield from _stint_lines(fit)
        yield from _around_lines(fit)
        yield ""
        yield _to_come(fit, view.state)
    yield from _asides(view)


def advice_lines(view: Look) -> Iterator[str]:
    """The advice: what to do, why, and every remedy side by side."""
    yield view.verdict
    advice = view.advice
    if advice is not None:
        yield ""
        yield f"Do this: {advice.recommended.title}"
        if advice.changed:
            yield advice.changed
        yield f"Why: {advice.why}"
        for number, step in enumerate(advice.steps, start=1):
            yield f"  {number}. {step}"
        yield f"What would change this: {advice.would_change}"
        yield ""
        yield from table(_option_rows(advice))
        yield from _reasons(advice)
        yield ""
        yield from _counted_lines(view.state)
    yield from _asides(view)


def state_lines(view: Look) -> Iterator[str]:
    """Where a project stands: its facts, its last rounds, its verdict and the short advice."""
    state = view.state
    yield plain_text(state.name)
    if state.about:
        yield plain_text(state.about)
    yield ""
    yield view.verdict
    if view.advice is not None:
        yield f"Do this: {view.advice.recommended.title} - {view.advice.why}"
    if view.fit is not None and not state.finished:
        yield _to_come(view.fit, state)
    yield ""
    yield from table(_fact_rows(state))
    yield ""
    yield from _recent_rounds(state)
    if state.undo_label:
        yield f"Undo would take back {state.undo_label}."
    yield from _asides(view)


def log_lines(state: ProjectState) -> Iterator[str]:
    """Everything logged, the newest first: rounds, notes, fixes, changes, skeins."""
    from knitlog.report import logbook

    yield plain_text(state.name)
    yield ""
    logged = logbook.log_lines(state)
    if logged:
        yield from table([("Round", "What", "When"), *logged])
    else:
        yield "Nothing is logged yet."


def say(lines: Iterator[str]) -> None:
    """Print lines, each made harmless."""
    for line in lines:
        click.echo(plain_text(line))


def _fit_rows(fit: DriftFit, state: ProjectState) -> list[tuple[str, str]]:
    unit = "stitches a row" if state.facts.flat else "stitches a round"
    rows = [
        ("Rounds logged", f"{fit.rounds_logged}, the last is {fit.last_round}"),
        ("Drift", f"{_signed(fit.drift)} {unit}"),
        ("Colours now", f"{_signed(fit.offset)} stitches off their place (+ is past)"),
        ("Yarn per stitch off by", f"{_signed(fit.yarn_error_percent)} %"),
    ]
    if fit.yarn_per_stitch_mm is not None:
        s = fit.yarn_per_stitch_mm
        rows.append(("Yarn per stitch", f"{s.mean:.2f} mm ({s.low95:.2f} to {s.high95:.2f})"))
    if fit.target_yarn_per_stitch_mm is not None:
        rows.append(("  should be", f"{fit.target_yarn_per_stitch_mm:.2f} mm"))
    rows += [
        ("Your tension varies by", f"{fit.tension_noise_sd:.1f} stitches a round"),
        ("Your readings vary by", f"{fit.reading_noise_sd:.1f} stitches"),
        ("Direction", f"stitches {fit.direction}" if "too" in fit.direction else fit.direction),
    ]
    return rows


def _to_come(fit: DriftFit, state: ProjectState) -> str:
    """Where the colours will be ten rounds on, as the chart shows it."""
    ahead = fit.forecast(_AHEAD)
    mean, low, high = (float(part[-1]) for part in (ahead.mean, ahead.low95, ahead.high95))
    return (
        f"If nothing is changed, {'row' if state.facts.flat else 'round'} {int(ahead.rounds[-1])} "
        f"falls {mean:+.1f} stitches from its place ({low:+.1f} to {high:+.1f})."
    )


def _stint_lines(fit: DriftFit) -> Iterator[str]:
    if len(fit.stint_drifts) < 2:
        return
    yield ""
    rows = [("Rounds", "Stitches", "Needle", "Drift a round")]
    for stint in fit.stint_drifts:
        needle = "-" if stint.needle_mm is None else f"{stint.needle_mm:g} mm"
        unlogged = "" if stint.logged else "  (change not logged)"
        rounds = f"{stint.first_round}-{stint.last_round}"
        rows.append((rounds, str(stint.stitches), needle, _signed(stint.drift) + unlogged))
    yield from table(rows)


def _around_lines(fit: DriftFit) -> Iterator[str]:
    from knitlog.workbench.around import around_the_round

    rows = list(around_the_round(fit))
    if rows:
        yield ""
        yield "Around the round:"
        yield from table([(f"  {where}", told) for where, told in rows])


def _option_rows(advice: Advice) -> list[tuple[str, ...]]:
    head = ("Remedy", "In place", "Fixes", "Minutes", "Size")
    return [head, *(_option_row(option) for option in advice.options if option.feasible)]


def _option_row(option: Option) -> tuple[str, ...]:
    return (
        option.title,
        f"{100 * option.share_in_tolerance:.0f} %",
        f"{option.expected_fixes:.1f}",
        f"{option.minutes:.0f}",
        f"{option.size_change_percent:+.1f} %",
    )


def _reasons(advice: Advice) -> Iterator[str]:
    out = [option for option in advice.options if not option.feasible]
    if out:
        yield ""
        yield "Not possible here:"
        for option in out:
            yield f"  {option.title}: {option.reason}"


def _counted_lines(state: ProjectState) -> Iterator[str]:
    """What the work was counted at, the knitter's own marked, and how to set it."""
    from knitlog.journal.factkeys import format_number
    from knitlog.workbench.counted_at import HEADING, WORTH, counted_at

    yield f"{HEADING}:"
    yield from table(
        [
            (f"  {work.name}", format_number(work.minutes), work.whose, work.words)
            for work in counted_at(state.facts)
        ]
    )
    yield WORTH
    to_set = f"knitlog settings {state.slug} " if state.slug else ""
    yield f'To set your own: {to_set}--minutes "needle=6, round-out=1"'


def _asides(view: Look) -> Iterator[str]:
    """What to ask the knitter, and what is wrong."""
    if view.questions:
        yield ""
        for question in view.questions:
            yield f"? {question.sentence}"
    if view.problems:
        yield ""
        for problem in view.problems:
            yield f"! {problem}"


def _fact_rows(state: ProjectState) -> list[tuple[str, str]]:
    from knitlog.yarn.gauge import format_gauge
    from knitlog.yarn.needles import needle_label
    from knitlog.yarn.units import format_length

    facts = state.facts
    rows = [("Stitches", f"{state.stitches}{' in a row' if facts.flat else ' in a round'}")]
    if state.needle_mm is not None:
        rows.append(("Needle", needle_label(state.needle_mm)))
    if facts.repeat_length_mm is not None:
        a_round = f", {facts.repeats:g} a {'row' if facts.flat else 'round'}"
        rows.append(("Colour repeat", format_length(facts.repeat_length_mm) + a_round))
    if facts.gauge is not None:
        rows.append(("Gauge", format_gauge(facts.gauge)))
    rows.append(("Tolerance", f"{facts.tolerance:g} stitches either way"))
    if facts.target_drift:
        rows.append(("Wanted drift", f"{facts.target_drift:+g} stitches a round"))
    planned = f" of {facts.planned_rounds} planned" if facts.planned_rounds else ""
    rows.append(("Rounds", f"{state.last_round}{planned}"))
    return rows


def _recent_rounds(state: ProjectState) -> Iterator[str]:
    """The last rounds, newest first, as the screens' chart has them."""
    fixes = {fix.after_round: fix for fix in state.fixes}
    changed = {stint.first_round: stint for stint in state.stints[1:]}
    for entry in reversed(state.entries[-_RECENT:]):
        where = ", ".join(f"{p.stitch:g}" for p in entry.positions)
        extra = []
        if entry.round in changed:
            stint = changed[entry.round]
            needle = "" if stint.needle_mm is None else f" on {stint.needle_mm:g} mm"
            extra.append(f"from here {stint.stitches} stitches{needle}")
        if entry.round in fixes:
            fix = fixes[entry.round]
            extra.append(f"then {fix.how}: {fix.taken_out:g} taken out")
        tail = f"   ({'; '.join(extra)})" if extra else ""
        yield f"Round {entry.round:>3}: {where}{tail}"
    hidden = len(state.entries) - _RECENT
    if hidden > 0:
        yield f"... and {hidden} more below"


def _signed(estimate: Estimate) -> str:
    return f"{estimate.mean:+.2f} ({estimate.low95:+.2f} to {estimate.high95:+.2f})"
