"""Which sitting each round was knitted in.

Tension differs by day, so the fit wants to know which rounds were knitted in one
go.  The knitter may say when she sits down and gets up; where she does not, a
long gap between two entries parts them.
"""

from datetime import datetime, timedelta

from knitlog.journal.project import Sitting

GAP = timedelta(hours=2)
"""A longer silence than this begins a new sitting (common practice, no source)."""
LEFT_OPEN = timedelta(hours=8)
"""A sitting somebody began by hand and forgot to end is taken as ended after this silence."""


class Sittings:
    """Follows the entries in the order they were logged, one call each."""

    def __init__(self) -> None:
        self._records: list[list[datetime]] = []
        self._rounds: list[list[int]] = []
        self._last: datetime | None = None
        self._open_by_hand = False
        self._ended = True

    def start(self, at: datetime) -> None:
        """Begin a sitting by hand."""
        self._begin(at)
        self._open_by_hand = True

    def end(self, at: datetime) -> None:
        """End the sitting by hand."""
        if not self._ended and self._last is not None:
            if at > self._last:
                self._records[-1][1] = at
            self._ended = True
            self._open_by_hand = False

    def entry(self, at: datetime, round_number: int | None) -> int:
        """Take an entry into account and give the number of its sitting, from 1."""
        limit = LEFT_OPEN if self._open_by_hand else GAP
        if self._ended or self._last is None or abs(at - self._last) > limit:
            self._begin(at)
        self._last = at
        self._records[-1][1] = max(self._records[-1][1], at)
        if round_number is not None:
            self._rounds[-1].append(round_number)
        return len(self._records)

    @property
    def open_by_hand(self) -> bool:
        """Whether the knitter began one by hand and has not ended it."""
        return self._open_by_hand and not self._ended

    def records(self) -> tuple[Sitting, ...]:
        """Give the sittings so far."""
        return tuple(
            Sitting(number, started, ended, tuple(rounds))
            for number, ((started, ended), rounds) in enumerate(
                zip(self._records, self._rounds, strict=True), start=1
            )
        )

    def _begin(self, at: datetime) -> None:
        self._records.append([at, at])
        self._rounds.append([])
        self._last = at
        self._ended = False
        self._open_by_hand = False
