"""My hands: what the finished projects say of the knitter who made them.

Each finished project is boiled down to plain records (:func:`look_back`), the records of
all of them are pooled (:func:`learn`), and what comes out is used before the next project
has said anything: as the prior of its fit, as yarn per stitch for its plan, as how far a
fix of hers tends to miss.  A new project with a new yarn borrows from the old ones; it does
not copy them, and the spread says so.
"""

from knitlog.hands.errors import HandsError
from knitlog.hands.kinds import KindKnitted, kinds_knitted
from knitlog.hands.landing import Landing, landings
from knitlog.hands.learn import Hands, any_landing, learn
from knitlog.hands.look_back import look_back
from knitlog.hands.next_project import (
    Begun,
    expected_drift,
    past_projects,
    to_limits,
    to_prior,
    yarn_per_stitch,
)
from knitlog.hands.pooling import Pooled
from knitlog.hands.records import (
    FinishedProject,
    FixRecord,
    NeedleStep,
    NoiseRecord,
    SittingRun,
    StintRecord,
    Work,
)
from knitlog.hands.words import sentences

__all__ = [
    "Begun",
    "FinishedProject",
    "FixRecord",
    "Hands",
    "HandsError",
    "KindKnitted",
    "Landing",
    "NeedleStep",
    "NoiseRecord",
    "Pooled",
    "SittingRun",
    "StintRecord",
    "Work",
    "any_landing",
    "expected_drift",
    "kinds_knitted",
    "landings",
    "learn",
    "look_back",
    "past_projects",
    "sentences",
    "to_limits",
    "to_prior",
    "yarn_per_stitch",
]
