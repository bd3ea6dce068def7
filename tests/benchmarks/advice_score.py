"""Scores ways of deciding over projects of real yarn, and prints the table.

    python -m tests.benchmarks.advice_score --projects 10 [--out rows.jsonl]

Every cell has hands of its own; within a cell every policy meets the same knitting.
"""

import argparse
import json
import os
import sys
from pathlib import Path

# threads of the linear algebra would only get in each other's way
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from tests.benchmarks.advice_policies import (
    Clairvoyant,
    DoNothing,
    FiveStitchRule,
    Knitlog,
    PlainController,
    Practitioner,
    finish,
)
from tests.benchmarks.advice_projects import Play, invent

COUNTS = {1: "free", 2: "twos", 4: "fours", 0: "fixed"}
NEEDLES = (1, 2, 4)
CELLS = tuple((multiple, needles) for multiple in COUNTS for needles in NEEDLES)
OTHERS = {
    "nothing": DoNothing,
    "rule": FiveStitchRule,
    "practitioner": Practitioner,
    "plain": PlainController,
    "clairvoyant": Clairvoyant,
}
Row = dict[str, float]


def score(multiple: int, needles: int, seed: int, *, only: tuple[str, ...] = ()) -> Row:
    """Return the bill of every policy on one project, minutes."""
    project = invent(seed, multiple, needles)
    row: Row = {"multiple": multiple, "needles": needles, "seed": seed}
    for name, policy in OTHERS.items():
        if not only or name in only:
            row[name] = finish(Play(project, seed), policy()).cost
    knitlog = Knitlog()
    play = finish(Play(project, seed), knitlog)
    row["knitlog"] = play.cost
    row["changes"] = play.counts_changed + play.needles_changed
    row["in_place"] = 1 - float(np.mean(play.out))
    row["looks"], row["changed"] = knitlog.looks, knitlog.changed
    row["unforetold"] = knitlog.unforetold
    return row


def mean(rows: list[Row], name: str) -> float:
    """Return the mean of one column."""
    return float(np.mean([row[name] for row in rows]))


def ratio(rows: list[Row], over: str) -> tuple[float, float]:
    """Return knitlog's mean bill over another's, and its standard error."""
    ours = np.array([row["knitlog"] for row in rows])
    theirs = np.array([row[over] for row in rows])
    found = float(ours.mean() / theirs.mean())
    # standard error of a ratio of means (Cochran, Sampling Techniques, 6.4)
    error = np.std(ours - found * theirs, ddof=1) / np.sqrt(len(rows)) / theirs.mean()
    return found, float(error)


def table(rows: list[Row]) -> str:
    """Return the results as a Markdown table, a cell a line."""
    lines = [
        "| count | needles | projects | nothing | rule | practitioner | plain | clairvoyant "
        "| knitlog (spread) | to nothing | to plain | to clairvoyant | changes | over two "
        "| remedy changed | not foretold |",
        "| --- " * 16 + "|",
    ]
    cells = [
        (COUNTS[m], str(n), [r for r in rows if (r["multiple"], r["needles"]) == (m, n)])
        for m, n in CELLS
    ]
    for count, needles, some in [*cells, ("all", "all", rows)]:
        if len(some) < 2:
            continue
        ratios = [
            f"{found:.2f} +- {error:.2f}"
            for found, error in (ratio(some, o) for o in ("nothing", "plain", "clairvoyant"))
        ]
        looks = sum(r["looks"] for r in some)
        spread = float(np.std([r["knitlog"] for r in some], ddof=1))
        others = " | ".join(f"{mean(some, name):.0f}" for name in OTHERS)
        many = np.mean([r["changes"] > 2 for r in some])
        lines.append(
            f"| {count} | {needles} | {len(some)} | {others} "
            f"| {mean(some, 'knitlog'):.0f} ({spread:.0f}) | {' | '.join(ratios)} "
            f"| {mean(some, 'changes'):.2f} | {100 * many:.0f} % "
            f"| {100 * sum(r['changed'] for r in some) / looks:.1f} % "
            f"| {100 * sum(r['unforetold'] for r in some) / looks:.1f} % |"
        )
    return "\n".join(lines)


def run(projects: int, first: int = 0, out: Path | None = None) -> list[Row]:
    """Score ``projects`` of every cell, number by number, so that a part is a fair part."""
    rows = []
    for number in range(first, first + projects):
        for multiple, needles in CELLS:
            seed = 1000 * (1 + CELLS.index((multiple, needles))) + number
            rows.append(score(multiple, needles, seed))
            if out is not None:
                with out.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(rows[-1]) + "\n")
    return rows


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--projects", type=int, default=10, help="projects a cell")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--out", type=Path, help="also write a row a project, as JSON lines")
    parser.add_argument("--rows", type=Path, help="tell of rows written before, play none")
    given = parser.parse_args()
    if given.rows is not None:
        rows = [json.loads(line) for line in given.rows.read_text().splitlines()]
    else:
        rows = run(given.projects, given.first, given.out)
    sys.stdout.write(table(rows) + "\n")


if __name__ == "__main__":
    main()
