"""The folder of projects."""

from pathlib import Path

import pytest

from knitlog.journal.actions import log_round
from knitlog.journal.csvlog import read_csv_log
from knitlog.journal.errors import JournalError, JournalMissingError, JournalReadOnlyError
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library, default_folder

from .conftest import Clock, as_nobody

FACTS = make_facts(stitches=64)


def test_the_folder_may_be_named_by_the_environment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("KNITLOG_FOLDER", str(tmp_path / "here"))
    assert default_folder() == tmp_path / "here"
    assert Library().folder == tmp_path / "here"
    assert Library(tmp_path / "there").folder == tmp_path / "there"


def test_otherwise_it_is_the_platforms_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("KNITLOG_FOLDER", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", "/some/where")
    monkeypatch.setattr("sys.platform", "linux")
    assert default_folder().name == "knitlog"


def test_a_library_without_a_folder_has_no_projects(library: Library) -> None:
    assert library.projects() == ()
    assert not library.folder.exists()
    with pytest.raises(JournalMissingError, match="there are no projects yet"):
        library.open("anything")


def test_projects_are_listed_latest_first(library: Library, clock: Clock) -> None:
    socks = library.create("Hut socks", FACTS, clock=clock)
    library.create("Hut shawl", FACTS, clock=clock)
    assert [s.name for s in library.projects()] == ["Hut shawl", "Hut socks"]
    log_round(socks, [3])
    assert [s.name for s in library.projects()] == ["Hut socks", "Hut shawl"]
    assert [s.slug for s in library.projects()] == ["hut-socks", "hut-shawl"]


def test_a_project_that_cannot_be_opened_says_why_and_hides_no_other(library: Library) -> None:
    library.create("Hut socks", FACTS)
    (library.folder / "broken.knitlog").write_bytes(b"\0\1\2")
    (library.folder / "empty.knitlog").touch()
    (library.folder / "folder.knitlog").mkdir()
    (library.folder / "recipe.txt").write_text("Goulash for six.")
    shelves = {shelf.slug: shelf for shelf in library.projects()}
    assert set(shelves) == {"hut-socks", "broken", "empty", "folder"}
    assert shelves["hut-socks"].trouble is None
    assert shelves["hut-socks"].state is not None
    for slug, words in (
        ("broken", "not a knitlog journal"),
        ("empty", "is empty"),
        ("folder", "is a folder"),
    ):
        assert words in (shelves[slug].trouble or "")
        assert shelves[slug].state is None


def test_locks_and_drafts_are_no_projects(library: Library) -> None:
    log_round(library.create("Hut socks", FACTS), [3])
    (library.folder / ".half.knitlog.new").write_bytes(b"{")
    (library.folder / ".half.knitlog").write_bytes(b"{")
    assert [s.slug for s in library.projects()] == ["hut-socks"]


@pytest.mark.parametrize(
    "name", ["Hut socks", "hut-socks", "HUT  SOCKS", "hut-so", "h", " hut socks "]
)
def test_a_project_opens_by_name_or_enough_of_it(library: Library, name: str) -> None:
    library.create("Hut socks", FACTS)
    library.create("Cowl", FACTS)
    assert library.open(name).state.name == "Hut socks"


def test_a_name_that_could_be_two_is_asked_about(library: Library) -> None:
    library.create("Hut socks", FACTS)
    library.create("Hut shawl", FACTS)
    library.create("Hut", FACTS)
    assert library.open("hut").state.name == "Hut"
    with pytest.raises(JournalError) as raised:
        library.open("hut s")
    assert str(raised.value) == "'hut s' could be hut-shawl, hut-socks; type more of the name."


def test_a_renamed_project_opens_by_its_new_name(library: Library) -> None:
    from knitlog.journal.actions import change_facts

    change_facts(library.create("Hut socks", FACTS), name="Bench cushion")
    assert library.open("bench cushion").path.name == "hut-socks.knitlog"


def test_a_near_miss_is_answered_with_the_near_name(library: Library) -> None:
    library.create("Hut socks", FACTS)
    with pytest.raises(JournalMissingError, match="did you mean hut-socks"):
        library.open("hat socks")


@pytest.mark.parametrize("name", ["", "   ", "x" * 121])
def test_a_name_that_is_none_is_refused(library: Library, name: str) -> None:
    with pytest.raises(JournalError, match="The name cannot be"):
        library.create(name, FACTS)
    assert library.projects() == ()


def test_a_taken_name_is_refused_and_nothing_is_written_over(library: Library) -> None:
    log_round(library.create("Hut socks", FACTS), [3])
    with pytest.raises(JournalError, match="already a project 'hut SOCKS'"):
        library.create("hut SOCKS", FACTS)
    assert library.open("hut socks").state.last_round == 1


@pytest.mark.parametrize(
    "name", ["../../outside", "/etc/passwd", "..\\..\\outside", "a/../../b", "\x00", "~/x", "nul"]
)
def test_no_name_reaches_out_of_the_folder(library: Library, tmp_path: Path, name: str) -> None:
    before = {path for path in tmp_path.rglob("*") if library.folder not in path.parents}
    journal = library.create(name, FACTS)
    assert journal.path.parent == library.folder
    assert library.open(name).path == journal.path
    after = {path for path in tmp_path.rglob("*") if library.folder not in path.parents}
    assert after - before <= {library.folder}


def test_a_link_to_elsewhere_is_not_written_over(library: Library, tmp_path: Path) -> None:
    library.folder.mkdir()
    (library.folder / "hut-socks.knitlog").symlink_to(tmp_path / "target")
    with pytest.raises(JournalError, match="already"):
        library.create("Hut socks", FACTS)
    assert not (tmp_path / "target").exists()


def test_a_csv_log_becomes_a_project_with_its_history(library: Library) -> None:
    csv = read_csv_log(
        b"# name: Hut socks\n# stitches: 64\nround,stitch,fix_stitches\n1,3,\n2,5,2\n"
    )
    journal = library.adopt(csv.events)
    assert journal.state.name == "Hut socks"
    assert [e.round for e in journal.state.entries] == [1, 2]
    assert [e.sitting for e in journal.state.entries] == [0, 0]
    assert [f.taken_out for f in journal.state.fixes] == [2.0]
    log_round(journal, [6])
    assert [e.sitting for e in journal.state.entries] == [0, 0, 1]
    again = library.adopt(csv.events, name="Second try")
    assert again.state.name == "Second try"
    with pytest.raises(JournalError, match="already a project"):
        library.adopt(csv.events)
    with pytest.raises(JournalError, match="begins by being set up"):
        library.adopt(csv.events[1:])


def test_a_folder_that_may_not_be_read_or_made_is_said(open_folder: Path) -> None:
    inner = open_folder / "inner"
    inner.mkdir()
    inner.chmod(0o000)
    open_folder.chmod(0o555)
    with as_nobody():
        with pytest.raises(JournalError, match="cannot be read"):
            Library(inner).projects()
        with pytest.raises(JournalReadOnlyError, match="cannot be made"):
            Library(open_folder / "new").create("Hut socks", FACTS)
        with pytest.raises(JournalReadOnlyError):
            Library(inner).create("Hut socks", FACTS)
    open_folder.chmod(0o755)
    inner.chmod(0o755)


def test_a_file_in_the_folders_place_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    library = Library(tmp_path / "file")
    assert library.projects() == ()
    with pytest.raises(JournalError, match="cannot be made"):
        library.create("Hut socks", FACTS)
