"""The shipped samples: remade byte for byte, and plainly invented."""

from pathlib import Path

import pytest

from knitlog.analysis.samples import lay_out_samples, samples
from knitlog.journal.store import JournalFile
from tests.make_samples import ROOT, write
from tests.simulator.samples import INVENTED

FOLDER = ROOT / "sample_logs"


def test_they_are_remade_byte_for_byte(tmp_path: Path) -> None:
    made = write(tmp_path)
    assert {p.name for p in made} == {p.name for p in FOLDER.iterdir() if p.is_file()} - {
        "README.md"
    }
    for path in made:
        assert path.read_bytes() == (FOLDER / path.name).read_bytes(), path.name


@pytest.mark.parametrize(
    "path", sorted(p for p in FOLDER.iterdir() if p.is_file()), ids=lambda path: path.name
)
def test_each_says_that_it_is_invented(path: Path) -> None:
    assert "invented" in path.read_text(encoding="utf-8").lower()


def test_they_open_without_a_word_of_trouble() -> None:
    for path in FOLDER.glob("*.knitlog"):
        state = JournalFile.open(path).state
        assert state.problems == ()
        assert INVENTED in state.about


def test_a_copy_is_played_with_never_the_original(tmp_path: Path) -> None:
    before = {p.name: p.read_bytes() for p in FOLDER.glob("*.knitlog")}
    paths = lay_out_samples(tmp_path)
    assert {p.stem for p in paths} == set(samples()) == {Path(n).stem for n in before}
    from knitlog.journal.actions import log_round

    log_round(JournalFile.open(paths[0]), [5.0])
    lay_out_samples(tmp_path)  # a second time leaves what was played with
    assert JournalFile.open(paths[0]).state.entries[-1].positions[0].stitch == 5.0
    assert {p.name: p.read_bytes() for p in FOLDER.glob("*.knitlog")} == before
