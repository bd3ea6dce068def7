"""A review in plain words: what ``knitlog review`` prints and the screens show."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.drift import Break, Estimate, StintDrift
    from knitlog.report.review import FixReviewed, Review, YarnUsed
    from knitlog.report.time_spent import TimeSpent

Row = tuple[str, ...]


def headline(found: Review) -> str:
    """How the project went, in one sentence."""
    state = found.state
    if found.share_in_tolerance is None:
        return found.look.verdict
    rows = "rows" if state.facts.flat else "rounds"
    verb = "was" if state.finished else "is"
    return (
        f"{state.last_round} {rows} {'knitted' if state.finished else 'so far'}; "
        f"{100.0 * found.share_in_tolerance:.0f} % of the fabric {verb} within "
        f"{state.facts.tolerance:g} stitches of its place."
    )


def stint_rows(found: Review) -> list[Row]:
    """The drift by stint, with a line of headings."""
    rows: list[Row] = [("Rounds", "Stitches", "Needle", "Drift a round", "What began it")]
    for place, stint in enumerate(found.stints):
        needle = "-" if stint.needle_mm is None else f"{stint.needle_mm:g} mm"
        began = _began(found, place)
        rounds = f"{stint.first_round}-{stint.last_round}"
        rows.append((rounds, str(stint.stitches), needle, spread(stint.drift), began))
    return rows


def _began(found: Review, place: int) -> str:
    stint = found.stints[place]
    if place == 0:
        return "cast-on"
    if not stint.logged:
        return "not logged"
    before: StintDrift = found.stints[place - 1]
    parts = []
    if stint.needle_mm != before.needle_mm:
        parts.append("another needle")
    if stint.stitches != before.stitches:
        parts.append(f"{stint.stitches - before.stitches:+d} stitches")
    return " and ".join(parts) or "a change"


def fix_rows(found: Review) -> list[Row]:
    """Each fix, what it was meant to do and what it did, with a line of headings."""
    rows: list[Row] = [("Round", "How", "Meant", "Did", "Before", "After", "Landed")]
    rows += [_fix_row(fix) for fix in found.fixes]
    return rows


def _fix_row(fix: FixReviewed) -> Row:
    did = "-" if fix.did is None else spread(fix.did, places=1)
    return (
        str(fix.after_round),
        fix.how,
        f"{fix.meant:+.1f}",
        did,
        f"{fix.before:+.1f}",
        f"{fix.after:+.1f}",
        fix.word,
    )


def fix_sentence(found: Review) -> str:
    """What the fixes came to, in one sentence; empty without any that can be judged."""
    seen = [f for f in found.fixes if f.did is not None]
    if not seen:
        return ""
    share = sum(abs(f.did.mean) for f in seen if f.did is not None) / sum(
        abs(f.meant) for f in seen
    )
    fixes = f"{len(seen)} fix{'' if len(seen) == 1 else 'es'}"
    return (
        f"The {fixes} that can be judged took out {100.0 * share:.0f} % of what was meant, all "
        "together."
    )


def time_sentences(spent: TimeSpent) -> Iterator[str]:
    """Where the time went."""
    yield (
        f"{spent.sittings} sitting{'' if spent.sittings == 1 else 's'} over {spent.days} "
        f"day{'' if spent.days == 1 else 's'}."
    )
    if spent.round_minutes is not None:
        yield f"A round took about {spent.round_minutes:.0f} minutes."
    parts = [
        f"{hours(minutes)} {what}"
        for minutes, what in (
            (spent.knitting, "knitting"),
            (spent.mending, "mending"),
            (spent.changing, "changing needle or count"),
            (spent.elsewhere, "not accounted for"),
        )
        if minutes >= 1.0
    ]
    if parts:
        yield f"About {', '.join(parts)}."


def break_sentence(found: Break) -> str:
    """One thing that changed and was not logged."""
    if found.kind == "drift":
        return (
            f"Around round {found.round} the drift changed by {found.size:+.1f} stitches a round "
            "and nothing was logged."
        )
    return (
        f"Around round {found.round} the colours moved {found.size:+.0f} stitches at once and "
        "nothing was logged."
    )


def yarn_sentences(yarn: YarnUsed) -> Iterator[str]:
    """Yarn used against plan."""
    e = yarn.used_mm
    more = "more" if yarn.over_percent > 0 else "less"
    yield (
        f"{yarn.rounds} rounds took about {format_length(e.mean)} of yarn (between "
        f"{format_length(e.low95)} and {format_length(e.high95)}), "
        + (
            "as planned."
            if abs(yarn.over_percent) < 0.05
            else f"{abs(yarn.over_percent):.1f} % {more} than the {format_length(yarn.planned_mm)} "
            "planned for them."
        )
    )
    if yarn.whole_planned_mm is not None:
        yield f"All the rounds planned would take {format_length(yarn.whole_planned_mm)}."


def spread(e: Estimate, places: int = 2) -> str:
    """A number with its 95 % interval: +1.20 (+0.80 to +1.60)."""
    return f"{e.mean:+.{places}f} ({e.low95:+.{places}f} to {e.high95:+.{places}f})"


def hours(minutes: float) -> str:
    """Minutes as hours and minutes.

    >>> hours(135.2)
    '2 h 15 min'
    """
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    return f"{whole // 60} h {whole % 60:02d} min"


def review_lines(found: Review) -> Iterator[str]:
    """The whole review, a line each."""
    from knitlog.report.tables import table

    state = found.state
    yield state.name
    if state.about:
        yield state.about
    ended = f"finished {found.ended:%Y-%m-%d}" if state.finished else f"last {found.ended:%Y-%m-%d}"
    yield f"Begun {found.began:%Y-%m-%d}, {ended}."
    yield ""
    yield headline(found)
    if found.worst is not None and abs(found.worst[1]) > state.facts.tolerance:
        yield f"Furthest out: {found.worst[1]:+.1f} stitches in round {found.worst[0]}."
    if found.stints:
        yield from ("", "DRIFT")
        yield from table(stint_rows(found))
    if found.fixes:
        yield from (
            "",
            "FIXES (stitches of offset; before and after: how far the colours were off)",
        )
        yield from table(fix_rows(found))
        if sentence := fix_sentence(found):
            yield sentence
    if found.fit is not None:
        yield from ("", "WHAT WAS NEVER LOGGED BUT CHANGED")
        yield from [break_sentence(b) for b in found.breaks] or ["Nothing that shows."]
        for suspect in found.fit.suspects:
            yield (
                f"Round {suspect.round} reads stitch {suspect.stitch:g}, about "
                f"{suspect.expected:.0f} was expected: perhaps a miscount."
            )
    if found.time is not None:
        yield from ("", "TIME")
        yield from time_sentences(found.time)
    if found.yarn is not None:
        yield from ("", "YARN")
        yield from yarn_sentences(found.yarn)
    if state.notes:
        yield from ("", "NOTES")
        for note in state.notes:
            where = f"Round {note.round}: " if note.round is not None else ""
            yield f"{where}{' '.join(note.text.split())}"
    for problem in found.look.problems:
        yield f"! {problem}"
