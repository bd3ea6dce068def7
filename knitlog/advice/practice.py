"""What common practice says before any price is asked.

Number proposes, sense disposes: a remedy never points against the slide it is for, the gentler
means goes first where it is enough, and what is in place is left alone.  All of it is common
practice, no source.
"""

from collections.abc import Iterable

from knitlog.advice.belief import Belief
from knitlog.advice.plans import ROUNDS_TO_LOOK, SMALLEST_FIX, Plan, rounds_spanned
from knitlog.advice.remedy import Remedy
from knitlog.advice.result import Refusal
from knitlog.advice.situation import Situation
from knitlog.advice.ways import LIKELY_ACCOUNT, Ways
from knitlog.drift.fit_result import AccountSummary, AlternativeReading

CLEAR_DRIFT = 0.25
"""Less than this, stitches/round, is no slide to speak of."""
FIVE_OFF = 5.0
"""Stitches a round from which the common rule asks for another needle."""
HAND_FIRST = 0.85
"""A slide within this share of what the hand gives is the hand's."""
HAND_LEFT_OVER = 0.5
"""Where the hand has been asked in full and a slide is left, it is asked for no more than this
share for the rest of the work."""
FIX_LASTS = 4
"""Rounds a mended place should stay so."""
BEGUN_WRONG = 0.04
"""A slide of this share of the stitches was begun wrong: it may be begun anew."""
LIKELY_REPEAT = 0.35
"""Another way round that is this likely leaves nothing to go by."""
EITHER_WAY = 0.45
"""Share of a visible repeat: a slide this fast may as well be one the other way round."""
LINE_KNOWN = 0.5
"""A line is not made for a slide that may be less, or more, by more than this share of it."""
LINE_LEAVES = 0.5
"""Of a slide that the hand did not hold, a line leaves no more than this share, or what the hand
holds."""


def drift_now(situation: Situation) -> tuple[float, float]:
    """Return drift less target as she knits now, asked tension included, and its spread."""
    drift = situation.fit.drift
    return drift.mean - situation.fit.log.target_drift, drift.sd


def drift_unasked(situation: Situation, belief: Belief) -> float:
    """Return the drift less target of a hand of which nothing is asked."""
    return belief.turn_mean - situation.stitches - situation.fit.log.target_drift


def is_clear(drift: float, sd: float) -> bool:
    """Return whether a slide is spoken of: no smaller than its own spread, and some."""
    return abs(drift) >= max(CLEAR_DRIFT, sd)


def is_known(drift: float, sd: float, share: float = LINE_KNOWN) -> bool:
    """Return whether a slide is known to ``share`` of itself: well enough for a line."""
    return 1.96 * sd <= share * abs(drift)


def _line_may_be(situation: Situation, belief: Belief) -> bool:
    """Return whether a slide is known well enough by one account at the least.

    Where the hand has been asked in full and does not hold it, the way it goes is enough.
    """
    if hand_not_enough(situation, belief):
        return is_known(*slide_for_a_line(situation, belief), share=1.0)
    target = situation.fit.log.target_drift
    told = [drift_now(situation)]
    told += [(a.drift.mean - target, a.drift.sd) for a in _likely(situation)]
    return any(is_known(drift, sd) for drift, sd in told)


def _hand_meanwhile(situation: Situation) -> bool:
    """Return whether the hand is minded while more is learned: a slide is plain, not its size."""
    drift, sd = drift_now(situation)
    target = situation.fit.log.target_drift
    one_way = all((a.drift.mean - target) * drift > 0 for a in _likely(situation))
    looked = rounds_spanned(situation) >= ROUNDS_TO_LOOK
    return looked and is_clear(drift, sd) and one_way and not likely_repeats(situation)


def likely_repeats(situation: Situation) -> list[AlternativeReading]:
    """Return the other ways round that are likely enough to leave nothing to go by."""
    fit = situation.fit
    either = abs(fit.drift.mean) * situation.repeats > EITHER_WAY * situation.stitches
    return [a for a in fit.alternatives if either or a.probability > LIKELY_REPEAT]


def _likely(situation: Situation) -> list[AccountSummary]:
    return [a for a in situation.fit.accounts if a.probability > LIKELY_ACCOUNT]


def steepest(situation: Situation, belief: Belief) -> float:
    """Return the slide of a hand of which nothing is asked, by the account that has most of it."""
    likely = _likely(situation)
    target = situation.fit.log.target_drift
    drifts = [abs(account.drift.mean - target) for account in likely[1:] and likely]
    return max([abs(drift_unasked(situation, belief)), *drifts])


def hand_gives(situation: Situation, belief: Belief) -> float:
    """Return the drift a hand asked in full takes away, stitches/round."""
    percent = situation.limits.hand_range_percent * float(belief.response.mean())
    return percent / 100 * belief.turn_mean


def hand_holds(situation: Situation, belief: Belief) -> float:
    """Return the drift a hand holds with something to spare: her first means, and no line."""
    share = HAND_LEFT_OVER if hand_not_enough(situation, belief) else HAND_FIRST
    return share * hand_gives(situation, belief)


