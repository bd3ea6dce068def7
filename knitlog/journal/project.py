"""What a project is: the state its events add up to.

Folding is a pure function of the events, so undo, redo and corrections need no
bookkeeping of their own: the events that stand are folded, the others are not.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import islice
from typing import TYPE_CHECKING

from knitlog.journal.events import FixMade, PlaceChanged, Position, SkeinJoined
from knitlog.journal.facts import ProjectFacts
from knitlog.journal.lines import Problem
from knitlog.typed.entry import Around
from knitlog.yarn.geometry import wrap_offset

if TYPE_CHECKING:
    from knitlog.drift.log import DriftLog

_LOOKED_BACK = 12
"""Rounds looked through for where each colour change was last seen."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One round as it now stands."""

    round: int
    positions: tuple[Position, ...]
    """Where each colour change fell, ascending by its number."""
    at: datetime
    """When it was logged (for a corrected round: when it was first logged)."""
    sitting: int
    """Which sitting it was knitted in, from 1; 0 if not known."""
    event_id: str
    """Of the event that gave the positions."""
    note: str = ""
    corrected: bool = False
    """True if a later event replaced the first reading."""


@dataclass(frozen=True, slots=True)
class WorkedStint:
    """A run of rounds with the same needle and stitch count."""

    first_round: int
    stitches: int
    needle_mm: float | None
    needle_given: str | None = field(default=None, compare=False)
    """The needle as she typed it, where it was changed in words of its own."""


@dataclass(frozen=True, slots=True)
class TensionStint:
    """What is asked of the hand from some round on, until the next of these."""

    first_round: int
    percent: float
    """Yarn a stitch against her usual, %; above 0 is looser, 0 as usual again."""
    at: datetime
    event_id: str
    """Of the event that asked it, or of the round it was logged with."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A note as it now stands."""

    text: str
    round: int | None
    """Round it belongs to; None for the whole project."""
    at: datetime
    event_id: str


@dataclass(frozen=True, slots=True)
class Sitting:
    """A sitting: from its first sign of life to its last."""

    number: int
    started: datetime
    ended: datetime
    rounds: tuple[int, ...]
    """Rounds first logged in it, in the order they were logged."""

    @property
    def length(self) -> timedelta:
        """How long it lasted, as far as the entries tell."""
        return self.ended - self.started


