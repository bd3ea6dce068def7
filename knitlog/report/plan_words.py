"""What the planning has found, in words: said once, for the command line and the screens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.plan.cast_on import CastOnCheck, CastOnVerdict
from knitlog.plan.colour_checks import Finding, RunFinding, clear_changes
from knitlog.report.words import about_length, as_known, counted, signed
from knitlog.typed.measures import Units
from knitlog.yarn.needle_sizes import needle_label
from knitlog.yarn.units import System, format_length

if TYPE_CHECKING:
    from knitlog.analysis.planned import ChosenPlan
    from knitlog.drift import Estimate
    from knitlog.plan.contingency import Contingency
    from knitlog.plan.joining import JoinPlan
    from knitlog.plan.stitch_count import Candidate, StitchCountQuestion, StitchCounts
    from knitlog.plan.stitch_yarn import CombinedYarn
    from knitlog.plan.yarn_enough import YarnLeft
    from knitlog.yarn.colours import ColourRun

CANDIDATE_HEAD = ("Stitches", "Repeats", "Needle", "Drift", "Around", "Stacks")


def estimate_words(estimate: Estimate, unit: str) -> str:
    """An estimate with its 95 % interval, in words.

    >>> from knitlog.drift import Estimate
    >>> estimate_words(Estimate(20.387, 0.62, 19.1899, 21.62), "mm")
    '20.4 mm (between 19.2 and 21.6, 19 times in 20)'
    """
    mean, low, high = (
        as_known(value, estimate.sd) for value in (estimate.mean, estimate.low95, estimate.high95)
    )
    return f"{mean} {unit} (between {low} and {high}, 19 times in 20)"


def yarn_words(together: CombinedYarn, ways: tuple[str, ...]) -> str:
    """Yarn per stitch, how much each way counted, and whether they disagree."""
    words = f"A stitch takes {estimate_words(together.estimate, 'mm')}"
    if len(ways) > 1:
        shares = zip(ways, together.shares, strict=True)
        words += ": " + ", ".join(f"{way} {share:.0%}" for way, share in shares)
    warning = disagreement_words(together)
    return f"{words}. {warning}" if warning else f"{words}."


def disagreement_words(together: CombinedYarn) -> str | None:
    """One sentence where the ways to measure yarn per stitch disagree badly."""
    if not together.disagrees:
        return None
    low, high = (as_known(mm, together.estimate.sd) for mm in _ends(together))
    return (
        f"The ways disagree, from {low} to {high} mm a stitch: "
        "measure again the one you trust least."
    )


def _ends(together: CombinedYarn) -> tuple[float, float]:
    return together.lowest_mm, together.highest_mm


def candidate_row(
    c: Candidate, system: System = "metric", needle: str | None = None
) -> tuple[str, ...]:
    """One stitch count, under :data:`CANDIDATE_HEAD`; ``needle`` as she calls it."""
    return (
        str(c.stitches),
        f"{c.repeats:g}",
        needle or f"{c.needle_mm:g} mm",
        _with_spread(c.drift),
        size_words(c.size_mm, system),
        f"{100 * c.chance_in_tolerance:.0f} %",
    )


def _with_spread(drift: Estimate) -> str:
    """A drift give or take its 95 % interval: tenths where they are known."""
    spread = 1.96 * drift.sd
    if drift.sd >= 1:
        return f"{signed(round(drift.mean))} ± {spread:.0f}"
    return f"{signed(drift.mean)} ± {spread:.1f}"


def size_words(size_mm: float, system: System = "metric") -> str:
    """A finished size, to what a tape shows: whole centimetres, half inches.

    >>> size_words(541.7), size_words(541.7, "imperial")
    ('54 cm', '21.5 in')
    """
    if system == "metric":
        return f"{size_mm / 10:.0f} cm"
    return f"{round(2 * size_mm / 25.4) / 2:g} in"


def candidate_words(
    c: Candidate, system: System = "metric", *, flat: bool = False, units: Units | None = None
) -> str:
    """One stitch count in a sentence; needles as in ``units``."""
    turn = "row" if flat else "round"
    return (
        f"{c.stitches} stitches, {counted_repeats(c.repeats)} a {turn} on "
        f"{(units or Units()).needle(c.needle_mm)}: "
        f"{size_words(c.size_mm, system)} {'wide' if flat else 'around'}, drift "
        f"{_with_spread(c.drift)} a {turn}, 19 times in 20."
    )


def counted_repeats(repeats: float) -> str:
    """Repeats of the colours with their noun.

    >>> counted_repeats(1.0), counted_repeats(0.5)
    ('1 repeat', '0.5 repeats')
    """
    return f"{repeats:g} repeat{'' if repeats == 1 else 's'}"


def chance_words(c: Candidate) -> str:
    """How likely it is to stack."""
    return (
        f"It stacks by round {c.contingency.judge_after_round} with a chance of "
        f"{100 * c.chance_in_tolerance:.0f} %."
    )


def planned_words(plan: ChosenPlan) -> str:
    """What the plan expected, for the project's own description."""
    c, turn = plan.candidate, "row" if plan.flat else "round"
    each = estimate_words(c.yarn_per_stitch, "mm")
    return (
        f"Planned before casting on: {c.stitches} stitches, {counted_repeats(c.repeats)} a {turn} "
        f"on {needle_label(c.needle_mm)}; yarn per stitch {each}, "
        f"drift {_with_spread(c.drift)} stitches a {turn}."
    )


