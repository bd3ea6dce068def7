"""Paths put together by hand."""

import numpy as np

from knitlog.plan.yarn_path import YarnPath


def knit_on(first: YarnPath, later: YarnPath) -> YarnPath:
    """The rounds of one path, then those of another."""
    return YarnPath(
        np.concatenate((first.offsets, later.offsets)),
        np.concatenate((first.drifts, later.drifts)),
        np.concatenate((first.stitches, later.stitches)),
        np.concatenate((first.taken_out, later.taken_out)),
    )
