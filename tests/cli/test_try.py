"""``knitlog try`` in a real terminal: the sample opens, and nothing is left behind."""

import os
import sys
from pathlib import Path

import pexpect
import pytest

from .conftest import ROOT, SAMPLES, Knitlog


def screens(tmp_path: Path, *arguments: str) -> "pexpect.spawn[bytes]":
    """The command in a pseudo-terminal, its temporary files under ``tmp_path``."""
    kept = {**os.environ, "KNITLOG_FOLDER": str(tmp_path / "projects"), "TMPDIR": str(tmp_path)}
    environment = {"TERM": "xterm-256color", **kept}
    return pexpect.spawn(
        sys.executable,
        ["-m", "knitlog", *arguments],
        cwd=str(ROOT),
        env=environment,
        dimensions=(30, 100),
        timeout=60,
    )


@pytest.mark.parametrize(
    ("arguments", "shown"), [(["try"], "Long-evening cowl"), (["try", "in-line"], "Stove-side hat")]
)
def test_a_sample_opens_and_its_copy_is_forgotten(
    tmp_path: Path, arguments: list[str], shown: str
) -> None:
    before = {path.name: path.read_bytes() for path in SAMPLES.glob("*.knitlog")}
    terminal = screens(tmp_path, *arguments)
    terminal.expect(shown)
    terminal.send("\x11")  # Ctrl+Q
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert terminal.exitstatus == 0
    assert not list(tmp_path.glob("knitlog-try-*"))
    assert {path.name: path.read_bytes() for path in SAMPLES.glob("*.knitlog")} == before


def test_a_folder_of_her_own_keeps_what_she_plays_with(knitlog: Knitlog, tmp_path: Path) -> None:
    terminal = screens(tmp_path, "--folder", str(tmp_path / "play"), "try")
    terminal.expect("Long-evening cowl")
    terminal.send("\x11")
    terminal.expect(pexpect.EOF)
    terminal.close()
    assert "too-small" in knitlog("--folder", tmp_path / "play", "list").out


def test_an_unknown_sample_is_told(knitlog: Knitlog) -> None:
    done = knitlog("try", "nobody")
    assert done.code == 2
    assert "too-small" in done.sentence


def test_the_samples_are_listed(knitlog: Knitlog) -> None:
    out = knitlog("try", "--list").out
    assert "all of them invented" in out
    for path in SAMPLES.glob("*.knitlog"):
        assert path.stem in out
