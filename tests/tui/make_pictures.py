"""Draw the two pictures of the README from the real program on a shipped sample.

Run from the top of the checkout: ``python -m tests.tui.make_pictures``.
"""

import asyncio
import os
import tempfile
from pathlib import Path

from knitlog import workbench
from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp

from .conftest import settled

SAMPLE = "too-small"
PICTURES = Path(__file__).parents[2] / "knitlog" / "tui" / "pictures"
SIZES = ((120, 40), (80, 24))


async def draw(folder: Path, size: tuple[int, int]) -> str:
    """The screen at the needles of the sample, as SVG."""
    workbench.lay_out_samples(folder)
    app = KnitlogApp(Library(folder), folder / f"{SAMPLE}.knitlog", follow_every=3600)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        return app.export_screenshot(title="knitlog")


def main() -> None:
    """Write both pictures."""
    os.environ["KNITLOG_THEME"] = "lamplight"
    PICTURES.mkdir(exist_ok=True)
    for width, height in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            svg = asyncio.run(draw(Path(folder), (width, height)))
        path = PICTURES / f"at_the_needles_{width}x{height}.svg"
        path.write_text(svg, encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
