"""The advice against a panel of short logs, judged from knitting sense beforehand.

The table is in panel.md, with the reason of each case; common practice, no source.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from knitlog.advice import Advice, Option, Remedy, Situation, advise
from knitlog.drift import DriftLog, Fix, NewHome, Reading, Stint, TensionAsked, fit
from knitlog.report.advice_words import tell
from knitlog.yarn.gauge import Gauge


@dataclass(frozen=True)
class Case:
    name: str
    project: dict[str, str]
    log: str
    would: tuple[str, ...]
    would_not: tuple[str, ...]
    says: str
    because: str


def read_panel() -> list[Case]:
    cases = []
    for line in (Path(__file__).parent / "panel.md").read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and len(cells) == 7 and cells[0] not in ("case", "---"):
            name, project, log, would, would_not, says, because = cells
            facts = dict(pair.split("=") for pair in project.split())
            cases.append(Case(name, facts, log, _list(would), _list(would_not), says, because))
    return cases


def _list(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def log_of(case: Case) -> DriftLog:
    """Read a log as the table writes it."""
    facts, number = case.project, 0
    stitches, needle = int(facts.get("stitches", 128)), float(facts.get("needle", 4.5))
    readings, stints = [], [Stint(1, stitches, needle)]
    fixes, tension, homes = [], [], []
    for word in case.log.split():
        if word == "h":
            homes.append(NewHome(number + 1))
        elif word[0] in "cn":
            stitches = int(word[1:]) if word[0] == "c" else stitches
            needle = float(word[1:]) if word[0] == "n" else needle
            stints.append(Stint(number + 1, stitches, needle))
        elif word[0] == "f":
            fixes.append(Fix(number, float(word[1:])))
        elif word[0] == "t":
            tension.append(TensionAsked(number + 1, float(word[1:])))
        else:
            at, _, stitch = word.rpartition(":")
            number = int(at) if at else number + 1
            readings.append(Reading(number, float(stitch)))
    return DriftLog(
        readings=tuple(readings),
        stints=tuple(stints),
        fixes=tuple(fixes),
        tension=tuple(tension),
        new_homes=tuple(homes),
        repeats=float(facts.get("repeats", 2)),
        # 60 in, 1 in = 25.4 mm exactly
        repeat_length_mm=float(facts.get("length", "1524mm").removesuffix("mm")),
        target_drift=float(facts.get("target", 0)),
        homes={1: float(facts["home"])} if "home" in facts else {},
        pattern_rounds=int(facts["pattern"]) if "pattern" in facts else None,
    )


def situation_of(case: Case) -> Situation:
    facts, log = case.project, log_of(case)
    stint = log.stints[-1]
    return Situation(
        fit=fit(log),
        stitches=stint.stitches,
        repeats=log.repeats,
        repeat_length_mm=log.repeat_length_mm,
        needle_mm=stint.needle_mm,
        needles_owned_mm=tuple(
            float(n) for n in facts.get("needles", str(stint.needle_mm)).split(",")
        ),
        multiple=0 if facts.get("count") == "fixed" else int(facts.get("multiple", 1)),
        rounds_planned=int(facts.get("rounds", 80)),
        tolerance=float(facts.get("tolerance", 3)),
        # 4 in are 10.16 cm
        gauge=Gauge(float(facts.get("gauge", "20/4in").removesuffix("/4in")) / 10.16),
    )


def fits(option: Option, wanted: str) -> bool:
    """Return whether an option is one the table names, its numbers included."""
    remedy = next(r for r in sorted(Remedy, key=len, reverse=True) if wanted.startswith(r))
    rest, details = wanted.removeprefix(remedy).strip(), option.details
    if option.remedy is not remedy:
        return False
    if rest in ("looser", "tighter"):
        return (float(details["tension_percent"]) > 0) == (rest == "looser")
    if span := re.fullmatch(r"([\d.]+)-([\d.]+)", rest):
        key = "needle_mm" if remedy is Remedy.CHANGE_NEEDLE else "stitches"
        return float(span[1]) <= float(details[key]) <= float(span[2])
    return True


CASES = read_panel()


def advised(case: Case) -> Advice:
    return advise(situation_of(case))


def test_the_panel_is_a_panel() -> None:
    assert len(CASES) >= 40
    assert len({case.name for case in CASES}) == len(CASES)
    assert all(case.because for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_it_says_what_a_knitter_would(case: Case) -> None:
    option = advised(case).recommended
    assert any(fits(option, wanted) for wanted in case.would), (
        f"{option.remedy} {dict(option.details)}, because {case.because}"
    )
    assert not any(fits(option, wanted) for wanted in case.would_not)


@pytest.mark.parametrize("case", [c for c in CASES if c.says], ids=lambda case: case.name)
def test_it_says_it_in_those_words(case: Case) -> None:
    told = tell(advised(case))
    assert case.says in " ".join((told.question, told.title, told.why, *told.steps))
