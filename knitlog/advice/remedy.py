"""The remedies, by the names a knitter gives them."""

from enum import StrEnum


class Remedy(StrEnum):
    """What can be done about colours that slide."""

    CARRY_ON = "carry on"
    TAPESTRY = "tapestry needle"
    RIP_BACK = "rip back"
    CHANGE_NEEDLE = "change needle"
    CHANGE_STITCH_COUNT = "change stitch count"
    KNIT_MORE_FIRST = "knit more rounds first"


MENDS_OFFSET = frozenset({Remedy.TAPESTRY, Remedy.RIP_BACK})
"""These put the colours back in place and leave the drift: they come due again."""

MENDS_DRIFT = frozenset({Remedy.CHANGE_NEEDLE, Remedy.CHANGE_STITCH_COUNT})
"""These stop the slide and leave the colours where they have slid to."""
