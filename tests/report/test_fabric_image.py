"""Pictures of the fabric, read back."""

import io
import subprocess
import sys
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from knitlog.plan.stitch_colours import Fabric, knit_fabric
from knitlog.plan.yarn_path import carry_on
from knitlog.report.fabric_image import (
    Panel,
    PictureError,
    cell_colours,
    fabric_png,
    fabric_svg,
    stitch_aspect,
)
from knitlog.yarn.colours import ColourRun, ColourSegment
from knitlog.yarn.gauge import Gauge
from tests.plan.paths import knit_on

RUN = ColourRun(
    (
        ColourSegment("rose & ash", 30, "#cc6677"),
        ColourSegment("moss", 50, "#117733"),
        ColourSegment("snow", 20, "#f4f4f8"),
    )
)
SVG = "{http://www.w3.org/2000/svg}"


def drifting(rounds: int = 12) -> Fabric:
    return knit_fabric(RUN, carry_on(0, 1, 19, rounds), 2)


def painted(svg: str, wide: float, tall: float, shape: tuple[int, int]) -> list[list[str | None]]:
    """The colour of every cell, read back from the rectangles of the first panel."""
    group = ET.fromstring(svg).find(f"{SVG}g")
    assert group is not None
    cells: list[list[str | None]] = [[None] * shape[1] for _ in range(shape[0])]
    for rect in group.findall(f"{SVG}rect"):
        fill = rect.get("fill", "")
        if fill.startswith("#"):
            row = round(float(rect.get("y", "")) / tall)
            first = round(float(rect.get("x", "")) / wide)
            for column in range(first, first + round(float(rect.get("width", "")) / wide)):
                cells[row][column] = fill
    return cells


def test_the_svg_shows_every_stitch_round_one_at_the_bottom_right() -> None:
    fabric = drifting()
    gauge = Gauge(2.0, 2.8)
    svg = fabric_svg([Panel("as it is", fabric)], gauge, stitch_px=7)
    tall = 7 * 2.0 / 2.8
    cells = painted(svg, 7, tall, fabric.cells.shape)
    for r in range(fabric.rounds):
        for j in range(fabric.stitches):
            drawn = cells[fabric.rounds - 1 - r][fabric.stitches - 1 - j]
            assert drawn == fabric.palette[fabric.cells[r, j]]


def test_stitches_are_wider_than_tall_as_the_gauge_says() -> None:
    assert stitch_aspect(Gauge(2.0, 2.8)) == pytest.approx(2.0 / 2.8)
    # Munden, wet relaxed: 4.1 / 5.3
    assert stitch_aspect(None) == pytest.approx(4.1 / 5.3)


def test_the_svg_names_its_colours_and_panels() -> None:
    svg = fabric_svg([Panel("nothing done", drifting()), Panel("20 stitches", drifting(5))])
    texts = [text.text for text in ET.fromstring(svg).iter(f"{SVG}text")]
    for word in ("rose & ash", "moss", "snow", "nothing done", "20 stitches", "1", "10"):
        assert word in texts
    assert texts.count("moss") == 1


def test_rounds_with_fewer_stitches_leave_the_paper_free() -> None:
    knitted = carry_on(0, 1, 9, 2)
    path = knit_on(knitted, carry_on(2.0, 0, 10, 2))
    fabric = knit_fabric(RUN, path)
    cells = painted(fabric_svg([Panel("", fabric)], None, 4), 4, 4 * 4.1 / 5.3, (4, 10))
    # the tenth stitch is the leftmost; rounds 1 and 2, at the bottom, do not have it
    assert [row[0] is None for row in cells] == [False, False, True, True]
    assert cell_colours(fabric)[0, 9].tolist() == [255, 255, 255]
    assert cell_colours(fabric)[0, 0].tolist() == [0xCC, 0x66, 0x77]


def test_the_png_is_one_and_shows_the_colours_the_right_way_round() -> None:
    matplotlib_image = pytest.importorskip("matplotlib.image")
    fabric = drifting(30)
    data = fabric_png([Panel("as it is", fabric)], Gauge(2.0, 2.8), stitch_px=16)
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    pixels = (matplotlib_image.imread(io.BytesIO(data))[..., :3] * 255).round().astype(int)
    # the fabric is the largest block of pixels in the yarn's own colours
    known = np.zeros(pixels.shape[:2], dtype=bool)
    for colour in np.unique(cell_colours(fabric).reshape(-1, 3), axis=0):
        known |= (pixels == colour).all(axis=-1)
    rows = np.flatnonzero(known.mean(axis=1) > 0.4)
    columns = np.flatnonzero(known[rows[0] : rows[-1]].mean(axis=0) > 0.5)
    top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    wide, tall = (right - left) / fabric.stitches, (bottom - top) / fabric.rounds
    assert tall / wide == pytest.approx(2.0 / 2.8, rel=0.05)
    drawn = cell_colours(fabric)[::-1, ::-1]
    for r in range(fabric.rounds):
        for j in range(fabric.stitches):
            middle = pixels[int(top + (r + 0.5) * tall), int(left + (j + 0.5) * wide)]
            assert middle.tolist() == drawn[r, j].tolist()


def test_panels_may_stand_side_by_side_in_a_png() -> None:
    pytest.importorskip("matplotlib")
    one = fabric_png([Panel("one", drifting())])
    two = fabric_png([Panel("one", drifting()), Panel("two", drifting(20))])
    # width stands in bytes 16 to 19 of a PNG file (ISO/IEC 15948, IHDR)
    assert int.from_bytes(two[16:20], "big") > int.from_bytes(one[16:20], "big")


def test_drawing_svg_does_not_load_matplotlib() -> None:
    code = (
        "import sys, knitlog.report.fabric_image; "
        "sys.exit(any(name.split('.')[0] == 'matplotlib' for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_senseless_pictures_are_refused() -> None:
    with pytest.raises(PictureError, match="no fabric"):
        fabric_svg([])
    with pytest.raises(PictureError, match="wider than nothing"):
        fabric_svg([Panel("", drifting())], None, 0)
    pytest.importorskip("matplotlib")
    with pytest.raises(PictureError, match="fewer rounds"):
        fabric_png([Panel("", drifting(5000))], None, 10)


def test_without_matplotlib_a_png_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(PictureError, match="needs matplotlib"):
        fabric_png([Panel("", drifting())])
