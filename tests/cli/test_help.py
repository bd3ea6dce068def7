"""Help a knitter can read: every command explained, with an example that is true."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.shell_completion import ShellComplete

from knitlog.cli import cli
from knitlog.journal.errors import JournalError
from knitlog.journal.library import Library
from knitlog.journal.registry import FACT_KEYS
from tests.cli.commands import all_commands

from .conftest import ROOT, Knitlog

COMMANDS = all_commands()
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_command_is_listed_with_a_summary(knitlog: Knitlog) -> None:
    out = knitlog("--help").out
    for name, command in COMMANDS.items():
        assert re.search(rf"^  {name} +\S", out, re.MULTILINE)
        assert command.get_short_help_str(64).endswith("."), name


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_has_an_example(knitlog: Knitlog, name: str) -> None:
    done = knitlog(name, "--help")
    assert (done.code, done.err) == (0, "")
    assert re.search(rf"Examples?:\n +knitlog (--folder \S+ )?{name}\b", done.out)
    assert max(map(len, done.out.splitlines())) <= 100


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_examples_are_accepted_by_the_parser(name: str) -> None:
    command = COMMANDS[name]
    text = (command.help or "").partition("Example")[2]
    lines = re.sub(r"\n {9,}", " ", text).splitlines()
    examples = [line.strip() for line in lines if line.strip().startswith(f"knitlog {name} ")]
    for example in examples:
        words = shlex.split(re.split(r" {3,}| [>|]", example)[0])[2:]
        command.make_context(name, words)  # raises where an option does not exist


def test_every_option_says_what_it_is() -> None:
    for name, command in COMMANDS.items():
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert parameter.help, (name, parameter.name)


def test_every_fact_can_be_told_as_an_option() -> None:
    options = {opt.lstrip("-") for p in COMMANDS["new"].params for opt in p.opts}
    assert set(FACT_KEYS) <= options | {"name", "about"}


def test_the_documents_name_what_there_is() -> None:
    for key in FACT_KEYS:
        assert f"`{key}`" in DEVELOPERS or key in ("name", "about")
    for name in ("new", "log", "fix", "change", "show", "advise", "fit", "import", "export"):
        assert f"knitlog {name}" in README


def test_the_readme_begins_with_two_commands_that_ci_runs_too() -> None:
    commands = [line.strip() for line in README.splitlines() if line.startswith("    python3 -m")]
    assert commands == [
        "python3 -m venv .venv && .venv/bin/pip install -q . && .venv/bin/knitlog try",
        "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' "
        "&& .venv/bin/python -m pytest -n 2",
    ]
    ci = Path(ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "README.md" in ci
    for tool in ("ruff check", "ruff format --check", "mypy", "lint-imports", "-m build"):
        assert tool in ci


def test_the_json_fields_are_documented() -> None:
    from knitlog.analysis.analysis import analyse
    from knitlog.analysis.files import read_log_file
    from knitlog.report.json_objects import advice_object, fit_object

    view = analyse(read_log_file(ROOT / "sample_logs" / "too-small.csv"))
    for content in (fit_object("f", view), advice_object("f", view)):
        for field in content:
            assert f"`{field}`" in DEVELOPERS, field


def test_completion_prints_the_line_for_each_shell(knitlog: Knitlog) -> None:
    for shell in ("bash", "zsh", "fish"):
        out = knitlog("completion", shell).out
        assert f"_KNITLOG_COMPLETE={shell}_source" in out
    assert knitlog("completion", "tcsh").code == 2


def test_the_tab_key_finishes_commands_and_projects(knitlog_process: Knitlog, hat: str) -> None:
    def complete(line: str) -> str:
        """What the shell is told when the Tab key is pressed at the end of ``line``."""
        asked = {
            "COMP_WORDS": line,
            "COMP_CWORD": str(line.count(" ")),
            "_KNITLOG_COMPLETE": "bash_complete",
        }
        return knitlog_process(env=asked).out

    assert "plain,undo" in complete("knitlog un")
    assert "plain,red-hat" in complete("knitlog log re")
    assert "plain,--note" in complete("knitlog log --no")


def test_the_tab_key_is_quiet_where_projects_cannot_be_listed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(_: Library) -> None:
        raise JournalError("The folder cannot be read.")

    monkeypatch.setattr(Library, "projects", refuse)
    assert ShellComplete(cli, {}, "knitlog", "_X").get_completions(["log"], "re") == []
