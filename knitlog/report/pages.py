"""Pages: one self-contained HTML file each, light and dark, for screen, phone and paper.

Jinja2 fills the templates and escapes every word of the knitter's; pictures are SVG in the
page itself.  A content policy in the page forbids it the network.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from knitlog.drift import Estimate
    from knitlog.hands import Hands
    from knitlog.plan.fabric import Fabric
    from knitlog.report.review import Review
    from knitlog.yarn.gauge import Gauge

_FABRIC_WIDTH_PX = 340.0
_LARGEST_STITCH_PX = 6.0


def review_page(found: Review, progress: Callable[[str], None] | None = None) -> str:
    """Give a review as a whole HTML page.

    ``progress`` is told what is being done, a few words each.
    """
    from knitlog.plan.errors import PlanError
    from knitlog.report import review_text as words
    from knitlog.report.charts import offset_chart, stint_chart
    from knitlog.report.fabric_pair import fabric_pair

    tell = progress or (lambda _: None)
    state = found.state
    tell("drawing the charts")
    charts = {"offset_chart": safe(offset_chart(found)), "stint_chart": safe(stint_chart(found))}
    tell("drawing the fabric")
    knitted = planned = stand_in = ""
    try:
        pair = fabric_pair(found.look)
    except PlanError as error:
        pair, stand_in = None, str(error)
    if pair is not None:
        knitted = fabric_picture(pair.knitted, state.facts.gauge, "knitted", "As knitted")
        planned = fabric_picture(pair.planned, state.facts.gauge, "planned", "As planned")
        stand_in = pair.stand_in
    tell("writing the page")
    ended = "finished" if state.finished else "last logged"
    fit = found.fit
    suspects = () if fit is None else fit.suspects
    return render(
        "review.html.j2",
        title=state.name,
        about=state.about,
        dates=f"Begun {found.began:%Y-%m-%d}, {ended} {found.ended:%Y-%m-%d}.",
        headline=words.headline(found),
        cards=_cards(found),
        **charts,
        knitted=safe(knitted),
        planned=safe(planned),
        stand_in=stand_in,
        stint_rows=words.stint_rows(found),
        fix_rows=words.fix_rows(found),
        fix_sentence=words.fix_sentence(found),
        breaks=[
            *(words.break_sentence(b) for b in found.breaks),
            *(
                f"Round {s.round} reads stitch {s.stitch:g}, about {s.expected:.0f} was expected: "
                "perhaps a miscount."
                for s in suspects
            ),
        ],
        time=list(words.time_sentences(found.time)) if found.time else [],
        yarn=list(words.yarn_sentences(found.yarn)) if found.yarn else [],
        notes=[(f"Round {n.round}:" if n.round is not None else "", n.text) for n in state.notes],
        problems=list(found.look.problems),
    )


def hands_page(
    hands: Hands, problems: Sequence[str] = (), progress: Callable[[str], None] | None = None
) -> str:
    """Give what is known of a knitter's hands as a whole HTML page."""
    from knitlog.hands import kinds_knitted, sentences
    from knitlog.report.charts import interval_chart
    from knitlog.report.hands_text import habits, kind_rows

    if progress is not None:
        progress("drawing the charts")
    charts = []
    if hands.known:
        found = habits(hands)
        groups = (
            ("shares", "share; 1 is the loop law, or as meant", True),
            ("stitches", "stitches (on 128)", False),
        )
        for name, unit, shares in groups:
            rows = [
                (h.short, _three(h.any_knitter), _three(h.yours))
                for h in found
                if h.unit.startswith("of ") == shares
            ]
            charts.append(safe(interval_chart(rows, unit, name, f"Hands: {unit}")))
    return render(
        "hands.html.j2",
        title="My hands",
        sentences=sentences(hands),
        charts=charts,
        kinds=kind_rows(kinds_knitted(hands)),
        problems=list(problems),
    )


def _three(e: Estimate) -> tuple[float, float, float]:
    return e.mean, e.low95, e.high95


def _cards(found: Review) -> list[tuple[str, str]]:
    """The few numbers one looks for first."""
    from knitlog.report.review_text import hours
    from knitlog.yarn.units import format_length

    cards = [(str(found.state.last_round), "rounds")]
    if found.share_in_tolerance is not None:
        limit = f"within {found.state.facts.tolerance:g} stitches"
        cards.append((f"{100.0 * found.share_in_tolerance:.0f} %", limit))
    cards.append((str(len(found.fixes)), "fix" if len(found.fixes) == 1 else "fixes"))
    if found.time is not None:
        cards.append((hours(found.time.knitting + found.time.mending), "at the needles"))
    if found.yarn is not None:
        cards.append((format_length(found.yarn.used_mm.mean), "of yarn"))
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
    return environment.get_template(template).render(version=__version__, **values)


def safe(markup: str) -> Any:
    """Mark SVG of our own making as markup."""
    from markupsafe import Markup

    return Markup(markup)
