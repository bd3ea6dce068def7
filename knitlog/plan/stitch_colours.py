"""The fabric: the colour of every stitch, round upon round.

The yarn does not know of rounds; it runs on.  Round r begins so far along it,

    y[1] = start - offset[1] s[1]
    y[r+1] = y[r] + (N[r] + f[r]) s[r]        s[r] = k L / (N[r] + d[r])

with f[r] what is worked in by hand once the round is done, in stitches; its stitch j (from 1)
is coloured by what lies at its middle, y[r] + (j - 1/2) s[r].
Only the ratio to the repeat L matters, so lengths here are the colour run's own.

Cells are kept as they are knitted: row 0 is round 1.  In the round, column 0 is the first
stitch knitted.  Worked flat, the yarn runs back and forth, so every other row is mirrored
and column 0 is the right edge seen from the right side.  Charts are drawn from the bottom
right (common practice): :func:`as_drawn` turns cells that way for a screen or a page.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from knitlog.plan.checks import PlanError, check_positive
from knitlog.plan.yarn_path import YarnPath
from knitlog.yarn.colours import ColourRun

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]

NO_STITCH = -1
"""Stands where a round is shorter than the widest."""
_MOST_CELLS = 50_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Fabric:
    """Every stitch of rounds 1 to R."""

    cells: IntArray
    """Index into ``palette``, shape (R, widest N); row 0 is round 1; -1 for no stitch."""
    palette: tuple[str, ...]
    """"#rrggbb" of each segment of the unfolded colour run."""
    names: tuple[str, ...]
    """Its name."""
    flat: bool
    """True for rows worked back and forth."""

    @property
    def rounds(self) -> int:
        """Rounds, R."""
        return int(self.cells.shape[0])

    @property
    def stitches(self) -> int:
        """Stitches of the widest round."""
        return int(self.cells.shape[1])


def knit_fabric(
    run: ColourRun,
    path: YarnPath,
    repeats: float = 1,
    *,
    flat: bool = False,
    start_mm: float = 0.0,
) -> Fabric:
    """Colour every stitch of a yarn path.

    Args:
        run: the colour run.
        path: offsets, drifts and stitch counts of rounds 1 to R.
        repeats: repeats a round, k.
        flat: rows worked back and forth.
        start_mm: where in the repeat round 1 would begin with no offset, mm.

    Raises:
        PlanError: k is not above zero, or the fabric is too large to work out.

    """
    check_positive(repeats, "number of repeats a round", "as 1")
    length = run.repeat_length_mm
    counts = path.stitches
    widest = int(counts.max())
    if path.rounds * widest > _MOST_CELLS:
        raise PlanError(
            f"{path.rounds} rounds of {widest} stitches are too many to draw at once: "
            "ask for fewer rounds"
        )
    begins, each = yarn_positions(path, repeats, length, start_mm)
    column = np.arange(widest)[np.newaxis, :]
    # stitches knitted before the middle of each stitch
    knitted = column + 0.5
    if flat:
        # row 1 has the right side facing, and every other row comes back
        wrong_side = np.arange(path.rounds)[:, np.newaxis] % 2 == 1
        knitted = np.where(wrong_side, counts[:, np.newaxis] - knitted, knitted)
    # where along the yarn, and within the repeat
    along = begins[:, np.newaxis] + knitted * each[:, np.newaxis]
    within = np.mod(along, length)
    bounds = np.asarray(run.boundaries_mm)
    cells = np.searchsorted(bounds, within, side="right").astype(np.int64)
    # a hair before the start rounds up to the whole repeat: still the last segment
    np.minimum(cells, len(bounds) - 1, out=cells)
    cells[column >= counts[:, np.newaxis]] = NO_STITCH
    whole = run.unfolded
    return Fabric(cells, tuple(s.colour for s in whole), tuple(s.name for s in whole), flat)


def yarn_positions(
    path: YarnPath, repeats: float, repeat_length_mm: float, start_mm: float = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Where along the yarn each round begins, and its yarn per stitch.

    Both of shape (R,), in mm of the repeat length given.  Positions of later rounds grow
    with every round; take them modulo the repeat to look a colour up.

    Raises:
        PlanError: k or the repeat is not above zero.

    """
    check_positive(repeats, "number of repeats a round", "as 1")
    check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    # s[r] = k L / (N[r] + d[r])
    each = repeats * repeat_length_mm / (path.stitches + path.drifts)
    first = start_mm - path.offsets[0] * each[0]
    # y[r+1] = y[r] + (N[r] + f[r]) s[r]
    used = np.cumsum((path.stitches + path.taken_out)[:-1] * each[:-1])
    return first + np.concatenate(([0.0], used)), each


def as_drawn(cells: IntArray) -> IntArray:
    """Cells turned as a chart is drawn: last round on top, stitch 1 at the right."""
    return cells[::-1, ::-1]
