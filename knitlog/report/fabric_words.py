"""A project's futures in words: above each fabric, and beside the keys that show it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.analysis.fabrics import Future, ProjectFabric, Stage
from knitlog.report.advice_words import reason_of, title_of
from knitlog.report.words import counted, in_rows, signed
from knitlog.typed.measures import Units
from knitlog.yarn.colours import ColourRun

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState

STAND_IN = (
    "The yarn's colours are not described yet: four stand-ins of equal length are shown. "
    "How far they slide is right; which colour falls where is not."
)


def future_title(future: Future, found: ProjectFabric) -> str:
    """What is done, in a few words: those of the advice."""
    if future.option is not None and found.advice is not None:
        return title_of(found.advice, future.option)
    match found.stage:
        case Stage.PLANNED:
            return "As planned"
        case Stage.ALL_KNITTED:
            return "As knitted"
        case Stage.UNDER_WAY:
            return "Carry on"


def future_short(future: Future, found: ProjectFabric) -> str:
    """What is done, in two or three words: to choose by."""
    option = future.option
    if option is None:
        return future_title(future, found).lower()
    details = option.details
    situation = None if found.advice is None else found.advice.situation
    units = Units() if situation is None else situation.units
    steps = []
    if "needle_mm" in details:
        steps.append(units.short_needle(float(details["needle_mm"])))
    if "stitches" in details:
        steps.append(f"{details['stitches']} stitches")
    if "wait_rounds" in details:
        steps.append("wait")
    if not steps or "taken_out_stitches" in details:
        by = str(details.get("fix_by", option.remedy))
        steps.append("tapestry" if by == "tapestry needle" else by)
    return in_rows(" + ".join(steps), flat=situation is not None and situation.fit.log.flat)


def future_figures(future: Future, found: ProjectFabric, state: ProjectState) -> str:
    """What comes of it: the drift from here on, the share in place, the fixes expected."""
    nothing_to_come = future.option is None and found.stage is Stage.ALL_KNITTED
    as_stacked = found.stage is Stage.PLANNED and not future.drift
    if future.fabric is None or nothing_to_come or as_stacked:
        return ""
    turn = "row" if state.facts.flat else "round"
    figures = [f"{signed(future.drift)} a {turn}"]
    if future.option is not None:
        figures.append(f"{100 * future.option.share_in_tolerance:.0f} % in place")
        figures.append(_fixes(future.option.expected_fixes))
    return ", ".join(figures)


def _fixes(expected: float) -> str:
    """How many fixes to expect: a count, as nobody makes a tenth of one.

    >>> _fixes(0.0), _fixes(0.2), _fixes(1.2), _fixes(3.6)
    ('no fix', 'hardly a fix', '1 fix', '4 fixes')
    """
    if 0.0 < round(expected, 1) < 0.5:
        return "hardly a fix"
    return counted(round(expected), "fix", "fixes") if round(expected) else "no fix"


def future_caption(future: Future, found: ProjectFabric, state: ProjectState) -> str:
    """Title and figures in one line."""
    figures = future_figures(future, found, state)
    title = future_title(future, found)
    return f"{title}: {figures}" if figures else title


def future_reason(future: Future, found: ProjectFabric, state: ProjectState) -> str:
    """Why it stands where it does, or why it cannot be done here; one sentence."""
    turn = "row" if state.facts.flat else "round"
    if future.option is not None and found.advice is not None:
        return reason_of(found.advice, future.option)
    match found.stage:
        case Stage.PLANNED:
            return f"Log two {turn}s or more, and it is drawn as you knit it."
        case Stage.ALL_KNITTED:
            return f"There are no {turn}s to come."
        case Stage.UNDER_WAY:
            return "Nothing is done about it."


def stand_in_words(found: ProjectFabric) -> str:
    """Why the colours are not the yarn's own, or what to ask of them; empty if they are."""
    return STAND_IN if found.stands_in else unnamed_words(found.run)


def unnamed_words(run: ColourRun) -> str:
    """Which colours are drawn in stand-ins, as a question; empty where none is."""
    from knitlog.plan.colour_checks import Finding, check_colour_run
    from knitlog.report.plan_words import finding_words

    asked = (f for f in check_colour_run(run) if f.finding is Finding.UNNAMED_COLOURS)
    return "".join(finding_words(found) for found in asked)
