"""``fit`` and ``advise``: the measuring contract, and the same in words."""

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from .conftest import SAMPLES, Knitlog

FIT_FIELDS = {
    "file": str,
    "rounds": int,
    "drift": dict,
    "offset": dict,
    "yarn_per_stitch_mm": dict,
    "target_yarn_per_stitch_mm": float,
    "yarn_error_percent": dict,
    "tension_noise_sd": float,
    "reading_noise_sd": float,
    "direction": str,
    "suspect_readings": list,
    "breaks": list,
    "warnings": list,
}
OPTION_FIELDS = {
    "share_in_tolerance": (int, float),
    "expected_fixes": (int, float),
    "minutes": (int, float),
    "size_change_percent": (int, float),
    "feasible": bool,
    "reason": str,
}
ALL = sorted([*SAMPLES.glob("*.csv"), *SAMPLES.glob("*.knitlog")])


def objects(out: str) -> list[dict[str, Any]]:
    def refuse(word: str) -> float:
        raise AssertionError(f"{word} is not JSON")

    return [json.loads(line, parse_constant=refuse) for line in out.splitlines()]


def test_fit_prints_one_object_a_file_with_every_field_of_the_contract(knitlog: Knitlog) -> None:
    done = knitlog("fit", *ALL, "--json")
    assert (done.code, done.err) == (0, "")
    found = objects(done.out)
    assert [o["file"] for o in found] == [str(path) for path in ALL]
    for o in found:
        for name, kind in FIT_FIELDS.items():
            assert isinstance(o[name], kind), (o["file"], name)
        assert o["drift"].keys() >= {"mean", "sd", "low95", "high95"}
        assert o["offset"].keys() >= {"mean", "sd"}
        for name in ("yarn_per_stitch_mm", "yarn_error_percent"):
            assert o[name].keys() >= {"mean", "low95", "high95"}
            assert o[name]["low95"] < o[name]["mean"] < o[name]["high95"]
        assert o["direction"] in {"too small", "too large", "in line", "unclear"}


def test_a_journal_and_its_csv_are_fitted_alike(knitlog: Knitlog) -> None:
    by_file = {Path(o["file"]).name: o for o in objects(knitlog("fit", *ALL, "--json").out)}
    for path in SAMPLES.glob("*.csv"):
        one = dict(by_file[path.name])
        two = dict(by_file[path.with_suffix(".knitlog").name])
        assert one["drift"]["mean"] == pytest.approx(two["drift"]["mean"], abs=0.05)
        assert one["direction"] == two["direction"]


def test_the_samples_show_what_they_say(knitlog: Knitlog) -> None:
    by_name = {
        Path(o["file"]).stem: o
        for o in objects(knitlog("fit", *SAMPLES.glob("*.csv"), "--json").out)
    }
    assert by_name["in-line"]["direction"] == "in line"
    assert by_name["too-small"]["direction"] == "too small"
    assert by_name["too-large"]["direction"] == "too large"
    # the truth behind them stands in knitlog/simulate/samples.py
    assert by_name["too-small"]["drift"]["low95"] < 2.815 < by_name["too-small"]["drift"]["high95"]
    assert by_name["too-large"]["drift"]["low95"] < -2.294 < by_name["too-large"]["drift"]["high95"]
    assert by_name["needle-changed"]["suspect_readings"] == [6]
    assert by_name["needle-changed"]["breaks"] == []
    assert [s["needle_mm"] for s in by_name["needle-changed"]["stints"]] == [4.5, 5.0]
    # k L = (N + d) s by hand for the sample of two repeats: 2 * 1524 / 146
    assert by_name["too-large"]["target_yarn_per_stitch_mm"] == pytest.approx(20.8767, abs=1e-4)


