"""The command line: reads what was typed, asks the analysis, prints the answer.

``main`` is what the installed command runs.  Each group of commands has a module; each
imports what it needs when it runs, so that logging a round starts quickly.
"""

import contextlib
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
        "new": "whole_projects:new",
        "list": "whole_projects:list_projects",
        "show": "whole_projects:show",
        "try": "screens:try_sample",
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
        "fabric": "draw_fabric:fabric",
        "plan": "planning:plan",
        "yarn": "yarn:yarn",
    },
    "Look back": {
        "review": "afterwards:review",
        "hands": "afterwards:hands",
        "compare": "afterwards:compare",
        "search": "afterwards:search",
        "sample-year": "afterwards:sample_year",
    },
    "Keep": {
        "settings": "whole_projects:settings",
        "finish": "whole_projects:finish",
        "mend": "whole_projects:mend",
        "import": "whole_projects:import_project",
        "export": "whole_projects:export_project",
        "export-all": "afterwards:export_everything",
        "import-all": "afterwards:import_everything",
        "completion": ":completion",
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
        place = f"knitlog.cli.{module}" if module else __name__
        command: click.Command = getattr(import_module(place), name)
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


_COMPLETION = {
    "bash": ("~/.bashrc", 'eval "$(_KNITLOG_COMPLETE=bash_source knitlog)"'),
    "zsh": ("~/.zshrc", 'eval "$(_KNITLOG_COMPLETE=zsh_source knitlog)"'),
    "fish": (
        "~/.config/fish/completions/knitlog.fish",
        "_KNITLOG_COMPLETE=fish_source knitlog | source",
    ),
}
"""Shell -> where the line belongs that switches completion on, and the line."""


@click.command("completion")
@click.argument("shell", type=click.Choice(sorted(_COMPLETION)))
def completion(shell: str) -> None:
    """Print the line that lets the Tab key finish what you type.

    It finishes commands, options and the names of your projects.

    \b
    Examples:
      knitlog completion bash >> ~/.bashrc
      knitlog completion zsh >> ~/.zshrc
      knitlog completion fish > ~/.config/fish/completions/knitlog.fish
    """
    place, line = _COMPLETION[shell]
    click.echo(f"# knitlog: this line belongs in {place}")
    click.echo(line)


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns the exit code, and lets no exception out."""
    return guarded(lambda: _main(list(arguments)))


def _main(arguments: list[str]) -> object:
    if any("\0" in word for word in arguments):  # no system can name a file with one
        raise click.UsageError("There is a NUL character in what was typed: leave it out")
    try:
        os.fsencode("".join(arguments))
    except UnicodeEncodeError:
        raise click.UsageError(
            "There is half a character in what was typed: leave it out"
        ) from None
    return cli.main(args=arguments, prog_name="knitlog", standalone_mode=False)


def main() -> None:
    """Run the command line that was typed, and end with its exit code."""
    # pydantic would look through every installed package for plugins, at every start
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    code = run(sys.argv[1:])
    if "knitlog.tui.app" in sys.modules:  # taking apart all that screens load takes a while
        with contextlib.suppress(OSError, ValueError):  # told already, or nobody to tell
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
    sys.exit(code)
