"""Looking back on the command line, on the invented year."""

import json
from pathlib import Path

import pytest

from knitlog.cli.answers import Progress

from .conftest import SAMPLES, Knitlog


@pytest.fixture
def year(knitlog: Knitlog, folder: Path) -> Path:
    """The invented year, laid out in the folder."""
    done = knitlog("sample-year", folder)
    assert done.code == 0
    assert "invented" in done.out
    return folder


@pytest.mark.usefixtures("year")
def test_review_as_text_as_json_and_as_a_page(knitlog: Knitlog, tmp_path: Path) -> None:
    told = knitlog("review", "storm-week-yoke")
    assert told.code == 0
    assert "nothing was logged" in told.out
    content = json.loads(knitlog("review", "storm-week-yoke", "--json").out)
    assert content["project"] == "03-storm-week-yoke"
    assert len(content["stints"]) == 2
    assert (
        content["fixes"][0]["did_stitches"]["low95"] < content["fixes"][0]["did_stitches"]["mean"]
    )
    page = tmp_path / "review.html"
    done = knitlog("review", "storm-week-yoke", "--html", page, "--quiet")
    assert (done.code, done.err) == (0, "")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_bare_file_is_reviewed_too(knitlog: Knitlog) -> None:
    done = knitlog("review", SAMPLES / "needle-changed.csv")
    assert done.code == 0
    assert "5 mm" in done.out


@pytest.mark.usefixtures("year")
def test_hands_and_doing_without_them(knitlog: Knitlog, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "From 8 finished projects." in knitlog("hands").out
    content = json.loads(knitlog("hands", "--json").out)
    assert len(content["projects"]) == 8
    assert content["habits"]["needle_answer_share"]["mean"] < 1.0
    drift = json.loads(knitlog("fit", "second-frost-hat", "--json").out)["drift"]
    without = json.loads(knitlog("fit", "second-frost-hat", "--json", "--without-hands").out)
    assert drift["sd"] < without["drift"]["sd"]
    monkeypatch.setenv("KNITLOG_WITHOUT_HANDS", "1")
    again = json.loads(knitlog("fit", "second-frost-hat", "--json").out)
    assert again["drift"] == without["drift"]
    assert "No finished project" in knitlog("hands").out


@pytest.mark.usefixtures("year")
def test_a_file_is_measured_by_itself(knitlog: Knitlog, monkeypatch: pytest.MonkeyPatch) -> None:
    said = knitlog("fit", SAMPLES / "too-small.csv", "--json").out
    monkeypatch.setenv("KNITLOG_WITHOUT_HANDS", "1")
    assert knitlog("fit", SAMPLES / "too-small.csv", "--json").out == said


@pytest.mark.usefixtures("year")
def test_two_projects_side_by_side(knitlog: Knitlog) -> None:
    done = knitlog("compare", "first-frost-hat", "second-frost-hat")
    assert done.code == 0
    assert "Yarn per stitch" in done.out
    lines = json.loads(knitlog("compare", "01", "09", "--json").out)["lines"]
    assert {"what": "stitches", "first": [79], "second": [80]} in lines


@pytest.mark.usefixtures("year")
def test_words_are_found(knitlog: Knitlog) -> None:
    assert "round 33" in knitlog("search", "lamp", "shutters").out
    assert "Nothing was written of moonrise." in knitlog("search", "moonrise").out
    hits = json.loads(knitlog("search", "storm", "--json").out)["hits"]
    assert {h["project"] for h in hits} == {"03-storm-week-yoke"}


@pytest.mark.parametrize("how", [(), ("--tables",)])
def test_everything_out_and_back(
    knitlog: Knitlog, year: Path, tmp_path: Path, how: tuple[str, ...]
) -> None:
    assert knitlog("export-all", tmp_path / "out").code == 0
    again = tmp_path / "again"
    assert knitlog("--folder", again, "import-all", tmp_path / "out", *how).code == 0
    for path in year.glob("*.knitlog"):
        assert (again / path.name).read_bytes() == path.read_bytes()
    second = knitlog("--folder", again, "import-all", tmp_path / "out")
    assert second.code == 1
    assert "already" in second.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("review", "nobody"), "no project"),
        (("compare", "nobody", "nothing"), "no project"),
        (("import-all", "nowhere"), "cannot be read"),
        (("search", " "), "word to look for"),
    ],
)
def test_what_is_not_there_is_said_in_a_sentence(
    knitlog: Knitlog, arguments: tuple[str, ...], words: str
) -> None:
    done = knitlog(*arguments)
    assert done.code == 2
    assert words in done.sentence


