"""Planning from the command line, checked by hand arithmetic."""

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from .conftest import Knitlog

RUN = "rose 30cm, moss 45cm #117733, snow 25cm"


def told(knitlog: Knitlog, *arguments: str) -> dict[str, Any]:
    done = knitlog("plan", *arguments, "--json")
    assert (done.code, done.err) == (0, "")
    found: dict[str, Any] = json.loads(done.out)
    return found


def test_yarn_per_stitch_from_a_gauge_is_mundens(knitlog: Knitlog) -> None:
    # wet relaxed, Kw 4.1 (Munden 1959): 41 / 2 st per cm = 20.5 mm
    found = told(knitlog, "yarn", "--gauge", "20 st/10cm")
    assert found["yarn_per_stitch_mm"]["mean"] == pytest.approx(20.5)


def test_yarn_per_stitch_by_every_way_together(knitlog: Knitlog) -> None:
    arguments = ["yarn", "--gauge", "20 st/10cm", "--pulled-out", "40=82cm, 82cm"]
    arguments += ["--between-tags", "74, 74", "--repeat-length", "60in"]
    found = told(knitlog, *arguments)
    ways = {w["way"]: w["yarn_per_stitch_mm"]["mean"] for w in found["ways"]}
    assert ways["pulled out"] == pytest.approx(20.5)  # 820 / 40
    assert ways["between tags"] == pytest.approx(1524 / 74, rel=1e-3)
    assert sum(w["share"] for w in found["ways"]) == pytest.approx(1)
    assert min(ways.values()) <= found["yarn_per_stitch_mm"]["mean"] <= max(ways.values())
    assert "Yarn per stitch" in knitlog("plan", *arguments).out


def test_counts_between_tags_may_have_decimal_commas(knitlog: Knitlog) -> None:
    # 1524 / 74.75; typed with a comma, semicolons part them
    arguments = ["yarn", "--between-tags", "74,5; 75", "--repeat-length", "60in"]
    found = told(knitlog, *arguments)
    assert found["yarn_per_stitch_mm"]["mean"] == pytest.approx(1524 / 74.75, rel=1e-3)
    # no more digits than the spread leaves known: it is 0.36 mm
    assert knitlog("plan", *arguments).out.splitlines()[0] == (
        "Yarn per stitch: 20.4 mm (between 19.7 and 21.1, 19 times in 20)"
    )


def test_where_no_size_fits_the_nearest_are_listed(knitlog: Knitlog) -> None:
    # 1524 / 14.6 = 104.4 stitches a repeat; a stitch is 14.6 / 4.1 = 3.56 mm wide (Munden), so a
    # repeat is 37.2 cm around: 90 cm lies between two (74) and three (112)
    arguments = ["stitches", "--yarn-per-stitch", "14.6mm", "--repeat-length", "60in"]
    arguments += ["--needle", "3.25mm", "--size", "90cm"]
    found = told(knitlog, *arguments)
    assert found["fits"] is False
    assert [c["repeats"] for c in found["candidates"]][:2] == [2, 2]
    offs = [abs(c["size_off_percent"]) for c in found["candidates"]]
    assert offs == sorted(offs)
    said = knitlog("plan", *arguments).out
    assert said.startswith("No stitch count makes 90 cm with whole repeats: the nearest size")
    assert "about 74 cm" in said
    fitting = told(knitlog, *arguments[:-1], "74cm")
    assert (fitting["fits"], fitting["note"]) == (True, "")


def test_needles_and_multiples_are_read_as_everywhere(knitlog: Knitlog) -> None:
    arguments = ["stitches", "--yarn-per-stitch", "12mm", "--repeat-length", "152.4cm"]
    found = told(
        knitlog, *arguments, "--needle=4mm", "--needles-owned=4,5mm; 5mm", "--multiple", "8+1"
    )
    assert {c["needle_mm"] for c in found["candidates"]} <= {4.0, 4.5, 5.0}
    assert 4.5 in {c["needle_mm"] for c in found["candidates"]}
    assert all(c["stitches"] % 8 == 1 for c in found["candidates"])
    done = knitlog("plan", *arguments, "--needle", "7")
    assert done.code == 2
    assert "7 mm" in done.sentence


def test_stitch_counts_stack_where_the_arithmetic_says(knitlog: Knitlog) -> None:
    found = told(
        knitlog,
        *("stitches", "--yarn-per-stitch", "12mm", "--repeat-length", "152.4cm"),
        *("--needle", "4mm", "--gauge", "30 st/10cm"),
    )
    best = [c for c in found["candidates"] if c["stitches"] == 127 and c["repeats"] == 1]
    # 1524 / 12 = 127 exactly
    assert best[0]["drift"]["mean"] == pytest.approx(0, abs=0.05)
    assert all(0 <= c["chance_in_tolerance"] <= 1 for c in found["candidates"])


