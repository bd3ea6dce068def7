"""Looking back: review, hands, compare, search, and everything out and back in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.answers import Progress, as_json, progress_option, say, tell
from knitlog.cli.guard import DONE, FAILED, complain
from knitlog.cli.options import library, past_of, project_argument, without_hands

if TYPE_CHECKING:
    from collections.abc import Sequence

    from knitlog.analysis.project_review import Review

_html = click.option(
    "--html",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a page with pictures to this file, to open in a browser or print.",
)


@click.command("review")
@project_argument
@as_json
@_html
@without_hands
@progress_option
@click.pass_obj
def review(
    folder: Path | None,
    project: str,
    *,
    json: bool,
    html: Path | None,
    without_hands: bool,
    progress: Progress | None,
) -> None:
    """Look back on a project, finished or not.

    The drift stint by stint, what each fix was meant to do and what it did,
    where the time went, how much of the fabric is in place, what changed and
    was never logged, the yarn used against plan.

    PROJECT is the name of a project, or a journal or CSV file.

    \b
    Examples:
      knitlog review red-hat
      knitlog review red-hat --html red-hat.html
    """
    found = _reviewed(folder, project, without=without_hands, progress=progress)
    if html is not None:
        from knitlog.report.pages import review_page

        _write_page(html, review_page(found, progress), f"the review of {found.state.name}")
        if not json:
            return
    from knitlog.report.json_objects import review_object
    from knitlog.report.review_words import review_parts

    tell(json, lambda: review_object(found), review_parts(found))


@click.command("compare")
@click.argument("first")
@click.argument("second")
@as_json
@without_hands
@click.pass_obj
def compare(
    folder: Path | None, first: str, second: str, *, json: bool, without_hands: bool
) -> None:
    """Put two projects side by side.

    \b
    Example:
      knitlog compare red-hat blue-hat
    """
    from knitlog.report.compare_words import compare_object, compare_parts

    left, right = (
        _reviewed(folder, name, without=without_hands, progress=None) for name in (first, second)
    )
    tell(json, lambda: compare_object(left, right), compare_parts(left, right))


@click.command("hands")
@as_json
@_html
@progress_option
@click.pass_obj
def hands(folder: Path | None, *, json: bool, html: Path | None, progress: Progress | None) -> None:
    """Say what your finished projects tell of your hands.

    Yarn per stitch by needle, fibre and stitch pattern; what a needle step
    does; how even your rounds are; how well your fixes land. New projects start
    from it, unless you say --without-hands or set KNITLOG_WITHOUT_HANDS=1.

    \b
    Examples:
      knitlog hands
      knitlog hands --html hands.html
    """
    from knitlog.report.hands_words import hands_parts, left_out_sentences
    from knitlog.report.json_objects import hands_object

    learnt = past_of(folder, without=False, progress=progress).learnt()
    problems = left_out_sentences(learnt)
    if html is not None:
        from knitlog.report.pages import hands_page

        _write_page(html, hands_page(learnt.hands, problems, progress), "your hands")
        if not json:
            return
    parts = hands_parts(learnt.hands, problems)
    tell(json, lambda: {**hands_object(learnt.hands), "problems": list(problems)}, parts)


@click.command("search")
@click.argument("words", nargs=-1, required=True, metavar="WORD...")
@as_json
@click.pass_obj
def search(folder: Path | None, words: tuple[str, ...], *, json: bool) -> None:
    """Find words in your notes, in every project.

    Several words must all be there, in any order.

    \b
    Example:
      knitlog search storm
    """
    from knitlog.cli.answers import answer
    from knitlog.journal.library import search as find

    states = [s.state for s in library(folder).projects() if s.state is not None]
    hits = find(states, " ".join(words))
    content = {
        "hits": [
            {
                "project": h.slug,
                "name": h.project,
                "where": h.where,
                "text": h.text,
                "at": h.at.isoformat(),
            }
            for h in hits
        ]
    }
    said = [f"{h.project}, {h.where} ({h.at:%Y-%m-%d}): {h.text}" for h in hits]
    answer(json, content, said or [f"Nothing was written of {' '.join(words)}."])


@click.command("export-all")
@click.argument("to", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False))
@click.pass_obj
def export_everything(folder: Path | None, to: Path) -> int:
    """Write every project as JSON and as CSV, units in the headers.

    For each project NAME.json and NAME.events.csv, either of which 'import-all'
    reads back as the same project; and tables over all projects for a
    spreadsheet.

    \b
    Example:
      knitlog export-all winter
    """
    from knitlog.journal.archive import export_all

    done = export_all(library(folder), to)
    say([f"Wrote {_count(len(done.names), 'project')} in {len(done.files)} files to {to}."])
    return _problems(done.problems)


@click.command("import-all")
@click.argument("source", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False))
@click.option("--tables", is_flag=True, help="Read the CSV tables of events, not the JSON files.")
@click.pass_obj
def import_everything(folder: Path | None, source: Path, *, tables: bool) -> int:
    """Read back what 'export-all' wrote.

    A project whose name is taken is left as it is.

    \b
    Example:
      knitlog import-all winter
    """
    from knitlog.journal.archive import import_all

    done = import_all(library(folder), source, tables=tables)
    say([f"Made {_count(len(done.names), 'project')}."])
    return _problems(done.problems)


@click.command("sample-year")
@click.argument("to", metavar="FOLDER", type=click.Path(path_type=Path, file_okay=False))
def sample_year(to: Path) -> None:
    """Lay out an invented year of knitting, to look back on.

    Eight finished projects and one on the needles, by the keeper of a mountain
    hut who does not exist. Look at them with --folder.

    \b
    Example:
      knitlog sample-year year
    """
    from knitlog.analysis.samples import lay_out_samples
    from knitlog.analysis.samples import sample_year as shipped

    laid = lay_out_samples(to, shipped())
    name = laid[1].stem if len(laid) > 1 else "NAME"
    say(
        iter(
            [
                f"Laid out {len(laid)} projects in {to}. They are invented. Try:",
                f"  knitlog --folder {to} hands",
                f"  knitlog --folder {to} review {name}",
                f"  knitlog --folder {to} review {name} --html review.html",
            ]
        )
    )


def _reviewed(
    folder: Path | None, name: str, *, without: bool, progress: Progress | None
) -> Review:
    from knitlog.analysis.project_review import review as look_back
    from knitlog.cli.measure import state_of

    # a file is measured by itself; a project of hers starts from her past
    own = not Path(name).exists()
    past = past_of(folder, without=without, progress=progress) if own else None
    return look_back(state_of(folder, name, {}), past=past)


def _write_page(path: Path, page: str, what: str) -> None:
    from knitlog.journal.disk import create_file

    create_file(path, page.encode(), overwrite=True)
    say([f"Wrote {what} to {path}."])


def _problems(problems: Sequence[str]) -> int:
    for sentence in problems:
        complain(sentence)
    return FAILED if problems else DONE


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
