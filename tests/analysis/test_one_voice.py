"""One voice: for every sample and surface the same drift, remedy, numbers and words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import knitlog
from knitlog.analysis.analysis import Analysis, analyse
from knitlog.analysis.fabrics import project_fabric
from knitlog.analysis.files import read_log_file
from knitlog.analysis.past import Past
from knitlog.analysis.project_review import review
from knitlog.analysis.samples import sample_year, samples
from knitlog.cli import run
from knitlog.journal.library import Library
from knitlog.report.advice_words import tell
from knitlog.report.json_objects import (
    advice_object,
    fit_object,
    review_object,
    state_object,
    to_line,
)
from knitlog.report.look_parts import (
    advice_parts,
    fit_parts,
    number_parts,
    remedy_parts,
    state_parts,
)
from knitlog.report.pages import review_page
from knitlog.report.review_words import review_parts
from knitlog.report.verdict_words import next_sentence, unexplained_words, verdict
from knitlog.report.words import spread
from knitlog.tui.headlines import headlines
from tests.report.said import lines_of

ROOT = Path(__file__).parents[2] / "sample_logs"
YEAR = ROOT / "history"
CSVS = sorted(ROOT.glob("*.csv"))
NAMES = [*(path.name for path in CSVS), *sorted(samples()), *sorted(sample_year())]
WAITING = ("carry on", "knit more rounds first")


@pytest.fixture(scope="module")
def pasts() -> dict[Path, Past]:
    """What is known of her from either folder."""
    return {folder: Past(Library(folder)) for folder in (ROOT, YEAR)}


@pytest.fixture(scope="module")
def looks(pasts: dict[Path, Past]) -> dict[str, Analysis]:
    """One look at each: CSV logs by themselves, projects from their folder's past."""
    found = {path.name: analyse(read_log_file(path)) for path in CSVS}
    for folder, past in pasts.items():
        for shelf in Library(folder).projects():
            assert shelf.state is not None
            found[shelf.slug] = analyse(shelf.state, past=past)
    return found


@pytest.fixture(params=NAMES)
def found(request: pytest.FixtureRequest, looks: dict[str, Analysis]) -> Analysis:
    return looks[request.param]


def text(parts: Iterator[object]) -> str:
    return "\n".join(lines_of(parts))  # type: ignore[arg-type]


def test_every_text_begins_from_one_verdict(found: Analysis) -> None:
    said = verdict(found)
    for parts in (fit_parts(found), advice_parts(found), state_parts(found)):
        assert said in text(parts)
    for content in (advice_object("f", found), state_object(found)):
        assert content["verdict"] == said


def test_the_drift_is_one_number_everywhere(found: Analysis) -> None:
    assert found.fit is not None
    drift = found.fit.drift
    told = fit_object("f", found)
    assert (told["drift"]["mean"], told["drift"]["low95"]) == (drift.mean, drift.low95)
    assert spread(drift) in text(fit_parts(found))
    assert spread(drift) in text(number_parts(found))  # the why sheet
    if found.tone not in ("waiting", "done") and found.fit.direction.startswith("too"):
        off = drift.mean - found.state.facts.target_drift
        way = "on" if off > 0 else "back"
        assert f"slide {abs(off):.1f} {way} each" in verdict(found)
        assert found.fit.direction == ("too small" if off > 0 else "too large")
    last = fit_object("f", found)["stints"][-1]
    assert last["drift"]["mean"] == found.fit.stint_drifts[-1].drift.mean


def test_the_remedy_is_one_everywhere(found: Analysis) -> None:
    if found.advice is None:
        assert found.state.finished
        assert advice_object("f", found)["recommended"] is None
        return
    chosen = found.advice.recommended
    advised, state = advice_object("f", found), state_object(found)
    assert advised["recommended"] == state["recommended"]
    assert advised["recommended"]["remedy"] == str(chosen.remedy)
    do_this = f"Do this: {advised['recommended']['title']}"
    for parts in (advice_parts(found), remedy_parts(found), state_parts(found)):
        assert do_this in text(parts)
    if str(chosen.remedy) not in WAITING:
        assert headlines(found)[0] == advised["recommended"]["title"]


def test_the_shares_are_one_number_and_one_word_everywhere(found: Analysis) -> None:
    if found.advice is None:
        return
    told = text(advice_parts(found))
    table = told[told.index("Every remedy, side by side") :]
    assert "In place" in table
    assert not re.search(r"\d %? in line", told)
    for option in advice_object("f", found)["options"]:
        if option["feasible"]:
            row = next(li for li in table.splitlines() if li.strip().startswith(option["title"]))
            assert f"{100 * option['share_in_tolerance']:.0f} %" in row
            assert f"{option['minutes']:.0f}" in row.split()


