"""The ways of deciding that the advice is scored against.

None but the first imports what the advice decides by.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from scipy.special import ndtr

from knitlog.advice import Remedy, advise
from knitlog.drift import LogError
from knitlog.yarn.geometry import wrap_offset
from tests.benchmarks.advice_projects import COSTS, Play, turn_on


class Policy(Protocol):
    """Decides after each round."""

    def decide(self, play: Play) -> None:
        """Do what is to be done before the next round."""


def finish(play: Play, policy: Policy) -> Play:
    """Knit a project to its end."""
    while not play.done:
        play.knit()
        if not play.done:
            policy.decide(play)
    return play


@dataclass
class Knitlog:
    """Follows the advice at every round."""

    previous: Remedy | None = None
    foretold: frozenset[Remedy] = frozenset()
    looks: int = 0
    changed: int = 0
    unforetold: int = 0
    told: list[tuple[int, str]] = field(default_factory=list)

    def decide(self, play: Play) -> None:
        try:
            situation = play.situation()
        except LogError:
            return
        advice = advise(situation, previous=self.previous)
        option, remedy = advice.recommended, advice.recommended.remedy
        self.looks += 1
        if self.previous is not None and remedy is not self.previous:
            self.changed += 1
            self.unforetold += remedy not in self.foretold
        self.told.append((play.knitting.round, str(remedy)))
        details = option.details
        acted = False
        if remedy is Remedy.START_AGAIN:
            play.start_again(int(details["stitches"]), float(details.get("needle_mm", 4.5)))
            self.previous, self.foretold = None, frozenset()
            return
        if "wait_rounds" not in details:
            if "stitches" in details:
                play.change_count(int(details["stitches"]))
                acted = True
            if "needle_mm" in details:
                play.change_needle(float(details["needle_mm"]))
                acted = True
            if "taken_out_stitches" in details:
                play.mend(remedy, float(details["taken_out_stitches"]))
                acted = True
            if details.get("new_home"):
                play.stack_from_here()
                acted = True
            if "tension_percent" in details:
                acted |= float(details["tension_percent"]) != play.knitting.asked
                play.ask(float(details["tension_percent"]))
        # what was done is done: the remedy after it is another look at another thing
        self.previous = None if acted else remedy
        self.foretold = advice.foretold


class DoNothing:
    """Fuzzy is fine."""

    def decide(self, play: Play) -> None:
        return


def read_offset(play: Play) -> tuple[float, float]:
    """Return the last reading's offset from its place, and the slide since the one before."""
    log, count = play.knitting.to_drift_log(), play.knitting.stitches
    place = play.knitting.places[0]
    offset = wrap_offset(log.readings[-1].stitch - place, count)
    if len(log.readings) < 2:
        return offset, 0.0
    one, two = log.readings[-2:]
    return offset, wrap_offset(two.stitch - one.stitch, count) / max(two.round - one.round, 1)


@dataclass
class FiveStitchRule:
    """The common rule: look every four or five rounds; five or more a round, the next needle;
    less, re-knit twenty stitches or even out (common practice, no source)."""

    every: tuple[int, int] = (4, 5)
    _next: int = 4
    _looks: int = 0

    def due(self, play: Play) -> bool:
        if play.knitting.round < self._next:
            return False
        self._looks += 1
        self._next = play.knitting.round + self.every[self._looks % 2]
        return True

    def decide(self, play: Play) -> None:
        if self.due(play) and not self.needle(play):
            self.mend(play)

    def needle(self, play: Play) -> bool:
        _, slide = read_offset(play)
        now, owned = play.knitting.needle_mm, play.project.needles_owned_mm
        sizes = [n for n in owned if (n > now) == (slide > 0) and n != now]
        if abs(slide) < 5 or not sizes:
            return False
        play.change_needle(min(sizes, key=lambda n: abs(n - now)))
        return True

    def mend(self, play: Play) -> None:
        offset, _ = read_offset(play)
        if abs(offset) <= play.project.work.tolerance:
            return
        if abs(offset) > 5:
            return
        remedy = Remedy.TAPESTRY if abs(offset) <= play.ways[Remedy.TAPESTRY].largest else None
        play.mend(remedy or Remedy.RIP_BACK, offset)


