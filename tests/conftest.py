"""What all tests share: property tests try the same examples every time, and no clock ends one."""

import importlib
import os
from collections.abc import Iterator
from typing import Any

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


@pytest.fixture(autouse=True, scope="session")
def finished_projects_are_looked_back_on_once() -> Iterator[None]:
    """The sample year is everybody's past here; what a log says of a hand is no matter of when."""
    room = importlib.import_module("knitlog.hands.look_back")
    really, found = room.look_back, {}

    def look_back(*project: Any) -> Any:
        told = repr(project)  # all of it: a log and what is known of the work
        if told not in found:
            found[told] = really(*project)
        return found[told]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(room, "look_back", look_back)
        yield
