"""The pages: whole in themselves, and seen in a real browser where there is one."""

import re
import shutil
import struct
import subprocess
import zlib
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from tempfile import mkdtemp

import pytest

from knitlog.analysis.past import Past
from knitlog.analysis.project_review import review
from knitlog.journal.events import NeedleChanged, Position, ProjectSetUp, RoundLogged
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.report.pages import hands_page, review_page
from tests.tui.colour_maths import contrast

YEAR = Path(__file__).parents[2] / "sample_logs" / "history"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("chrome")
VOID = {"meta", "link", "br", "img", "input", "hr"}


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    found = review(JournalFile.open(YEAR / "03-storm-week-yoke.knitlog").state)
    learnt = Past(Library(YEAR)).learnt()
    return {"review": review_page(found), "hands": hands_page(learnt.hands)}


class Tags(HTMLParser):
    """Fails on a tag that is not closed in its turn; gathers ids and where links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in VOID:
            self.open.append(tag)
        self._gather(attrs)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._gather(attrs)

    def _gather(self, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("src", "href", "xlink:href", "action", "data", "poster"):
                self.links.append(value or "")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.parametrize("name", ["review", "hands"])
def test_a_page_is_whole_in_itself(pages: dict[str, str], name: str) -> None:
    tags = Tags()
    tags.feed(pages[name])
    assert tags.open == []
    assert len(tags.ids) == len(set(tags.ids))
    for link in tags.links:
        assert link == "data:," or (link.startswith("#") and link[1:] in tags.ids), link
    for target in re.findall(r"url\(#([^)]+)\)", pages[name]):
        assert target in tags.ids
    assert not re.search(r"<script|@import|url\((?!#)", pages[name])
    # every colour of a chart is the page's own
    assert not re.search(r"#0[1-6]0[1-6]0[1-6]", pages[name])
    assert "nan" not in re.sub(r"<style.*?</style>", "", pages[name], flags=re.DOTALL).split()


def test_the_same_project_gives_the_same_page(pages: dict[str, str]) -> None:
    found = review(JournalFile.open(YEAR / "03-storm-week-yoke.knitlog").state)
    assert review_page(found) == pages["review"]


def test_her_words_are_words_not_markup() -> None:
    state = JournalFile.open(YEAR / "06-thaw-headband.knitlog").state
    nasty = '<script>alert(1)</script>"&<b>'
    facts = state.facts.model_copy(
        update={"colours": tuple(c.model_copy(update={"name": nasty}) for c in state.facts.colours)}
    )
    page = review_page(review(replace(state, name=nasty, about=nasty, facts=facts)))
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_text_can_be_read_on_its_ground(pages: dict[str, str]) -> None:
    # WCAG 2.2, 1.4.3: text needs a contrast of 4.5 against its background
    light, dark, paper = (
        dict(re.findall(r"--(\w+): (#\w{6})", block))
        for block in re.findall(r":root \{(.*?)\}", pages["review"], re.DOTALL)
    )
    for colours in (light, dark, paper):
        for ink in ("ink", "muted", "accent", "other"):
            for ground in ("paper", "card"):
                assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
        assert contrast(colours["ink"], colours["band"]) >= 4.5


def test_progress_is_told_step_by_step() -> None:
    told: list[str] = []
    review_page(review(JournalFile.open(YEAR / "06-thaw-headband.knitlog").state), told.append)
    assert told == ["drawing the charts", "drawing the fabric", "writing the page"]


def _browser(page: Path, *how: str) -> subprocess.Popen[str]:
    """Start headless Chromium on a page, as a user of its own."""
    assert CHROMIUM is not None
    return subprocess.Popen(
        [
            CHROMIUM,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--enable-logging=stderr",
            f"--user-data-dir={mkdtemp(dir=page.parent)}",
            *how,
            page.as_uri(),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def _logged(browser: subprocess.Popen[str]) -> str:
    """Wait for Chromium; gives what it logged."""
    said, _ = browser.communicate(timeout=120)
    assert browser.returncode == 0, said
    return said


def _pixels(png: bytes) -> tuple[int, int, set[bytes]]:
    """Width, height and the colours of an 8-bit PNG's rows, enough to tell it is drawn."""
    width, height = struct.unpack(">II", png[16:24])
    at, data = 8, b""
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        if kind == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += 12 + length
    raw = zlib.decompress(data)
    step = len(raw) // height
    return width, height, {raw[i * step : (i + 1) * step] for i in range(height)}


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
@pytest.mark.parametrize("name", ["review", "hands"])
def test_a_real_browser_shows_it(pages: dict[str, str], name: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    page.write_text(pages[name], encoding="utf-8")
    pdf = tmp_path / "page.pdf"
    browsers = [_browser(page, "--no-pdf-header-footer", f"--print-to-pdf={pdf}")]
    shots = {"phone": (500, 2400), "desktop": (1280, 1600)}
    browsers += [
        _browser(
            page,
            f"--window-size={width},{height}",
            f"--blink-settings=preferredColorScheme={scheme}",
            f"--screenshot={tmp_path / f'{size}-{scheme}.png'}",
        )
        for size, (width, height) in shots.items()
        for scheme in ("0", "1")  # dark, light
    ]
    for browser in browsers:
        said = _logged(browser)
        assert "CONSOLE" not in said, said
    assert pdf.read_bytes().startswith(b"%PDF")
    for size, (width, height) in shots.items():
        dark, light = ((tmp_path / f"{size}-{scheme}.png").read_bytes() for scheme in ("0", "1"))
        assert dark != light
        for png in (dark, light):
            wide, tall, rows = _pixels(png)
            assert (wide, tall) == (width, height)
            assert len(rows) > tall / 8  # drawn, not blank


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
def test_a_phone_need_not_scroll_sideways(pages: dict[str, str], tmp_path: Path) -> None:
    # the page is put into a frame as wide as a small phone, and says how wide it would be
    frame = tmp_path / "frame.html"
    (tmp_path / "page.html").write_text(pages["review"], encoding="utf-8")
    frame.write_text(
        '<body><iframe id="f" src="page.html" width="360" height="800"></iframe><script>'
        'f.onload = () => document.body.append("wide=" + '
        "f.contentDocument.documentElement.scrollWidth + '.')</script>",
        encoding="utf-8",
    )
    said = _logged(
        _browser(
            frame, "--allow-file-access-from-files", "--virtual-time-budget=4000", "--dump-dom"
        )
    )
    found = re.search(r"wide=(\d+)\.", said)
    assert found, said[-500:]
    assert int(found[1]) <= 360


def test_a_project_without_rounds_and_one_with_an_odd_reading_have_pages_too() -> None:
    empty = fold([ProjectSetUp(name="Hut hat", facts=make_facts(stitches=90))])
    page = review_page(review(empty))
    assert "Hut hat" in page
    assert "<svg" not in page
    rounds = [40.0 + 0.5 * n for n in range(20)]
    rounds[12] += 30.0
    odd = fold(
        [
            ProjectSetUp(name="Hut hat", facts=make_facts(stitches=120, needle_mm=4.0)),
            *(
                RoundLogged(round=n, positions=(Position(stitch=stitch),))
                for n, stitch in enumerate(rounds, start=1)
            ),
            NeedleChanged(from_round=15, needle_mm=4.5),
        ]
    )
    page = review_page(review(odd))
    assert "perhaps miscounted" in page
    assert "needle, count, tension or place changed" in page
