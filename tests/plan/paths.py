"""Paths put together by hand, and what is made of them."""

import numpy as np

from knitlog.plan.stitch_colours import NO_STITCH, Fabric
from knitlog.plan.yarn_path import YarnPath


def knit_on(first: YarnPath, later: YarnPath) -> YarnPath:
    """The rounds of one path, then those of another."""
    return YarnPath(
        np.concatenate((first.offsets, later.offsets)),
        np.concatenate((first.drifts, later.drifts)),
        np.concatenate((first.stitches, later.stitches)),
        np.concatenate((first.taken_out, later.taken_out)),
    )


def stacked_share(fabric: Fabric) -> float:
    """Share of stitches that sit on a stitch of their own colour, 0 to 1.

    Colours are told apart by name, so both meetings of a palindrome's colour are one.
    """
    kinds = {name: i for i, name in enumerate(dict.fromkeys(fabric.names))}
    by_name = np.array([kinds[name] for name in fabric.names])
    below, above = fabric.cells[:-1], fabric.cells[1:]
    both = (below != NO_STITCH) & (above != NO_STITCH)
    return float(np.mean(by_name[below[both]] == by_name[above[both]]))
