"""CSV logs in: the measuring contract, and one clear sentence for everything else."""

import tracemalloc
from pathlib import Path

import pytest

from knitlog.journal import csvtable
from knitlog.journal.csvlog import LogRead, read_csv_log
from knitlog.journal.csvtable import CsvError
from knitlog.journal.errors import JournalError, JournalMissingError
from knitlog.journal.project import to_drift_log

WHOLE = """\
# name: Hut socks
# about: Invented for the tests.
# stitches: 64
# repeats: 1
# repeat-length: 152.4cm
# needle: US 4
# gauge: 28 st/4in
# rounds: 80
# tolerance: 2.5
# multiple: 4
round,stitch,change,needle_mm,stitches,fix_stitches,note
1,10,1,,,,
1,42.5,2,,,,second colour
2,12,1,3.5,64,,
4,63,1,,,3,"evened out, by needle"
5,1,1,3.25,,,
6,2,1,,60,-1.5,
"""


def read(text: str, **overrides: str) -> LogRead:
    return read_csv_log(text.encode(), {k.replace("_", "-"): v for k, v in overrides.items()})


def test_a_log_with_everything_in_it() -> None:
    csv = read(WHOLE)
    assert csv.warnings == ()
    assert csv.state.name == "Hut socks"
    assert csv.state.about == "Invented for the tests."
    facts = csv.state.facts
    assert facts.stitches == 64
    assert facts.repeat_length_mm == pytest.approx(1524.0)
    assert facts.needle_mm == 3.5
    # 28 stitches in 4 in of 25.4 mm each (the inch is exact: yard and pound agreement, 1959)
    assert facts.gauge_stitches_per_cm == pytest.approx(28 / 10.16)
    assert (facts.planned_rounds, facts.tolerance, facts.multiple) == (80, 2.5, 4)
    log = to_drift_log(csv.state)
    assert [(r.round, r.change, r.stitch) for r in log.readings] == [
        (1, 1, 10.0),
        (1, 2, 42.5),
        (2, 1, 12.0),
        (4, 1, 63.0),
        (5, 1, 1.0),
        (6, 1, 2.0),
    ]
    assert {r.sitting for r in log.readings} == {None}
    assert [(s.first_round, s.stitches, s.needle_mm) for s in log.stints] == [
        (1, 64, 3.5),
        (5, 64, 3.25),
        (6, 60, 3.25),
    ]
    assert [(f.after_round, f.taken_out) for f in log.fixes] == [(4, 3.0), (6, -1.5)]
    assert [(n.round, n.text) for n in csv.state.notes] == [
        (1, "second colour"),
        (4, "evened out, by needle"),
    ]


def test_two_columns_and_an_option_are_enough() -> None:
    csv = read("round,stitch\n1,37\n3,38.5\n", stitches="128")
    assert [(r.round, r.stitch) for r in to_drift_log(csv.state).readings] == [(1, 37.0), (3, 38.5)]
    assert to_drift_log(csv.state).repeat_length_mm is None
    assert csv.state.facts.tolerance == 3.0


def test_options_come_before_the_lines_on_top() -> None:
    csv = read(WHOLE, tolerance="4", needle="4mm", repeat_length="60in", gauge="20 st/10cm")
    assert csv.state.facts.tolerance == 4.0
    assert csv.state.facts.needle_mm == 4.0
    assert csv.state.facts.repeat_length_mm == 1524.0
    assert csv.state.facts.gauge_stitches_per_cm == 2.0
    assert csv.state.facts.planned_rounds == 80


def test_an_option_saves_a_line_on_top_that_makes_no_sense() -> None:
    assert read("# stitches: many\nround,stitch\n1,3\n", stitches="12").state.facts.stitches == 12


