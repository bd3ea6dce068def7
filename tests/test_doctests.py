"""The examples in the docstrings are true, in every room."""

import doctest
import importlib
import pkgutil

import pytest

import knitlog

MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(knitlog.__path__, "knitlog.")
    if not module.name.endswith("__main__")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_are_true(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder()
    rooms = {
        name.split(".")[1]
        for name in MODULES
        if any(test.examples for test in finder.find(importlib.import_module(name)))
    }
    assert rooms >= {"yarn", "journal", "plan", "tui"}
