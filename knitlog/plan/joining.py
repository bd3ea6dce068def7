"""Joining a skein: where in the colour run to join so that the stack goes on.

The yarn in the needles ends somewhere in its colour run; the new skein begins somewhere
else in it.  If the join is made where both show the same point of the run, the colours
go on as if nothing had happened.  With a the phase at which the old yarn is let go and b
that at which the new skein begins (mm into the repeat L), the new one must be cut

    cut = (a - b) mod L

in.  Tails for weaving in are kept on both.  A join can also mend the offset: starting
o stitches further along, a + o s, takes o stitches out; for nothing.
"""

from dataclasses import dataclass

from knitlog.plan.checks import PlanError, check_not_negative, check_positive
from knitlog.yarn.colours import ColourRun, ColourSegment, segment_index_at

USUAL_TAIL_MM = 150.0
"""Length woven in at each end, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class YarnPoint:
    """A point in the colour run, as a knitter says it: so far into this colour."""

    index: int
    """Which segment of ``run.unfolded``, from 0."""
    into_mm: float
    """How far into it, in knitting order, mm."""


def point_at(run: ColourRun, phase_mm: float) -> YarnPoint:
    """The colour, and how far into it, at a length from the start of the repeat."""
    index = segment_index_at(run, phase_mm)
    begin = run.boundaries_mm[index] - run.unfolded[index].length_mm
    into = phase_mm % run.repeat_length_mm - begin
    return YarnPoint(index, min(max(into, 0.0), run.unfolded[index].length_mm))


@dataclass(frozen=True, slots=True)
class JoinPlan:
    """Where to cut the new skein and what it costs."""

    cut_mm: float
    """Length to cut off the new skein's beginning, mm; all of it waste."""
    tail_mm: float
    """Length kept at each end for weaving in, mm, beyond the cut."""
    join_at: YarnPoint
    """The point of the run where old yarn gives way to new."""
    join_colour: ColourSegment
    """The colour the new yarn starts knitting with."""
    from_other_end: bool
    """True if the new skein is better wound from its other end (a palindrome only)."""
    offset_taken_out: float
    """Stitches of offset the join takes out."""


def plan_join(
    run: ColourRun,
    old_end_mm: float,
    new_start_mm: float,
    *,
    tail_mm: float = USUAL_TAIL_MM,
    offset_stitches: float = 0.0,
    yarn_per_stitch_mm: float | None = None,
    new_other_end_mm: float | None = None,
) -> JoinPlan:
    """Plan a join with as little yarn wasted as can be.

    Args:
        run: the colour run, both skeins alike.
        old_end_mm: phase at which the old yarn ends, mm into the repeat.
        new_start_mm: phase at which the new skein begins, mm into the repeat, read the
            way it will be knitted.
        tail_mm: length kept at each end for weaving in, mm.
        offset_stitches: offset to take out with the join, + for colours that come late.
        yarn_per_stitch_mm: needed only to take an offset out.
        new_other_end_mm: phase of the new skein's other end, mm into the repeat, for a
            run that reads the same from both ends: it may then be wound either way.

    Raises:
        PlanError: a length makes no sense, an offset without yarn per stitch, or another
            end offered for a run that is no palindrome.

    """
    check_not_negative(tail_mm, "tail to weave in", "with its unit, as 15cm")
    skip = 0.0
    if offset_stitches != 0:
        if yarn_per_stitch_mm is None:
            raise PlanError(
                "to take an offset out at the join, the yarn per stitch must be known: "
                "type it in mm, as 12mm"
            )
        check_positive(yarn_per_stitch_mm, "yarn per stitch", "in mm, as 12mm")
        # late by o stitches: o s of yarn is still to come, so leave it out
        skip = offset_stitches * yarn_per_stitch_mm
    length = run.repeat_length_mm
    # the old yarn is knitted to its tail, and the new must show the same there
    release = (old_end_mm - tail_mm + skip) % length
    cut = _cut(release, new_start_mm, tail_mm, length)
    other_end = False
    if new_other_end_mm is not None:
        if not run.palindrome:
            raise PlanError(
                "a skein may be wound from its other end only if the run comes back the way "
                "it went: leave the other end out"
            )
        # from the other end x reads as the mirror of x about the first colour's middle
        mirrored = (run.segments[0].length_mm - new_other_end_mm) % length
        other_cut = _cut(release, mirrored, tail_mm, length)
        if other_cut < cut:
            cut, other_end = other_cut, True
    point = point_at(run, release)
    colour = run.unfolded[point.index]
    return JoinPlan(cut, tail_mm, point, colour, other_end, offset_stitches)


def _cut(release: float, start: float, tail: float, length: float) -> float:
    """Shortest cut that brings ``release`` just past the new tail."""
    # cut + tail = release - start (mod L)
    cut = (release - start - tail) % length
    # a hair short of a whole repeat is no cut at all
    return 0.0 if length - cut < 1e-9 * length else cut


def drift_with_new_repeat(
    drift: float, stitches: float, old_repeat_mm: float, new_repeat_mm: float
) -> float:
    """Drift once a skein with another repeat length is joined in, stitches a round.

    Raises:
        PlanError: a count or length is not above zero.

    """
    check_positive(stitches, "stitch count", "as 128")
    check_positive(old_repeat_mm, "length of the old repeat", "with its unit, as 152cm")
    check_positive(new_repeat_mm, "length of the new repeat", "with its unit, as 152cm")
    # k L2 / s = (N + d) L2 / L1
    return (stitches + drift) * new_repeat_mm / old_repeat_mm - stitches
