"""The examples in the docstrings do what they say."""

import doctest
import importlib
import pkgutil

import pytest

import knitlog.journal

MODULES = [module.name for module in pkgutil.iter_modules(knitlog.journal.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"knitlog.journal.{name}"))
    assert result.failed == 0