def nothing_fits_words(
    question: StitchCountQuestion, found: StitchCounts, system: System = "metric"
) -> str:
    """Why no count fits, and what to change; empty where one does."""
    wanted = question.wanted_size_mm
    if found.fits or wanted is None:
        return ""
    nearest = found.candidates[0].size_mm
    return (
        f"No stitch count makes {size_words(wanted, system)} with whole repeats: the nearest size "
        f"at which the colours come back is about {size_words(nearest, system)}; allow more room "
        "in the size, try other needles, or let the colours spiral."
    )


def contingency_words(c: Contingency, units: Units | None = None) -> str:
    """What to do if the colours do not stack; needles as in ``units``."""
    named = (units or Units()).needle
    rounds = c.judge_after_round - 1
    step = c.stitch_step
    moved = (
        f"If by round {c.judge_after_round} the colours have moved more than "
        f"{c.act_if_moved:g} stitches"
    )
    ways: list[str] = []
    if step == 1:
        ways.append(
            f"share the move out over {rounds} rounds and add that many stitches "
            "(if they moved past) or take as many off (if they fell short)"
        )
    elif step:
        ways.append(
            f"add {step} stitches for every {step} a round they moved past, "
            f"or take {step} off for as many short"
        )
    needles: list[str] = []
    if c.larger_needle_mm is not None and c.larger_needle_drift_change is not None:
        needles.append(
            f"a {named(c.larger_needle_mm)} needle would take about "
            f"{abs(c.larger_needle_drift_change):.0f} a round off"
        )
    if c.smaller_needle_mm is not None and c.smaller_needle_drift_change is not None:
        needles.append(
            f"a {named(c.smaller_needle_mm)} needle would put about "
            f"{abs(c.smaller_needle_drift_change):.0f} on"
        )
    if needles:
        ways.append(" and ".join(needles))
    if step > 1:
        few = f"below {c.act_on_stitches_if_drift:g} a round, even them out"
        ways.append(f"{few} with a tapestry needle")
    return f"{moved}, {'; '.join(ways)}."


def cast_on_words(check: CastOnCheck) -> str:
    """How the cast-on came out, and what to do."""
    change = abs(check.yarn_change_percent)
    looser = "looser" if check.yarn_change_percent > 0 else "tighter"
    came = f"The colours come back {_off_words(check.off_stitches)}"
    match check.verdict:
        case CastOnVerdict.KNIT_ON:
            return f"{came}, within the {check.tolerance:g} you allow: knit on."
        case CastOnVerdict.AGAIN:
            return f"{came}: cast on again {change:.0f} % {looser}."
        case CastOnVerdict.CHANGE_PLAN:
            return (
                f"{came}, and {change:.0f} % {looser} is more than a hand can do: cast on with "
                "another needle, or check the stitch count and the repeat."
            )


def _off_words(stitches: float) -> str:
    if stitches == 0:
        return "exactly at the last stitch"
    side = "past" if stitches > 0 else "short of"
    off = round(abs(stitches), 1)
    return f"{off:g} stitch{'' if off == 1 else 'es'} {side} the last one"