def test_a_cast_on_that_came_out_short(knitlog: Knitlog) -> None:
    found = told(knitlog, "cast-on", "-4", "--stitches", "128")
    assert found["yarn_change_percent"] == pytest.approx(-100 * 4 / 128)
    assert "tighter" in found["why"]


def test_yarn_left_by_length_and_by_weight(knitlog: Knitlog) -> None:
    # 96 stitches of 12.5 mm are 1.2 m a round; 120 m make 100 rounds
    by_length = told(
        knitlog, *("enough", "--stitches", "96", "--yarn-per-stitch", "12.5mm", "--left", "120m")
    )
    assert by_length["rounds_left"]["mean"] == pytest.approx(100, rel=0.01)
    # 30 g of a skein of 400 m in 100 g are 120 m
    by_weight = told(
        knitlog,
        *("enough", "--stitches", "96", "--yarn-per-stitch", "12.5mm", "--left", "30g"),
        *("--skein", "400m/100g", "--rounds", "50"),
    )
    assert by_weight["rounds_left"]["mean"] == pytest.approx(100, rel=0.01)
    assert by_weight["chance"] > 0.99


def test_a_join_goes_on_in_the_run(knitlog: Knitlog) -> None:
    # the old yarn is let go 15 cm before its end, at 37 cm: 7 cm into moss;
    # the new begins at 10 cm and is 15 cm of tail in, so 12 cm are cut
    found = told(knitlog, *("join", "--colours", RUN, "--old-ends", "52cm", "--new-starts", "10cm"))
    assert found["cut_mm"] == pytest.approx(120)
    assert found["join_colour"] == "moss"
    assert found["into_colour_mm"] == pytest.approx(70)


def test_a_fabric_in_letters_and_numbers(knitlog: Knitlog) -> None:
    arguments = ["fabric", "--colours", RUN, "--stitches", "100", "--rounds", "4", "--drift", "1"]
    found = told(knitlog, *arguments)
    # 1000 mm over 101 stitches: 9.90 mm each; the middles of 30 lie in the first
    # 300 mm, of 46 more before 750 mm
    assert found["rows"][0].count(0) == 30
    assert [c["colour"] for c in found["colours"]][1] == "#117733"
    # a stitch later each round
    assert found["rows"][1].index(1) - found["rows"][0].index(1) == 1
    lines = knitlog("plan", *arguments).out.splitlines()
    assert lines[0].startswith("   4 ")
    assert lines[3] == "   1 " + "S" * 24 + "M" * 46 + "R" * 30
    assert lines[5].split()[:2] == ["R", "rose"]


def test_a_fabric_as_a_picture(knitlog: Knitlog, tmp_path: Path) -> None:
    drawn = ["plan", "fabric", "--colours", RUN, "--stitches", "60", "-o"]
    svg, png = tmp_path / "hat.svg", tmp_path / "hat.png"
    for path in (svg, png):
        assert knitlog(*drawn, path).code == 0
    assert ElementTree.parse(svg).getroot().tag.endswith("svg")
    assert png.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    done = knitlog(*drawn, tmp_path / "hat.gif")
    assert done.code == 2
    assert ".svg" in done.sentence


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (["yarn"], "--gauge"),
        (["yarn", "--between-tags", "74"], "--repeat-length"),
        (["yarn", "--pulled-out", "40"], "40=48.2cm"),
        (["yarn", "--gauge", "many"], "many"),
        (["stitches", "--needle", "4mm"], "--repeat-length"),
        (["stitches", "--needle", "4mm", "--repeat-length", "60in"], "--yarn-per-stitch"),
        (["cast-on", "x", "--stitches", "9"], "x"),
        (["cast-on", "-20", "--stitches", "9"], "-20"),
        (["enough", "--stitches", "96"], "--left"),
        (["enough", "--stitches", "96", "--gauge", "20 st/10cm", "--left", "30g"], "30g"),
        (["join", "--colours", "rose", "--old-ends", "1cm", "--new-starts", "1cm"], "rose"),
        (["fabric", "--colours", RUN, "--stitches", "60", "--drift", "-60"], "drift"),
    ],
)
def test_nonsense_is_answered_in_a_sentence(
    knitlog: Knitlog, arguments: list[str], hint: str
) -> None:
    done = knitlog("plan", *arguments)
    assert done.code == 2
    assert hint in done.sentence
