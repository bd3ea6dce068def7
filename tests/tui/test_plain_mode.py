"""Whoever reads with a screen reader has the commands: they say all that the screens show."""

from collections.abc import Callable
from pathlib import Path

import pytest

from knitlog.analysis.analysis import analyse
from knitlog.cli import run
from knitlog.journal import actions
from knitlog.journal.store import JournalFile
from knitlog.report.advice_words import tell
from knitlog.report.look_parts import log_rows
from knitlog.report.verdict_words import unexplained_words, verdict
from knitlog.report.words import spread
from knitlog.tui.chart_data import AHEAD_ROUNDS, gather

Maker = Callable[..., Path]


@pytest.fixture
def hat(hut_hat: Maker) -> Path:
    """A project that slides, with a miscount, a fix, a change, a note and a new skein."""
    path = hut_hat(14)
    journal = JournalFile.open(path)
    actions.log_round(journal, [90.0], round_number=10)
    actions.make_fix(journal, 6.0, how="tapestry needle", over_stitches=30)
    actions.change_needle(journal, 5.0)
    actions.join_skein(journal, stitch=64.0)
    actions.add_note(journal, "by the new lamp", round_number=12)
    actions.log_round(journal, [70.0])
    actions.log_round(journal, [71.0])
    return path


@pytest.fixture
def told(hat: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """What a command prints, as one line of words."""

    def tell(*arguments: str) -> str:
        assert run(["--folder", str(hat.parent), *arguments]) == 0
        return " ".join(capsys.readouterr().out.split())

    return tell


def test_verdict_advice_and_every_remedy(hat: Path, told: Callable[..., str]) -> None:
    view = analyse(JournalFile.open(hat).state)
    assert view.advice is not None
    said = told("advise", "hut-hat")
    assert verdict(view) in said
    assert verdict(view) in told("show", "hut-hat")
    advice = tell(view.advice)
    for words in (
        advice.title,
        advice.why,
        advice.would_change,
        *advice.steps,
        *(unexplained_words(question.about) for question in view.questions),
        *(problem for problem in view.problems),
    ):
        assert words in said
    for one in advice.options:
        assert one.title in said
        assert f"{one.option.share_in_tolerance:.0%}"[:-1] in said or not one.option.feasible
        assert one.option.feasible or one.reason in said


def test_the_chart(hat: Path, told: Callable[..., str]) -> None:
    view = analyse(JournalFile.open(hat).state, with_advice=False)
    chart = gather(view)
    said = told("show", "hut-hat")
    last = chart.places[view.state.last_round + AHEAD_ROUNDS]
    for number in (last.mean, last.low, last.high):
        assert f"{number:+.0f}" in said  # ten rounds ahead no tenth of a stitch is known
    assert f"round {view.state.last_round + AHEAD_ROUNDS} falls" in said
    assert any(question.round == 10 for question in view.questions)  # the miscount is asked about


def test_the_logbook(hat: Path, told: Callable[..., str]) -> None:
    said = told("show", "hut-hat", "--all")
    lines = log_rows(JournalFile.open(hat).state)
    assert len(lines) == 16 + 4  # the rounds; a note, a fix, a change, a skein
    for parts in lines:
        for words in parts:
            assert words in said


def test_the_numbers(hat: Path, told: Callable[..., str]) -> None:
    fit = analyse(JournalFile.open(hat).state, with_advice=False).fit
    assert fit is not None
    assert fit.yarn_per_stitch_mm is not None
    said = told("fit", "hut-hat")
    for number in (
        spread(fit.drift),
        spread(fit.offset),
        f"{fit.yarn_per_stitch_mm.mean:.1f} mm",
        f"{fit.tension_noise_sd:.1f} stitches",
        f"{fit.reading_noise_sd:.1f} stitches",
        *(spread(stint.drift) for stint in fit.stint_drifts),
    ):
        assert number in said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("review", "hut-hat"), "of the fabric is within"),
        (("fabric", "hut-hat", "--round", "12"), "Round 12: "),
        (("hands",), "No finished project to learn from yet"),
        (("list",), "hut-hat"),
    ],
    ids=["review", "fabric", "my hands", "projects"],
)
def test_the_other_screens(
    told: Callable[..., str], arguments: tuple[str, ...], words: str
) -> None:
    assert words in told(*arguments)
