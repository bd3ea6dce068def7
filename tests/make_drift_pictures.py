"""Draw the two pictures of knitlog/drift/README.md, from the seeded simulator.

Run ``python tests/make_drift_pictures.py`` from the top of the checkout.
"""

from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import statsmodels.api as sm

from knitlog.drift import fit
from tests.benchmarks.drift_worlds import WORLDS, some_knitting
from tests.simulator import Work, hand_for, knit, percent

plt.switch_backend("svg")
plt.rcParams["svg.hashsalt"] = "knitlog"

HERE = Path(__file__).resolve().parent.parent / "knitlog" / "drift" / "pictures"
INK, LINE, BAND = "#30343b", "#1b6ca8", "#1b6ca833"


def one_log() -> None:
    knitting = knit(hand_for(Work(), 1.0, sudden=((16, -percent(2.5)),)), Work(), 12, rounds=24)
    answer = fit(knitting.to_drift_log())
    for _ in range(10):
        knitting.knit_round()
    path, ahead = answer.path, answer.forecast(10)
    figure, axes = plt.subplots(figsize=(7.0, 3.6), layout="constrained")
    axes.fill_between(path.rounds, path.mean - 2 * path.sd, path.mean + 2 * path.sd, color=BAND)
    axes.plot(path.rounds, path.mean, color=LINE, label="fitted offset")
    axes.fill_between(ahead.rounds, ahead.low95, ahead.high95, color=BAND, hatch="//", lw=0)
    axes.plot(ahead.rounds, ahead.mean, color=LINE, ls="--", label="forecast, 95 %")
    axes.plot(path.reading_rounds, path.reading_offsets, "o", color=INK, ms=4, label="readings")
    axes.plot(ahead.rounds, knitting.offsets[24:], "x", color=INK, ms=4, label="what came")
    for found in answer.breaks:
        axes.axvline(found.round, color=INK, lw=0.8, ls=":")
        axes.annotate("something changed", (found.round, 2), rotation=90, ha="right", fontsize=8)
    axes.set(xlabel="round", ylabel="offset, stitches (+ is past)")
    axes.legend(frameon=False)
    figure.savefig(HERE / "one_log.svg", metadata={"Date": None})


def coverage() -> None:
    rounds, logs = (5, 8, 15, 40), 300
    line, ours = [], []
    for n in rounds:
        held = np.zeros(2)
        for knitting, _ in some_knitting(WORLDS["constant"], n, logs, seed=30):
            answer = fit(knitting.to_drift_log())
            x, y = answer.path.reading_rounds, answer.path.reading_offsets
            low, high = sm.OLS(y, sm.add_constant(x)).fit().conf_int()[1]
            held += [
                low <= knitting.drift <= high,
                answer.drift.low95 <= knitting.drift <= answer.drift.high95,
            ]
        line.append(held[0] / logs)
        ours.append(held[1] / logs)
    figure, axes = plt.subplots(figsize=(7.0, 3.2), layout="constrained")
    axes.axhspan(0.93, 0.97, color=BAND, label="93 to 97 %")
    axes.plot(rounds, ours, "o-", color=LINE, label="this fit")
    axes.plot(rounds, line, "s--", color=INK, label="a straight line by least squares")
    axes.set(xlabel="rounds logged", ylabel="truth inside the 95 % interval", ylim=(0, 1.02))
    axes.set_xscale("log", base=2)
    axes.set_xticks(rounds, [str(n) for n in rounds])
    axes.legend(frameon=False)
    figure.savefig(HERE / "coverage.svg", metadata={"Date": None})


if __name__ == "__main__":
    HERE.mkdir(exist_ok=True)
    one_log()
    coverage()
