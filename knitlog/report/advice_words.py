"""The advice in words: one function, :func:`tell`, for every surface.

One sentence names where the colours are, what they do, and why this remedy; where it departs
from a rule of thumb (five or more stitches off: another needle; less: twenty stitches re-knit,
or an inch to three evened out) the sentence says what speaks against the rule here.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log as ln
from typing import TYPE_CHECKING

from knitlog.advice.practice import CLEAR_DRIFT, is_clear, is_known
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.result import Refusal
from knitlog.drift.response import yarn_thickness_mm
from knitlog.report.advice_steps import round_word, shade, steps, stitches_words
from knitlog.report.words import counted, in_rows, plain
from knitlog.yarn.geometry import needle_response_factor

if TYPE_CHECKING:
    from collections.abc import Mapping

    from knitlog.advice import AccountQuestion, Advice, Option, Situation
    from knitlog.advice.result import Number

FIVE_OFF = 5.0
"""Stitches off from which the common rule asks for another needle (common practice)."""
_ALL_IT_GIVES = 1.25
"""Up to here what is wanted of the hand is about all it gives."""
_NOTHING = frozenset({Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST})


@dataclass(frozen=True, slots=True)
class ToldOption:
    """One option in words."""

    option: Option
    title: str
    """A few words: what to do."""
    reason: str
    """Why it stands where it does, or why it cannot be done; one sentence."""
    steps: tuple[str, ...]
    """How to do it; empty where it cannot be done."""


@dataclass(frozen=True, slots=True)
class Told:
    """An advice in words."""

    title: str
    """A few words: what to do."""
    why: str
    """One sentence."""
    would_change: str
    """What would lead to another answer."""
    changed: str
    """What changed since the last look, if the remedy did; empty if not."""
    steps: tuple[str, ...]
    """What to do, in order."""
    options: tuple[ToldOption, ...]
    """All of them, in the order of the advice; the recommended one first."""
    question: str
    """What to ask her first of all; empty if nothing."""


def tell(advice: Advice) -> Told:
    """Say an advice in words."""
    options = tuple(
        ToldOption(o, title_of(advice, o), reason_of(advice, o), _with_a_look(advice, o))
        for o in advice.options
    )
    question = "" if advice.question is None else question_words(advice, advice.question)
    return Told(
        title=options[0].title,
        why=_why(advice),
        would_change=_would_change(advice, options),
        changed=_changed(advice),
        steps=options[0].steps,
        options=options,
        question=question,
    )


def _with_a_look(advice: Advice, option: Option) -> tuple[str, ...]:
    """How to do an option; for the recommended one, when to look again."""
    said = steps(advice, option)
    if option is not advice.recommended or advice.situation.rounds_left == 0:
        return said
    turn = round_word(advice.situation)
    return (*said, f"Look again at {turn} {advice.look_again_round}.")


def title_of(advice: Advice, option: Option) -> str:
    """A few words for an option: what to do."""
    situation, details = advice.situation, option.details
    turn, asked = round_word(situation), situation.fit.tension_asked_percent
    if not option.feasible:
        return in_rows(str(option.remedy).capitalize(), situation.fit.log.flat)
    percent = float(details.get("tension_percent", 0.0))
    match option.remedy:
        case Remedy.CARRY_ON:
            if details["manner"] == Manner.EVEN_OUT:
                return "Carry on, and ease them back when they stray"
            return f"Carry on, {shade(asked, asked)}" if asked else "Carry on"
        case Remedy.KNIT_MORE_FIRST:
            return f"Knit {counted(int(details['wait_rounds']), f'more {turn}')} first"
        case Remedy.CHANGE_TENSION:
            if percent == 0:
                return "Knit at your usual tension again"
            return (
                f"Knit {shade(percent, asked)}: aim at stitch {plain(float(details['aim_stitch']))}"
            )
        case Remedy.STACK_FROM_HERE:
            at = plain(float(details["new_home_stitch"]))
            held = f", and knit {shade(percent, asked)}" if percent else ""
            return f"Let the colours stack from here, at stitch {at}{held}"
        case Remedy.TAPESTRY:
            taken = stitches_words(abs(float(details["taken_out_stitches"])))
            return f"Even out {taken} with a tapestry needle"
        case Remedy.RIP_BACK:
            over = stitches_words(float(details["over_stitches"]))
            return f"Rip back {over} and knit them {details['tension']}"
        case Remedy.START_AGAIN:
            needle = ""
            if "needle_mm" in details:
                needle = f" on {situation.units.short_needle(float(details['needle_mm']))}"
            return f"Start again with {stitches_words(int(details['stitches']))}{needle}"
    stack = ", and let the colours stack there" if details.get("new_home") else ""
    return f"Change to {_what_else(situation, details)}{stack}"


def _what_else(situation: Situation, details: Mapping[str, Number]) -> str:
    """The other needle and count: "US 8 needles and 130 stitches"."""
    words = []
    if "needle_mm" in details:
        words.append(f"{situation.units.short_needle(float(details['needle_mm']))} needles")
    if "stitches" in details:
        words.append(f"{details['stitches']} stitches")
    return " and ".join(words)


def tell_place(offset: float) -> str:
    """Where the colours are: "4 stitches past their place"."""
    size = abs(offset)
    if size < 0.75:
        return "in their place"
    return f"{stitches_words(round(size))} {'past' if offset > 0 else 'short of'} their place"


def tell_slide(drift: float, turn: str) -> str:
    """What the colours do: "slide 2.1 stitches on every round"."""
    if abs(drift) < CLEAR_DRIFT:
        return "hardly slide"
    size = round(abs(drift), 1)
    return f"slide {stitches_words(size)} {'on' if drift > 0 else 'back'} every {turn}"


def _slides(advice: Advice) -> bool:
    """Whether there is a slide to speak of, no smaller than its own spread."""
    return is_clear(advice.drift, advice.drift_sd)


def _state(advice: Advice) -> str:
    """Where the colours are and what they do, a spiral spoken of as one."""
    situation = advice.situation
    turn, target = round_word(situation), situation.fit.log.target_drift
    since = ""
    if breaks := [b for b in situation.fit.breaks if b.kind == "drift"]:
        since = f" since {turn} {breaks[-1].round}"
    elif jumps := [b for b in situation.fit.breaks if b.kind == "jump"]:
        since = f", after a jump at {turn} {jumps[-1].round}"
    odd = max((s.round for s in situation.fit.suspects), default=None)
    if odd == situation.fit.last_round:
        since += f" ({turn} {odd} is left out: count it again)"
    if not target:
        return (
            f"The colours are {tell_place(advice.offset)} and "
            f"{tell_slide(advice.drift if _slides(advice) else 0.0, turn)}{since}"
        )
    wanted = f"the {plain(abs(target))} {'on' if target > 0 else 'back'} a {turn} you want"
    if not _slides(advice):
        return f"The spiral goes round by {wanted}, the colours {tell_place(advice.offset)} in it"
    ahead = advice.drift * target > 0
    return (
        f"The spiral goes round by {plain(abs(advice.drift))} {'more' if ahead else 'less'} than "
        f"{wanted}{since}, the colours {tell_place(advice.offset)} in it"
    )


def _why(advice: Advice) -> str:
    """The reason for the recommended remedy, in one sentence."""
    situation, option = advice.situation, advice.recommended
    turn = round_word(situation)
    if situation.rounds_left == 0:
        return f"All the {turn}s planned are knitted: there is nothing left to mend."
    state = _state(advice)
    if advice.question is not None and advice.question.kind == "repeat":
        return f"{state}, or else they went the other way round: only you can tell which."
    return f"{state}: {_because(advice, option)}."


def _because(advice: Advice, option: Option) -> str:
    situation, details = advice.situation, option.details
    turn = round_word(situation)
    match option.remedy:
        case Remedy.CARRY_ON:
            return _why_nothing(advice)
        case Remedy.KNIT_MORE_FIRST:
            spread = f", give or take {1.96 * advice.drift_sd:.1f}" if advice.drift_sd < 8 else ""
            more = counted(int(details["wait_rounds"]), f"more {turn}")
            return f"that is not sure yet{spread}, and {more} will tell what is worth doing"
        case Remedy.CHANGE_TENSION:
            return _why_hand(advice, option)
        case Remedy.STACK_FROM_HERE:
            return _why_stack(advice, option)
        case Remedy.TAPESTRY | Remedy.RIP_BACK:
            return _why_fix(advice, option)
        case Remedy.START_AGAIN:
            done = counted(int(details["rounds_again"]), turn)
            return f"{done} are soon knitted again, and all that is left would be the better for it"
    return _why_change(advice, option)


def _why_nothing(advice: Advice) -> str:
    situation = advice.situation
    turn, tolerance = round_word(situation), situation.tolerance
    if situation.changed_unread:
        return f"you have only just changed something; a {turn} or two will show what it does"
    if situation.fit.tension_asked_percent:
        return "the tension you were asked for is doing its work, and each round has its mark"
    if not _slides(advice) and abs(advice.offset) <= tolerance:
        return "nothing is due"
    brings_back = _slides(advice) and abs(advice.drift) <= tolerance
    if brings_back and advice.offset * advice.drift < 0 and abs(advice.offset) >= 1:
        return "the slide is bringing them back by itself"
    if abs(advice.offset) <= tolerance:
        away = tolerance - abs(advice.offset)
        rounds = max(1, round(away / max(abs(advice.drift), 1e-9)))
        if rounds >= situation.rounds_left:
            return f"they stay within your {plain(tolerance)} to the end"
        more = counted(rounds, f"more {turn}")
        return f"they are within your {plain(tolerance)} for about {more}"
    return (
        "every remedy open to you costs more than it saves, and blurred stripes are a look of "
        f"their own{_departure(advice)}"
    )


def _why_hand(advice: Advice, option: Option) -> str:
    percent = float(option.details["tension_percent"])
    if percent == 0:
        return "your usual tension will keep them there"
    much = f"{plain(abs(percent))} in a hundred {'more' if percent > 0 else 'less'} yarn"
    if not is_known(advice.drift, advice.drift_sd) and _slides(advice):
        much = (
            f"give or take {1.96 * advice.drift_sd:.1f}, so a line can wait and your hand begin; "
            f"{much}"
        )
    return (
        f"{much} is within your hand, and needle, stitches and pattern stay as they are"
        f"{_departure(advice)}"
    )


def _why_stack(advice: Advice, option: Option) -> str:
    percent = float(option.details.get("tension_percent", 0.0))
    asked = advice.situation.fit.tension_asked_percent
    if advice.place_in_doubt:
        return "that is where they stack; the first reading seems to be the odd one"
    held = f", and knitting {shade(percent, asked)} holds them there" if percent else ""
    return f"a jog once is less than a long lean back{held}{_departure(advice)}"


def _why_fix(advice: Advice, option: Option) -> str:
    turn = round_word(advice.situation)
    if abs(advice.drift) < 0.5:
        return "nothing to speak of slides, so putting them back once is enough"
    again = max(1, round(2 * advice.situation.tolerance / abs(advice.drift)))
    minded = option.details["manner"] == Manner.MIND_TENSION
    then = "your hand holds them then" if minded else f"it comes due again in about {again} {turn}s"
    return f"putting them back is the least work now; {then}{_departure(advice)}"


def _why_change(advice: Advice, option: Option) -> str:
    situation, details = advice.situation, option.details
    turn = round_word(situation)
    left = float(details["predicted_drift"]) - situation.fit.log.target_drift
    spread = float(details["predicted_drift_high95"]) - float(details["predicted_drift"])
    rest = "hardly a slide" if abs(left) < 0.75 else f"a slide of about {left:+.0f}"
    give = f", give or take {spread:.0f}" if spread >= 1.5 else ""
    parts = [
        f"{_beyond_the_hand(advice)}; {_what_else(situation, details)} should leave {rest}{give}"
    ]
    if details.get("new_home"):
        parts.append("and the colours may stay where they have slid to")
    elif abs(advice.offset) > situation.tolerance:
        parts.append(f"what they have slid so far is eased back over the next {turn}s")
    return ", ".join(parts) + ("" if "needle_mm" in details else _departure(advice))


def _beyond_the_hand(advice: Advice) -> str:
    """Why it is not left to the hand: what it gives at the most, against what is wanted."""
    situation = advice.situation
    if situation.hand_tried and situation.fit.tension_asked_percent * advice.drift > 0:
        return "that is left with your hand asked for all it gives"
    percent = situation.limits.hand_range_percent * situation.fit.tension_response.mean
    if abs(advice.drift) < percent / 100 * situation.stitches * _ALL_IT_GIVES:
        return f"about all a hand gives, {round_word(situation)} after {round_word(situation)}"
    return "more than a hand gives"


def _departure(advice: Advice) -> str:
    """Why the rule "five or more off: another needle" does not hold here; empty where it says no.

    The rule is common practice.
    """
    if abs(advice.drift) < FIVE_OFF - 0.05:
        return ""
    situation = advice.situation
    moves = _needle_moves(situation)
    if moves is None:
        return "; another needle would be the usual answer, but none is at hand"
    left = abs(advice.drift) - moves[1]
    if abs(left) < 1:
        return ""
    return (
        f"; another needle would be the usual answer, but {situation.units.short_needle(moves[0])} "
        f"moves about {moves[1]:.0f} stitches a {round_word(situation)}"
    )


def _needle_moves(situation: Situation) -> tuple[float, float] | None:
    """Return the next needle at hand in the right direction (mm), and what it moves, stitches.

    By the loop law: s2 / s1 = (D2 + y) / (D1 + y).
    """
    now = situation.needle_mm
    if now is None:
        return None
    drift = situation.fit.drift.mean - situation.fit.log.target_drift
    sizes = [n for n in situation.needles_owned_mm if (n > now) == (drift > 0) and n != now]
    if not sizes:
        return None
    other = min(sizes, key=lambda size: abs(size - now))
    share = ln(needle_response_factor(now, other, yarn_thickness_mm(situation.fit.log)))
    return other, abs(share) * situation.stitches


def reason_of(advice: Advice, option: Option) -> str:
    """Why an option stands where it does, or why it cannot be done."""
    if option.refusal is not None:
        return _refused(advice, option)
    turn = round_word(advice.situation)
    slide = "the slide stays" if abs(advice.drift) >= CLEAR_DRIFT else "there is no slide to mend"
    after = option.details.get("predicted_drift")
    match option.remedy:
        case Remedy.CARRY_ON:
            said = "Nothing is done now"
            said += f"; {slide}." if abs(advice.drift) >= CLEAR_DRIFT else "."
        case Remedy.KNIT_MORE_FIRST:
            said = f"The next {turn}s make the slide surer."
        case Remedy.TAPESTRY | Remedy.RIP_BACK:
            said = f"Puts the colours back; {slide}."
        case Remedy.CHANGE_TENSION:
            said = "Leaves needle, stitches and pattern alone, and wants minding."
        case Remedy.STACK_FROM_HERE:
            said = f"Spares the way back, with a jog once; {slide}."
            if option.details.get("tension_percent"):
                said = "Spares the way back, with a jog once; the hand minds the slide."
        case Remedy.START_AGAIN:
            said = "Begins with what was learned, and costs the rounds done."
        case _:
            said = f"Brings the slide from {advice.situation.fit.drift.mean:+.1f} to about "
            said += f"{float(after or 0):+.1f}, with a line across the work."
    if option.as_good and option is not advice.recommended:
        return f"About as good. {said}"
    return said


def _refused(advice: Advice, option: Option) -> str:
    situation = advice.situation
    turn = round_word(situation)
    match option.refusal:
        case Refusal.NO_NEEDLE_TOLD:
            return "Say which needle you knit with, and others can be weighed."
        case Refusal.NO_NEEDLES_TOLD:
            return "Say which needles you own, and they can be weighed."
        case Refusal.NO_OTHER_NEEDLE:
            return "You own no other needle."
        case Refusal.COUNT_FIXED:
            return "The stitch count cannot change here."
        case Refusal.COUNT_CHANGED_BEFORE:
            times = counted(situation.count_changes_made, "time")
            return f"The stitch count has changed {times} before; once is a mend, more are a habit."
        case Refusal.TOO_BIG:
            most = plain(situation.size_limit_percent)
            return f"It would change the width by more than the {most} % you allow."
        case Refusal.HAND_ENOUGH:
            return "Your hand is enough for this slide, and leaves no line."
        case Refusal.SLIDE_NOT_KNOWN:
            return "How much they slide is not known well enough for a line across the work."
        case Refusal.NEEDLE_SUITS:
            return "A slide of five or more is the needle's, and you own one that suits."
        case Refusal.NOT_WORTH_BEGINNING:
            return f"The slide is too small to give up the {turn}s done."
        case Refusal.IN_PLACE:
            return "They are in place: there is nothing to put back."
        case Refusal.NEAR_PLACE:
            return "They lie near enough to their place to keep it."
        case Refusal.SOON_UNDONE:
            return "The slide would soon undo it: the slide comes first."
        case Refusal.TOO_SMALL:
            return "Less than a stitch cannot be mended: the count is no finer."
        case Refusal.TOO_SOON:
            return f"Too few {turn}s are read to tell a slide from chance."
        case Refusal.JUST_CHANGED:
            return f"You have just changed something: the next {turn} shows what it does."
        case Refusal.NO_ROUNDS_LEFT:
            return f"The planned {turn}s are all but knitted."
        case Refusal.WORSE_IN_ONE_ACCOUNT:
            return "It waits for your answer: if it is not so, this would make things worse."
        case Refusal.AGAINST_THE_SLIDE:
            return "It would push the same way as the slide."
        case Refusal.ENOUGH_KNOWN:
            if advice.recommended.remedy is Remedy.CARRY_ON:
                return "To carry on is to do that."
            return "What is known is enough to go by: it would only put it off."
    return "There is nothing it would mend here."


def _would_change(advice: Advice, options: tuple[ToldOption, ...]) -> str:
    """What would lead to another answer."""
    situation, chosen = advice.situation, advice.recommended
    turn = round_word(situation)
    if situation.rounds_left == 0:
        return "Nothing, unless you knit on beyond the rounds planned."
    if advice.question is not None:
        return "Your answer."
    said = []
    if chosen.remedy is Remedy.KNIT_MORE_FIRST:
        said.append(f"The next {turn}s logged will say what to do.")
    elif chosen.remedy is Remedy.CHANGE_TENSION and chosen.details["tension_percent"]:
        said.append(f"If the marks are missed for some {turn}s, it is not in your hand.")
    same = _NOTHING if chosen.remedy in _NOTHING else {chosen.remedy}
    same |= {Remedy.KNIT_MORE_FIRST}
    rivals = [t for t in options if t.option.feasible and t.option.remedy not in same]
    if rivals:
        rival = rivals[0]
        name = _in_a_sentence(rival.title)
        more = round(rival.option.expected_cost - chosen.expected_cost)
        if rival.option.as_good:
            said.append(f"'{name}' is about as good.")
        else:
            said.append(f"The next best, '{name}', costs about {counted(more, 'minute')} more.")
    return " ".join(said) or "Nothing else is open here."


def _changed(advice: Advice) -> str:
    """What changed since the last look, where the remedy did."""
    if advice.previous is None:
        return ""
    turn = round_word(advice.situation)
    before = in_rows(advice.previous, advice.situation.fit.log.flat)
    return (
        f"A step ago it was '{before}'; now the colours are {tell_place(advice.offset)} "
        f"and {tell_slide(advice.drift if _slides(advice) else 0.0, turn)}."
    )


def question_words(advice: Advice, asked: AccountQuestion) -> str:
    """What to ask her, and what hangs on it."""
    turn = round_word(advice.situation)
    if asked.kind == "repeat":
        one, other = asked.drifts
        return (
            f"Did the colours move {other:+.1f} or {one:+.1f} stitches a {turn}? Follow one colour "
            "change along the yarn and say which it was."
        )
    what = {
        "drift": f"Another needle, another skein or a long break from {turn} {asked.round} on?",
        "jump": f"Did something happen at {turn} {asked.round}: stitches ripped out, or skipped?",
        "miscount": f"Was {turn} {asked.round} counted right?",
    }[asked.kind]
    plans = zip((asked.if_so, asked.if_not), asked.drifts, strict=True)
    so, not_so = (_answered(advice, option, drift) for option, drift in plans)
    if so == not_so:
        so, not_so = (tell_slide(drift, turn) for drift in asked.drifts)
        return f"{what} If so they {so} now; if not they {not_so}."
    if asked.kind == "miscount":
        return f"{what} If so: {not_so}. If it was miscounted: {so}."
    return f"{what} If so: {so}. If not: {not_so}."


def _answered(advice: Advice, option: Option | None, drift: float) -> str:
    """What to do once she has answered, where they slide by ``drift`` then; no mark yet."""
    left = drift - advice.situation.fit.log.target_drift
    by_hand = option is not None and float(option.details.get("tension_percent", 0.0))
    if option is None:
        return "carry on"
    if option.remedy is Remedy.STACK_FROM_HERE:
        said = "let the colours stack from here"
    elif option.remedy is Remedy.CHANGE_TENSION:
        said, by_hand = "", True
    else:
        return _in_a_sentence(title_of(advice, option))
    if by_hand and abs(left) >= CLEAR_DRIFT:
        looser = f"knit a shade {'looser' if left > 0 else 'tighter'}"
        said = f"{said}, and {looser}" if said else looser
    return said or "mind your tension"


def _in_a_sentence(title: str) -> str:
    return title[0].lower() + title[1:]