def test_the_other_facts_have_keys_too() -> None:
    csv = read(
        "# stitches: 64\n# flat: yes\n# target-drift: -0.5\n# home: 1=10, 2=42.5\n"
        "# needles-owned: 3.5mm, US 7, 3.25\n# yarn-thickness: 2.2mm\n# max-size-change: 5%\n"
        "# note: Snowed in.\nround,stitch\n1,3\n"
    )
    facts = csv.state.facts
    assert facts.flat
    assert facts.target_drift == -0.5
    assert facts.homes == {1: 10.0, 2: 42.5}
    assert facts.needles_owned_mm == (3.25, 3.5, 4.5)
    assert facts.yarn_thickness_mm == 2.2
    assert facts.max_size_change_percent == 5.0
    assert [n.text for n in csv.state.notes] == ["Snowed in."]


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffround,stitch\r\n1,37.5\r\n2,38\r\n",
        "round;stitch\n1;37,5\n2;38\n",
        "round\tstitch\n1\t37,5\n2\t38\n",
        "sep=;\nround;stitch\n1;37.5\n2;38\n",
        "Round, Stitch \n 1, 37.5\n2,38",
        '"round","stitch"\n"1","37.5"\n"2","38"\n',
        "stitch,round\n37.5,1\n38,2\n",
        "round,stitch,,\n1,37.5,,\n2,38,,\n,,,\n",
        "round,stitch\n2,38\n1,37.5\n",
        "\n\nround,stitch\n\n1.0,37½\n\n2,38.0\n",
        "round,stitch\r1,37.5\r2,38\r",
        "# a remark\nround,stitch\n1,37.5\n# another\n2,38\n",
        "round,stitch,mood\n1,37.5,calm\n2,38,\n",
    ],
    ids=range(13),
)
def test_the_ways_of_other_programs_are_read(text: str) -> None:
    csv = read(text, stitches="128")
    assert [(r.round, r.stitch) for r in to_drift_log(csv.state).readings] == [(1, 37.5), (2, 38.0)]


def test_key_lines_as_a_spreadsheet_saves_them() -> None:
    text = (
        '# stitches: 128,,\n"# repeat-length: 152,4cm",,\n# Needle : 4.5mm,,\nround,stitch,\n1,3,\n'
    )
    facts = read(text).state.facts
    assert (facts.stitches, facts.needle_mm) == (128, 4.5)
    assert facts.repeat_length_mm == pytest.approx(1524.0)


def test_a_stitch_count_may_stand_in_its_column_only() -> None:
    csv = read("round,stitch,stitches\n1,3,64\n2,4,\n3,5,60\n")
    assert csv.state.facts.stitches == 64
    assert [(s.first_round, s.stitches) for s in to_drift_log(csv.state).stints] == [
        (1, 64),
        (3, 60),
    ]


def test_a_skipped_round_may_be_an_empty_cell() -> None:
    csv = read("round,stitch,fix_stitches\n1,3,\n2,,2\n3,5,\n", stitches="64")
    assert [r.round for r in to_drift_log(csv.state).readings] == [1, 3]
    assert [f.after_round for f in to_drift_log(csv.state).fixes] == [2]


def test_a_fix_said_beside_each_colour_change_is_one_fix() -> None:
    csv = read("round,stitch,change,fix_stitches\n1,3,1,2\n1,30,2,2\n", stitches="64")
    assert [f.taken_out for f in to_drift_log(csv.state).fixes] == [2.0]


def test_what_is_left_out_is_said() -> None:
    csv = read("# stiches: 96\n# stitches: 64\n# A remark: fine.\nround,stitch,mood\n1,3,calm\n")
    assert csv.warnings == (
        "Line 1: there is no fact called 'stiches'; did you mean stitches? It was left out.",
        "Line 4: the column 'mood' means nothing here and was left out.",
    )


def rows(*lines: str, head: str = "round,stitch") -> str:
    return "\n".join(("# stitches: 64", head, *lines, ""))


