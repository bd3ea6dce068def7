"""The remedies, by the names a knitter gives them."""

from enum import StrEnum


class Remedy(StrEnum):
    """What can be done about colours that slide."""

    CARRY_ON = "carry on"
    """As she is doing, a tension asked of the hand included."""
    KNIT_MORE_FIRST = "knit more rounds first"
    CHANGE_TENSION = "change tension"
    """A shade looser or tighter with the same needle, or as usual again."""
    STACK_FROM_HERE = "stack from here"
    """The place the colours have now is theirs from here on."""
    TAPESTRY = "tapestry needle"
    RIP_BACK = "rip back"
    CHANGE_NEEDLE = "change needle"
    CHANGE_STITCH_COUNT = "change stitch count"
    START_AGAIN = "start again"

    @property
    def is_the_hands(self) -> bool:
        """Whether there is only her knitting: nothing is changed or mended first."""
        return self in (Remedy.CARRY_ON, Remedy.CHANGE_TENSION, Remedy.STACK_FROM_HERE)


class Manner(StrEnum):
    """How she goes on after a remedy."""

    AS_USUAL = "as usual"
    MIND_TENSION = "mind the tension"
    EVEN_OUT = "even out"
    """Put them back with the tapestry needle, or by knitting a few stitches again, whenever
    they have strayed too far."""
