"""The command line: reads what was typed, asks the workbench, prints the answer.

``main`` is the installed command.  Each group of commands has a module; each
imports what it needs when it runs, so that logging a round starts quickly.
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from knitlog import __version__
from knitlog.cli.fabric import fabric
from knitlog.cli.guard import guarded
from knitlog.cli.measure import advise, fit
from knitlog.cli.plan import plan
from knitlog.cli.plan_more import PLAN_MORE
from knitlog.cli.projects import (
    export_project,
    finish,
    import_project,
    list_projects,
    new,
    settings,
    show,
)
from knitlog.cli.review_commands import (
    compare,
    export_everything,
    hands,
    import_everything,
    review,
    sample_year,
    search,
)
from knitlog.cli.rounds import change, fix, join, log, note, redo, rip, sitting, undo
from knitlog.cli.screens import open_screens
from knitlog.cli.shell import completion
from knitlog.cli.tryout import try_sample
from knitlog.cli.yarn import yarn

_SECTIONS: dict[str, tuple[click.Command, ...]] = {
    "Begin and look": (new, list_projects, show, try_sample),
    "At the needles": (log, note, fix, change, join, rip, undo, redo, sitting),
    "The drift and what to do": (fit, advise, fabric, plan, yarn),
    "Look back": (review, hands, compare, search, sample_year),
    "Keep": (
        settings,
        finish,
        import_project,
        export_project,
        export_everything,
        import_everything,
        completion,
    ),
}


class _Sections(click.Group):
    """A group whose help lists the commands by what they are for."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        widest = max(len(name) for name in self.commands)
        for title, commands in _SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl(
                    [(str(c.name).ljust(widest), c.get_short_help_str(limit=64)) for c in commands]
                )


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
        open_screens(folder)


for _command in PLAN_MORE:
    plan.add_command(_command)
for _commands in _SECTIONS.values():
    for _command in _commands:
        cli.add_command(_command)


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns the exit code, and lets no exception out."""
    return guarded(
        lambda: cli.main(args=list(arguments), prog_name="knitlog", standalone_mode=False)
    )


def main() -> None:
    """Run the installed ``knitlog`` command."""
    # pydantic would look through every installed package for plugins, at every start
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    sys.exit(run(sys.argv[1:]))
