"""The rooms stay apart: arrows run downward, and the core knows no screen."""

import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[1]
ROOMS = ("yarn", "drift", "advice", "plan", "hands", "simulate")
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
