"""Which remedy to recommend, and whether "nothing" means carry on or wait and see.

The cheapest first step is recommended.  Two things temper it.  A remedy once recommended
stays until another is clearly cheaper, so that the advice does not flicker between two
that cost the same.  And "nothing now" has two meanings: the slide is known and nothing is
due, or what to do hangs on what the next rounds show; it is the second when in some of
the ways the truth may be a change is due already, and yet knitting on first is worth more
than any decision taken now.
"""

from dataclasses import dataclass

from knitlog.advice.choice import Decision
from knitlog.advice.pricing import MORE_ROUNDS, NOTHING, FirstStep
from knitlog.advice.remedy import Remedy
from knitlog.advice.situation import Situation

TIE_MINUTES = 1.0
"""Two remedies this close cost the same for all a knitter can tell (common practice)."""
WORTH_WAITING = 0.75
"""What waiting must be worth before it is recommended, minutes (common practice)."""
FEWEST_ROUNDS = 3
"""With fewer rounds logged the drift is mostly a guess."""
LIKELY_OTHERWISE = 0.1
"""From this probability on another reading of the log must be ruled out first."""
ROUNDS_TO_JUDGE = 5
"""A look after four or five rounds (common practice, no source)."""
STILL = 0.15
"""A slide below this is none a knitter would see, stitches a round."""
LIKELY_DUE, _STILL_DUE_SHARE = 0.5, 0.15
"""How likely it must be that a change is due already for waiting to be the word."""
_HARDLY_MORE = 0.5
"""Minutes that do not count against knitting a round more first."""
_PLANNED = 0.5
"""From this chance on what is decided after some more rounds is the plan."""
_CLEAR = 1.96
"""A drift this many spreads from none is one."""
_SURE = 0.9
"""From this chance on what is decided later no longer hangs on the rounds between."""


@dataclass(frozen=True, slots=True)
class Next:
    """What doing nothing now is likely to lead to."""

    rounds: int
    """After so many more rounds."""
    way: int
    """Way of working gone over to; 0 if none."""
    fix: bool
    """Whether offset is taken out."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """What is recommended."""

    remedy: Remedy
    step: FirstStep
    cost: float
    """Expected minutes to the end of the project."""
    wait: int
    """Rounds to knit first, where that is the remedy."""
    forced: str
    """Why it could not be weighed, in one sentence; empty if it was."""
    planned: Next | None = None
    """Where nothing is done now though the colours stray: what is likely to be done soon."""


def remedy_of(step: FirstStep, decision: Decision) -> Remedy:
    """Return the name of a first step; "nothing" is carry on."""
    now, then = decision.workings.open[0], decision.workings.open[step.way]
    if then.needle_mm != now.needle_mm:
        return Remedy.CHANGE_NEEDLE
    if then.stitches != now.stitches:
        return Remedy.CHANGE_STITCH_COUNT
    return step.by or Remedy.CARRY_ON


def choose(situation: Situation, decision: Decision, previous: Remedy | None) -> Chosen:
    """Return what to recommend."""
    fit = situation.fit
    nothing = next(later for step, later in decision.priced if step == NOTHING)
    if situation.rounds_left == 0:
        return Chosen(Remedy.CARRY_ON, NOTHING, nothing.cost, 0, "")
    if fit.rounds_logged < FEWEST_ROUNDS:
        more = ROUNDS_TO_JUDGE - fit.rounds_logged
        return Chosen(
            Remedy.KNIT_MORE_FIRST,
            NOTHING,
            nothing.cost,
            min(more, situation.rounds_left),
            "With so few rounds logged the slide is mostly a guess.",
        )
    doubt = [other for other in fit.alternatives if other.probability > LIKELY_OTHERWISE]
    if doubt:
        return Chosen(Remedy.KNIT_MORE_FIRST, NOTHING, nothing.cost, 1, doubt[0].question)
    step, later = decision.priced[0]
    sticky = previous is not None and previous not in (Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST)
    if sticky and remedy_of(step, decision) is not previous:
        kept = [p for p in decision.priced if remedy_of(p[0], decision) is previous]
        if kept and kept[0][1].cost <= later.cost + TIE_MINUTES:
            step, later = kept[0]
    elif step == NOTHING and abs(decision.belief.offset) > situation.tolerance:
        # out of tolerance, and mending it costs no more than leaving it: mend it
        step, later = next(
            (p for p in decision.priced[1:] if p[1].cost <= later.cost + TIE_MINUTES / 2),
            decision.priced[0],
        )
    remedy = remedy_of(step, decision)
    if remedy is not Remedy.CARRY_ON:
        return Chosen(remedy, step, later.cost, 0, "")
    more = _how_many_more(decision)
    if _hangs_on_more_rounds(decision, more, previous):
        return Chosen(Remedy.KNIT_MORE_FIRST, NOTHING, later.cost, more, "")
    return Chosen(Remedy.CARRY_ON, NOTHING, later.cost, 0, "", _planned(situation, decision))


def _strays(situation: Situation, decision: Decision) -> bool:
    """Return whether the colours clearly slide, or lie out of tolerance."""
    belief = decision.belief
    slides = abs(belief.drift) > max(_CLEAR * belief.drift_sd, STILL)
    return slides or abs(belief.offset) > situation.tolerance


def _planned(situation: Situation, decision: Decision) -> Next | None:
    """Return what is more likely than not to be done within the next rounds."""
    if not _strays(situation, decision):
        return None
    pricing = decision.pricing
    for n in MORE_ROUNDS:
        if n >= pricing.rounds_left:
            return None
        acts = pricing.later(NOTHING, n).decided()
        acts.pop((0, False), None)
        if sum(acts.values()) >= _PLANNED:
            way, fix = max(acts, key=lambda kind: acts[kind])
            return Next(n, way, fix)
    return None


def worth_of_waiting(decision: Decision) -> float:
    """Return what knitting on before deciding saves over the best decision now, minutes."""
    nothing = next(later for step, later in decision.priced if step == NOTHING)
    now = [later.cost for step, later in decision.priced if step != NOTHING]
    return min([decision.carry_on_cost, *now]) - nothing.cost


def _hangs_on_more_rounds(decision: Decision, more: int, previous: Remedy | None) -> bool:
    waiting = previous is Remedy.KNIT_MORE_FIRST
    worth = WORTH_WAITING / 3 if waiting else WORTH_WAITING
    due = float(decision.truths.weight @ decision.pricing.change_due())
    likely = due > (_STILL_DUE_SHARE if waiting else LIKELY_DUE)
    if not (likely and worth_of_waiting(decision) > worth):
        return False
    return max(decision.pricing.later(NOTHING, more).decided().values()) < _SURE


def _how_many_more(decision: Decision) -> int:
    """Return the most rounds that may be knitted first at hardly more cost than fewer."""
    pricing = decision.pricing
    waits = [pricing.later(NOTHING, n) for n in MORE_ROUNDS if n <= pricing.rounds_left]
    least = min(later.cost for later in waits)
    return max(later.rounds for later in waits if later.cost <= least + _HARDLY_MORE)
