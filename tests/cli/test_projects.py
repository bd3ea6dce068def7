"""Whole projects, from the command line."""

import json
import re
from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile

from .conftest import SAMPLES, Knitlog


def test_a_new_project_keeps_every_fact(knitlog: Knitlog, folder: Path) -> None:
    done = knitlog(
        "new",
        "Red hat",
        *("--stitches", "96", "--repeats", "2", "--repeat-length", "1.5yd", "--needle", "UK 7"),
        *("--gauge", "20 st/4in", "--rounds", "48", "--tolerance", "2.5", "--multiple", "4"),
        *("--needles-owned", "4mm, US 7", "--home", "20, 68", "--target-drift", "-0.5"),
        *("--yarn-thickness", "2.2mm", "--max-size-change", "5", "--about", "for the hut"),
    )
    assert done.code == 0
    assert "knitlog log red-hat 37" in done.out
    state = JournalFile.open(folder / "red-hat.knitlog").state
    facts = state.facts
    assert (state.name, state.about) == ("Red hat", "for the hut")
    assert (facts.stitches, facts.repeats, facts.needle_mm) == (96, 2.0, 4.5)
    assert facts.repeat_length_mm == 1371.6  # 1.5 yd of 914.4 mm exactly
    assert facts.gauge_stitches_per_cm == 20 / 10.16  # 4 in = 10.16 cm exactly
    assert (facts.planned_rounds, facts.tolerance, facts.multiple) == (48, 2.5, 4)
    assert facts.needles_owned_mm == (4.0, 4.5)
    assert facts.homes == {1: 20.0, 2: 68.0}
    assert (facts.target_drift, facts.flat) == (-0.5, False)
    assert (facts.yarn_thickness_mm, facts.max_size_change_percent) == (2.2, 5.0)


def test_the_colours_of_the_yarn_tell_the_repeat_too(knitlog: Knitlog, folder: Path) -> None:
    run = "rose 30cm, moss 45cm #117733, snow 20cm, and back"
    assert knitlog("new", "Red hat", "--stitches", "96", "--colours", run).code == 0
    facts = JournalFile.open(folder / "red-hat.knitlog").state.facts
    assert [(c.name, c.length_mm) for c in facts.colours] == [
        ("rose", 300.0),
        ("moss", 450.0),
        ("snow", 200.0),
    ]
    assert facts.colours_turn_back
    # out and back, each end met once: 30 + 45 + 20 + 45
    assert facts.repeat_length_mm == 1400.0
    assert knitlog("settings", "red", "--colours", "rose 1m, snow 50cm").code == 0
    assert JournalFile.open(folder / "red-hat.knitlog").state.facts.repeat_length_mm == 1500.0
    assert knitlog("settings", "red", "--forget", "colours").code == 0
    assert JournalFile.open(folder / "red-hat.knitlog").state.facts.colours == ()


