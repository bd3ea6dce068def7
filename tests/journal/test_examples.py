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


def loaded_after(code: str) -> set[str]:
    """Names of the modules a fresh interpreter has loaded after ``code``."""
    listing = f"import sys; {code}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", listing], capture_output=True, check=True)
    return set(run.stdout.decode().split())


def test_logging_a_round_does_not_wait_for_what_it_does_not_need() -> None:
    loaded = loaded_after(
        "import knitlog.journal.actions, knitlog.journal.library, knitlog.typed.entry"
    )
    assert "knitlog.journal.store" in loaded
    heavy = {"numpy", "scipy", "textual", "rich", "csv", "knitlog.drift", "knitlog.journal.csvlog"}
    # older versions of pydantic load csv themselves with the first model, by importlib.metadata
    assert heavy.isdisjoint(loaded - loaded_after("import pydantic; pydantic.TypeAdapter(int)"))
