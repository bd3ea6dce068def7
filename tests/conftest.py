"""What all tests share: property tests try the same examples every time, and no clock ends one."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does: before numpy is loaded

import pytest
from hypothesis import Phase, settings

settings.register_profile("the same every time", derandomize=True, deadline=None)
settings.register_profile(
    "first failure",  # for mutation testing: does it fail at all?
    settings.get_profile("the same every time"),
    phases=(Phase.explicit, Phase.generate),
)
settings.load_profile("the same every time")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the screens' tests, the slowest, first, so that no process is left with them last."""
    items.sort(key=lambda item: "tui" not in item.path.parts)