@dataclass(frozen=True, slots=True)
class ProjectState:
    """A project as it now stands.  All texts in it are plain: safe to show."""

    name: str
    about: str
    slug: str
    """Name of its file, without the suffix; empty if it has none."""
    facts: ProjectFacts
    """As set up and changed since; for the stitches and needle in use now see
    :attr:`stitches` and :attr:`needle_mm`."""
    set_up_at: datetime
    last_at: datetime
    """When the last event was logged."""
    entries: tuple[Entry, ...] = ()
    """Ascending by round."""
    stints: tuple[WorkedStint, ...] = ()
    """At least one, ascending by first round; the first begins at round 1."""
    fixes: tuple[FixMade, ...] = ()
    """Ascending by round."""
    tension: tuple[TensionStint, ...] = ()
    """Ascending by first round, one for each change of what is asked."""
    aims: dict[int, float] = field(default_factory=dict)
    """Where she means, or meant, to let the colour fall, by round."""
    new_homes: tuple[PlaceChanged, ...] = ()
    """Ascending by first round."""
    notes: tuple[Note, ...] = ()
    """In the order they were written; those given with a round or a fix are there too."""
    joins: tuple[SkeinJoined, ...] = ()
    sittings: tuple[Sitting, ...] = ()
    sitting_open: bool = False
    """Whether she began a sitting by hand and has not ended it."""
    finished_at: datetime | None = None
    problems: tuple[Problem, ...] = ()
    """What in the file could not be used."""
    read_only: str | None = None
    """Why the journal cannot be written, in one sentence; None if it can."""
    undo_label: str | None = None
    """What undo would take back, as in 'round 12'; None if there is nothing."""
    redo_label: str | None = None
    """What redo would bring back; None if there is nothing."""
    by_round: dict[int, Entry] = field(default_factory=dict, repr=False, compare=False)

    @property
    def finished(self) -> bool:
        """True once the project is off the needles."""
        return self.finished_at is not None

    @property
    def last_round(self) -> int:
        """Highest round logged; 0 if none."""
        return self.entries[-1].round if self.entries else 0

    @property
    def next_round(self) -> int:
        """The round to log next."""
        return self.last_round + 1

    @property
    def stitches(self) -> int:
        """Stitches in the round to log next."""
        return self.stint_of(self.next_round).stitches

    @property
    def needle_mm(self) -> float | None:
        """Needle of the round to log next, mm."""
        return self.stint_of(self.next_round).needle_mm

    def stint_of(self, round_number: int) -> WorkedStint:
        """Give the stint a round belongs to."""
        found = self.stints[0]
        for stint in self.stints:
            if stint.first_round <= round_number:
                found = stint
        return found

    def tension_of(self, round_number: int) -> float:
        """Give what is asked of the hand in a round, %; 0 is as usual."""
        asked = 0.0
        for tension in self.tension:
            if tension.first_round <= round_number:
                asked = tension.percent
        return asked

    @property
    def tension_percent(self) -> float:
        """What is asked of the hand in the round to log next, %."""
        return self.tension_of(self.next_round)

    def entry(self, round_number: int) -> Entry | None:
        """Give the entry of a round, if it was logged."""
        return self.by_round.get(round_number)

    def around(
        self, round_number: int | None = None, expected: Mapping[int, float] | None = None
    ) -> Around:
        """Give what an entry for a round (the next one) is read against.

        ``expected`` is where each colour change is to fall in it, as far as that is known;
        else they are looked for where they were last seen.
        """
        number = self.next_round if round_number is None else round_number
        under = (entry for entry in reversed(self.entries) if entry.round < number)
        last: dict[int, float] = {}
        for entry in islice(under, _LOOKED_BACK):
            last = {p.change: p.stitch for p in entry.positions} | last
        return Around(
            stitches=self.stint_of(number).stitches,
            below={p.change: p.stitch for p in self.below(number)},
            expected=last | dict(expected or {}),
            flat=self.facts.flat,
        )

    def below(self, round_number: int | None = None) -> tuple[Position, ...]:
        """Give the positions of the nearest logged round below (by default below the next)."""
        limit = self.next_round if round_number is None else round_number
        for entry in reversed(self.entries):
            if entry.round < limit:
                return entry.positions
        return ()

    def moved(self, entry: Entry) -> tuple[float | None, ...]:
        """By how many stitches each position of ``entry`` lies past the one below it.

        The shorter way round, since positions wrap at the stitch count; None where there is
        none below, and where worked flat: the row below was knitted the other way.
        """
        below = {p.change: p.stitch for p in self.below(entry.round)}
        around = self.stint_of(entry.round).stitches
        return tuple(
            wrap_offset(p.stitch - below[p.change], around)
            if p.change in below and not self.facts.flat
            else None
            for p in entry.positions
        )


def to_drift_log(state: ProjectState) -> "DriftLog":
    """Give what the fit reads.  A position beyond its round's stitch count is left out."""
    # imported here: logging one round must not wait for numpy
    from knitlog.drift.log import DriftLog, Fix, NewHome, Reading, Stint, TensionAsked

    facts = state.facts
    readings = tuple(
        Reading(entry.round, p.stitch, p.change, entry.sitting or None, p.period_shift)
        for entry in state.entries
        for p in entry.positions
        if p.stitch <= state.stint_of(entry.round).stitches
    )
    return DriftLog(
        readings=readings,
        stints=tuple(Stint(s.first_round, s.stitches, s.needle_mm) for s in state.stints),
        fixes=tuple(Fix(f.after_round, f.taken_out, f.how) for f in state.fixes),
        repeats=facts.repeats,
        repeat_length_mm=facts.repeat_length_mm,
        target_drift=facts.target_drift,
        homes=dict(facts.homes),
        flat=facts.flat,
        yarn_thickness_mm=facts.yarn_thickness_mm,
        pattern_rounds=facts.pattern_rounds,
        tension=tuple(TensionAsked(t.first_round, t.percent) for t in state.tension),
        new_homes=tuple(NewHome(h.from_round, h.stitch) for h in state.new_homes),
    )
