"""A list to choose from takes page keys at any time, where the framework's own does not."""

import pytest
from textual.widgets import OptionList

from knitlog.tui.widgets.choices import Choices

WAYS = ("rose", "moss", "snow")


@pytest.mark.parametrize("direction", [-1, 1])
def test_a_list_not_laid_out_yet_is_paged_through_without_harm(direction: int) -> None:
    with pytest.raises(LookupError):  # where this no longer raises, the guard may go
        OptionList(*WAYS)._move_page(direction)  # type: ignore[arg-type]
    listed = Choices(*WAYS)
    before = listed.highlighted
    listed._move_page(direction)
    assert listed.highlighted == before