@dataclass
class Practitioner(FiveStitchRule):
    """The rule, and tension by feel: a shade looser or tighter while the colours are off."""

    def decide(self, play: Play) -> None:
        if not self.due(play) or self.needle(play):
            return
        offset, slide = read_offset(play)
        tolerance, asked = play.project.work.tolerance, play.knitting.asked
        if abs(offset) > tolerance and offset * slide >= 0:
            play.ask(float(np.clip(asked + 1.5 * np.sign(offset), -3, 3)))
        elif abs(offset) < tolerance / 2 and asked * slide < 0:
            play.ask(float(asked - np.sign(asked) * min(1.5, abs(asked))))


@dataclass
class PlainController:
    """The count at most once, the place taken anew then, and the hand from then on.

    The slide is the mean of what the last rounds slid, what was asked taken off at the answer
    usually given.
    """

    answer: float = 0.6
    gain: float = 1 / 3
    slides: list[float] = field(default_factory=list)
    _last: float | None = None
    _settling: int = 0

    def decide(self, play: Play) -> None:
        knitting, project = play.knitting, play.project
        log = knitting.to_drift_log()
        if log.readings[-1].round != knitting.round:
            return
        offset, slide = read_offset(play)
        share = knitting.stitches / 100 * self.answer
        if self._settling:
            self._settling -= 1
        elif knitting.round > 1 and abs(slide) < 0.2 * knitting.stitches:
            self.slides.append(slide + share * knitting.asked)
        if len(self.slides) < 4:
            return
        drift = float(np.median(self.slides[-8:]))
        step = round(drift / project.multiple) if project.multiple else 0
        worth = abs(drift) > 1.5 and project.work.rounds - knitting.round > 10
        if worth and step and not play.counts_changed:
            play.change_count(knitting.stitches + step * project.multiple)
            play.ask(0.0)
            play.stack_from_here()
            self.slides, self._settling = [], 1
            return
        if abs(offset) > 3 * project.work.tolerance and abs(drift) < 3 * share:
            play.stack_from_here()
        if abs(offset) > project.work.tolerance / 2 or knitting.asked or abs(drift) > 0.5:
            asked = np.clip((drift + self.gain * offset) / share, -3, 3)
            play.ask(float(np.round(2 * asked) / 2) if abs(asked) >= 0.75 else 0.0)


