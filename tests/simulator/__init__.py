"""A knitter that never lived, and yarn that is really laid.

The judge of the fit and of the advice.  It knows nothing of either's model: a hand lays yarn
into stitches one after the other, a mark lies on the yarn every repeat, and a reading is where
a mark comes up, counted from the beginning of its round.  See :mod:`tests.simulator.hand` for
what a hand can be like and :mod:`tests.simulator.knitting` for knitting with it.
"""

from tests.simulator.hand import Hand, Work, hand_for, percent
from tests.simulator.knitting import Knitting, knit

__all__ = ["Hand", "Knitting", "Work", "hand_for", "knit", "percent"]
