"""What a remedy costs, in minutes, and what the fabric suffers by it.

Advice weighs work against looks, so both need one measure: the knitter's minutes.  A line
across the fabric, a jog, a round of colours out of place are counted at the work she would
give to be without them.  The defaults are common practice, no source; each is hers to set,
and they are shown beside the advice.
"""

from dataclasses import dataclass, fields
from math import isfinite


class CostsError(ValueError):
    """A cost that cannot be."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Minutes for each remedy (common practice, no source)."""

    tapestry_fix_minutes: float = 6.0
    """Evening out the yarn over the stitches just worked with a tapestry needle, once."""
    rip_start_minutes: float = 1.0
    """Ripping back and finding the place again, however few the stitches."""
    ripped_stitch_minutes: float = 0.15
    """Ripping one stitch back, picking it up and knitting it again."""
    needle_change_minutes: float = 4.0
    """Finding the other needle and knitting one round over onto it."""
    gauge_line_minutes: float = 8.0
    """What the line is worth that another needle leaves across the fabric, where the stitches
    change size."""
    count_change_minutes: float = 3.0
    """Counting out where the increases or decreases go, once."""
    count_change_minutes_per_stitch: float = 0.5
    """Each stitch added or taken away."""
    count_line_minutes: float = 12.0
    """What a line of increases or decreases is worth: it shows, and it is the shape of the
    thing."""
    pattern_anew_minutes: float = 20.0
    """Setting up a stitch pattern anew on another stitch count."""
    new_place_minutes: float = 6.0
    """What the jog is worth where the colours are given another place."""
    round_again_minutes_per_stitch: float = 0.05
    """Each stitch of whole rounds ripped out and knitted again."""
    attention_minutes: float = 0.3
    """Minding one's tension for a round."""
    round_out_of_tolerance_minutes: float = 2.0
    """What one round out of tolerance is worth."""

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if not (isfinite(value) and 0 <= value <= 10_000):
                name = item.name.replace("_", " ")
                raise CostsError(f"The cost '{name}' is {value:g}: type 0 or more minutes.")
