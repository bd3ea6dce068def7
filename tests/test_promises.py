"""Every promise of ``tests/README.md`` names a test that is there."""

import re
from pathlib import Path

import pytest

HERE = Path(__file__).parent
TOLD = (HERE / "README.md").read_text(encoding="utf-8")
PROMISES = [
    line
    for line in TOLD[: TOLD.index("## What the tests do not reach")].splitlines()
    if line.startswith("| ") and not line.startswith(("| promise", "| ---"))
]


@pytest.mark.parametrize("line", PROMISES, ids=lambda line: line[2:60])
def test_the_test_that_says_so_is_there(line: str) -> None:
    named = re.findall(r"`((?:[\w/]+/)?test_\w+\.py)(?:::(\w+))?`", line.split("|")[2])
    scripts = re.findall(r"`(\.ci/\w+)`", line)
    assert named or scripts
    for file, function in named:
        text = (HERE / file).read_text(encoding="utf-8")
        assert f"def {function or 'test_'}" in text
    for script in scripts:
        assert (HERE.parent / script).is_file()


def test_there_are_promises() -> None:
    assert len(PROMISES) > 20
