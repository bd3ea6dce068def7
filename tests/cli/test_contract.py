"""Every field that ``--json`` prints is told of in DEVELOPERS.md."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from knitlog.analysis.samples import lay_out_samples, sample_year, samples

from .conftest import Knitlog

DEVELOPERS = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
RUN = "rose 30cm, moss 45cm #117733, snow 77cm"
COUNT = ["--yarn-per-stitch", "20mm", "--needle", "4.5mm"]
ROUND = ["--stitches", "96", "--yarn-per-stitch", "12.5mm"]
JOIN = ["--colours", RUN, "--old-ends", "52cm", "--new-starts", "10cm"]
NAMES = ["in-line", "needle-changed", "too-small", "two-changes", "worked-flat"]
OF_SAMPLES = [
    ["fit", *NAMES],
    ["advise", *NAMES],
    *(["show", name] for name in NAMES),
    ["review", "needle-changed"],
    ["compare", "too-small", "too-large"],
    ["search", "needle"],
    ["fabric", "two-changes", "--under", "all"],
]
OF_THE_YEAR = [
    ["review", "03-storm-week-yoke"],
    ["review", "04-long-night-wristers"],
    ["hands"],
    ["advise", "09-second-frost-hat"],
]
OF_NONE = [
    ["plan", "yarn", "--gauge", "20 st/10cm", "--pulled-out", "40=82cm"],
    ["plan", "past", "20mm", "20.4mm"],
    ["plan", "stitches", *COUNT, "--repeat-length", "60in"],
    ["plan", "count", "76", *COUNT, "--colours", RUN, "--begin", "Red hat"],
    ["plan", "cast-on", "-4", "--stitches", "128"],
    ["plan", "cast-on-yarn", "4cm", "--stitches", "76", "--repeat-length", "152cm"],
    ["plan", "enough", *ROUND, "--left", "30g", "--skein", "400m/100g", "--rounds", "50"],
    ["plan", "weighed", "--before", "63g", "--now", "49g", "--knitted", "12"],
    ["plan", "skeins", *ROUND, "--rounds", "120", "--skein", "200m", "--joining", "152cm"],
    ["plan", "join", *JOIN],
    ["plan", "mend-join", *JOIN, "--offset", "4", "--yarn-per-stitch", "20mm"],
    ["plan", "new-repeat", "0.5", "--stitches", "128", "--old", "60in", "--new=59in"],
    ["plan", "fabric", "--colours", RUN, "--stitches", "20", "--rounds", "2"],
    ["yarn", "keep", "Hut sunset", RUN],
    ["yarn", "list"],
    ["yarn", "show", "sunset"],
    ["yarn", "check", RUN, "--reel", "140cm"],
    ["yarn", "drop", "sunset"],
]


def fields(value: Any) -> Iterator[str]:
    """Every name in a JSON answer."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from fields(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from fields(inner)


def told_of() -> set[str]:
    """Every name the contract tells of; ``fix_share_*`` stands for each way of mending."""
    contract = DEVELOPERS[DEVELOPERS.index("## The measuring contract") :]
    return set(re.findall(r"`([a-z0-9_*-]+)`", contract[: contract.index("### From Python")]))


def untold(knitlog: Knitlog, commands: list[list[str]]) -> dict[str, set[str]]:
    """The fields nobody is told of, by command."""
    known, missing = told_of(), {}
    for command in commands:
        done = knitlog(*command, "--json")
        assert done.code == 0, done.err
        found = {name for line in done.out.splitlines() for name in fields(json.loads(line))}
        assert found, command
        named = {re.sub(r"^fix_share_.*", "fix_share_*", name) for name in found}
        if named - known:
            missing[" ".join(command)] = named - known
    return missing


def test_what_is_told_of_a_project(knitlog: Knitlog, folder: Path) -> None:
    lay_out_samples(folder, samples())
    assert untold(knitlog, OF_SAMPLES) == {}


def test_what_is_told_looking_back_on_a_year(knitlog: Knitlog, folder: Path) -> None:
    lay_out_samples(folder, sample_year())
    assert untold(knitlog, OF_THE_YEAR) == {}


def test_what_is_told_before_casting_on(knitlog: Knitlog) -> None:
    assert untold(knitlog, OF_NONE) == {}


def test_a_field_nobody_is_told_of_is_found() -> None:
    assert set(fields({"drift": [{"secret": 1}]})) - told_of() == {"secret"}


@pytest.mark.parametrize("command", ["fit", "advise", "show", "review", "hands", "compare"])
def test_the_contract_names_the_command(command: str) -> None:
    assert re.search(rf"`(knitlog )?{command}\b", DEVELOPERS)
