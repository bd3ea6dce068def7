"""Draw the pictures of the README: by the real program, on what is shipped with it.

The yarn of the first is invented, and nothing but the drift differs between its two fabrics; the
others are screens of the samples.  Run from the top of the checkout:
``python -m tests.tui.make_pictures``.
"""

import asyncio
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from knitlog.analysis.samples import lay_out_samples, sample_year
from knitlog.journal.library import Library
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import knit_fabric
from knitlog.plan.yarn_path import carry_on, tension_errors
from knitlog.report.fabric_image import Panel, fabric_svg
from knitlog.tui.app import KnitlogApp

from .conftest import settled

PICTURES = Path(__file__).parents[2] / "knitlog" / "tui" / "pictures"
COVER = PICTURES / "slides_and_stacks.svg"
SCREENS: dict[str, tuple[str, tuple[int, int], tuple[str, ...]]] = {
    "at_the_needles": ("too-small", (100, 30), ()),
    "the_futures": ("too-small", (100, 26), ("f4",)),
    "looking_back": ("09-second-frost-hat", (100, 42), ("ctrl+r",)),
}
"""Of each picture: the sample, columns and lines, and the keys that lead there."""
_STITCHES, _ROUNDS = 96, 44
_RUN = "moss 38cm #4c6b3c, cream 30cm #efe3c8, rust 44cm #b4532a, lake 40cm #2f5d7c"


def cover() -> str:
    """A fabric that slides beside one that stacks, as the text of an SVG file."""
    errors = tension_errors(_ROUNDS, 0.6, seed=4)
    panels = []
    for caption, drift in (
        ("Two stitches a round too far: the colours slide", 2.0),
        ("The same yarn, the same hands: the colours stack", 0.0),
    ):
        path = carry_on(0.0, drift, _STITCHES, _ROUNDS, errors)
        panels.append(Panel(caption, knit_fabric(parse_colour_run(_RUN), path, 1)))
    return fabric_svg(panels, stitch_px=4.0)


async def screen(folder: Path, sample: str, size: tuple[int, int], keys: tuple[str, ...]) -> str:
    """A screen of a sample, as the text of an SVG file."""
    app = KnitlogApp(Library(folder), folder / f"{sample}.knitlog", follow_every=3600)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        for key in keys:
            await pilot.press(key)
            await settled(pilot)
            await settled(pilot)  # what is worked out in two steps, and laid out after them
        return app.export_screenshot(title="knitlog")


def drawn() -> Iterator[tuple[Path, str]]:
    """Yield every picture: where it stands, and its text."""
    yield COVER, cover()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        lay_out_samples(folder)
        lay_out_samples(folder, sample_year())
        for name, told in SCREENS.items():
            yield PICTURES / f"{name}.svg", asyncio.run(screen(folder, *told))


def main() -> None:
    """Write them."""
    os.environ.update(KNITLOG_THEME="lamplight", TERM="xterm-256color", COLORTERM="truecolor")
    os.environ.pop("NO_COLOR", None)
    for path, svg in drawn():
        path.write_text(svg, encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
