"""Time and memory of every answer at the ends of what is let in, beside a plain log.

Each log is read by a process of its own that has answered on a small one before, so that what
is loaded once does not count; the plain log is measured in the same run, so that a slow or busy
machine slows both.  The table in EXTREMES_RESULTS.md: ``pytest -m long -s FILE``.
"""

import json
import random
import subprocess
import sys
from dataclasses import dataclass, fields
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="asks POSIX for the memory taken")
MOST_TIMES_WITH_FIXES = 3.0
"""200 rounds with a hundred fixes, beside none."""
MOST_TIMES_PLAIN, MOST_MEMORY_TIMES_PLAIN = 60.0, 4.0
"""Whatever is let in, beside the plain log of 200 rounds."""

ANSWERS = ("fit", "advise", "fabric", "review", "page")
ASK = """
import contextlib, io, json, resource, sys, time
from knitlog.cli import run

def ask(*arguments, times=1):
    told = io.StringIO()
    begun = time.process_time()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        code = run(arguments)
    assert code == 0, told.getvalue()
    spent = time.process_time() - begun
    # what else the machine does only ever adds
    return min(spent, ask(*arguments, times=times - 1)) if times > 1 and spent < 1 else spent

def answers(name):
    log, page = f"{folder}/{name}.csv", f"{folder}/{name}.html"
    return {
        "fit": ask("fit", log, times=3),
        "advise": ask("advise", log, times=3),
        "fabric": ask("--folder", folder, "fabric", name, "--under", "all"),
        "review": ask("review", log, times=3),
        "page": ask("review", log, "--html", page),
    }

folder = sys.argv[1]
for name in ("small", "extreme"):
    ask("--folder", folder, "import", f"{folder}/{name}.csv")
answers("small")
spent = answers("extreme")
spent["MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps(spent))
"""


@dataclass(frozen=True)
class Log:
    """One log, and what is known of the project."""

    rounds: int = 200
    fixes: int = 0
    stints: int = 1
    stitches: int = 128
    tolerance: float = 3.0
    needles_owned: int = 3
    planned: int = 300
    changes: int = 1
    apart: int = 1
    """Rounds from one that is logged to the next."""
    steady: bool = False
    """No unevenness whatever."""

    def __str__(self) -> str:
        told = {f.name: getattr(self, f.name) for f in fields(self)}
        usual = {f.name: f.default for f in fields(self)}
        return ", ".join(f"{k} {v:,}" for k, v in told.items() if v != usual[k]) or "the plain log"

    def write(self, path: Path) -> None:
        """Write it as a CSV log of an invented knitter."""
        source = random.Random(1)
        drift, place, fixed, lines = 0.006 * self.stitches, 0.3 * self.stitches, 0, []
        for number in range(1, self.rounds + 1):
            loose = (number - 1) * self.stints // self.rounds % 2
            taken_out = 0.0
            if number * self.fixes // self.rounds > fixed:
                fixed += 1
                taken_out = round(drift * self.rounds / self.fixes, 1)
            lines += [
                f"{1 + (number - 1) * self.apart},{change + 1},"
                f"{(place + change * self.stitches / self.changes) % self.stitches:.1f},"
                f"{4.5 + 0.5 * loose},{taken_out if not change else ''}"
                for change in range(self.changes)
            ]
            spread = 0.0 if self.steady else drift
            place += source.gauss(-drift if loose else drift, spread) - taken_out
        owned = "; ".join(f"{2 + 0.25 * size:g}mm" for size in range(self.needles_owned))
        path.write_text(
            f"# stitches: {self.stitches}\n# repeat-length: {12 * self.stitches}mm\n"
            f"# gauge: 20 st/10cm\n# needle: 4.5mm\n# rounds: {self.planned}\n"
            f"# tolerance: {self.tolerance:g}\n# needles-owned: {owned}\n"
            "round,change,stitch,needle_mm,fix_stitches\n" + "\n".join(lines) + "\n"
        )


PLAIN = Log()
A_FEW = (Log(fixes=100), Log(tolerance=128.0))
EXTREMES = (
    *(Log(rounds=rounds, planned=rounds * 3 // 2) for rounds in (10, 100, 1_000, 10_000)),
    Log(apart=100, planned=100_000),
    *(Log(fixes=fixes) for fixes in (20, 50, 100, 200)),
    *(Log(stints=stints) for stints in (5, 10, 40, 200)),
    Log(rounds=1_000, planned=1_500, stints=40, fixes=500),
    *(Log(tolerance=tolerance) for tolerance in (0.1, 1.0, 32.0, 128.0)),
    *(Log(stitches=stitches, tolerance=1.0) for stitches in (2, 10, 1_000, 10_000)),
    Log(stitches=10_000, tolerance=10_000.0),
    *(Log(needles_owned=needles) for needles in (1, 40)),
    *(Log(planned=planned) for planned in (200, 100_000)),
    *(Log(changes=changes) for changes in (3, 24)),
    Log(steady=True),
)


def measured(log: Log, folder: Path) -> dict[str, float]:
    """Seconds of processor time of each answer, and the most memory taken, MB."""
    folder.mkdir()
    Log(rounds=5).write(folder / "small.csv")
    log.write(folder / "extreme.csv")
    run = subprocess.run(
        [sys.executable, "-c", ASK, str(folder)],
        check=False,
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert run.returncode == 0, f"{log}: {run.stderr}"
    return dict(json.loads(run.stdout))


def checked(logs: tuple[Log, ...], folder: Path) -> None:
    folder.mkdir(exist_ok=True)
    plain = measured(PLAIN, folder / "plain")
    print(f"\n| log | {' | '.join(ANSWERS)} | memory, MB |\n|{' --- |' * (len(ANSWERS) + 2)}")
    for number, log in enumerate((PLAIN, *logs)):
        spent = plain if log is PLAIN else measured(log, folder / str(number))
        cells = [f"{spent[a]:.2f} s ({spent[a] / plain[a]:.1f})" for a in ANSWERS]
        print(f"| {log} | {' | '.join(cells)} | {spent['MB']:.0f} |", flush=True)
        most = MOST_TIMES_WITH_FIXES if log == Log(fixes=100) else MOST_TIMES_PLAIN
        for answer in ANSWERS:
            assert spent[answer] <= most * plain[answer], f"{log}: {answer}"
        assert spent["MB"] <= MOST_MEMORY_TIMES_PLAIN * plain["MB"], log


def test_extremes_beside_a_plain_log(tmp_path: Path) -> None:
    """A small sample of the long run."""
    checked(A_FEW, tmp_path / "logs")


@pytest.mark.long
def test_all_extremes_beside_a_plain_log(tmp_path: Path) -> None:
    checked(EXTREMES, tmp_path / "logs")