@pytest.mark.usefixtures("year")
def test_a_page_that_cannot_be_written_is_said_in_a_sentence(
    knitlog: Knitlog, tmp_path: Path
) -> None:
    done = knitlog("review", "thaw-headband", "--html", tmp_path / "no" / "where.html", "--quiet")
    assert done.code != 0
    assert done.sentence


def test_progress_is_told_only_after_a_second(capfd: pytest.CaptureFixture[str]) -> None:
    now = [100.0]
    progress = Progress(clock=lambda: now[0])
    progress("drawing")
    assert capfd.readouterr().err == ""
    now[0] += 1.5
    progress("drawing")
    progress.counted(3, 20)
    progress.counted(5, 20)
    out, err = capfd.readouterr()
    assert out == ""
    assert err == "knitlog: drawing ...\nknitlog: read 5 of 20 finished projects ...\n"


@pytest.mark.usefixtures("year")
def test_a_plan_is_read_by_her_own_hands(knitlog: Knitlog) -> None:
    asked = ("plan", "yarn", "--gauge", "22 st/10cm", "--fibre", "wool", "--pattern", "plain")
    own = json.loads(knitlog(*asked, "--json").out)
    anybody = json.loads(knitlog(*asked, "--without-hands", "--json").out)
    # hers take 4.27 stitch widths where Munden's law has 4.1 (wet relaxed)
    assert own["yarn_per_stitch_mm"]["low95"] < 42.7 / 2.2 < own["yarn_per_stitch_mm"]["high95"]
    assert own["yarn_per_stitch_mm"]["mean"] > anybody["yarn_per_stitch_mm"]["mean"]
    assert own["yarn_per_stitch_mm"]["sd"] < 0.6 * anybody["yarn_per_stitch_mm"]["sd"]
    assert [w["way"] for w in own["ways"]] == ["gauge and your hands"]
    assert [w["way"] for w in anybody["ways"]] == ["gauge"]
    by_needle = json.loads(knitlog("plan", "yarn", "--needle", "4mm", "--json").out)
    assert [w["way"] for w in by_needle["ways"]] == ["your hands"]
    found = knitlog("plan", "stitches", "--gauge", "22 st/10cm", "--repeat-length", "60in",
                    "--needle", "4mm", "--json").out  # fmt: skip
    # k L / s with her own s, not Munden's
    assert json.loads(found)["candidates"][0]["stitches"] in range(75, 82)


@pytest.mark.usefixtures("year")
def test_hands_as_a_page(knitlog: Knitlog, tmp_path: Path) -> None:
    page = tmp_path / "hands.html"
    done = knitlog("hands", "--html", page)
    assert done.code == 0
    assert "From 8 finished projects." in page.read_text(encoding="utf-8")


def test_a_comparison_and_an_undo_are_told_in_her_units(knitlog: Knitlog) -> None:
    told = ("--stitches", "128", "--needle", "US 7", "--gauge", "20 st/4in")
    for name in ("Hat", "Cap"):
        assert knitlog("new", name, *told, "--repeat-length", "60in").code == 0
    for stitch in (37, 38, 39):
        knitlog("log", "hat", stitch)
    knitlog("change", "hat", "--needle", "US 8")
    told_undo = knitlog("show", "hat").out
    assert "take back the change to US 8 (5 mm) needles at round 4" in told_undo
    lines = {
        line[:20].strip(): line[20:] for line in knitlog("compare", "hat", "cap").out.split("\n")
    }
    assert lines["Needle"].split("  ")[0].strip() == "US 7 (4.5 mm), then US 8 (5 mm)"
    assert "20 st/4in" in lines["Gauge"]
    assert "yd" in lines["Yarn used"]