def test_a_bad_file_is_told_and_the_others_go_on(knitlog: Knitlog, tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("round,stitch\n1,banana\n")
    good = SAMPLES / "in-line.csv"
    done = knitlog("fit", bad, good, "--json", "--stitches", "104")
    assert done.code == 2
    assert [o["file"] for o in objects(done.out)] == [str(good)]
    assert "banana" in done.sentence
    assert "bad.csv" in done.sentence


def test_options_overrule_the_file(knitlog: Knitlog) -> None:
    sample = SAMPLES / "in-line.csv"
    plain, longer = (
        objects(knitlog("fit", sample, "--json", *more).out)[0]
        for more in ([], ["--repeat-length", "1.5m"])
    )
    # s* = k L / N by hand: 1500 / 104
    assert longer["target_yarn_per_stitch_mm"] == pytest.approx(1500 / 104)
    assert plain["target_yarn_per_stitch_mm"] == pytest.approx(1524 / 104)
    journal = SAMPLES / "in-line.knitlog"
    told = objects(knitlog("fit", journal, "--json", "--repeat-length", "1.5m").out)[0]
    assert told["target_yarn_per_stitch_mm"] == pytest.approx(1500 / 104)


def test_every_option_of_the_contract_is_taken_by_both_commands(
    knitlog: Knitlog, tmp_path: Path
) -> None:
    table = tmp_path / "log.csv"
    table.write_text("round,stitch\n" + "".join(f"{r},{30 + 2 * r}\n" for r in range(1, 9)))
    options = [
        *("--stitches", "128", "--repeats", "1", "--repeat-length", "1.67yd", "--needle", "US 7"),
        *("--gauge", "20 st/10cm", "--rounds", "40", "--tolerance", "3", "--multiple", "2"),
        *("--needles-owned", "4mm, 4.5mm, 5mm", "--home", "32", "--target-drift", "0"),
        "--round",
    ]
    for command in ("fit", "advise"):
        done = knitlog(command, table, "--json", *options)
        assert (done.code, done.err) == (0, "")
        assert len(objects(done.out)) == 1


def test_key_lines_in_a_csv_tell_the_facts(knitlog: Knitlog, tmp_path: Path) -> None:
    table = tmp_path / "log.csv"
    table.write_text(
        "# stitches: 128\n# repeat-length: 152.4cm\n# gauge: 20 st/4in\n# needle: US 7\n"
        "round,stitch\n1,37\n2,40\n3,42\n4,46\n"
    )
    told = objects(knitlog("fit", table, "--json").out)[0]
    assert told["target_yarn_per_stitch_mm"] == pytest.approx(11.90625)  # 1524 / 128
    assert told["stints"][0]["needle_mm"] == 4.5


def test_what_is_not_known_is_null(knitlog: Knitlog, tmp_path: Path) -> None:
    table = tmp_path / "log.csv"
    table.write_text("round,stitch\n1,37\n2,40\n3,42\n")
    told = objects(knitlog("fit", table, "--json", "--stitches", "128").out)[0]
    assert told["target_yarn_per_stitch_mm"] is None
    assert told["yarn_per_stitch_mm"] == {"mean": None, "low95": None, "high95": None}
    assert math.isfinite(told["yarn_error_percent"]["mean"])


def test_a_log_without_rounds_is_answered_not_refused(knitlog: Knitlog, folder: Path) -> None:
    knitlog("new", "Red hat", "--stitches", "96")
    told = objects(knitlog("fit", "red-hat", "--json").out)[0]
    assert told["rounds"] == 0
    assert told["drift"]["mean"] is None
    assert told["direction"] == "unclear"
    advised = objects(knitlog("advise", "red-hat", "--json").out)[0]
    assert advised["recommended"] is None


def test_advise_prints_every_option_with_every_field_of_the_contract(knitlog: Knitlog) -> None:
    done = knitlog("advise", *SAMPLES.glob("*.csv"), "--json")
    assert (done.code, done.err) == (0, "")
    for o in objects(done.out):
        assert o["recommended"].keys() >= {"remedy", "details", "why"}
        assert all(isinstance(v, int | float | str) for v in o["recommended"]["details"].values())
        assert {option["remedy"] for option in o["options"]} == {
            "carry on",
            "tapestry needle",
            "rip back",
            "change needle",
            "change stitch count",
            "knit more rounds first",
            "change tension",
            "stack from here",
            "start again",
        }
        for option in o["options"]:
            for name, kind in OPTION_FIELDS.items():
                assert isinstance(option[name], kind), (o["file"], name)
            assert 0 <= option["share_in_tolerance"] <= 1
        assert o["recommended"]["remedy"] in {x["remedy"] for x in o["options"] if x["feasible"]}


def test_in_words(knitlog: Knitlog) -> None:
    done = knitlog("fit", SAMPLES / "needle-changed.csv", SAMPLES / "too-small.csv")
    assert done.code == 0
    assert "needle-changed.csv:" in done.out
    assert re.search(r"\? Round 6 reads 50, but about 3\d was expected: was it mis", done.out)
    assert "Stitches too small" in done.out
    assert "stitches a round" in done.out
    done = knitlog("advise", SAMPLES / "too-small.csv")
    assert "Do this: " in done.out
    assert "Why: " in done.out
    assert "Remedy" in done.out


USUAL = {
    "tapestry": 6,
    "rip": 1,
    "ripped-stitch": 0.15,
    "needle": 4,
    "gauge-line": 8,
    "count": 3,
    "count-stitch": 0.5,
    "count-line": 12,
    "new-place": 6,
    "round-again": 0.05,
    "pattern-anew": 20,
    "attention": 0.3,
    "round-out": 2,
}
"""Common practice, no source."""


def test_advise_says_what_work_is_counted_at(knitlog: Knitlog, hat: str) -> None:
    sample = SAMPLES / "in-line.csv"
    usual = objects(knitlog("advise", sample, "--json").out)[0]
    assert (usual["costs_minutes"], usual["own_costs"]) == (USUAL, [])
    own = objects(knitlog("advise", sample, "--json", "--minutes", "needle=6.5, rip=1").out)[0]
    assert own["costs_minutes"] == {**USUAL, "needle": 6.5}
    assert own["own_costs"] == ["needle"]
    assert knitlog("settings", hat, "--minutes", "round-out=1").code == 0
    out = knitlog("advise", hat).out
    assert re.search(r"\n  round-out +1 +yours; usually 2 +Each round out of tolerance\n", out)
    assert re.search(r"\n  needle +4 +usual +Changing to another needle\n", out)
    assert "common practice, without a source" in out
    assert 'knitlog settings red-hat --minutes "' in out


def test_nothing_to_advise_on_still_says_what_work_is_counted_at(knitlog: Knitlog) -> None:
    assert knitlog("new", "Red hat", "--stitches", "96", "--minutes", "count=9").code == 0
    told = objects(knitlog("advise", "red-hat", "--json").out)[0]
    assert told["recommended"] is None
    assert told["costs_minutes"] == {**USUAL, "count": 9}
    assert told["own_costs"] == ["count"]


def test_a_project_by_name_and_a_name_that_is_neither(knitlog: Knitlog, hat: str) -> None:
    assert knitlog("fit", "red").code == 0
    done = knitlog("fit", "green")
    assert done.code == 2
    assert "There is no project 'green'" in done.sentence
    assert "Nor is there a file of that name here" in done.sentence
    knitlog("new", "Red scarf", "--stitches", "96")
    done = knitlog("fit", "red")
    assert done.code == 2
    assert "type more of the name" in done.sentence
    assert "file" not in done.sentence
