"""The rooms stay apart: arrows run downward, and the core knows no screen."""

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[1]
ROOMS = ("yarn", "typed", "drift", "advice", "plan", "hands")
SILENT = ("yarn", "drift", "advice", "plan", "hands", "analysis")
"""Rooms that give numbers and leave the words to the report."""
CORE = tuple(f"knitlog.{room}" for room in ROOMS)


def loaded_after(code: str, *args: str) -> set[str]:
    """Names of the top-level packages a fresh interpreter has loaded after ``code``."""
    listing = "; import sys; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    done = subprocess.run(
        [sys.executable, "-c", code + listing, *args],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return set(done.stdout.splitlines()[-1].split())


def test_the_import_contracts_are_kept(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    code = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == 0, capsys.readouterr().out


@pytest.mark.parametrize("room", CORE)
def test_a_core_room_loads_no_screen_no_command_line_and_no_file_checks(room: str) -> None:
    loaded = loaded_after(
        f"import pkgutil, importlib, {room}; [importlib.import_module(m.name) "
        f"for m in pkgutil.walk_packages({room}.__path__, '{room}.')]"
    )
    assert room.split(".", maxsplit=1)[0] in loaded
    assert not loaded & {"textual", "rich", "click", "pydantic", "filelock", "matplotlib"}


def test_the_journal_loads_no_screen() -> None:
    loaded = loaded_after("import knitlog.journal.store, knitlog.journal.library")
    assert "pydantic" in loaded
    assert not loaded & {"textual", "rich", "click", "scipy"}


def test_logging_a_round_loads_neither_the_fit_nor_the_screens(tmp_path: Path) -> None:
    run = "import sys; from knitlog.cli import run; code = run(sys.argv[1:]); assert code == 0"
    folder = str(tmp_path)
    loaded_after(run, "--folder", folder, "new", "hat", "--stitches", "96")
    loaded = loaded_after(run, "--folder", folder, "log", "hat", "37")
    assert "pydantic" in loaded
    assert not loaded & {"scipy", "numpy", "textual", "rich", "matplotlib"}


def sayings(tree: ast.Module) -> Iterator[str]:
    """Every string of a module but its docstrings and what it raises, f-strings in one piece."""
    skipped: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            skipped.add(node.value)
        if isinstance(node, ast.Raise):
            skipped.update(ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr) and node not in skipped:
            yield "".join(part.value for part in node.values if isinstance(part, ast.Constant))
            skipped.update(ast.walk(node))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in skipped:
            yield node.value


@pytest.mark.parametrize("room", SILENT)
def test_no_sentence_is_said_below_the_report(room: str) -> None:
    said = {
        f"{path.name}: {text}"
        for path in sorted((ROOT / "knitlog" / room).rglob("*.py"))
        for text in sayings(ast.parse(path.read_text(encoding="utf-8")))
        if " " in text.strip() and re.search(r"[.?!:;](\s|$)", text)
    }
    assert said == set()


def test_sentences_are_found_where_they_are_said() -> None:
    told = 'def f(x):\n    """A doc."""\n    y = f"Round {x} is odd."\n    raise E("No way.")'
    assert list(sayings(ast.parse(told))) == ["Round  is odd."]


def imported_at_once(path: Path) -> set[str]:
    """The modules of ours that a module loads as it is loaded itself."""
    found = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("knitlog"):
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
    return found


def test_no_modules_import_each_other_in_a_circle() -> None:
    paths = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in sorted((ROOT / "knitlog").rglob("*.py"))
    }
    # a room offers what its modules hold, so that asking the room for a module is no circle
    uses = {
        name: {other for other in imported_at_once(path) if other in paths and other != name}
        - {name.rpartition(".")[0]}
        for name, path in paths.items()
    }
    while True:
        free = {name for name, others in uses.items() if not others & uses.keys()}
        if not free:
            break
        uses = {name: others for name, others in uses.items() if name not in free}
    assert uses == {}


def twice(names: Iterable[str]) -> set[str]:
    """The names that come more than once."""
    return {name for name, times in Counter(names).items() if times > 1}


def test_no_two_modules_have_one_name() -> None:
    modules = (path.stem for path in (ROOT / "knitlog").rglob("*.py"))
    assert twice(name for name in modules if not name.startswith("__")) == set()


def test_no_two_public_classes_have_one_name() -> None:
    # a class within a class is told by the one it is in, as Textual names its messages
    classes = (
        node.name
        for path in (ROOT / "knitlog").rglob("*.py")
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    )
    assert twice(classes) == set()


def test_a_name_that_comes_twice_is_found() -> None:
    assert twice(["log", "fit", "log", "plan"]) == {"log"}
