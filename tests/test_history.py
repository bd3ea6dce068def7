"""The invented year: remade byte for byte, plainly invented, and rich enough to learn from."""

from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile
from tests.make_history import FOLDER, write
from tests.simulator.history import KEEPER, history
from tests.simulator.samples import INVENTED

FILES = sorted(FOLDER.glob("*.knitlog"))


def test_it_is_remade_byte_for_byte(tmp_path: Path) -> None:
    made = write(tmp_path)
    assert [p.name for p in made] == [p.name for p in FILES]
    for path, shipped in zip(made, FILES, strict=True):
        assert path.read_bytes() == shipped.read_bytes(), path.name


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_opens_without_trouble_and_says_that_it_is_invented(path: Path) -> None:
    state = JournalFile.open(path).state
    assert state.problems == ()
    assert INVENTED in state.about
    times = [e.at for e in state.entries]
    assert times == sorted(times)


def test_the_year_shows_everything() -> None:
    states = [JournalFile.open(path).state for path in FILES]
    assert sum(s.finished for s in states) >= 8
    assert len(states) > sum(s.finished for s in states)
    assert (states[-1].set_up_at - states[0].set_up_at).days >= 360
    assert {s.facts.fibre for s in states} == {"wool", "alpaca and wool", "cotton"}
    assert {s.facts.stitch_pattern for s in states} == {"plain", "ribbing"}
    assert sum(len(s.stints) > 1 for s in states) >= 4
    assert {f.how for s in states for f in s.fixes} == {"tapestry needle", "rip back"}
    assert any(s.joins for s in states)
    assert any(s.notes for s in states)
    assert any(t.chapter.plan.unlogged for t in history())
    # one pair of hands
    assert KEEPER.needle_answer < 0.9
