"""The way in for another program: what it gives is what the commands print."""

import io
import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import knitlog
from knitlog.analysis.analysis import drift_log
from knitlog.cli import run

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "sample_logs"
LOGS = sorted(SAMPLES.glob("too-*"))


@pytest.mark.parametrize("path", LOGS, ids=lambda path: path.name)
def test_a_path_and_a_stream_say_what_the_commands_say(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    by_path = knitlog.read(path)
    by_text = knitlog.read(io.StringIO(path.read_text(encoding="utf-8")))
    assert drift_log(by_path) == drift_log(by_text)
    assert by_path.facts == by_text.facts
    assert run(["fit", str(path), "--json"]) == run(["advise", str(path), "--json"]) == 0
    told, advice = map(json.loads, capsys.readouterr().out.splitlines())
    fitted = knitlog.fit(by_text)
    assert (fitted.drift.mean, fitted.drift.high95) == (
        told["drift"]["mean"],
        told["drift"]["high95"],
    )
    assert fitted.drift == knitlog.fit(by_path).drift
    asked = knitlog.advise(by_text)
    assert str(asked.recommended.remedy) == advice["recommended"]["remedy"]
    assert dict(asked.recommended.details) == advice["recommended"]["details"]


def test_facts_come_before_those_of_the_file() -> None:
    for path in LOGS:
        with path.open(encoding="utf-8") as stream:
            assert knitlog.read(stream, {"tolerance": "5"}).facts.tolerance == 5.0
        assert knitlog.read(path, {"tolerance": "5"}).facts.tolerance == 5.0


def test_arrays_are_a_log() -> None:
    rounds, positions = np.arange(1, 13), 31.0 + 2.5 * np.arange(12)
    log = knitlog.DriftLog.from_arrays(rounds, positions, 96, needle_mm=3.5, repeat_length_mm=1524)
    fitted = knitlog.fit(log)
    assert fitted.drift.mean == pytest.approx(2.5, abs=0.1)
    # by hand: k L / (N + d) = 1524 / 98.5
    assert fitted.yarn_per_stitch_mm is not None
    assert fitted.yarn_per_stitch_mm.mean == pytest.approx(1524 / 98.5, abs=0.05)
    advice = knitlog.advise(log, needles_owned_mm=(3.25, 3.5, 3.75), rounds_planned=60)
    assert advice.options
    fixed = knitlog.advise(log, multiple=0, rounds_planned=60)
    assert not [o for o in fixed.options if o.remedy == "change stitch count" and o.feasible]


def test_arrays_tell_stints_changes_sittings_and_fixes() -> None:
    log = knitlog.DriftLog.from_arrays(
        [1, 1, 2, 2, 3],
        [31.0, 80.0, 33.0, 82.0, 35.5],
        [96, 96, 96, 96, 98],
        changes=[1, 2, 1, 2, 1],
        needle_mm=[3.5, 3.5, 3.5, 3.5, np.nan],
        sittings=[1, 1, 1, 1, 2],
        fixes=[(2, 4.0)],
        repeats=2,
    )
    assert [(s.first_round, s.stitches, s.needle_mm) for s in log.stints] == [
        (1, 96, 3.5),
        (3, 98, None),
    ]
    assert [(r.round, r.change, r.sitting) for r in log.readings[-2:]] == [(2, 2, 1), (3, 1, 2)]
    assert [(f.after_round, f.taken_out) for f in log.fixes] == [(2, 4.0)]


@pytest.mark.parametrize(
    ("arrays", "wrong"),
    [
        (([1, 2], [31.0], [96, 96, 96]), "stitches has the shape"),
        (([1, 2.5], [31.0, 32.0], 96), "rounds must be whole numbers"),
        (([1, 2], [31.0, np.nan], 96), "positions holds what is not a number"),
        (([], [], 96), "rounds has the shape"),
    ],
)
def test_arrays_that_do_not_go_together_say_so(arrays: tuple[object, ...], wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        knitlog.DriftLog.from_arrays(*arrays)


@pytest.mark.parametrize("text", ["", "{}", "round;stitch", "\x00", '{"kind":"note"}\n'])
def test_what_is_no_log_is_told_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        knitlog.read(io.StringIO(text))


def test_the_readme_example_is_true(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"(?:^    (?:>>>|\.\.\.).*\n(?:^    .*\n)*)+", readme, re.MULTILINE)
    assert blocks
    import doctest

    parser, runner = doctest.DocTestParser(), doctest.DocTestRunner()
    for block in blocks:
        runner.run(parser.get_doctest(block, {}, "README.md", "README.md", 0))
    assert runner.summarize(verbose=False).failed == 0, capsys.readouterr().out


def test_importing_it_is_light() -> None:
    code = "import sys, knitlog; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.partition(".")[0] for name in done.stdout.split()}
    assert not loaded & {"numpy", "scipy", "pydantic", "click", "textual", "matplotlib"}
