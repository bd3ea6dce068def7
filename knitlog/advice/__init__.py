"""What to do about colours that slide: the remedies, their cost, the choice.

``advise(situation)`` is the one entry point; the decision model is in this room's README.
Numbers and names only: the sentences are the presentation's.
"""

from knitlog.advice.costs import Costs, CostsError
from knitlog.advice.follow import Followed, follow
from knitlog.advice.limits import Limits
from knitlog.advice.plans import Plan
from knitlog.advice.policy import advise
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.result import AccountQuestion, Advice, Option, Refusal
from knitlog.advice.situation import AdviceError, Situation

__all__ = [
    "AccountQuestion",
    "Advice",
    "AdviceError",
    "Costs",
    "CostsError",
    "Followed",
    "Limits",
    "Manner",
    "Option",
    "Plan",
    "Refusal",
    "Remedy",
    "Situation",
    "advise",
    "follow",
]
