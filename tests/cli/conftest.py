"""Running the command line as a knitter does: arguments in; exit code, stdout and stderr out."""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from knitlog.cli import run

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "sample_logs"


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def sentence(self) -> str:
        """The one sentence on stderr; fails if it is not one line, or a traceback."""
        assert self.err.startswith("knitlog: ")
        assert self.err.count("\n") == 1, self.err
        assert "Traceback" not in self.err
        return self.err.removeprefix("knitlog: ").strip()


Knitlog = Callable[..., Done]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty project folder, named by the environment."""
    place = tmp_path / "projects"
    monkeypatch.setenv("KNITLOG_FOLDER", str(place))
    return place


@pytest.fixture
def knitlog(folder: Path, capfd: pytest.CaptureFixture[str]) -> Knitlog:
    """The installed command's own code, run in this process."""

    def call(*arguments: str | Path) -> Done:
        capfd.readouterr()
        code = run([str(a) for a in arguments])
        out, err = capfd.readouterr()
        return Done(code, out, err)

    return call


@pytest.fixture
def knitlog_process(folder: Path) -> Knitlog:
    """The command in a process of its own, with whatever subprocess.run can take."""

    def call(*arguments: str | Path, **how: object) -> Done:
        more = how.pop("env", {})
        assert isinstance(more, dict)
        options: dict[str, object] = {"capture_output": True, "text": True, "timeout": 60, **how}
        if "stdout" in options:
            options.pop("capture_output")
            options["stderr"] = subprocess.PIPE
        done = subprocess.run(
            [sys.executable, "-m", "knitlog", *map(str, arguments)],
            env={**os.environ, "PYTHONPATH": str(ROOT), **more},
            check=False,
            **options,  # type: ignore[call-overload]
        )
        return Done(done.returncode, done.stdout or "", done.stderr)

    return call


@pytest.fixture
def hat(knitlog: Knitlog) -> str:
    """A small project with three rounds."""
    facts = ["--stitches", "96", "--repeat-length", "60in", "--needle", "US 4", "--rounds", "48"]
    assert knitlog("new", "Red hat", *facts).code == 0
    for entry in ("37", "+2", "41"):
        assert knitlog("log", "red-hat", entry).code == 0
    return "red-hat"
