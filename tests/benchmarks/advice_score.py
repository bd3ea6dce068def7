"""Scores ways of deciding over simulated projects, and prints the table.

    python tests/benchmarks/advice_score.py --projects 34 [--out rows.jsonl]

Every cell has knitters of its own; within a cell every policy meets the same knitting.
"""

import argparse
import json
import os
import sys
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

# one project a process: threads of the linear algebra would only get in each other's way
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from advice_policies import Clairvoyant, DoNothing, FiveStitchRule, Knitlog

from knitlog.simulate.projects import invent, play

MULTIPLES = (1, 2, 4, 8, 0)
NEEDLES = (1, 2, 4)
CELLS = tuple((multiple, needles) for multiple in MULTIPLES for needles in NEEDLES)
POLICIES = ("nothing", "rule_round", "rule_off", "clairvoyant", "all_seeing", "knitlog")


def seed_of(multiple: int, needles: int, number: int) -> int:
    """Return the seed of one project of a cell."""
    return 10_000 * (1 + CELLS.index((multiple, needles))) + number


def score(multiple: int, needles: int, seed: int) -> dict[str, float]:
    """Return the cost of every policy on one project, minutes."""
    project, hands = invent(seed, multiple, needles)
    clairvoyant = Clairvoyant(project, hands)
    knitlog = Knitlog()
    policies = {
        "nothing": DoNothing(),
        "rule_round": FiveStitchRule(per_round=True),
        "rule_off": FiveStitchRule(),
        "clairvoyant": clairvoyant,
        "all_seeing": Clairvoyant(project, hands, all_seeing=True, tables=clairvoyant),
        "knitlog": knitlog,
    }
    row: dict[str, float] = {"multiple": multiple, "needles": needles, "seed": seed}
    for name, policy in policies.items():
        outcome = play(project, hands, policy, seed)
        row[name] = outcome.cost
        if name == "knitlog":
            row["fixes"], row["changes"] = outcome.fixes, outcome.changes
    row["changed"], row["foretold"], row["looks"] = knitlog.changed_by_a_reading()
    return row


def mean(rows: list[dict[str, float]], name: str) -> float:
    """Return the mean of one column."""
    return float(np.mean([row[name] for row in rows]))


def the_rule(rows: list[dict[str, float]]) -> str:
    """Return the reading of the rule that costs less: the one to beat."""
    return min(("rule_round", "rule_off"), key=lambda name: mean(rows, name))


def ratio(rows: list[dict[str, float]], over: str) -> tuple[float, float]:
    """Return knitlog's mean cost over another's, and its standard error."""
    ours = np.array([row["knitlog"] for row in rows])
    theirs = np.array([row[over] for row in rows])
    found = float(ours.mean() / theirs.mean())
    # standard error of a ratio of means (Cochran, Sampling Techniques, 6.4)
    error = np.std(ours - found * theirs, ddof=1) / np.sqrt(len(rows)) / theirs.mean()
    return found, float(error)


def table(rows: list[dict[str, float]]) -> str:
    """Return the results as a Markdown table, a cell a line."""
    rule = the_rule(rows)
    lines = [
        "| count | needles | projects | nothing | rule | clairvoyant | all-seeing | knitlog "
        "(spread) | to rule | to clairvoyant | remedy changed | not foretold |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    cells = [
        (f"{_count(m)}", str(n), [r for r in rows if (r["multiple"], r["needles"]) == (m, n)])
        for m, n in CELLS
    ]
    cells.append(("all", "all", rows))
    for count, needles, some in cells:
        if len(some) < 2:
            continue
        to_rule, rule_error = ratio(some, rule)
        to_best, best_error = ratio(some, "clairvoyant")
        spread = float(np.std([row["knitlog"] for row in some], ddof=1))
        looks = sum(r["looks"] for r in some)
        changed = sum(r["changed"] for r in some) / looks
        unforetold = changed - sum(r["foretold"] for r in some) / looks
        lines.append(
            f"| {count} | {needles} | {len(some)} | {mean(some, 'nothing'):.0f} "
            f"| {mean(some, rule):.0f} | {mean(some, 'clairvoyant'):.0f} "
            f"| {mean(some, 'all_seeing'):.0f} | {mean(some, 'knitlog'):.0f} ({spread:.0f}) "
            f"| {to_rule:.2f} +- {rule_error:.2f} | {to_best:.2f} +- {best_error:.2f} "
            f"| {100 * changed:.0f} % | {100 * unforetold:.0f} % |"
        )
    return "\n".join(lines)


def _count(multiple: int) -> str:
    return {0: "fixed", 1: "free"}.get(multiple, f"multiples of {multiple}")


def run(projects: int, workers: int = 2, out: Path | None = None) -> list[dict[str, float]]:
    """Score ``projects`` of every cell, number by number, so that a part is a fair part."""
    jobs = [(m, n, seed_of(m, n, i)) for i in range(projects) for m, n in CELLS]
    rows = []
    with ProcessPoolExecutor(workers) as pool:
        for done in as_completed([pool.submit(score, *job) for job in jobs]):
            rows.append(done.result())
            if out is not None:
                with out.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(rows[-1]) + "\n")
    return rows


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--projects", type=int, default=34, help="projects a cell")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, help="also write a row a project, as JSON lines")
    given = parser.parse_args()
    sys.stdout.write(table(run(given.projects, given.workers, given.out)) + "\n")


if __name__ == "__main__":
    main()
