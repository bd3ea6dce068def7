"""What can be wrong with a colour run, and which colour change to log.

A run measured along the yarn should add up to the turn of the reel it was dyed on, or a
little less: a skein contracts once off the reel.  A run that reads the same from both
ends, or in which one colour change comes twice, is easily misread at the needles.
"""

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from knitlog.plan.checks import check_positive
from knitlog.plan.run_notation import unnamed_colours
from knitlog.yarn.colours import ColourRun, ColourSegment


class Finding(StrEnum):
    """What a check of a colour run may find."""

    SUM_AGREES = "the sum agrees with the reel"
    SUM_LONG = "longer than the reel's turn"
    SUM_SHORT = "shorter than the reel's turn"
    SUM_HALF = "half the reel's turn"
    SUM_DOUBLE = "twice the reel's turn"
    PALINDROME = "a palindrome"
    SAME_NEIGHBOURS = "the same colour twice running"
    TWIN_CHANGES = "a colour change that comes more than once"
    UNNAMED_COLOURS = "a colour nobody has described"


@dataclass(frozen=True, slots=True)
class RunFinding:
    """One thing a check found."""

    finding: Finding
    serious: bool = False
    """True where the run should be measured again before it is trusted."""
    run_mm: float | None = None
    """Length of the run, mm, where that is what was checked."""
    reel_mm: float | None = None
    """One turn of the reel, mm, where that is what was checked."""
    colours: tuple[str, ...] = ()
    """The colours it is about; of a colour change the one before and the one after."""
    times: int = 1
    """How often it comes in a repeat."""

    @property
    def difference_mm(self) -> float | None:
        """The run less the reel's turn, mm, where that is what was checked."""
        if self.run_mm is None or self.reel_mm is None:
            return None
        return self.run_mm - self.reel_mm


REEL_SHRINKAGE = 0.05
"""How much shorter than the reel's turn a relaxed repeat may well be, as a share (spinners'
notes say only that a skein contracts; the figure is own judgement)."""
MEASURING_SHARE = 0.01
"""Spread of a repeat measured with a tape, as a share (own judgement)."""


def check_colour_run(run: ColourRun, reel_turn_mm: float | None = None) -> tuple[RunFinding, ...]:
    """Check a colour run against the reel's turn and against itself.

    A skein contracts once off the reel, so the relaxed repeat is a little shorter than
    the turn, never longer by more than the tape's own error.

    Raises:
        PlanError: the reel's turn is not above zero.

    """
    findings: list[RunFinding] = []
    if reel_turn_mm is not None:
        check_positive(reel_turn_mm, "turn of the reel", "with its unit, as 60in")
        findings.append(_check_sum(run, reel_turn_mm))
    whole = run.unfolded
    names = [segment.name.casefold() for segment in whole]
    if len(whole) > 1:
        findings.extend(
            RunFinding(Finding.SAME_NEIGHBOURS, serious=True, colours=(here.name,))
            for here, after in pairwise((*whole, whole[0]))
            if here.name.casefold() == after.name.casefold()
        )
    if len(whole) > 2 and is_palindrome(run):
        findings.append(RunFinding(Finding.PALINDROME))
    changes = list(zip(names, names[1:] + names[:1], strict=True))
    twins = {change for change in changes if changes.count(change) > 1}
    findings.extend(
        RunFinding(Finding.TWIN_CHANGES, colours=change, times=changes.count(change))
        for change in sorted(twins)
        if change[0] != change[1]
    )
    unnamed = unnamed_colours(run)
    if unnamed:
        findings.append(RunFinding(Finding.UNNAMED_COLOURS, colours=unnamed))
    return tuple(findings)


def _check_sum(run: ColourRun, turn: float) -> RunFinding:
    total = run.repeat_length_mm
    ratio, slack = total / turn, 2 * MEASURING_SHARE

    def about(times: float) -> bool:
        return times * (1 - REEL_SHRINKAGE - slack) <= ratio <= times * (1 + slack)

    if about(1):
        finding = Finding.SUM_AGREES
    elif about(0.5):
        finding = Finding.SUM_HALF
    elif about(2):
        finding = Finding.SUM_DOUBLE
    else:
        finding = Finding.SUM_LONG if ratio > 1 else Finding.SUM_SHORT
    return RunFinding(finding, finding is not Finding.SUM_AGREES, run_mm=total, reel_mm=turn)


_ALIKE_SHARE = 0.05
"""By how much two lengths of a run that comes back may differ (common practice, no source)."""


def is_palindrome(run: ColourRun) -> bool:
    """Whether the run reads the same from both ends.

    Names must match; lengths may differ by 5 % of the longer.
    """
    whole = run.unfolded
    count = len(whole)

    def mirrored_about(centre: int) -> bool:
        # segments i and centre - i face each other across the mirror
        return all(_alike(whole[i], whole[(centre - i) % count]) for i in range(count))

    return any(mirrored_about(centre) for centre in range(count))


def _alike(one: ColourSegment, other: ColourSegment) -> bool:
    longer = max(one.length_mm, other.length_mm)
    return (
        one.name.casefold() == other.name.casefold()
        and abs(one.length_mm - other.length_mm) <= _ALIKE_SHARE * longer
    )


def logged_change_mm(run: ColourRun) -> float:
    """The colour change that is logged: the first that comes once a repeat, mm from its start."""
    clear = clear_changes(run)
    return clear[0][2] if clear else run.boundaries_mm[0]


def clear_changes(run: ColourRun) -> tuple[tuple[str, str, float], ...]:
    """The colour changes that come once a repeat: (from, to, mm from the repeat's start).

    These are the ones worth logging; the last wraps round to the start.
    """
    whole = run.unfolded
    names = [segment.name.casefold() for segment in whole]
    changes = list(zip(names, names[1:] + names[:1], strict=True))
    return tuple(
        (whole[i].name, whole[(i + 1) % len(whole)].name, end % run.repeat_length_mm)
        for i, end in enumerate(run.boundaries_mm)
        if changes.count(changes[i]) == 1 and changes[i][0] != changes[i][1]
    )