def test_the_folder_option_comes_before_the_environment(
    knitlog: Knitlog, folder: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    assert knitlog("--folder", other, "new", "Red hat", "--stitches", "96").code == 0
    assert (other / "red-hat.knitlog").exists()
    assert not folder.exists()


def test_a_name_taken_is_not_overwritten(knitlog: Knitlog, hat: str, folder: Path) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    done = knitlog("new", "red HAT", "--stitches", "50")
    assert done.code == 2
    assert "already a project" in done.sentence
    assert (folder / "red-hat.knitlog").read_bytes() == before


def test_the_list_shows_the_latest_first_and_what_cannot_be_opened(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    knitlog("new", "Blue cowl", "--stitches", "120")
    knitlog("finish", "blue")
    (folder / "torn.knitlog").write_bytes(b"")
    out = knitlog("list").out.splitlines()
    assert out[0].split() == ["Name", "Rounds", "Last", "logged", "Project"]
    assert any(line.startswith("red-hat") and "3 of 48" in line for line in out)
    assert any("Blue cowl (finished)" in line for line in out)
    assert any(line.startswith("! torn:") and "empty" in line for line in out)


def test_an_empty_folder_says_how_to_begin(knitlog: Knitlog) -> None:
    done = knitlog("list")
    assert done.code == 0
    assert "knitlog new" in done.out


def test_show_tells_verdict_facts_and_last_rounds(knitlog: Knitlog, hat: str) -> None:
    for entry in ("+2", "+2.5", "+2", "+3", "+2", "+2"):
        knitlog("log", hat, entry)
    out = knitlog("show", hat).out
    assert out.startswith("Red hat\n")
    assert "Stitches too small" in out
    assert "Do this:" in out
    assert "US 4 (3.5 mm)" in out
    assert "9 of 48 planned" in out
    assert "Round   9:" in out
    assert "Undo would take back round 9." in out


def test_show_of_a_project_without_rounds(knitlog: Knitlog) -> None:
    knitlog("new", "Scarf", "--stitches", "60", "--flat")
    out = knitlog("show", "scarf").out
    assert "No round logged yet" in out
    assert "60 in a row" in out


def test_settings_change_and_forget_facts(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("settings", hat, "--tolerance", "4", "--name", "Redder hat").code == 0
    assert knitlog("settings", hat, "--forget", "repeat-length").code == 0
    state = JournalFile.open(folder / "red-hat.knitlog").state
    assert (state.name, state.facts.tolerance) == ("Redder hat", 4.0)
    assert state.facts.repeat_length_mm is None
    assert knitlog("settings", hat).code == 2


def test_her_own_minutes_are_set_some_at_a_time_and_taken_back(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    def told() -> dict[str, float] | None:
        return JournalFile.open(folder / "red-hat.knitlog").state.facts.minutes

    assert knitlog("settings", hat, "--minutes", "needle=6, round-out=1").code == 0
    assert knitlog("settings", hat, "--minutes", "round-out=usual; count=0,5").code == 0
    assert told() == {"needle": 6.0, "count": 0.5}
    for back in (("--minutes", "usual"), ("--forget", "minutes")):
        assert knitlog("settings", hat, *back).code == 0
        assert told() is None
        assert "change of settings" in knitlog("undo", hat).out
        assert told() == {"needle": 6.0, "count": 0.5}
    before = (folder / "red-hat.knitlog").read_bytes()
    done = knitlog("settings", hat, "--minutes", "tea=5")
    assert done.code == 2
    assert "tea" in done.sentence
    assert "tapestry, rip, ripped-stitch, needle, gauge-line" in done.sentence
    assert (folder / "red-hat.knitlog").read_bytes() == before


def test_her_own_minutes_go_wherever_a_project_goes(
    knitlog: Knitlog, folder: Path, tmp_path: Path
) -> None:
    own = {"ripped-stitch": 0.2, "round-out": 1.0}
    minutes = ("--minutes", "round-out=1, ripped-stitch=0.2, needle=usual")
    assert knitlog("new", "Red hat", "--stitches", "96", *minutes).code == 0
    assert knitlog("log", "red-hat", "37").code == 0
    table = tmp_path / "red.csv"
    assert knitlog("export", "red-hat", "-o", table).code == 0
    assert knitlog("import", table, "--name", "Blue hat", "--minutes", "needle=6").code == 0
    assert JournalFile.open(folder / "red-hat.knitlog").state.facts.minutes == own
    assert JournalFile.open(folder / "blue-hat.knitlog").state.facts.minutes == {
        **own,
        "needle": 6.0,
    }
    assert knitlog("settings", "blue-hat", "--minutes", "round-out=usual").code == 0
    for how in ((), ("--tables",)):
        out, again = tmp_path / f"out{len(how)}", tmp_path / f"again{len(how)}"
        assert knitlog("export-all", out).code == 0
        assert knitlog("--folder", again, "import-all", out, *how).code == 0
        for path in folder.glob("*.knitlog"):
            assert (again / path.name).read_bytes() == path.read_bytes()


def test_a_finished_project_takes_no_rounds_until_that_is_undone(
    knitlog: Knitlog, hat: str
) -> None:
    assert "finished after 3 rounds" in knitlog("finish", hat).out
    done = knitlog("log", hat, "37")
    assert done.code == 2
    assert "finished" in done.sentence
    assert knitlog("undo", hat).code == 0
    assert knitlog("log", hat, "37").code == 0


def test_export_and_import_bring_the_same_log_back(
    knitlog: Knitlog, folder: Path, tmp_path: Path
) -> None:
    for sample in sorted(SAMPLES.glob("*.knitlog")):
        assert knitlog("import", sample, "--name", f"{sample.stem} one").code == 0
        table = tmp_path / f"{sample.stem}.csv"
        assert knitlog("export", f"{sample.stem} one", "-o", table).code == 0
        assert knitlog("export", f"{sample.stem} one").out == table.read_text(encoding="utf-8")
        assert knitlog("import", table, "--name", f"{sample.stem} two").code == 0
        one = JournalFile.open(folder / f"{sample.stem}-one.knitlog").state
        two = JournalFile.open(folder / f"{sample.stem}-two.knitlog").state
        assert [(e.round, e.positions) for e in one.entries] == [
            (e.round, e.positions) for e in two.entries
        ]
        assert one.facts == two.facts
        assert one.stints == two.stints
        assert [(f.after_round, f.taken_out) for f in one.fixes] == [
            (f.after_round, f.taken_out) for f in two.fixes
        ]


def test_import_takes_facts_from_options(knitlog: Knitlog, folder: Path, tmp_path: Path) -> None:
    table = tmp_path / "plain.csv"
    table.write_text("round,stitch\n1,30\n2,32\n")
    done = knitlog("import", table)
    assert done.code == 2
    assert "stitch" in done.sentence
    assert knitlog("import", table, "--stitches", "90", "--tolerance", "2").code == 0
    state = JournalFile.open(folder / "plain.knitlog").state
    assert (state.facts.stitches, state.facts.tolerance, state.last_round) == (90, 2.0, 2)
    assert knitlog("import", table, "--stitches", "90").code == 2  # the name is taken


def test_what_it_is_can_be_said_otherwise(knitlog: Knitlog, hat: str, folder: Path) -> None:
    assert knitlog("settings", hat, "--about", "for the keeper").code == 0
    assert JournalFile.open(folder / "red-hat.knitlog").state.about == "for the keeper"


def test_show_tells_what_was_changed_and_mended_beside_the_rounds(knitlog: Knitlog) -> None:
    facts = ["--stitches", "96", "--gauge", "20 st/10cm", "--target-drift", "-0.5"]
    knitlog("new", "Red hat", *facts, "--needle", "US 4")
    for entry in ("37", "39", "41"):
        knitlog("log", "red-hat", entry)
    knitlog("fix", "red-hat", "4")
    knitlog("change", "red-hat", "--stitches", "98")
    knitlog("log", "red-hat", "37")
    out = knitlog("show", "red-hat").out
    assert re.search(r"Gauge +20 st", out)
    assert re.search(r"Wanted drift +-0\.5 stitches a round", out)
    assert re.search(r"Round +4: 37 .*from here 98 stitches on US 4", out)
    assert re.search(r"Round +3: 41 .*then tapestry needle: 4 taken out", out)


def test_show_as_json_tells_what_to_expect(knitlog: Knitlog, hat: str) -> None:
    told = json.loads(knitlog("show", hat, "--json").out)
    assert (told["project"], told["rounds"], told["finished"]) == ("red-hat", 3, False)
    coming = told["next"]
    # 37, 39, 41: the next is expected at 43
    assert coming["round"] == 4
    assert coming["expected"]["mean"] == pytest.approx(43.0, abs=1.0)
    assert coming["expected"]["low95"] < coming["expected"]["mean"] < coming["expected"]["high95"]
    assert coming["in_place"]["high"] - coming["in_place"]["low"] == pytest.approx(6.0)
    fitted = json.loads(knitlog("fit", hat, "--json").out)
    assert fitted["next"] == {**coming, "aim": None}
    assert "Round 4: expect 43" in knitlog("show", hat).out


def test_a_copy_that_has_parted_is_joined_and_asked_about(
    knitlog: Knitlog, hat: str, folder: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "elsewhere" / "red-hat.knitlog"
    copy.parent.mkdir()
    copy.write_bytes((folder / "red-hat.knitlog").read_bytes())
    assert knitlog("log", hat, "43").code == 0
    for entry in ("44", "46"):
        assert knitlog("--folder", copy.parent, "log", "red-hat", entry).code == 0
    out = knitlog("import", copy).out
    assert "red-hat.knitlog is a copy of Red hat" in out
    assert "Rounds that only the copy had: 5." in out
    assert (
        "? Here it says round 4 at stitch 43, in the copy round 4 at stitch 44: which is right?"
        in out
    )
    assert re.search(r"Round +5: 46\nRound +4: 43\n", knitlog("show", hat).out)
    again = knitlog("import", copy).out
    assert "holds nothing that is not here" in again


def test_a_copy_in_the_folder_is_joined_by_mending(
    knitlog: Knitlog, hat: str, folder: Path, tmp_path: Path
) -> None:
    copy = folder / "red-hat 2.knitlog"
    copy.write_bytes((folder / "red-hat.knitlog").read_bytes())
    assert knitlog("log", hat, "43").code == 0
    away = tmp_path / "away"
    away.mkdir()
    (away / "red-hat.knitlog").write_bytes(copy.read_bytes())
    assert knitlog("--folder", away, "log", "red-hat", "45", "--round", "5").code == 0
    copy.write_bytes((away / "red-hat.knitlog").read_bytes())
    out = knitlog("mend", hat).out
    assert out.startswith("Red hat is whole: 4 rounds")
    assert "Rounds that only the copy had: 5." in out
