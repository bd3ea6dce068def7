"""The examples in the docstrings do what they say."""

import doctest
import importlib
import pkgutil
import subprocess
import sys

import pytest

import knitlog.journal

MODULES = [module.name for module in pkgutil.iter_modules(knitlog.journal.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"knitlog.journal.{name}"))
    assert result.failed == 0


def test_every_public_name_is_there() -> None:
    for name in knitlog.journal.__all__:
        assert getattr(knitlog.journal, name) is not None
    assert sorted(knitlog.journal.__all__) == sorted(knitlog.journal._MODULE_OF)


def test_logging_a_round_does_not_wait_for_what_it_does_not_need() -> None:
    logging = (
        "import sys; from knitlog.journal import Library, log_round, parse_entry;"
        "print(*sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", logging], capture_output=True, check=True)
    loaded = run.stdout.decode().split()
    assert "knitlog.journal.store" in loaded
    heavy = {"numpy", "scipy", "textual", "rich", "csv", "knitlog.drift", "knitlog.journal.csvlog"}
    assert heavy.isdisjoint(loaded)
