"""Options and arguments that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from knitlog.analysis.past import Past
    from knitlog.cli.answers import Progress
    from knitlog.drift import Estimate
    from knitlog.journal.library import Library


def fact_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that tell a project's facts.

    They arrive as one dict, ``facts``, of option names and what was typed; nothing is
    parsed here, so that a CSV's own lines and the options are read by the same code.
    """
    from knitlog.journal.registry import FACTS

    told = [fact for fact in FACTS if fact.key != "flat"]

    @wraps(command)
    def gather(*args: Any, **values: Any) -> Any:
        facts = {fact.key: values.pop(fact.key.replace("-", "_")) for fact in told}
        flat = values.pop("flat")
        given = {key: text for key, text in facts.items() if text is not None}
        if flat is not None:
            given["flat"] = "yes" if flat else "no"
        return command(*args, facts=given, **values)

    wrapped: Callable[..., Any] = gather
    wrapped = click.option(
        "--flat/--round", default=None, help="Worked back and forth in rows, or in the round."
    )(wrapped)
    for fact in reversed(told):
        wrapped = click.option(f"--{fact.key}", metavar=fact.metavar, help=fact.help)(wrapped)
    return wrapped


def library(folder: Path | None) -> Library:
    """The projects in the folder the knitter chose, or in her usual place."""
    from knitlog.journal.library import Library

    return Library(folder)


def _complete_project(
    ctx: click.Context, _parameter: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    from click.shell_completion import CompletionItem

    root = ctx.find_root()
    folder = root.params.get("folder")
    try:
        known = library(folder).projects()
    except (OSError, ValueError):
        return []
    return [
        CompletionItem(project.slug, help=project.name)
        for project in known
        if project.slug.startswith(incomplete)
    ]


project_argument = click.argument("project", shell_complete=_complete_project)
"""The name of a project in the folder."""


def on_a_project(name: str, **how: Any) -> Callable[[Callable[..., Any]], click.Command]:
    """A command on one project: what it does is given the open journal."""

    def command(do: Callable[..., Any]) -> click.Command:
        @wraps(do)
        def opened(project: str, **values: Any) -> Any:
            journal = library(click.get_current_context().obj).open(project)
            try:
                return do(journal, **values)
            except ValueError as error:
                if journal.state.facts.flat and error.args:
                    from knitlog.report.words import in_rows

                    error.args = (in_rows(str(error), True), *error.args[1:])
                raise

        done: click.Command = click.command(name, cls=click.Command, **how)(
            project_argument(opened)
        )
        return done

    return command


without_hands = click.option(
    "--without-hands",
    is_flag=True,
    help="Do without what your finished projects say of your hands.",
)


def past_of(folder: Path | None, *, without: bool, progress: Progress | None = None) -> Past:
    """Return her past, as the finished projects of the folder tell it."""
    from knitlog.analysis.past import Past

    return Past(library(folder), without=without, progress=progress.counted if progress else None)


def yarn_by_hands(
    folder: Path | None,
    *,
    gauge: str | None,
    needle: str | None,
    fibre: str | None = None,
    pattern: str | None = None,
    without: bool = False,
) -> Estimate | None:
    """Return yarn per stitch, mm, as her finished projects would have it; None for nothing.

    By the gauge where one was counted, or else by the needle.
    """
    if not (gauge or needle):
        return None
    from knitlog.hands.records import Materials
    from knitlog.typed.measures import parse_gauge, parse_needle

    return past_of(folder, without=without).yarn_per_stitch(
        Materials(
            needle_mm=None if needle is None else parse_needle(needle),
            gauge_stitches_per_cm=None if gauge is None else parse_gauge(gauge).stitches_per_cm,
            fibre=fibre,
            stitch_pattern=pattern,
        )
    )