BAD = {
    "no number": (rows("1,two"), "Line 3: 'two' is not a number; type it as 37 or 37.5."),
    "nan": (rows("1,nan"), "Line 3: 'nan' is not a number; type it as 37 or 37.5."),
    "infinity": (rows("1,inf"), "Line 3: 'inf' is not a number; type it as 37 or 37.5."),
    "exponent": (
        rows("1,1e308"),
        "Line 3: '1e308' is not a number here; write it out, as 37 or 37.5.",
    ),
    "hex": (rows("1,0x10"), "Line 3: '0x10' is not a number; type it as 37 or 37.5."),
    "other digits": (rows("1,٣"), "Line 3: '٣' is not a number; type it as 37 or 37.5."),
    "endless digits": (
        rows("1," + "9" * 5000),
        f"Line 3: '{'9' * 40}...' has more digits than any number here; type it as 37 or 37.5.",
    ),
    "escape": (rows("1,\x1b[2J"), "Line 3: '␛[2J' is not a number; type it as 37 or 37.5."),
    "negative": (
        rows("1,3", "2,-1"),
        "Line 4: stitch -1 is not in the round, which has 64; positions run from 0 to 64.",
    ),
    "beyond": (
        rows("1,3", "2,64.5"),
        "Line 4: stitch 64.5 is not in the round, which has 64; positions run from 0 to 64.",
    ),
    "beyond after a change": (
        rows("1,3,", "2,64,60", head="round,stitch,stitches"),
        "Line 4: stitch 64 is not in the round, which has 60; positions run from 0 to 60.",
    ),
    "round 0": (rows("0,3"), "Line 3: 0 is no round; number the rounds from 1 to 100,000."),
    "round negative": (
        rows("-2,3"),
        "Line 3: -2 is no round; number the rounds from 1 to 100,000.",
    ),
    "half a round": (rows("1.5,3"), "Line 3: '1.5' is not a whole number; type it as 12."),
    "huge round": (
        rows("1000000,3"),
        "Line 3: 1000000 is no round; number the rounds from 1 to 100,000.",
    ),
    "no round": (rows(",3"), "Line 3: the round is missing; number the rounds from 1."),
    "change 0": (
        rows("1,3,0", head="round,stitch,change"),
        "Line 3: 0 is no colour change; number them from 1 to 24.",
    ),
    "twice": (
        rows("1,3", "2,4", "1,5"),
        "Line 5: round 1 was given before, on line 3; keep one, or number several colour changes "
        "of a round in a column called change.",
    ),
    "cut short": (rows("1,3", "2"), "Line 4 stops early; the file may have been cut short."),
    "cut in quotes": (
        rows("1,3,ok", '2,4,"a note', head="round,stitch,note"),
        "Line 4: a quotation mark is not closed, or something follows it; the file may have been "
        "cut short.",
    ),
    "decimal comma": (
        rows("1,37,5"),
        "Line 3 has 3 cells, but there are 2 columns; write halves as 37.5, and put quotation "
        "marks round a note with commas in it.",
    ),
    "needle": (
        rows("1,3,4.5km", head="round,stitch,needle_mm"),
        "Line 3: '4.5km' is not a needle size: type it as 4.5mm, US 7, UK 7 or JP 8.",
    ),
    "two needles": (
        rows("1,3,1,4", "1,9,2,5", head="round,stitch,change,needle_mm"),
        "Line 4: this round has another needle above; give it once a round.",
    ),
    "two fixes": (
        rows("1,3,1,4", "1,9,2,5", head="round,stitch,change,fix_stitches"),
        "Line 4: this round has another fix above; give it once a round.",
    ),
    "fix too large": (
        rows("1,3,99999", head="round,stitch,fix_stitches"),
        "Line 3: The fix cannot be '99999': it must be 10,000 or less.",
    ),
    "no stitch column": (
        "round,position\n1,3\n",
        "Line 1 must name the columns, and there is no 'stitch' among them; begin with "
        "round,stitch.",
    ),
    "no column names": (
        "# stitches: 64\n1,3\n2,4\n",
        "Line 2 must name the columns, and there is no 'round' among them; begin with "
        "round,stitch.",
    ),
    "column twice": (
        rows("1,3,4", head="round,stitch,stitch"),
        "Line 2 names the column 'stitch' twice.",
    ),
    "no rows": (rows(), "There are no rounds in it; type one a line under the column names."),
    "only key lines": (
        "# stitches: 64\n",
        "There are no column names; the first row must be round,stitch.",
    ),
    "empty": ("", "The file is empty; a log begins with a line such as round,stitch."),
    "blank": ("\n \r\n", "The file is empty; a log begins with a line such as round,stitch."),
    "no stitch count": (
        "round,stitch\n1,3\n",
        "It does not say how many stitches a round has; add a line such as # stitches: 128 at "
        "the top, or give --stitches 128.",
    ),
    "one stitch": (
        "# stitches: 1\nround,stitch\n1,1\n",
        "Line 1: The stitch count cannot be '1': it must be 2 or more.",
    ),
    "no such unit": (
        "# repeat-length: 60 ells\n" + rows("1,3"),
        "Line 1: 'ells' in '60 ells' is not a unit of length: use mm, cm, m, in or yd.",
    ),
    "no unit": (
        "# repeat-length: 152\n" + rows("1,3"),
        "Line 1: '152' has no unit: add mm, cm, m, in or yd after the number, as 152cm or 60in.",
    ),
    "no gauge": (
        "# gauge: tight\n" + rows("1,3"),
        "Line 1: 'tight' is not a gauge: type it as 20 st/4in, 20 st/10cm or 20 st 28 rows/10cm.",
    ),
    "absurd length": (
        "# repeat-length: 99999999m\n" + rows("1,3"),
        "Line 1: The repeat length cannot be '99999999000': it must be 1,000,000 or less.",
    ),
    "two counts": (
        "# stitches: 60\n" + rows("1,3"),
        "Line 2 says stitches is '64', but line 1 says '60'; keep one.",
    ),
    "bad home": (
        "# home: here\n" + rows("1,3"),
        "Line 1: 'here' is no home; type the stitch, as 37, or one for each colour change, as "
        "1=37, 2=90.",
    ),
    "flat maybe": ("# flat: maybe\n" + rows("1,3"), "Line 1: 'maybe' is neither; type yes or no."),
}


