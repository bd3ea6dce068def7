"""Knitting, round by round, with a hand of one's own making.

Each stitch takes its yarn.  Increases are spread round the next round, so a column at stitch
p stands at p N'/N from then on; another needle is taken up at the beginning of the next round;
a tapestry needle and re-knit stitches really move yarn among the last stitches worked.  The
truth is kept beside the log.  The same seed gives the same luck in the same round whatever is
decided on the way.
"""

import numpy as np

from knitlog.drift.log import DriftLog, Fix, NewHome, Reading, Stint, TensionAsked
from knitlog.yarn.geometry import is_right_side_row
from tests.simulator.hand import Hand, Work
from tests.simulator.strand import Strand

_ASKED, _FIXED, _SITTING, _REPEATS = 1, 2, 3, 4
"""What a generator of its own is kept for, beside the rounds."""


class Knitting:
    """A piece of work in the hands that knit it."""

    def __init__(self, hand: Hand, work: Work, seed: int) -> None:
        self.hand, self.work, self.seed = hand, work, seed
        self.rounds_in_all = 0
        """Rounds knitted, those ripped out since included."""
        self.creep = 0.0
        """How far her usual tension has moved since the beginning, percent."""
        self._slip = 0.0
        self._asks = 0
        self.asked = 0.0
        """Tension asked of her, percent."""
        self.given = 0.0
        """What she gives of it, percent."""
        self._cast_on(work.stitches, work.needle_mm)

    def _cast_on(self, stitches: int, needle_mm: float) -> None:
        work = self.work
        self.round = 0
        self.stitches, self.needle_mm = stitches, needle_mm
        self._strand = Strand(work.repeat_length_mm, work.repeat_variation, self._luck(0, _REPEATS))
        self._first_marks: list[float] = []
        self.places = [p * stitches / work.stitches for p in work.places]
        """Where each tagged colour change should fall, on the stitch count now, stitches."""
        self._homes = dict(enumerate(self.places, start=1))
        self._last_seen = list(self.places)
        self.mark_seen: float | None = None
        """Where the first tag's mark came up in the last round; None where there was none."""
        self.offsets: list[float] = []
        """Where the first tag's mark k (r - 1) came up less its place, each round, stitches.

        Counted along the strand: one that has left its round is followed over the edge."""
        self.off_by: list[float] = []
        """Where the mark nearest the place came up less the place, each round, stitches."""
        self.miscounts: list[tuple[int, int]] = []
        self._moved = 0.0
        self._readings: list[Reading] = []
        self._stints = [Stint(1, stitches, needle_mm)]
        self._fixes: list[Fix] = []
        self.fixes_done: list[float] = []
        """What each logged fix really took out, stitches."""
        self._tension: list[TensionAsked] = []
        self._new_homes: list[NewHome] = []
        if self.asked:
            self._tension.append(TensionAsked(1, self.asked))

    # what she does

    def knit_round(self, *, logged: bool | None = None) -> tuple[Reading, ...]:
        """Knit a round and return what was read in it.

        Nothing is read in a round without a mark, nor in one she did not log (by chance,
        unless ``logged`` says so).
        """
        self.round += 1
        self.rounds_in_all += 1
        hand, luck = self.hand, self._luck(self.rounds_in_all)
        slip, step, *reads = luck.standard_normal(2 + len(self.places)).tolist()
        missing, *gross = luck.random(1 + 2 * len(self.places)).tolist()
        if self.rounds_in_all > 1:
            self.creep += hand.creep_percent * step - hand.tightening_percent
            # e[r+1] = rho e[r] + sqrt(1 - rho^2) fresh, so that sd(e) stays the same
            slip = hand.memory * self._slip + (1.0 - hand.memory**2) ** 0.5 * slip
        if self.round > 1:
            self.places = [p + self.work.target_drift for p in self.places]
        self._slip = slip
        own = hand.round_percent * slip + self._appetite(self.round) + self._sitting_percent()
        yarn = self._usual_mm(own) * (
            1.0 + hand.stitch_percent / 100.0 * luck.standard_normal(self.stitches)
        )
        self._strand.lay(yarn)
        if self.round == 1:
            off = self.work.begins_off
            self._first_marks = [self._strand.at(place + off) for place in self.places]
        self._moved = 0.0
        self._note_truth()
        read = logged if logged is not None else self.round == 1 or missing >= hand.missing_rate
        here: list[Reading] = []
        for at in range(len(self.places)):
            mark = self._mark_in_round(at, luck)
            if at == 0:
                self.mark_seen = mark
            if mark is not None and read:
                wrong = self._miscount(*gross[2 * at : 2 * at + 2])
                here.append(self._reading(at, mark, reads[at], wrong))
        self._readings += here
        return tuple(here)

    def change_stitches(self, stitches: int, *, logged: bool = True) -> None:
        """Increase or decrease to ``stitches``, spread round the next round."""
        ratio = stitches / self.stitches
        self.places = [p * ratio for p in self.places]
        self._last_seen = [p * ratio for p in self._last_seen]
        self.stitches = stitches
        if logged:
            self._note_stint()

    def change_needle(self, needle_mm: float, *, logged: bool = True) -> None:
        """Take up another needle at the beginning of the next round."""
        self.needle_mm = needle_mm
        if logged:
            self._note_stint()

    def ask_tension(self, percent: float) -> None:
        """Ask ``percent`` of her hand from the next round on, + is looser; 0 as usual."""
        if percent == self.asked:
            return
        self._asks += 1
        share = self.hand.answer + self.hand.answer_sd * self._own_luck(_ASKED, self._asks)
        self.asked, self.given = percent, share * percent
        self._tension = [t for t in self._tension if t.first_round <= self.round]
        self._tension.append(TensionAsked(self.round + 1, percent))

    def ease(
        self, taken_out: float, over: int, *, kind: str = "tapestry needle", logged: bool = True
    ) -> None:
        """Work ``taken_out`` stitches of yarn into the last ``over``; out of them below zero.

        Positive pulls a late colour change back.
        """
        yarn = self._done(taken_out, kind) * self.now_mm
        self._strand.relay_last(np.full(over, yarn / over))
        self._note_fix(taken_out, kind, yarn, logged)

    def reknit(
        self, taken_out: float, over: int, *, kind: str = "rip back", logged: bool = True
    ) -> None:
        """Rip the last ``over`` stitches back and knit them again at another tension.

        They are new stitches, each with a slip of its own.
        """
        before = self._strand.used
        start = self._strand.at(len(self._strand.ends[-1]) - over)
        luck = self._luck(self.rounds_in_all, _FIXED, len(self._fixes), 1)
        usual = self._usual_mm(self._appetite(self.round) + self._sitting_percent())
        slips = usual * self.hand.stitch_percent / 100.0 * luck.standard_normal(over)
        meant = usual + self._done(taken_out, kind) * self.now_mm / over
        old = np.diff(self._strand.ends[-1][-over:], prepend=start)
        self._strand.relay_last(meant + slips - old)
        self._note_fix(taken_out, kind, self._strand.used - before, logged)

    def new_home(self, stitch: float | None = None) -> None:
        """Take the place anew where the last round's colour change fell, or at ``stitch``."""
        fell = self.places[0] + self.off_by[-1]
        move = (fell if stitch is None else stitch) - self.places[0]
        self.places = [p + move for p in self.places]
        self.offsets[-1] -= move
        self.off_by[-1] -= move
        self._new_homes.append(NewHome(self.round, stitch))

    def cut_out(self, stitches: float) -> None:
        """Cut ``stitches`` of yarn out of the strand to come (a knot): marks come up sooner.

        Nobody logs it.
        """
        yarn = stitches * self.now_mm
        self._first_marks = [m - yarn for m in self._first_marks]
        self._moved += stitches

    def start_again(self, stitches: int, needle_mm: float) -> None:
        """Rip it all out and cast on anew; the log begins again, the hand goes on as it was."""
        self._cast_on(stitches, needle_mm)

    # what is true

    @property
    def now_mm(self) -> float:
        """Yarn per stitch if the hand went on as now, mm; pattern and sittings averaged out."""
        return self._usual_mm(0.0)

    @property
    def drift(self) -> float:
        """Stitches a round if the hand went on as now, with what is asked of it."""
        # d = k L / s - N
        return self.work.repeats * self.work.repeat_length_mm / self.now_mm - self.stitches

    @property
    def offset(self) -> float:
        """Offset at the last round, fixes made since included, stitches."""
        return self.offsets[-1] - self._moved

    @property
    def expected_next(self) -> float:
        """Where the next mark should come up in the coming round, stitches; beyond it as is."""
        yarn = self._usual_mm(self._appetite(self.round + 1))
        mark = self._first_marks[0] + self._strand.mark(self.work.repeats * self.round)
        return (mark - self._strand.used) / yarn

    @property
    def in_place(self) -> bool:
        """Whether the last round's colour change fell within the tolerance of its place."""
        return abs(self.off_by[-1]) <= self.work.tolerance

    def in_knitting_order(self, stitch: float) -> float:
        """Return a position of the last round as read from the right edge, or back again."""
        turned = self.work.flat and not is_right_side_row(self.round)
        return self.stitches - stitch if turned else stitch

    def to_drift_log(self) -> DriftLog:
        """Return all that was logged."""
        work = self.work
        return DriftLog(
            readings=tuple(self._readings),
            stints=tuple(self._stints),
            fixes=tuple(self._fixes),
            repeats=work.repeats,
            repeat_length_mm=work.repeat_length_mm,
            target_drift=work.target_drift,
            homes=self._homes if work.places_stated else {},
            flat=work.flat,
            yarn_thickness_mm=work.yarn_thickness_mm,
            pattern_rounds=work.pattern_rounds,
            tension=tuple(self._tension),
            new_homes=tuple(self._new_homes),
        )

    # how it comes about

    def _luck(self, *what: int) -> np.random.Generator:
        return np.random.default_rng((self.seed, *what))

    def _own_luck(self, *what: int) -> float:
        return float(self._luck(0, *what).standard_normal())

    def _usual_mm(self, beside_percent: float) -> float:
        """Return yarn per stitch on the needle in use, ``beside_percent`` off her usual, mm."""
        hand, y = self.hand, self.work.yarn_thickness_mm
        # s2 / s1 = ((D2 + y) / (D1 + y))^answer
        step = ((self.needle_mm + y) / (hand.needle_mm + y)) ** hand.needle_answer
        own = dict(hand.needle_percent).get(self.needle_mm, 0.0)
        last = max(self.rounds_in_all, 1)
        at_once = sum(size for first, size in hand.sudden if first <= last)
        off = self.creep + at_once + self.given + beside_percent
        return hand.yarn_mm * step * (1.0 + own / 100.0) * (1.0 + off / 100.0)

    def _appetite(self, number: int) -> float:
        """Return what the round itself takes beside the others, percent."""
        hand, own = self.hand, 0.0
        if hand.pattern_percent:
            period = len(hand.pattern_percent)
            own = hand.pattern_percent[(number - 1) % period] - sum(hand.pattern_percent) / period
        if self.work.flat:
            own += (-0.5 if is_right_side_row(number) else 0.5) * hand.purl_percent
        return own

    @property
    def sitting(self) -> int:
        """The sitting of the last round, from 1."""
        return (self.rounds_in_all - 1) // self.hand.rounds_a_sitting + 1

    def _sitting_percent(self) -> float:
        if not self.hand.sitting_percent:
            return 0.0
        return self.hand.sitting_percent * self._own_luck(_SITTING, self.sitting)

    def _note_truth(self) -> None:
        strand, place, ahead = self._strand, self.places[0], self.now_mm
        mark = self._first_marks[0] + strand.mark(self.work.repeats * (self.round - 1))
        self.offsets.append(strand.position(mark, ahead) - place)
        at_place, half = strand.at(place), strand.repeat_length_mm
        near = strand.marks_between(self._first_marks[0], at_place - half, at_place + half)
        nearest = min(near, key=lambda y: abs(y - at_place))
        self.off_by.append(strand.position(nearest, ahead) - place)

    def _mark_in_round(self, at: int, luck: np.random.Generator) -> float | None:
        """Return where a tag's mark comes up in the last round; None where none does."""
        strand = self._strand
        marks = strand.marks_between(self._first_marks[at], strand.begins[-1], strand.used)
        if not marks:
            return None
        fell = [strand.position(y, 1.0) for y in marks]
        if self.hand.reads_any:
            seen = fell[int(luck.integers(len(fell)))]
        else:
            seen = min(fell, key=lambda p: abs(p - self._last_seen[at]))
        self._last_seen[at] = seen
        return seen

    def _miscount(self, chance: float, size: float) -> float:
        """Return how far a reading is grossly wrong, stitches; mostly 0."""
        hand = self.hand
        if chance >= hand.miscount_rate:
            return 0.0
        least, most = hand.miscount_range
        either_way = 2.0 * size - 1.0
        return float(np.copysign(least + (most - least) * abs(either_way), either_way))

    def _reading(self, at: int, mark: float, slip: float, wrong: float) -> Reading:
        """Return what she writes down of a mark seen at ``mark`` in the last round."""
        hand, count = self.hand, self.stitches
        value = mark + hand.reading_sd * slip
        if wrong:
            value += wrong if 0 <= value + wrong <= count else -wrong
            self.miscounts.append((self.round, at + 1))
        if hand.rounding:
            value = round(value / hand.rounding) * hand.rounding
        value = min(max(value, 0.0), float(count))
        return Reading(
            self.round,
            self.in_knitting_order(value),
            at + 1,
            self.sitting if hand.notes_sittings else None,
        )

    def _done(self, taken_out: float, kind: str) -> float:
        """Return what a fix really does, stitches."""
        hand = self.hand
        share = dict(hand.fix_shares).get(kind, 1.0)
        miss = float(np.hypot(hand.miss_stitches, hand.miss_share * taken_out))
        nth = sum(f.after_round == self.round for f in self._fixes)
        return share * taken_out + miss * self._own_luck(_FIXED, self.rounds_in_all, nth)

    def _note_fix(self, taken_out: float, kind: str, yarn: float, logged: bool) -> None:
        self._moved += yarn / self.now_mm
        if logged:
            self._fixes.append(Fix(self.round, taken_out, kind))
            self.fixes_done.append(yarn / self.now_mm)

    def _note_stint(self) -> None:
        stint = Stint(self.round + 1, self.stitches, self.needle_mm)
        self._stints = [*(s for s in self._stints if s.first_round <= self.round), stint]


def knit(hand: Hand, work: Work, seed: int, rounds: int | None = None) -> Knitting:
    """Knit ``rounds`` (the work's own number by default) with nothing done on the way.

    The last round is logged where it holds a mark.
    """
    knitting = Knitting(hand, work, seed)
    total = work.rounds if rounds is None else rounds
    for number in range(1, total + 1):
        knitting.knit_round(logged=True if number == total else None)
    return knitting
