"""Write the table of colour names in the yarn room from the lists matplotlib keeps.

    .venv/bin/python -m tests.make_colour_table

The names are those of CSS (W3C CSS Color 4) and of the xkcd colour survey (2010, public
domain).  A knitter's own words are matched to it, so names nobody would give a yarn go.
"""

import re
from pathlib import Path

TABLE = Path(__file__).parents[1] / "knitlog" / "yarn" / "colour_table.py"
_COARSE = re.compile(r"poo|shit|puke|vomit|snot|barf|booger|piss|diarrhea|bile|sick|ugly|gross")
_WIDTH = 96


def table() -> dict[str, str]:
    """Colour by name, letters only, as "rrggbb"."""
    from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

    asked = {name.removeprefix("xkcd:"): colour for name, colour in XKCD_COLORS.items()}
    # of a dark grey CSS makes one lighter than its grey: there the people asked are right
    plain = {n: c for n, c in CSS4_COLORS.items() if not n.startswith(("dark", "light", "pale"))}
    found = {
        re.sub(r"\W", "", name): str(colour).lower().removeprefix("#")
        for name, colour in {**CSS4_COLORS, **asked, **plain}.items()
    }
    return {name: found[name] for name in sorted(found) if not _COARSE.search(name)}


def module() -> str:
    """The table as Python, as many names a line as fit."""
    lines = [""]
    for name, colour in table().items():
        item = f"{name} {colour}"
        if len(lines[-1]) + len(item) + 2 > _WIDTH:
            lines.append("")
        lines[-1] += f"{', ' if lines[-1] else ''}{item}"
    rows = ",\n".join(lines)
    return (
        '"""Colour names of CSS and of the xkcd survey, letters only, with their values.\n\n'
        "Written by tests/make_colour_table.py; not to be changed by hand.\n"
        '"""\n\n'
        f'TABLE = """\\\n{rows}\n"""\n'
    )


if __name__ == "__main__":
    TABLE.write_text(module(), encoding="utf-8")