def hand_not_enough(situation: Situation, belief: Belief) -> bool:
    """Return whether the hand was asked in full, and what it was asked against is still clear."""
    drift, sd = drift_now(situation)
    left = is_clear(drift, sd) and drift * drift_unasked(situation, belief) > 0
    return situation.hand_tried and left


def slide_for_a_line(situation: Situation, belief: Belief) -> tuple[float, float]:
    """Return the slide a line would be made for, less target, and its spread, stitches/round.

    The slide of now; where the hand is not enough, that of a hand of which nothing is asked,
    for nobody is asked in full for the rest of the work.
    """
    if hand_not_enough(situation, belief):
        return drift_unasked(situation, belief), belief.turn_sd
    return drift_now(situation)


def passed_over(
    found: Iterable[Plan], situation: Situation, belief: Belief, ways: Ways
) -> dict[Plan, Refusal | None]:
    """Return why common practice has a gentler means for what each plan would change, or None.

    What is in place is not put back, nor what a slide that no hand holds soon moves again.
    What is in place, or less than five off and does not slide of itself, is not given another
    place.  The hand before needle and count, as long as it is enough; and five or more stitches a
    round, with a needle at hand that leaves what a hand can hold, is the needle's.
    """
    slide, held = steepest(situation, belief), hand_holds(situation, belief)
    off, unasked = abs(belief.offset_mean), abs(drift_unasked(situation, belief))
    clear = is_clear(*drift_now(situation))
    known = _line_may_be(situation, belief)
    slides = is_clear(drift_unasked(situation, belief), belief.turn_sd)
    near_place = off <= max(situation.tolerance, SMALLEST_FIX) or (off < FIVE_OFF and not slides)
    near_place = near_place and not place_in_doubt(situation)
    enough_known = not known and _hand_meanwhile(situation)
    tried = hand_not_enough(situation, belief)
    target = situation.fit.log.target_drift
    needle_suits = any(abs(way.drift(target)) <= held for way in ways.needles)

    def why(plan: Plan) -> Refusal | None:
        if plan.taken_out:
            if off <= situation.tolerance:
                return Refusal.IN_PLACE
            if _soon_due_again(situation, belief):
                return Refusal.SOON_UNDONE
        if plan.remedy is Remedy.START_AGAIN and unasked < BEGUN_WRONG * situation.stitches:
            return Refusal.NOT_WORTH_BEGINNING
        if plan.remedy is Remedy.STACK_FROM_HERE and near_place:
            return Refusal.NEAR_PLACE
        if plan.wait and enough_known:
            return Refusal.ENOUGH_KNOWN
        if plan.remedy is Remedy.CHANGE_TENSION:
            count_suits = plan.then_count and known and slide * HAND_FIRST > held
            return Refusal.NO_BETTER if count_suits else None
        if plan.way in ways.both and needle_suits:
            return Refusal.NEEDLE_SUITS
        same_needle = plan.way is None or plan.way.needle_mm == situation.needle_mm
        counts = plan.count_as_found or (plan.way is not None and same_needle)
        # the hand first; no line for what is hardly known; and nothing that slides more than now
        if plan.way and not plan.wait:
            if slide <= held:
                return Refusal.HAND_ENOUGH if clear else Refusal.NO_BETTER
            most = max(held, LINE_LEAVES * slide) if tried else slide
            if abs(plan.way.drift(target)) > most:
                return Refusal.NO_BETTER
            if not known:
                return Refusal.SLIDE_NOT_KNOWN
        return Refusal.NEEDLE_SUITS if counts and slide >= FIVE_OFF and needle_suits else None

    return {plan: why(plan) for plan in found}


def _soon_due_again(situation: Situation, belief: Belief) -> bool:
    """Return whether a mended place comes due again at once, and the hand cannot help it."""
    slide = abs(drift_unasked(situation, belief))
    within_reach = slide <= hand_gives(situation, belief)
    return not within_reach and 2 * situation.tolerance < FIX_LASTS * slide


def points_against(plan: Plan, asked: float, situation: Situation, belief: Belief) -> bool:
    """Return whether a plan's start adds to the slide that is spoken of.

    + drift asks for looser stitches or more of them, and offset on the same side; another
    count or needle answers a slide and nothing else.
    """
    if plan.wait:
        return False
    if plan.way is not None:
        drift, sd = slide_for_a_line(situation, belief)
        looser = plan.way.stitches - plan.way.turn.mean + belief.turn_mean - situation.stitches
        return not is_clear(drift, sd) or looser * drift <= 0
    drift, sd = drift_now(situation)
    clear = is_clear(drift, sd)
    if plan.taken_out:
        return clear and plan.taken_out * drift < 0
    # to let go of what was asked is always open: it may be that the hand does not answer
    return clear and asked != 0 and (asked - belief.asked) * drift < -1e-9


def place_in_doubt(situation: Situation) -> bool:
    """Return whether the reading that gave the place is likely a miscount: then it must be told."""
    log = situation.fit.log
    first = min(reading.round for reading in log.readings)
    unsure = any(suspect.round == first for suspect in situation.fit.suspects)
    return unsure and not log.homes and not log.new_homes