def test_the_fabric_plays_the_advice_and_nothing_else(found: Analysis) -> None:
    if found.advice is None or found.state.finished:
        return
    drawn = project_fabric(found, 20)
    played = [future.option for future in drawn.futures if future.option is not None]
    assert played[0] == found.advice.recommended
    assert set(map(id, played)) <= set(map(id, found.advice.options))


def test_the_next_round_is_one_everywhere(found: Analysis) -> None:
    told = [content["next"] for content in (advice_object("f", found), state_object(found))]
    assert told[0] == told[1]
    fitted = fit_object("f", found)["next"]
    assert fitted == (told[0] and {**told[0], "aim": None})  # a fit asks for nothing
    if found.state.finished:
        assert told == [None, None]
        return
    assert found.next is not None
    sentence = next_sentence(found.next, found.state)
    assert sentence in text(fit_parts(found))
    assert sentence in text(state_parts(found))
    assert found.fit is not None
    expected = found.fit.expected(1)
    assert told[0]["expected"]["mean"] == pytest.approx(float(expected.stitch[0]))


def test_questions_and_problems_are_asked_alike(found: Analysis) -> None:
    asked = [question["question"] for question in state_object(found)["questions"]]
    first = None if found.advice is None else tell(found.advice).question
    beside = [unexplained_words(one.about) for one in found.asides]
    assert set(beside) <= set(asked)
    assert len(asked) - len(beside) == bool(first and len(asked) > len(beside))
    for parts, words in (
        (fit_parts(found), asked),
        (advice_parts(found), beside),
        (state_parts(found), beside),
    ):
        said = text(parts)
        assert all(f"? {question}" in said for question in words)
        assert all(f"! {problem}" in said for problem in found.problems)
    for parts in (advice_parts(found), state_parts(found)):
        assert not first or f"First of all: {first}" in text(parts)


def test_the_review_tells_the_fits_own_drift(found: Analysis, pasts: dict[Path, Past]) -> None:
    # a review starts from the same past as the look: its fit is the same
    past = pasts[YEAR if found.state.slug in sample_year() else ROOT]
    looked = review(found.state, past=past if found.state.slug else None)
    assert found.fit is not None
    stints = review_object(looked)["stints"]
    assert [s["drift_stitches_per_round"]["mean"] for s in stints] == [
        s["drift"]["mean"] for s in fit_object("f", found)["stints"]
    ]
    said = text(review_parts(looked))
    for stint in found.fit.stint_drifts:
        assert spread(stint.drift) in said


def test_the_page_says_what_the_review_says(
    looks: dict[str, Analysis], pasts: dict[Path, Past]
) -> None:
    found = review(looks["04-long-night-wristers"].state, past=pasts[YEAR])
    page = review_page(found)
    for part in review_parts(found):
        for row in part.rows:
            for cell in row:
                assert cell in page
        assert part.heading in page


@pytest.mark.parametrize("name", ["too-small.csv", "two-changes", "09-second-frost-hat"])
def test_the_commands_the_screens_and_the_root_api_look_alike(
    name: str, looks: dict[str, Analysis], capsys: pytest.CaptureFixture[str]
) -> None:
    found = looks[name]
    assert found.fit is not None
    folder = YEAR if name in sample_year() else ROOT
    source = str(ROOT / name) if name.endswith(".csv") else name

    def told(*arguments: str) -> str:
        assert run(["--folder", str(folder), *arguments]) == 0
        return capsys.readouterr().out

    fitted = json.loads(told("fit", source, "--json"))
    assert fitted == json.loads(to_line(fit_object(source, found)))
    advised = json.loads(told("advise", source, "--json"))
    assert advised["recommended"] == state_object(found)["recommended"]
    assert told("advise", source).startswith(verdict(found))
    if not name.endswith(".csv"):
        ways = json.loads(told("fabric", source, "--under", "all", "--json"))["ways"]
        assert ways[0]["title"] == advised["recommended"]["title"]
        shares = {o["title"]: o["share_in_tolerance"] for o in advised["options"]}
        for way in ways:
            if way["fabric"] is not None and way["title"] in shares:
                assert way["share_in_tolerance"] == shares[way["title"]]
    else:
        assert knitlog.fit(knitlog.read(source)).drift == found.fit.drift
        remedy = knitlog.advise(knitlog.read(source)).recommended.remedy
        assert str(remedy) == advised["recommended"]["remedy"]
