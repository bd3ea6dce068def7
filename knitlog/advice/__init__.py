"""What to do about colours that slide: the remedies, their cost, the choice, the words.

``advise(situation)`` is the one entry point; the decision model is in this room's README.
"""

from knitlog.advice.costs import Costs, CostsError
from knitlog.advice.limits import Limits
from knitlog.advice.policy import AdviceError, advise
from knitlog.advice.remedy import MENDS_DRIFT, MENDS_OFFSET, Remedy
from knitlog.advice.situation import Advice, Option, Situation

__all__ = [
    "MENDS_DRIFT",
    "MENDS_OFFSET",
    "Advice",
    "AdviceError",
    "Costs",
    "CostsError",
    "Limits",
    "Option",
    "Remedy",
    "Situation",
    "advise",
]
