"""``knitlog fabric``: a project's fabric so far, and as each remedy would make it."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import answer, as_json
from knitlog.cli.options import library, project_argument

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from knitlog.plan.fabric import Fabric
    from knitlog.workbench.fabrics import Course, ProjectFabric

_WAYS = {
    "carry-on": "carry on",
    "tapestry": "tapestry needle",
    "needle": "change needle",
    "stitches": "change stitch count",
}
_WIDTH = 80
_COLOURED_WIDTH = 100


@click.command("fabric")
@project_argument
@click.option(
    "--under",
    multiple=True,
    type=click.Choice([*_WAYS, "all"]),
    help="How to go on; may be given more than once. Carry on if not given.",
)
@click.option("--ahead", type=click.IntRange(0, 1000), metavar="N", help="Rounds to come.")
@click.option("--even", is_flag=True, help="Leave out the unevenness of the hand to come.")
@click.option("--seed", type=int, default=0, help="Another seed, another unevenness.")
@click.option(
    "--round", "told", type=click.IntRange(min=1), metavar="N", help="One round in words."
)
@click.option("--letters", is_flag=True, help="Letters even where there are colours.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A picture instead: fabric.svg or fabric.png, side by side.",
)
@as_json
@click.pass_obj
def fabric(
    folder: Path | None,
    project: str,
    under: tuple[str, ...],
    ahead: int | None,
    even: bool,
    seed: int,
    told: int | None,
    letters: bool,
    output: Path | None,
    *,
    json: bool,
) -> None:
    """Show the fabric so far, and what will become of it.

    In the yarn's colours on a terminal that has them, in letters elsewhere;
    round 1 at the bottom, stitch 1 at the right.

    \b
    Examples:
      knitlog fabric red-hat
      knitlog fabric red-hat --under all -o red-hat.svg
      knitlog fabric red-hat --under stitches --round 40
    """
    from knitlog.workbench import look
    from knitlog.workbench.fabrics import project_fabric

    state = library(folder).open(project).state
    found = project_fabric(look(state, with_advice=False), ahead, uneven=not even, seed=seed)
    courses = _chosen(found, under)
    if json:
        answer(True, _object(found, courses), ())
        return
    if output is not None:
        _save(output, found, courses)
        return
    if told is not None:
        _say(_round_lines(courses, told))
        return
    if letters or not _has_colours():
        _say(_letter_lines(found, courses))
    else:
        _print_colours(found, courses)


def _chosen(found: ProjectFabric, under: tuple[str, ...]) -> list[Course]:
    """The courses asked for; the first if none is."""
    if not under:
        return [found.courses[0]]
    if "all" in under:
        return list(found.courses)
    wanted = {_WAYS[way] for way in under}
    chosen = [course for course in found.courses if course.name in wanted]
    if not chosen:
        raise click.UsageError(
            f"There is nothing to go on from in that way: {found.courses[0].reason}"
        )
    return chosen


def _say(lines: Iterable[str]) -> None:
    from knitlog.cli.wording import say

    say(iter(lines))


def _letter_lines(found: ProjectFabric, courses: list[Course]) -> Iterator[str]:
    from knitlog.report.fabric_text import fabric_lines, key_words

    for course in courses:
        yield f"{course.caption}."
        if course.fabric is None:
            yield course.reason
            yield ""
            continue
        yield from fabric_lines(course.fabric, found.aspect, _WIDTH, found.knitted)
        yield ""
    shown = next((course.fabric for course in courses if course.fabric is not None), None)
    if shown is not None:
        for letter, name, index in key_words(shown):
            yield f"  {letter} {name} {shown.palette[index]}"
    if found.stand_in:
        yield found.stand_in


def _round_lines(courses: list[Course], number: int) -> Iterator[str]:
    from knitlog.report.fabric_text import round_words

    for course in courses:
        if course.fabric is None:
            yield f"{course.caption}: {course.reason}"
        elif number > course.fabric.rounds:
            raise click.UsageError(
                f"The fabric has {course.fabric.rounds} rounds: choose one of them, or --ahead more"
            )
        else:
            words = round_words(course.fabric, number)
            yield f"{course.caption}. {words}" if len(courses) > 1 else words


def _object(found: ProjectFabric, courses: list[Course]) -> dict[str, Any]:
    from knitlog.cli.answers import fabric_object

    return {
        "rounds_knitted": found.knitted,
        "home_stitch": found.home,
        "stitch_height_over_width": found.aspect,
        "stand_in_colours": bool(found.stand_in),
        "ways": [
            {
                "way": course.name,
                "caption": course.caption,
                "reason": course.reason,
                "share_in_tolerance": course.share_in_line,
                "fixes": course.mendings,
                "fabric": None if course.fabric is None else fabric_object(course.fabric),
            }
            for course in courses
        ],
    }


def _save(path: Path, found: ProjectFabric, courses: list[Course]) -> None:
    from knitlog.report.fabric_file import save_fabric
    from knitlog.report.fabric_image import Panel

    panels = [
        Panel(course.caption, course.fabric) for course in courses if course.fabric is not None
    ]
    if not panels:
        raise click.UsageError(f"There is no fabric to draw: {courses[0].reason}")
    save_fabric(path, panels, found.gauge)
    _say([f"Drew {panels[0].fabric.rounds} rounds into {path}."])


def _has_colours() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def _print_colours(found: ProjectFabric, courses: list[Course]) -> None:
    """The fabrics below each other, in the yarn's colours."""
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False)
    if console.color_system is None:
        _say(_letter_lines(found, courses))
        return
    width = min(shutil.get_terminal_size().columns, _COLOURED_WIDTH)
    for course in courses:
        console.print(Text(f"{course.caption}.", style="bold"))
        if course.fabric is None:
            console.print(Text(course.reason))
        else:
            for line in _coloured_lines(console.color_system, course.fabric, found, width):
                console.print(line, soft_wrap=True)
        console.print()
    shown = next((course.fabric for course in courses if course.fabric is not None), None)
    if shown is not None:
        console.print(_coloured_key(console.color_system, shown))
    if found.stand_in:
        console.print(Text(found.stand_in))


