"""The pictures of the README: there, named, and drawn by the program as it is."""

import re
from pathlib import Path

from .make_pictures import COVER, PICTURES, SCREENS, cover

README = Path(__file__).parents[2] / "README.md"


def test_the_cover_is_what_the_program_draws() -> None:
    assert COVER.read_text(encoding="utf-8") == cover()


def test_the_readme_shows_every_picture_and_no_other() -> None:
    text = README.read_text(encoding="utf-8")
    shown = {README.parent / path for path in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text)}
    assert shown == {COVER, *(PICTURES / f"{name}.svg" for name in SCREENS)}
    assert shown == set(PICTURES.iterdir())
    # the first screenful: what it is, then the one command
    assert text.index("slides_and_stacks") < text.index("knitlog try") < 1500