@dataclass
class Clairvoyant:
    """Knows the hand as it is now, its answer and every needle, and plays its best by them.

    She reads the colours like anyone (a filter with the true drift and noises).  Her best is
    exact: backwards from the last round over offsets a third of a stitch apart, with the hand's
    tension, a new place and fixes as means in every round, as if the hand stayed as it is; the
    needle and count are the best of all, looked at every four rounds, the count at most once.
    """

    step: float = 1 / 3
    reach: float = 15.0
    first_look: int = 3
    offset: float = 0.0
    _plain: dict[int, np.ndarray] = field(default_factory=dict)
    _solved: dict[tuple[float, ...], tuple[np.ndarray, np.ndarray]] = field(default_factory=dict)

    def decide(self, play: Play) -> None:
        self._read(play)
        if play.knitting.round < self.first_look:
            return
        knitting = play.knitting
        left = play.project.work.rounds - knitting.round
        if (knitting.round - self.first_look) % 4 == 0:
            self._go_over(play, left)
        y = self._at_end(play)
        turn = turn_on(play, knitting.needle_mm)
        values, best = self._solve(play, turn, knitting.stitches, left)
        grid = self._grid()
        at = int(np.argmin(np.abs(grid - y)))
        # with nothing but the hand from there
        hand = self._plain[id(values)][left]
        anew = COSTS.new_place_minutes + np.interp(0.0, grid, hand)
        fixed = self._fixes(play, grid)[at] + hand
        if min(anew, fixed.min()) < hand[at] - 1e-9:
            if anew <= fixed.min():
                play.stack_from_here()
                at = int(np.argmin(np.abs(grid)))
            else:
                to = int(fixed.argmin())
                size = float(grid[at] - grid[to])
                ways = play.ways
                by = min(ways, key=lambda r: float(ways[r].minutes(np.array(size))))
                play.mend(by, size)
                at = to
        play.ask(float(best[left][at]))

    def _grid(self) -> np.ndarray:
        return np.arange(-self.reach, self.reach + self.step / 2, self.step)

    def _read(self, play: Play) -> None:
        # told the truth of where the colours are, but for what a reading adds
        truth, m = play.knitting.off_by[-1], play.project.hand.reading_sd
        w2 = (play.project.hand.stitch_percent / 100) ** 2 * play.knitting.stitches
        var = (w2 + np.sqrt(w2**2 + 4 * w2 * m * m)) / 2
        gain = var / (var + m * m)
        # the steady filter's error about the truth
        spread = float(np.sqrt(gain) * m)
        luck = np.random.default_rng((play.seed, 77, play.knitting.rounds_in_all))
        self.offset = truth + spread * float(luck.standard_normal())

    def _at_end(self, play: Play) -> float:
        knitting = play.knitting
        share = knitting.places[0] / knitting.stitches
        return float(np.clip(self.offset + (1 - share) * knitting.drift, -self.reach, self.reach))

    def _go_over(self, play: Play, left: int) -> None:
        project, knitting = play.project, play.knitting
        y, grid = self._at_end(play), self._grid()
        found = []
        for needle in project.needles_owned_mm:
            turn = turn_on(play, needle)
            counts = {knitting.stitches}
            if project.multiple and not play.counts_changed:
                nearest = round((turn - knitting.stitches) / project.multiple)
                counts |= {knitting.stitches + project.multiple * (nearest + k) for k in (-1, 0, 1)}
            for count in counts:
                y_wide = (needle + project.work.yarn_thickness_mm) / (
                    4.5 + project.work.yarn_thickness_mm
                )
                if abs(count / project.work.stitches * y_wide - 1) > 0.1:
                    continue
                price = 0.0
                if needle != knitting.needle_mm:
                    price += COSTS.needle_change_minutes + COSTS.gauge_line_minutes
                if count != knitting.stitches:
                    price += COSTS.count_change_minutes + COSTS.count_line_minutes
                    added = abs(count - knitting.stitches)
                    price += COSTS.count_change_minutes_per_stitch * added
                    price += COSTS.pattern_anew_minutes * (project.multiple > 1)
                values, _ = self._solve(play, turn, count, left)
                stay = np.interp(y, grid, values[left])
                anew = COSTS.new_place_minutes + np.interp(0.0, grid, values[left])
                found.append((price + min(stay, anew), needle, count))
        _, needle, count = min(found)
        if count != knitting.stitches:
            play.change_count(count)
        if needle != knitting.needle_mm:
            play.change_needle(needle)

    def _solve(
        self, play: Play, turn: float, stitches: int, left: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return the price of each offset by rounds left, and what to ask there."""
        hand, work = play.project.hand, play.project.work
        key = (round(turn - stitches, 1), stitches, left if not self._solved else 0)
        for solved, found in self._solved.items():
            if solved[:2] == key[:2] and len(found[0]) > left:
                return found
        grid, tolerance = self._grid(), work.tolerance
        sd = hand.stitch_percent / 100 * stitches**0.5
        share = play.knitting.places[0] / play.knitting.stitches
        asks = np.arange(-3, 3.25, 0.5)
        step = turn / (1 + hand.answer * asks / 100) - stitches
        away = grid[None, None, :] - (grid[:, None] + step[:, None, None])
        h = self.step / 2
        move = ndtr((away + h) / sd) - ndtr((away - h) / sd)
        move[:, :, 0] = ndtr((away[:, :, 0] + h) / sd)
        move[:, :, -1] = 1 - ndtr((away[:, :, -1] - h) / sd)
        read = grid[None, :] + share * step[:, None]
        out = 1 - ndtr((tolerance - read) / sd) + ndtr((-tolerance - read) / sd)
        price = COSTS.round_out_of_tolerance_minutes * out
        price += COSTS.attention_minutes * (asks != 0)[:, None]
        fixed = self._fixes(play, grid)
        values, best = np.zeros((left + 1, len(grid))), np.zeros((left + 1, len(grid)))
        hand_only = np.zeros_like(values)
        for r in range(1, left + 1):
            each = price + move @ values[r - 1]
            best[r] = asks[each.argmin(axis=0)]
            value = hand_only[r] = each.min(axis=0)
            anew = COSTS.new_place_minutes + np.interp(0.0, grid, value)
            values[r] = np.minimum(np.minimum(value, anew), (fixed + value[None, :]).min(axis=1))
        self._solved[key] = values, best
        self._plain[id(values)] = hand_only
        return values, best

    def _fixes(self, play: Play, grid: np.ndarray) -> np.ndarray:
        size = grid[:, None] - grid[None, :]
        return np.min([way.minutes(size) for way in play.ways.values()], axis=0)
