"""Small helpers of the plan commands: an answer in words or JSON, a fabric in letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from knitlog.drift import Estimate
    from knitlog.plan.fabric import Fabric

as_json = click.option("--json", is_flag=True, help="The answer as one JSON object.")

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"


def answer(json: bool, content: Mapping[str, Any], said: Iterable[str]) -> None:
    """Print an answer as JSON or in words."""
    if json:
        from knitlog.cli.contract import to_line

        click.echo(to_line(content))
        return
    from knitlog.cli.wording import say

    say(iter(said))


def several(text: str) -> list[str]:
    """Split what was typed at commas and semicolons."""
    return [part.strip() for part in text.replace(";", ",").split(",") if part.strip()]


def numbers_of(estimate: Estimate | None) -> dict[str, float] | None:
    """An estimate as JSON has it."""
    if estimate is None:
        return None
    return {
        "mean": estimate.mean,
        "sd": estimate.sd,
        "low95": estimate.low95,
        "high95": estimate.high95,
    }


def estimate_words(estimate: Estimate, unit: str) -> str:
    """An estimate with its 95 % interval, in words."""
    return (
        f"{estimate.mean:.2f} {unit} (between {estimate.low95:.2f} and {estimate.high95:.2f}, "
        "19 times in 20)"
    )


def fabric_letters(fabric: Fabric) -> Iterable[str]:
    """A fabric in letters, one a stitch, as charts are drawn, with its key."""
    from knitlog.plan.fabric import as_drawn

    cells = as_drawn(fabric.cells)
    for line, row in enumerate(cells.tolist()):
        number = fabric.rounds - line
        stitches = "".join(" " if index < 0 else _letter(index) for index in row)
        yield f"{number:>4} {stitches}"
    yield ""
    for index, name in enumerate(fabric.names):
        yield f"  {_letter(index)} {name} {fabric.palette[index]}"


def fabric_object(fabric: Fabric) -> dict[str, Any]:
    """A fabric as JSON: rows as knitted, round 1 first; -1 where there is no stitch."""
    return {
        "colours": [
            {"name": name, "colour": colour}
            for name, colour in zip(fabric.names, fabric.palette, strict=True)
        ],
        "rows": fabric.cells.tolist(),
        "flat": fabric.flat,
    }


def save_picture(path: Path, fabric: Fabric, caption: str, gauge: str | None) -> None:
    """Write a fabric as SVG or PNG, by the file's suffix."""
    from knitlog.journal.disk import create_file
    from knitlog.report.fabric_image import Panel, fabric_png, fabric_svg
    from knitlog.yarn.gauge import parse_gauge

    shape = None if gauge is None else parse_gauge(gauge)
    panels = [Panel(caption, fabric)]
    match path.suffix.lower():
        case ".svg":
            data = fabric_svg(panels, shape).encode()
        case ".png":
            data = fabric_png(panels, shape)
        case _:
            raise click.UsageError("Name a picture that ends in .svg or .png, as fabric.svg")
    create_file(path, data, overwrite=True)


def _letter(index: int) -> str:
    return _LETTERS[index % len(_LETTERS)]
