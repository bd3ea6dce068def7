"""The program under a monkey's hands, and what it does when something in it breaks.

The long run, with two windows on one folder: ``pytest -m long -s tests/tui/test_monkey.py``.
"""

from pathlib import Path
from typing import Any

import pytest
from textual.worker import WorkerFailed

from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.widgets.verdict import Verdict

from .conftest import settled, type_in
from .monkey import Monkey, Seen, knit, told


def played(folder: Path, seed: int, events: int, *, windows: int = 1) -> Seen:
    knit(folder)
    monkey = Monkey(folder, seed, windows=windows)
    try:
        return monkey.play(events)
    finally:
        monkey.close()


def test_a_monkey_breaks_nothing_and_loses_nothing(tmp_path: Path) -> None:
    seen = played(tmp_path / "wool", seed=9, events=1_000)
    assert seen.waits
    assert seen.acknowledged  # or there was nothing to lose


@pytest.mark.long
@pytest.mark.parametrize("seed", range(40))
def test_a_monkey_for_an_afternoon(tmp_path: Path, seed: int) -> None:
    seen = played(tmp_path / "wool", seed, events=2_500, windows=1 + seed % 2)
    print(f"seed {seed}: {told(seen)}")
    assert not seen.stalls, "\n".join(seen.stalls)


async def test_what_cannot_be_drawn_is_told_in_a_line_and_the_keys_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    knit(tmp_path / "wool")
    path = tmp_path / "wool" / "short.knitlog"
    monkeypatch.setenv("KNITLOG_DEBUG", "1")
    broken = RuntimeError("the verdict has gone")

    def fails(*_: Any) -> None:
        raise broken

    app = KnitlogApp(Library(tmp_path / "wool"), path, follow_every=3600)
    at_the_end = (RuntimeError, WorkerFailed)  # whichever look came to draw it last
    with pytest.raises(at_the_end, match="the verdict has gone"):  # noqa: PT012
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            monkeypatch.setattr(Verdict, "show", fails)
            await type_in(pilot, "41")
            assert isinstance(app.screen, NeedlesScreen)
            told_so = [note.message for note in app._notifications]
            monkeypatch.undo()
            await type_in(pilot, "43")
            ran_on = app.is_running
    entries = JournalFile.open(path).state.entries
    assert [entry.positions[0].stitch for entry in entries][-2:] == [41.0, 43.0]
    report = next((tmp_path / "wool" / "reports").iterdir()).read_text(encoding="utf-8")
    assert "the verdict has gone" in report
    assert ran_on
    assert "could not be shown" in told_so[0]
    assert "report.txt" in told_so[0]
