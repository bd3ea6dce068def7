"""What is typed for one round: a number and Enter.

``37`` is a stitch position; ``+2`` or ``-1.5`` is against the round below; ``=`` is in line
with it; two numbers are two colour changes, in any order; ``2: 92`` is the second alone;
``41 @5`` is round 5, without keys for the rounds between.

What could be read two ways is settled by where the colours are expected, and asked about
where that does not settle it.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations

from knitlog.typed.measures import MOST_ROUNDS
from knitlog.typed.numbers import parse_number, spelled_out
from knitlog.typed.text import TypedError, quoted

MOST_CHANGES = 24
"""Colour changes logged in one round, at most."""
_MOST_MATCHED = 6
"""Colour changes up to which every order is tried; more are taken as they come."""
_PLAINLY = 3.0
"""How many times nearer one reading must lie than another to be plainly meant."""
_NEAR_SHARE = 1 / 8
"""How far off its place a reading may lie to be the likely one, as a share of the round."""

_ROUND = re.compile(r"@\s*(?P<round>[0-9]*)")
_LABEL = re.compile(r"(?P<change>[0-9]+)\s*:\s*")
_FRACTION = re.compile(r"(?:(?P<whole>[0-9]{1,5})\s+)?(?P<top>[0-9]{1,2})/(?P<bottom>[0-9]{1,2})")
_WORD = re.compile(
    r"(?:(?P<change>[0-9]{1,15}):)?"
    r"(?P<place>=|[+-]?(?:[0-9]{1,15}(?:[.,][0-9]{0,40})?|\.[0-9]{1,40}))"
)
_TWO_WAYS = re.compile(r"(?P<first>[0-9]{1,7}),(?P<second>[0-9]{1,7})")
_PARTS_OF_A_STITCH = ("0", "00", "25", "5", "50", "75")
"""What a knitter writes after a decimal comma."""


class EntryError(TypedError):
    """What was typed is no entry; the sentence says what to type instead."""


@dataclass(frozen=True, slots=True)
class Around:
    """What an entry is read against."""

    stitches: int
    """Stitches in the round."""
    below: Mapping[int, float] = field(default_factory=dict)
    """Where each colour change fell in the round below, by its number."""
    expected: Mapping[int, float] = field(default_factory=dict)
    """Where each is expected in this round, 0 to the stitch count, where that is known."""
    flat: bool = False
    """Rows worked back and forth: a position does not wrap at the edge."""

    @property
    def near(self) -> Mapping[int, float]:
        """Where each colour change should be about: as expected, or else as below."""
        return {**self.below, **self.expected}

    def apart(self, one: float, other: float) -> float:
        """Stitches between two positions, the shorter way round."""
        straight = abs(one - other)
        return straight if self.flat else min(straight, abs(self.stitches - straight))


@dataclass(frozen=True, slots=True)
class TypedRound:
    """What an entry says."""

    places: dict[int, float]
    """Where each colour change fell, 0 to the stitch count, by its number."""
    round: int | None = None
    """The round it is for, where that was typed."""


@dataclass(frozen=True, slots=True)
class _Word:
    """One word of an entry: the colour change it names, if it does, and its place."""

    change: int | None
    text: str

    @property
    def bare(self) -> bool:
        """True for a plain position: not in line, without a sign and without a name."""
        return self.change is None and self.text[0] not in "=+-"


def read_entry(text: str, around: Callable[[int | None], Around]) -> TypedRound:
    """Read what the knitter typed for one round.

    Args:
        text: as typed.
        around: gives what it is read against, for the round that was typed or for None,
            the round in question.

    Raises:
        EntryError: one sentence saying what to type instead.

    >>> hat = Around(96, below={1: 31.0, 2: 92.0})
    >>> read_entry("+1,5", lambda _: hat).places
    {1: 32.5}
    >>> read_entry("2: 92 @5", lambda _: hat)
    TypedRound(places={2: 92.0}, round=5)
    >>> read_entry("93 30½", lambda _: hat).places
    {1: 30.5, 2: 93.0}

    """
    rest, number = _round_of(text)
    where = around(number)
    words = _words(rest, text, where)
    if not words:
        example = "37" if number is None else f"41 @{number}"
        raise EntryError(f"Type where the colour fell, such as {example}, or = if it is in line.")
    if [(w.change, w.text) for w in words] == [(None, "=")] and where.below:
        return TypedRound({change: where.below[change] for change in sorted(where.below)}, number)
    if len(words) > MOST_CHANGES:
        raise EntryError(f"That is more than {MOST_CHANGES} colour changes for one round.")
    changes = _changes_of(words, where)
    places = {
        change: _place(word.text, change, where)
        for change, word in zip(changes, words, strict=True)
    }
    if len(places) < len(words):
        raise EntryError(
            f"{quoted(text.strip())} has a colour change twice; type each once, as 1: 31 2: 92."
        )
    return TypedRound(dict(sorted(places.items())), number)


def _round_of(text: str) -> tuple[str, int | None]:
    """Part the round that was typed, if one was, from the rest."""
    found = list(_ROUND.finditer(text))
    if not found:
        return text, None
    number = int(found[0]["round"][:15] or 0)
    if len(found) > 1 or not 1 <= number <= MOST_ROUNDS:
        raise EntryError(
            f"{quoted(text.strip())} names no round from 1 to {MOST_ROUNDS:,}; type it once, as "
            "41 @5."
        )
    return _ROUND.sub(" ", text), number


def _words(rest: str, typed: str, where: Around) -> list[_Word]:
    """Part an entry into its words, each comma taken for what it must be."""
    text = _LABEL.sub(r" \g<change>:", _FRACTION.sub(_as_decimal, spelled_out(rest)))
    parts = re.split(r"[\s;]+|,(?![0-9])|(?<![0-9]),", text)
    parts = [part for part in parts if part]
    words: list[str] = []
    for part in parts:
        two = _TWO_WAYS.fullmatch(part)
        if two is not None:
            words += _one_or_two(two, typed, where, alone=len(parts) == 1)
        elif ":" not in part and (part.count(",") > 1 or ("," in part and "." in part)):
            words += part.split(",")
        else:
            words.append(part)
    return [_word(word) for word in words]


def _as_decimal(found: re.Match[str]) -> str:
    if not int(found["bottom"]):
        return found[0]
    value = int(found["whole"] or 0) + int(found["top"]) / int(found["bottom"])
    return f"{value:g}"


def _word(text: str) -> _Word:
    found = _WORD.fullmatch(text)
    if found is None:
        raise EntryError(
            f"{quoted(text)} is not a stitch; type a position such as 37, +2 or -1.5 against "
            "the round below, or = if it is in line."
        )
    if found["change"] is None:
        return _Word(None, found["place"])
    change = int(found["change"])
    if not 1 <= change <= MOST_CHANGES:
        raise EntryError(
            f"There is no colour change {change:,}; number them from 1 to {MOST_CHANGES}, as 2: 92."
        )
    return _Word(change, found["place"])


def _one_or_two(two: re.Match[str], typed: str, where: Around, *, alone: bool) -> list[str]:
    """Read digits, a comma and digits: half a stitch, or two colour changes."""
    first, second = two["first"], two["second"]
    as_one, as_two = [f"{first}.{second}"], [first, second]
    known = where.near
    can_be_one = second in _PARTS_OF_A_STITCH and float(as_one[0]) <= where.stitches
    can_be_two = max(map(float, as_two)) <= where.stitches and str(int(second)) == second
    if can_be_one and (not alone or len(known) == 1):
        return as_one  # what else there is was parted by spaces; or there is but one change
    if len(known) > 1:
        near = max(4.0, _NEAR_SHARE * where.stitches)
        can_be_one = can_be_one and _worst(as_one, where) <= near
        can_be_two = can_be_two and _worst(as_two, where) <= near
    if float(first) > where.stitches:
        return as_one  # which is said to be beyond the round
    if can_be_one != can_be_two and (can_be_one or len(known) != 1):
        return as_one if can_be_one else as_two
    raise EntryError(
        f"{quoted(typed.strip())} could be one number or two; type {as_one[0]} for part of a "
        f"stitch, or {first} {second} for two colour changes."
    )


def _worst(words: Sequence[str], where: Around) -> float:
    """How far off the worst of some positions lies, each taken for the change it fits best."""
    places = [float(word) for word in words]
    known = where.near
    if not len(places) <= len(known) <= _MOST_MATCHED:
        return float("inf")
    return min(
        max(where.apart(place, known[c]) for place, c in zip(places, order, strict=True))
        for order in permutations(known, len(places))
    )


def _changes_of(words: Sequence[_Word], where: Around) -> list[int]:
    """Say which colour change each word is for."""
    if all(word.bare for word in words):
        return _matched([parse_number(word.text) for word in words], where)
    named = {word.change for word in words}
    free = iter(c for c in range(1, 2 * MOST_CHANGES) if c not in named)
    return [next(free) if word.change is None else word.change for word in words]


def _matched(places: Sequence[float], where: Around) -> list[int]:
    """Say which colour changes some positions are, in whatever order they were typed."""
    known = where.near
    in_order = list(range(1, len(places) + 1))
    if not (2 <= len(known) <= _MOST_MATCHED and len(places) <= len(known)):
        return in_order

    def off(changes: Iterable[int]) -> float:
        return sum(
            where.apart(place, known[change]) if change in known else where.stitches
            for place, change in zip(places, changes, strict=True)
        )

    best = list(min(permutations(sorted(known), len(places)), key=off))
    if off(best) * _PLAINLY <= off(in_order):
        return best
    if off(best) >= off(in_order) or len(places) == len(known):
        return in_order
    shown = " ".join(f"{place:g}" for place in places)
    as_best, as_typed = (
        " ".join(f"{c}: {p:g}" for p, c in zip(places, changes, strict=True))
        for changes in (best, in_order)
    )
    raise EntryError(f"Which colour change is {quoted(shown)}? Type {as_typed} or {as_best}.")


def _place(word: str, change: int, where: Around) -> float:
    """Give the position one word means, 0 to the stitch count."""
    if word[0] not in "=+-":
        stitch = parse_number(word)
        if stitch > where.stitches:
            raise EntryError(
                f"Stitch {word} is beyond the round, which has {where.stitches}; "
                f"type a position from 0 to {where.stitches}."
            )
        return stitch
    if change not in where.below:
        which = "" if change == 1 else f" with a colour change {change}"
        raise EntryError(
            f"There is no round below{which} to measure {quoted(word)} from; "
            "type the stitch itself, such as 37."
        )
    if word == "=":
        return where.below[change]
    moved = where.below[change] + parse_number(word)
    if 0 <= moved <= where.stitches:
        return moved
    if where.flat:
        raise EntryError(
            f"{quoted(word)} against stitch {where.below[change]:g} runs off the edge of the row; "
            f"type the stitch itself, from 0 to {where.stitches}."
        )
    return moved % where.stitches
