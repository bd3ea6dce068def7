"""The room's README is run as it stands."""

import doctest
from pathlib import Path

import knitlog.drift


def test_the_example_in_the_readme_runs():
    readme = Path(knitlog.drift.__file__).with_name("README.md")
    failed, tried = doctest.testfile(str(readme), module_relative=False)
    assert tried >= 4
    assert failed == 0
