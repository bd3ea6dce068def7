"""Mutation testing, a room at a time: change the code a little and see whether its tests notice.

    .venv/bin/python -m tests.mutation yarn plan              # every mutant of two rooms
    .venv/bin/python -m tests.mutation drift --sample 150     # a random sample, for slow tests

mutmut makes the mutants and runs, for each, those tests of the room (and of :data:`ALSO`, which
call it) that reach the function it sits in, until one fails.  All is done in a copy of the
checkout.  Two kinds of survivors are left out of the share killed: those that change only the
wording of a sentence (column "words"), and those whose changed line stands in
``mutation_equivalents.toml``, which behave as the original for the reason given there.  mutmut
changes functions and methods, not module constants nor decorated functions (properties): those
are for tests against printed tables.
"""

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
import tomllib
from collections import Counter
from datetime import date
from pathlib import Path

ROOT = Path(__file__).parents[1]
EQUIVALENTS = Path(__file__).with_name("mutation_equivalents.toml")

ALSO: dict[str, tuple[str, ...]] = {
    "yarn": ("tests/references",),
    "drift": ("tests/references", "tests/test_root_api.py"),
    "plan": (),
    "advice": (),
    "hands": (),
    "analysis": (),
    "typed": (),
}
"""The rooms, and where else than in the folder of the same name each is tested."""

COPIED = ("knitlog", "tests", "sample_logs", "README.md", "DEVELOPERS.md", "pyproject.toml")

SETTINGS = """
[tool.mutmut]
source_paths = ["knitlog"]
only_mutate = ["knitlog/{room}/*"]
also_copy = ["sample_logs", "README.md", "DEVELOPERS.md"]
pytest_add_cli_args_test_selection = [{tests}]
# a failing property need not be made small: one failure is enough
pytest_add_cli_args = ["--hypothesis-profile=first failure", "-p", "no:cacheprovider"]
# the words of an error are for people; when it is raised is still mutated
do_not_mutate_patterns = ['raise \\w+\\(', 'check_\\w+\\(']
# a fork of a process that has run no test has no filled caches, which would hide mutants
process_isolation = "forkserver"
timeout_multiplier = 5.0
use_git_change_detection = false
"""


