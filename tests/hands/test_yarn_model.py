"""Yarn per stitch borrows from the old projects, and says how far."""

from itertools import product
from math import exp

import numpy as np
import pytest
from scipy import stats

from knitlog.hands.records import Materials
from knitlog.hands.yarn_model import (
    GROUP_SCALE,
    NEEDLE_SCALE,
    PROJECT_SCALE,
    STINT_SD,
    Sighting,
    yarn_model,
)

WOOL, COTTON = (
    Materials(4.0, fibre="wool", stitch_pattern="plain"),
    Materials(4.0, fibre="cotton", stitch_pattern="plain"),
)


def test_without_sightings_it_believes_what_it_was_told() -> None:
    said = yarn_model([], 1.4, 0.07).expect(Materials())
    assert said.mean == pytest.approx(1.4)
    assert 0.07 < said.sd < 0.12


def test_one_project_moves_the_next_but_is_not_copied() -> None:
    model = yarn_model([Sighting("a", WOOL, 1.5, 0.002)], 1.4, 0.07)
    alike, other = (
        model.expect(WOOL),
        model.expect(Materials(8.0, fibre="silk", stitch_pattern="lace")),
    )
    assert 1.4 < other.mean < alike.mean < 1.5
    # another yarn of another kind is known less well than one alike, and both have spread
    assert 0.01 < alike.sd < other.sd < 0.11


def test_it_meets_a_normal_conditioned_by_brute_force() -> None:
    seen = [
        Sighting("a", WOOL, 1.48, 0.004),
        Sighting("a", Materials(4.5, fibre="wool", stitch_pattern="plain"), 1.47, 0.006),
        Sighting("b", COTTON, 1.41, 0.01),
    ]
    model = yarn_model(seen, 1.4, 0.07)
    # an own, finer integration over the four spreads, each stint and the next written out
    same = np.array([[1, 1, 0, 0], [1, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    fibre = np.array([[1, 1, 0, 1], [1, 1, 0, 1], [0, 0, 1, 0], [1, 1, 0, 1]])
    pattern = np.ones((4, 4))
    size = np.log([4.0, 4.5, 4.0, 4.0])
    needle = np.exp(-0.5 * ((size[:, None] - size[None, :]) / 0.12) ** 2)
    x = np.array([s.value for s in seen]) - 1.4
    own = np.diag([s.sd**2 + STINT_SD**2 for s in seen] + [STINT_SD**2])
    total = mean = second = 0.0
    nodes = [
        scale * 3 * (np.arange(9) + 0.5) / 9
        for scale in (PROJECT_SCALE, GROUP_SCALE, GROUP_SCALE, NEEDLE_SCALE)
    ]
    for p, f, b, n in product(*nodes):
        k = 0.07**2 + p**2 * same + f**2 * fibre + b**2 * pattern + n**2 * needle + own
        gain = np.linalg.solve(k[:3, :3], k[:3, 3])
        weight = stats.multivariate_normal(np.zeros(3), k[:3, :3]).pdf(x) * exp(
            -0.5
            * (
                (p / PROJECT_SCALE) ** 2
                + (f / GROUP_SCALE) ** 2
                + (b / GROUP_SCALE) ** 2
                + (n / NEEDLE_SCALE) ** 2
            )
        )
        m = gain @ x
        total, mean = total + weight, mean + weight * m
        second += weight * (m**2 + k[3, 3] - gain @ k[:3, 3])
    mean /= total
    said = model.expect(WOOL)
    assert said.mean - 1.4 == pytest.approx(mean, abs=0.002)
    assert said.sd == pytest.approx(np.sqrt(second / total - mean**2), rel=0.08)


def test_the_interval_holds_the_next_project_as_often_as_it_says() -> None:
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(150):
        mu = rng.normal(1.4, 0.07)
        fibre = dict(zip(("wool", "cotton"), rng.normal(0.0, 0.02, 2), strict=True))
        kinds = [
            Materials(4.0, fibre=str(rng.choice(list(fibre))), stitch_pattern="plain")
            for _ in range(6)
        ]
        truth = [mu + fibre[k.fibre] + rng.normal(0.0, 0.02) for k in kinds]
        seen = [
            Sighting(str(i), k, t + rng.normal(0.0, 0.003), 0.003)
            for i, (k, t) in enumerate(zip(kinds[:5], truth[:5], strict=True))
        ]
        said = yarn_model(seen, 1.4, 0.07).expect(kinds[5])
        held += said.low95 <= truth[5] <= said.high95
    assert 0.9 <= held / 150 <= 1.0


def test_words_are_compared_as_words() -> None:
    a = yarn_model(
        [Sighting("a", Materials(4.0, fibre="Wool ", stitch_pattern="plain"), 1.5, 0.002)],
        1.4,
        0.07,
    )
    b = yarn_model([Sighting("a", WOOL, 1.5, 0.002)], 1.4, 0.07)
    assert a.expect(WOOL) == b.expect(WOOL)
