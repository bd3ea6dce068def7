"""Pictures of the fabric as files."""

import os
from pathlib import Path
from xml.etree import ElementTree

import pytest

from knitlog.journal.errors import JournalError
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import knit_fabric
from knitlog.plan.yarn_path import carry_on
from knitlog.report import fabric_file
from knitlog.report.fabric_file import free_path, save_fabric
from knitlog.report.fabric_image import Panel, PictureError

PANELS = [
    Panel("Carry on", knit_fabric(parse_colour_run("rose 4cm, moss 6cm"), carry_on(0, 1, 10, 5)))
]


def test_the_suffix_decides_what_is_drawn(tmp_path: Path) -> None:
    save_fabric(tmp_path / "new" / "a.svg", PANELS)
    assert ElementTree.parse(tmp_path / "new" / "a.svg").getroot().tag.endswith("svg")
    save_fabric(tmp_path / "a.PNG", PANELS)
    # the eight bytes every PNG file begins with (ISO/IEC 15948)
    assert (tmp_path / "a.PNG").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    if os.name != "nt":  # hers alone
        for path in (tmp_path / "a.PNG", tmp_path / "new", tmp_path / "new" / "a.svg"):
            assert path.stat().st_mode & 0o077 == 0


def test_another_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PictureError, match=r"ends in \.svg or \.png"):
        save_fabric(tmp_path / "a.bmp", PANELS)


def test_a_picture_is_never_written_over_unasked(tmp_path: Path) -> None:
    first = free_path(tmp_path, "hat", ".svg")
    assert first.name == "hat.svg"
    first.touch()
    assert free_path(tmp_path, "hat", ".svg").name == "hat-2.svg"


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(JournalError, match="cannot be made"):
        save_fabric(tmp_path / "file" / "a.svg", PANELS)


def test_a_folder_full_of_pictures_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fabric_file, "_MOST_TRIES", 3)
    for name in ("hat.svg", "hat-2.svg"):
        (tmp_path / name).touch()
    with pytest.raises(PictureError, match="clear some away"):
        free_path(tmp_path, "hat", ".svg")


@pytest.mark.skipif(os.name == "nt", reason="links as POSIX has them")
def test_a_link_lying_in_the_folder_is_neither_followed_nor_replaced(tmp_path: Path) -> None:
    (tmp_path / "hat.svg").symlink_to(tmp_path / "letter.txt")
    assert free_path(tmp_path, "hat", ".svg").name == "hat-2.svg"
    (tmp_path / "pictures").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(PictureError, match="is a link to another folder"):
        free_path(tmp_path / "pictures", "hat", ".svg")
