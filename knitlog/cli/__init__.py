"""The command line: reads what was typed, asks the workbench, prints the answer.

``main`` is the installed command.  Each group of commands has a module; each
imports what it needs when it runs, so that logging a round starts quickly.
"""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

import click

from knitlog import __version__
from knitlog.cli.guard import guarded

_SECTIONS: dict[str, dict[str, str]] = {
    "Begin and look": {
        "new": "projects:new",
        "list": "projects:list_projects",
        "show": "projects:show",
        "try": "tryout:try_sample",
    },
    "At the needles": {
        "log": "rounds:log",
        "note": "rounds:note",
        "fix": "rounds:fix",
        "change": "rounds:change",
        "join": "rounds:join",
        "rip": "rounds:rip",
        "undo": "rounds:undo",
        "redo": "rounds:redo",
        "sitting": "rounds:sitting",
    },
    "The drift and what to do": {
        "fit": "measure:fit",
        "advise": "measure:advise",
        "fabric": "fabric:fabric",
        "plan": "plan_more:plan",
        "yarn": "yarn:yarn",
    },
    "Look back": {
        "review": "review_commands:review",
        "hands": "review_commands:hands",
        "compare": "review_commands:compare",
        "search": "review_commands:search",
        "sample-year": "review_commands:sample_year",
    },
    "Keep": {
        "settings": "projects:settings",
        "finish": "projects:finish",
        "mend": "mending:mend",
        "import": "projects:import_project",
        "export": "projects:export_project",
        "export-all": "review_commands:export_everything",
        "import-all": "review_commands:import_everything",
        "completion": "shell:completion",
    },
}
"""The commands by what they are for, each with the module and name it is found under."""

_PLACES = {name: place for section in _SECTIONS.values() for name, place in section.items()}


class _Sections(click.Group):
    """A group whose help lists the commands by what they are for, and that loads only one."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_PLACES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _PLACES:
            return None
        module, _, name = _PLACES[cmd_name].partition(":")
        command: click.Command = getattr(import_module(f"knitlog.cli.{module}"), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        widest = max(map(len, _PLACES))
        for title, section in _SECTIONS.items():
            rows = []
            for name in section:
                command = self.get_command(ctx, name)
                assert command is not None
                rows.append((name.ljust(widest), command.get_short_help_str(limit=64)))
            with formatter.section(title):
                formatter.write_dl(rows)


@click.group(
    cls=_Sections,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, "-V", "--version", message="knitlog %(version)s")
@click.option(
    "--folder",
    envvar="KNITLOG_FOLDER",
    type=click.Path(path_type=Path),
    help="Where the projects are kept; also set by KNITLOG_FOLDER.",
)
@click.pass_context
def cli(ctx: click.Context, folder: Path | None) -> None:
    """Keep the colours of hand-painted yarn stacking.

    Log where the colour changed in each round; knitlog says how far your
    stitches are off and which fix is the least work.

    \b
    Examples:
      knitlog                               open the screens
      knitlog try                           open a sample project to play with
      knitlog new "Red hat" --stitches 96 --repeat-length 60in --needle "US 4"
      knitlog log red-hat 37                the colour changed at stitch 37
      knitlog log red-hat +2                two stitches past the round before
      knitlog show red-hat                  where it stands and what to do
      knitlog advise red-hat                every remedy, side by side
    """
    ctx.obj = folder
    if ctx.invoked_subcommand is None:
        from knitlog.cli.screens import open_screens

        open_screens(folder)


def all_commands() -> dict[str, click.Command]:
    """Every command by its name; loads them all."""
    with click.Context(cli) as ctx:
        found = {name: cli.get_command(ctx, name) for name in cli.list_commands(ctx)}
    return {name: command for name, command in found.items() if command is not None}


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns the exit code, and lets no exception out."""
    return guarded(lambda: _main(list(arguments)))


def _main(arguments: list[str]) -> object:
    if any("\0" in word for word in arguments):  # no system can name a file with one
        raise click.UsageError("There is a NUL character in what was typed: leave it out")
    return cli.main(args=arguments, prog_name="knitlog", standalone_mode=False)


def main() -> None:
    """Run the installed ``knitlog`` command."""
    # pydantic would look through every installed package for plugins, at every start
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    sys.exit(run(sys.argv[1:]))