def prepare(room: str, work: Path) -> None:
    """Copy the checkout to ``work`` and say there what to mutate and what to run."""
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True)
    leave = shutil.ignore_patterns("__pycache__")
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, work / name, ignore=leave)
        else:
            shutil.copy2(source, work / name)
    tests = ", ".join(f'"{where}"' for where in (f"tests/{room}", *ALSO[room]))
    with (work / "pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(SETTINGS.format(room=room, tests=tests))


def mutmut(work: Path, *arguments: str) -> str:
    """What a mutmut command prints in ``work``."""
    log = work / f"{arguments[0]}.log"
    with log.open("w", encoding="utf-8") as file:
        subprocess.run(
            [Path(sys.executable).with_name("mutmut"), *arguments],
            cwd=work,
            env=os.environ | {"PYTHONPATH": "", "OMP_NUM_THREADS": "1"},
            stdout=file,
            stderr=subprocess.STDOUT,
            check=False,
        )
    return log.read_text(encoding="utf-8")


def verdicts(work: Path) -> dict[str, str]:
    """Each mutant's name and what became of it."""
    lines = mutmut(work, "results", "--all", "true").splitlines()
    return dict(line.strip().rsplit(": ", 1) for line in lines if "__mutmut_" in line)


def equivalents() -> set[tuple[str, str]]:
    """Function and changed line of each mutant that behaves as the original."""
    with EQUIVALENTS.open("rb") as file:
        return {(entry["function"], entry["line"]) for entry in tomllib.load(file)["equivalent"]}


def changed(diff: str, sign: str) -> str:
    """The lines a diff takes out ("-") or puts in ("+"), as one."""
    lines = (line for line in diff.splitlines() if line.startswith(sign))
    return " ".join(line[1:].strip() for line in lines if not line.startswith(3 * sign))


SENTENCE = re.compile(r'"[^"]* [^"]*"')
GUARD = re.compile(r", (strict=\w+)?\)")
"""zip's check that both are of one length: it can fail only where the code is wrong already."""


def differs_only_in(what: re.Pattern[str], diff: str) -> bool:
    """Whether a diff's lines are the same but for ``what``."""
    before, after = (what.sub("", changed(diff, sign)) for sign in "-+")
    return before == after


def is_equivalent(name: str, diff: str, known: set[tuple[str, str]]) -> bool:
    """Whether a mutant behaves as the original does."""
    return differs_only_in(GUARD, diff) or (function_of(name), changed(diff, "+")) in known


def function_of(name: str) -> str:
    """``knitlog.yarn.units.x_parse_length__mutmut_3`` is of ``yarn.units.parse_length``."""
    module, _, mangled = name.removeprefix("knitlog.").rpartition(".")
    function = mangled.rpartition("__mutmut_")[0].removeprefix("x")
    return f"{module}.{function.removeprefix('_').strip('ǁ').replace('ǁ', '.')}"


def run_room(room: str, work: Path, sample: int | None, seed: int) -> Counter[str]:
    """Mutate a room, print its survivors and count what became of the mutants."""
    prepare(room, work)
    if sample is None:
        mutmut(work, "run", "--max-children", "1")
    else:
        # a name that fits none makes the mutants and maps the tests, and stops there
        mutmut(work, "run", "--max-children", "1", "none of them")
        names = sorted(verdicts(work))
        chosen = random.Random(seed).sample(names, min(sample, len(names)))
        mutmut(work, "run", "--max-children", "1", *chosen)
    found = verdicts(work)
    counts = Counter(verdict for verdict in found.values() if verdict != "not checked")
    if not counts:  # the tests fail as they stand, or there is nothing to mutate
        sys.exit((work / "run.log").read_text(encoding="utf-8"))
    counts["mutants"], counts["tried"] = len(found), counts.total()
    known = equivalents()
    for name, verdict in sorted(found.items()):
        if verdict in {"killed", "not checked", "timeout"}:
            continue
        diff = mutmut(work, "show", name)
        if differs_only_in(SENTENCE, diff):
            counts["words"] += 1
        elif is_equivalent(name, diff, known):
            counts["equivalent"] += 1
        else:
            print(f"{verdict}: {diff}", flush=True)
    return counts


def row(room: str, counts: Counter[str]) -> str:
    """One line of the table: what became of a room's mutants."""
    names = ("mutants", "tried", "killed", "timeout", "words", "equivalent")
    mutants, tried, killed, late, words, same = (counts[name] for name in names)
    survived = tried - killed - late - words - same
    share = 100 * (killed + late) / max(killed + late + survived, 1)
    cells = (room, mutants, tried, killed, late, words, same, survived)
    return "| " + " | ".join(str(cell) for cell in cells) + f" | {share:.0f} % |"


def main() -> None:
    """Mutate the rooms asked for and print the table."""
    parser = argparse.ArgumentParser(description="Mutation testing, a room at a time.")
    parser.add_argument("rooms", nargs="+", choices=sorted(ALSO))
    parser.add_argument("--sample", type=int, help="so many mutants of each room, at random")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--work", type=Path, default=ROOT / "build" / "mutation")
    options = parser.parse_args()
    asked = ("git", "rev-parse", "--short", "HEAD")
    told = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False)
    rows = [
        row(room, run_room(room, options.work.resolve() / room, options.sample, options.seed))
        for room in options.rooms
    ]
    command = " ".join(("python -m tests.mutation", *sys.argv[1:]))
    print(f"\n{date.today()}, commit {told.stdout.strip()}: {command}\n")
    print("| room | mutants | tried | killed | timed out | words | equivalent | survived | share |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    print("\n".join(rows))


if __name__ == "__main__":
    main()
