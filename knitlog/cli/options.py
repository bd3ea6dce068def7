"""Options and arguments that several commands share."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from knitlog.journal.library import Library

FACTS: dict[str, tuple[str, str]] = {
    "stitches": ("N", "Stitches in a round."),
    "repeats": ("K", "Colour repeats meant to go into one round (default 1)."),
    "repeat-length": ("LENGTH", "Yarn in one colour repeat, with its unit: 152cm, 60in, 1.67yd."),
    "needle": ("SIZE", "Needle: 4.5mm, US 7, UK 7 or JP 8."),
    "gauge": ("GAUGE", "Gauge: '20 st/4in', '20 st/10cm' or '20 st 28 rows/10cm'."),
    "rounds": ("N", "Rounds planned in all."),
    "tolerance": ("STITCHES", "How far off still looks right to you (default 3 stitches)."),
    "multiple": (
        "N",
        "The stitch pattern's multiple (default 1); 'fixed': no other stitch count.",
    ),
    "needles-owned": ("SIZES", "Needles at hand, separated by commas: '4mm, 4.5mm, 5mm'."),
    "home": ("STITCH", "Where the colour change belongs; two numbers for two changes."),
    "yarn-thickness": ("LENGTH", "How thick the yarn is: 2.2mm."),
    "max-size-change": ("PERCENT", "How much the finished size may change: 5."),
    "target-drift": ("STITCHES", "Wanted drift a round, for a spiral on purpose (default 0)."),
    "fibre": ("WORD", "What the yarn is of, in your word: wool."),
    "pattern": ("WORD", "The stitch pattern, in your word: plain, ribbing."),
    "minutes": (
        "WORK=MINUTES",
        "What your work is counted at: 'needle=6, round-out=1'; 'needle=usual' goes back. "
        "'knitlog advise' shows all eight.",
    ),
}
"""The facts of a project: option name -> how its value is written, what it is."""


def fact_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that tell a project's facts.

    They arrive as one dict, ``facts``, of option names and what was typed; nothing is
    parsed here, so that a CSV's own lines and the options are read by the same code.
    """
    from functools import wraps

    @wraps(command)
    def gather(*args: Any, **values: Any) -> Any:
        facts = {name: values.pop(name.replace("-", "_")) for name in FACTS}
        flat = values.pop("flat")
        given = {name: text for name, text in facts.items() if text is not None}
        if flat is not None:
            given["flat"] = "yes" if flat else "no"
        return command(*args, facts=given, **values)

    wrapped: Callable[..., Any] = gather
    wrapped = click.option(
        "--flat/--round", default=None, help="Worked back and forth in rows, or in the round."
    )(wrapped)
    for name, (metavar, text) in reversed(FACTS.items()):
        wrapped = click.option(f"--{name}", metavar=metavar, help=text)(wrapped)
    return wrapped


def library(folder: Path | None) -> "Library":
    """The projects in the folder the knitter chose, or in her usual place."""
    from knitlog.journal.library import Library

    return Library(folder)


def _complete_project(
    ctx: click.Context, _parameter: click.Parameter, incomplete: str
) -> "list[CompletionItem]":
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
