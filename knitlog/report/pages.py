"""Pages: one self-contained HTML file each, light and dark, for screen, phone and paper.

Jinja2 fills the templates and escapes every word of the knitter's; pictures are SVG in the
page itself.  A content policy in the page forbids it the network.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from knitlog.report.parts import Part, is_number

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from knitlog.analysis.project_review import Review
    from knitlog.hands.learn import Hands
    from knitlog.plan.stitch_colours import Fabric
    from knitlog.yarn.gauge import Gauge

_FABRIC_WIDTH_PX = 340.0
_LARGEST_STITCH_PX = 6.0


def review_page(found: Review, progress: Callable[[str], None] | None = None) -> str:
    """Give a review as a whole HTML page.

    ``progress`` is told what is being done, a few words each.
    """
    from knitlog.report.charts import drift_chart, offset_chart
    from knitlog.report.history_drawing import HistoryDrawing, PairDrawing
    from knitlog.report.review_words import DRIFT, body_parts, headline

    tell = progress or (lambda _: None)
    state, parts = found.state, list(body_parts(found))
    pictures: dict[str, Any] = {}
    for part in parts:
        match part.drawing:
            case HistoryDrawing(history):
                tell("drawing the charts")
                pictures["offset_chart"] = safe(offset_chart(history))
                pictures["drift_chart"] = safe(drift_chart(history))
                pictures["history"] = part
            case PairDrawing(pair):
                tell("drawing the fabric")
                gauge = state.facts.gauge
                for name, fabric in (("knitted", pair.knitted), ("planned", pair.planned)):
                    title = f"As {name}"
                    pictures[name] = safe(fabric_picture(fabric, gauge, name, title))
                pictures["fabric"] = part
    tell("writing the page")
    ended = "finished" if state.finished else "last logged"
    return render(
        "review.html.j2",
        title=state.name,
        about=state.about,
        dates=f"Begun {found.began:%Y-%m-%d}, {ended} {found.ended:%Y-%m-%d}.",
        headline=headline(found),
        cards=_cards(found),
        **{"history": None, "fabric": None, **pictures},
        parts=[part for part in parts if part.drawing is None and part.heading != DRIFT],
        drift=next((part for part in parts if part.heading == DRIFT), None),
        problems=list(found.look.problems),
    )


def hands_page(
    hands: Hands, problems: Sequence[str] = (), progress: Callable[[str], None] | None = None
) -> str:
    """Give what is known of a knitter's hands as a whole HTML page."""
    from knitlog.hands.next_project import kinds_knitted
    from knitlog.report.charts import interval_chart
    from knitlog.report.hands_words import (
        KIND_HEAD,
        NEXT_PROJECT,
        interval_drawings,
        kind_rows,
        sentences,
    )

    if progress is not None:
        progress("drawing the charts")
    drawings = interval_drawings(hands) if hands.known else ()
    charts = [safe(interval_chart(one, f"hands-{number}")) for number, one in enumerate(drawings)]
    return render(
        "hands.html.j2",
        title="My hands",
        sentences=sentences(hands),
        charts=charts,
        next_project=NEXT_PROJECT,
        kinds=Part(head=KIND_HEAD, rows=tuple(kind_rows(kinds_knitted(hands))), spare=(3,)),
        problems=list(problems),
    )


def _cards(found: Review) -> list[tuple[str, str]]:
    """The few numbers one looks for first."""
    from knitlog.journal.registry import units_of
    from knitlog.report.words import about_length, hours

    cards = [(str(found.state.last_round), "rounds")]
    if found.share_of_fabric is not None:
        limit = f"within {found.state.facts.tolerance:g} stitches"
        cards.append((f"{100.0 * found.share_of_fabric:.0f} %", limit))
    cards.append((str(len(found.fixes)), "fix" if len(found.fixes) == 1 else "fixes"))
    if found.time is not None:
        cards.append((hours(found.time.knitting + found.time.fixing), "at the needles"))
    if found.yarn is not None:
        lengths = units_of(found.state.facts).lengths
        cards.append((about_length(found.yarn.used_mm.mean, lengths), "of yarn"))
    return cards


def fabric_picture(fabric: Fabric, gauge: Gauge | None, name: str, title: str) -> str:
    """A fabric as SVG to be put into a page, ids its own."""
    from knitlog.report.fabric_image import Panel, fabric_svg

    stitch = min(_FABRIC_WIDTH_PX / fabric.stitches, _LARGEST_STITCH_PX)
    svg = fabric_svg([Panel(title, fabric)], gauge, stitch)
    svg = svg[svg.index("<svg") :]
    svg = svg.replace('id="stitch"', f'id="{name}-stitch"').replace(
        "url(#stitch)", f"url(#{name}-stitch)"
    )
    svg = re.sub(r'(<svg [^>]*?) width="[^"]*" height="[^"]*"', r"\1", svg, count=1)
    return svg.replace("<svg ", '<svg class="fabric" ', 1)


def render(template: str, **values: Any) -> str:
    """Fill one of our templates; every value is escaped unless it was made :func:`safe`."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    from knitlog import __version__

    environment = Environment(
        loader=PackageLoader("knitlog.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(template).render(
        version=__version__, is_number=is_number, **values
    )


def safe(markup: str) -> Any:
    """Mark SVG of our own making as markup."""
    from markupsafe import Markup

    return Markup(markup)