def join_words(plan: JoinPlan, system: System = "metric") -> str:
    """Where to cut and join the next skein."""
    off = "it" if plan.from_other_end else "the new skein"
    wind = "Wind the new skein from its other end" if plan.from_other_end else ""
    if plan.cut_mm < 0.5:
        first = f"{wind} and cut nothing off" if wind else f"Cut nothing off {off}"
    else:
        cut = f"cut {about_length(plan.cut_mm, system)} off {off}"
        first = f"{wind}, then {cut}" if wind else cut.capitalize()
    return (
        f"{first}, leave a tail of {about_length(plan.tail_mm, system)} on both, and join "
        f"{about_length(plan.join_at.into_mm, system)} into '{plan.join_colour.name}'."
    )


def new_repeat_words(before: float, after: float) -> str:
    """What a skein with another repeat does to the drift."""
    return (
        f"At the same tension the drift goes from {signed(before)} to {signed(after)} "
        "stitches a round."
    )


def enough_words(
    found: YarnLeft, rounds: int | None = None, system: System = "metric"
) -> list[str]:
    """How many rounds the yarn left will make, and whether so many are among them."""
    left = as_known(found.rounds_left.mean, found.rounds_left.sd)
    said = [f"Enough for about {left} rounds; {found.sure_rounds} for sure."]
    if found.length_per_round_mm is not None:
        said.append(f"A round takes {about_length(found.length_per_round_mm.mean, system)}.")
    if rounds is not None:
        # nothing is quite sure
        chance = min(max(round(100 * found.chance_for(rounds)), 1), 99)
        said.append(f"It lasts {counted(rounds, 'round')} with a chance of {chance} %.")
    return said


def skein_words(
    skeins: int, length_per_round_mm: float, waste_mm: float | None, system: System = "metric"
) -> list[str]:
    """How many skeins to buy, and what joining them in colour wastes."""
    said = [
        f"{counted(skeins, 'skein')}, with a chance of 95 % or better; a round takes "
        f"{about_length(length_per_round_mm, system)}."
    ]
    if waste_mm:
        wasted = format_length(waste_mm, system)
        said.append(f"Joining them in colour wastes about {wasted} besides.")
    return said


_SUM_WORDS = {
    Finding.SUM_AGREES: "that agrees",
    Finding.SUM_HALF: (
        "that is half: the run comes back the way it went (add 'and back'), "
        "or the reel holds two repeats"
    ),
    Finding.SUM_DOUBLE: "that is twice: you measured two repeats",
    Finding.SUM_LONG: (
        "a repeat cannot be longer: measure again without pulling the yarn straight"
    ),
    Finding.SUM_SHORT: "a colour may be missing: measure again",
}


def finding_words(found: RunFinding, system: System = "metric") -> str:
    """What a check of a colour run found, and what to do."""
    if found.run_mm is not None and found.reel_mm is not None:
        return (
            f"The colours add up to {format_length(found.run_mm, system)} and the reel turns "
            f"{format_length(found.reel_mm, system)}: {_SUM_WORDS[found.finding]}."
        )
    match found.finding:
        case Finding.SAME_NEIGHBOURS:
            return (
                f"'{found.colours[0]}' comes twice running: write it as one colour with both "
                "lengths added up."
            )
        case Finding.PALINDROME:
            return (
                "The run reads the same from both ends, so a skein may be wound from either; "
                "but every colour change comes mirrored: log one that you cannot mistake."
            )
        case Finding.UNNAMED_COLOURS:
            named = _together([f"'{name}'" for name in found.colours])
            one = len(found.colours) == 1
            are, stand_ins = ("is", "a stand-in") if one else ("are", "stand-ins")
            looks = "what does it look like" if one else "what do they look like"
            return (
                f"{named} {are} drawn in {stand_ins}: {looks}? Type it after the length, "
                f"as {found.colours[0]} 30cm brick, or as a value, {found.colours[0]} 30cm #a03623."
            )
        case _:
            before, after = found.colours
            return (
                f"The change from {before} to {after} comes {found.times} times in a repeat: "
                "log another one, or always the same of them."
            )


def _together(names: list[str]) -> str:
    """Names as they are said: a, b and c."""
    return " and ".join([*[", ".join(names[:-1])][: len(names) - 1], names[-1]])


def run_words(run: ColourRun) -> str:
    """A colour run in a sentence, with the colour changes worth logging."""
    names = ", ".join(segment.name for segment in run.segments)
    back = " and back" if run.palindrome else ""
    clear = [f"{before} to {after}" for before, after, _ in clear_changes(run)]
    log = f"; log the change from {' or '.join(clear)}" if clear else ""
    return f"{names}{back}, {format_length(run.repeat_length_mm)} a repeat{log}."
