"""``knitlog fabric``: a project's fabric so far, and as each option of the advice would make it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import answer, as_json, say, say_parts
from knitlog.cli.options import library, past_of, project_argument, without_hands
from knitlog.cli.types import ROUND, SEED, whole
from knitlog.report.parts import Part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.analysis.fabrics import Future, ProjectFabric
    from knitlog.journal.project import ProjectState
    from knitlog.plan.stitch_colours import Fabric

_REMEDIES = {
    "carry-on": "carry on",
    "tapestry": "tapestry needle",
    "rip": "rip back",
    "needle": "change needle",
    "stitches": "change stitch count",
    "tension": "change tension",
    "stack": "stack from here",
    "again": "start again",
    "wait": "knit more rounds first",
}
_ADVISED, _ALL = "advised", "all"


@click.command("fabric")
@project_argument
@click.option(
    "--under",
    multiple=True,
    type=click.Choice([_ADVISED, *_REMEDIES, _ALL]),
    help="How to go on; may be given more than once. Carry on if not given.",
)
@click.option("--ahead", type=whole(0, 1000, "20"), metavar="N", help="Rounds to come.")
@click.option("--even", is_flag=True, help="Leave out the unevenness of the hand to come.")
@click.option("--seed", type=SEED, default=0, help="Another seed, another unevenness.")
@click.option("--round", "told", type=ROUND, metavar="N", help="One round in words.")
@click.option("--letters", is_flag=True, help="Letters even where there are colours.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A picture instead: fabric.svg or fabric.png, side by side.",
)
@without_hands
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
    without_hands: bool,
    json: bool,
) -> None:
    """Show the fabric so far, and what will become of it.

    Under each option 'knitlog advise' tells of, with the same numbers. In the
    yarn's colours on a terminal that has them, in letters elsewhere; round 1
    at the bottom, stitch 1 at the right.

    \b
    Examples:
      knitlog fabric red-hat
      knitlog fabric red-hat --under advised --under carry-on
      knitlog fabric red-hat --under all -o red-hat.svg
      knitlog fabric red-hat --under tension --under stack
      knitlog fabric red-hat --under stitches --round 40
    """
    from knitlog.analysis.analysis import analyse
    from knitlog.analysis.fabrics import project_fabric

    state = library(folder).open(project).state
    view = analyse(state, past=past_of(folder, without=without_hands))
    shown = _Shown(state, project_fabric(view, ahead, uneven=not even, seed=seed), under)
    if json:
        answer(True, shown.to_object(), ())
    elif output is not None:
        shown.save(output)
    elif told is not None:
        say(shown.round_lines(told))
    else:
        say_parts(shown.parts(), lettered=letters)


class _Shown:
    """A project's fabric with the futures she asked for."""

    def __init__(self, state: ProjectState, found: ProjectFabric, under: tuple[str, ...]) -> None:
        self.state, self.found = state, found
        self.futures = self._chosen(under)

    def _chosen(self, under: tuple[str, ...]) -> list[Future]:
        """The futures asked for, in the advice's order; carry on if none is."""
        futures = self.found.futures
        if _ALL in under:
            return list(futures)
        wanted = {_REMEDIES[name] for name in under or ("carry-on",) if name in _REMEDIES}
        chosen = [
            future
            for number, future in enumerate(futures)
            if (future.option is not None and str(future.option.remedy) in wanted)
            or (number == 0 and (_ADVISED in under or (not under and len(futures) == 1)))
        ]
        if not chosen:
            if not under:
                return [futures[0]]
            raise click.UsageError(
                f"There is nothing to go on from in that way: {self.reason(futures[0])}"
            )
        return chosen

    def title(self, future: Future) -> str:
        from knitlog.report.fabric_words import future_title

        return future_title(future, self.found)

    def caption(self, future: Future) -> str:
        from knitlog.report.fabric_words import future_caption

        return future_caption(future, self.found, self.state)

    def reason(self, future: Future) -> str:
        from knitlog.report.fabric_words import future_reason

        return future_reason(future, self.found, self.state)

    @property
    def fabrics(self) -> list[tuple[str, Fabric]]:
        """Those that can be drawn, each with its caption."""
        return [(self.caption(f), f.fabric) for f in self.futures if f.fabric is not None]

    @property
    def notes(self) -> list[str]:
        """What to know besides."""
        from knitlog.report.fabric_words import stand_in_words

        words = stand_in_words(self.found)
        return [words] if words else []

    def parts(self) -> Iterator[Part]:
        """The fabrics below each other."""
        from knitlog.report.fabric_drawing import FabricDrawing

        last = [future for future in self.futures if future.fabric is not None][-1:]
        for future in self.futures:
            fabric = future.fabric
            if fabric is None:
                yield Part(said=(f"{self.caption(future)}.", self.reason(future)))
                continue
            keyed = future is last[0]
            drawing = FabricDrawing(fabric, self.found.aspect, future.knitted, keyed)
            yield Part(said=(f"{self.caption(future)}.",), drawing=drawing)
        if self.notes:
            yield Part(said=tuple(self.notes))

    def round_lines(self, number: int) -> Iterator[str]:
        """One round of each fabric in words."""
        from knitlog.report.fabric_text import round_words

        for future in self.futures:
            if future.fabric is None:
                yield f"{self.title(future)}: {self.reason(future)}"
            elif number > future.fabric.rounds:
                raise click.UsageError(
                    f"The fabric has {future.fabric.rounds} rounds: choose one of them, "
                    "or --ahead more"
                )
            else:
                words = round_words(future.fabric, number)
                yield f"{self.title(future)}. {words}" if len(self.futures) > 1 else words

    def to_object(self) -> dict[str, Any]:
        """Everything as JSON has it."""
        found = self.found
        return {
            "rounds_knitted": found.knitted,
            "home_stitch": found.home,
            "stitch_height_over_width": found.aspect,
            "stand_in_colours": found.stands_in,
            "ways": [self._way_object(future) for future in self.futures],
        }

    def _way_object(self, future: Future) -> dict[str, Any]:
        from knitlog.report.plan_json import fabric_object

        option, fabric = future.option, future.fabric
        found: dict[str, Any] = {
            "way": self.title(future).lower() if option is None else str(option.remedy),
            "title": self.title(future),
            "caption": self.caption(future),
            "reason": self.reason(future),
            "drift": None if fabric is None else future.drift,
            "share_in_tolerance": None,
            "fixes": None,
            "fabric": None if fabric is None else fabric_object(fabric),
        }
        if option is not None and fabric is not None:
            found["share_in_tolerance"] = option.share_in_tolerance
            found["fixes"] = option.expected_fixes
        return found

    def save(self, path: Path) -> None:
        """Draw the fabrics into a picture, side by side."""
        from knitlog.report.fabric_file import save_fabric
        from knitlog.report.fabric_image import Panel

        panels = [Panel(caption, fabric) for caption, fabric in self.fabrics]
        if not panels:
            raise click.UsageError(f"There is no fabric to draw: {self.reason(self.futures[0])}")
        save_fabric(path, panels, self.found.gauge)
        say([f"Drew {panels[0].fabric.rounds} rounds into {path}."])
