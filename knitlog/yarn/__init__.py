"""The yarn: units, needles, gauge, geometry and the colour run.

Plain floats and the standard library only, so anything may import it cheaply.
"""

from knitlog.yarn.colours import ColourRun, ColourSegment, colour_at
from knitlog.yarn.errors import YarnError
from knitlog.yarn.gauge import Gauge, parse_gauge
from knitlog.yarn.needles import NEEDLE_SIZES_MM, needle_label, parse_needle
from knitlog.yarn.units import format_length, parse_length

__all__ = [
    "NEEDLE_SIZES_MM",
    "ColourRun",
    "ColourSegment",
    "Gauge",
    "YarnError",
    "colour_at",
    "format_length",
    "needle_label",
    "parse_gauge",
    "parse_length",
    "parse_needle",
]