def _coloured_lines(system: str, shown: Fabric, found: ProjectFabric, width: int) -> Iterator[Any]:
    from rich.style import Style
    from rich.text import Text

    from knitlog.report.fabric_cells import (
        extent,
        fitting_zoom,
        line_of,
        painted_line,
        round_label,
        scale_of,
        stitch_ruler,
    )
    from knitlog.report.fabric_text import LABEL_WIDTH

    room = max(width - LABEL_WIDTH - 1, 8)
    scale = scale_of(fitting_zoom(shown.stitches, 1, found.aspect, room, 10**9), found.aspect)
    columns, lines = extent(shown, scale)
    colours = _rich_colours(system, shown)
    for line in range(lines - 1, -1, -1):
        text = Text()
        for piece in painted_line(shown, scale, line, columns):
            ink = None if piece.ink is None else colours[piece.ink]
            ground = None if piece.ground is None else colours[piece.ground]
            text.append(piece.text, Style(color=ink, bgcolor=ground))
        label = round_label(scale, shown.rounds, line)
        now = 0 < found.knitted < shown.rounds and line == line_of(scale, found.knitted)
        text.append(f"{'┤' if now else ' '}{'' if label is None else label}")
        yield text
    yield Text(stitch_ruler(scale, shown.stitches, columns))


def _coloured_key(system: str, shown: Fabric) -> Any:
    from rich.style import Style
    from rich.text import Text

    from knitlog.report.fabric_text import key_words

    colours = _rich_colours(system, shown)
    key = Text()
    for _, name, index in key_words(shown):
        key.append("   ", Style(bgcolor=colours[index]))
        key.append(f" {name} {shown.palette[index]}   ")
    return key


def _rich_colours(system: str, shown: Fabric) -> list[Any]:
    from rich.color import Color

    from knitlog.report.sixteen import distinct_of_sixteen

    if system in ("standard", "windows"):
        return [Color.from_ansi(number) for number in distinct_of_sixteen(shown.palette)]
    return [Color.parse(colour) for colour in shown.palette]