@pytest.mark.parametrize("case", BAD)
def test_what_is_wrong_is_said_in_one_sentence_with_its_line(case: str) -> None:
    text, sentence = BAD[case]
    with pytest.raises(CsvError) as raised:
        read(text)
    assert str(raised.value) == sentence


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"\x7fELF\x02\0\0\0", "The file is not text; is it the right file? A table must be saved "
         "as CSV."),
        ("round,stitch\n1,3\n".encode("utf-16"), "The file is UTF-16 text; save it again as CSV "
         "in UTF-8."),
        (b"round,stitch,note\n1,3,ok\n2,4,K\xe4lte\n", "Line 3 is not UTF-8 text; save the file "
         "again as CSV in UTF-8."),
        (b"round,stitch\n" + b"x" * (20 * 1024 * 1024), "That is larger than 20 MB, too large for "
         "a log; is it the right file?"),
    ],
)  # fmt: skip
def test_what_is_no_text_is_refused(data: bytes, sentence: str) -> None:
    with pytest.raises(JournalError) as raised:
        read_csv_log(data, {"stitches": "64"})
    assert str(raised.value) == sentence


def test_an_option_that_will_not_do_is_named() -> None:
    with pytest.raises(JournalError, match=r"^--stitches: 'many' is not a number"):
        read(WHOLE, stitches="many")
    with pytest.raises(JournalError, match=r"^--speed: There is no fact called 'speed'"):
        read(WHOLE, speed="1")


def test_an_error_in_a_file_begins_with_the_files_name(tmp_path: Path) -> None:
    path = tmp_path / "so\x1bcks.csv"
    path.write_text("round,stitch\n1,x\n")
    with pytest.raises(CsvError, match=r"^so␛cks.csv: Line 2: 'x' is not a number"):
        read_csv_log(path)
    with pytest.raises(JournalMissingError, match="There is no file"):
        read_csv_log(tmp_path / "none.csv")
    with pytest.raises(JournalError, match="is a folder"):
        read_csv_log(tmp_path)


def test_a_project_without_a_name_takes_the_files(tmp_path: Path) -> None:
    path = tmp_path / "hut socks.csv"
    path.write_text(rows("1,3"))
    assert read_csv_log(path).state.name == "hut socks"


@pytest.mark.parametrize(
    "data",
    [
        b"\n" * 1_000_000,
        b"#\n" * 1_000_000,
        b"round,stitch\n" + b"\n" * 20_000,
        b"round,stitch\n" + b"1,2\n" * 20_000,
        b"round,stitch\n" + b"," * 5_000_000,
        b'round,stitch\n1,"' + b"x\n" * 2_000_000,
        b"round,stitch\n1," + b"9" * 10_000_000,
        b"# stitches: " + b"9" * 5_000_000 + b"\nround,stitch\n1,2\n",
        b"# name: " + b"x" * 5_000_000 + b"\nround,stitch\n1,2\n",
    ],
    ids=["blank", "remarks", "blank rows", "rows", "cells", "quotes", "digits", "fact", "name"],
)
def test_a_large_and_hostile_file_is_answered_with_little_memory(
    data: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(csvtable, "MAX_ROWS", 10_000)  # the same in a tenth of the time
    tracemalloc.start()
    try:
        with pytest.raises(JournalError) as raised:
            read_csv_log(data, {"stitches": "64"} if b"# stitches" not in data else None)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert len(str(raised.value)) < 300
    assert peak < 20 * len(data) + 50_000_000
