"""Yarn per stitch over all projects: what is hers, the needle's, the fibre's, the pattern's.

The number pooled is a logarithm that takes the plain geometry out beforehand: of yarn per
stitch times stitches per length (Munden's Kw, where a gauge was counted), or of yarn per
stitch over the loop's length round the needle, pi (D + y).  Stint i of project p gave

    x_i = mu + needle + fibre + pattern + project + stint + error,   error ~ Normal(0, s_i^2)

every effect normal about 0: fibre, pattern, project with a spread of their own that is
integrated out over a grid, the needle's smooth in its size, the stint's small.  Effects
that are normal need not be estimated one by one: their covariance between any two stints
is all it takes (Rasmussen & Williams, Gaussian Processes for Machine Learning, section
2.2; the hierarchy: Gelman et al., Bayesian Data Analysis, section 15.1).  A new yarn of a
fibre never knitted borrows mu alone, and its spread says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from knitlog.drift.fit_result import Estimate, FloatArray
from knitlog.drift.mixture import estimate, weights
from knitlog.hands.pooling import spread_grid
from knitlog.hands.records import Materials

STINT_SD = 0.006
"""Spread between stints of one project beside needle and count, of the log (common practice)."""
NEEDLE_REACH = 0.12
"""Needles whose log sizes differ by this much or less act much alike: 4.0 and 4.5 mm."""
PROJECT_SCALE = 0.03
"""Scale of the spread between projects, of the log: 3 % (common practice, no source)."""
GROUP_SCALE = 0.03
"""Scale of the spread between fibres, and between stitch patterns, of the log."""
NEEDLE_SCALE = 0.02
"""Scale of what a needle does beside its size, of the log."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """One stint's number."""

    project: str
    materials: Materials
    value: float
    """Log of yarn per stitch over the plain geometry's."""
    sd: float


@dataclass(frozen=True)
class YarnModel:
    """All sightings pooled; immutable, ready to be asked."""

    sightings: tuple[Sighting, ...]
    centre: float
    centre_sd: float
    _weight: FloatArray = field(repr=False, compare=False)
    _spreads: FloatArray = field(repr=False, compare=False)
    """Shape (nodes, 4): project, fibre, pattern, needle."""
    _lower: FloatArray = field(repr=False, compare=False)
    """Cholesky factors, shape (nodes, n, n)."""
    _pushed: FloatArray = field(repr=False, compare=False)
    """K^-1 (x - centre), shape (nodes, n)."""

    def expect(self, materials: Materials, *, new_project: bool = True) -> Estimate:
        """Return the log to expect of a stint of ``materials``, in a new project or on the whole.

        ``new_project=False`` leaves out what the next project will add of its own: it tells
        what is known of her hands, not what to expect of the next yarn.
        """
        effects = self._spreads[:, 1:] ** 2
        own = self.centre_sd**2 + effects.sum(axis=1)
        if new_project:
            own = own + self._spreads[:, 0] ** 2 + STINT_SD**2
        if not self.sightings:
            return estimate(self._weight, np.full(len(own), self.centre), own)
        alike = np.array([_alike(materials, s.materials) for s in self.sightings])
        # k* = covariance of the new stint with each old one, given the spreads
        cov = self.centre_sd**2 + effects @ alike.T
        mean = self.centre + np.einsum("gn,gn->g", cov, self._pushed)
        half = np.linalg.solve(self._lower, cov[..., None])[..., 0]
        return estimate(
            self._weight, mean, np.maximum(own - np.einsum("gn,gn->g", half, half), 1e-12)
        )


def yarn_model(
    sightings: Sequence[Sighting],
    centre: float,
    centre_sd: float,
    project_scale: float = PROJECT_SCALE,
) -> YarnModel:
    """Pool ``sightings``.

    ``centre`` and ``centre_sd`` are what is believed of any knitter, ``project_scale`` how
    far one project of hers may differ from the next, all of the log.
    """
    nodes = [
        spread_grid(scale, count, reach=3.0)
        for scale, count in (
            (project_scale, 8),
            (GROUP_SCALE, 4),
            (GROUP_SCALE, 4),
            (NEEDLE_SCALE, 3),
        )
    ]
    spreads = np.array(list(product(*(tau for tau, _ in nodes))))
    log_weight = np.array([sum(w) for w in product(*(w for _, w in nodes))])
    n = len(sightings)
    x = np.array([s.value for s in sightings]) - centre
    alike = np.zeros((4, n, n))
    for i, j in product(range(n), range(n)):
        a, b = sightings[i], sightings[j]
        alike[:, i, j] = (float(a.project == b.project), *_alike(a.materials, b.materials))
    # K = centre_sd^2 + tau_p^2 [same project] + tau_f^2 [same fibre] + ... + s_i^2 + stint^2
    cov = centre_sd**2 + np.einsum("gk,kij->gij", spreads**2, alike)
    noise = np.array([s.sd**2 + STINT_SD**2 for s in sightings])
    cov = cov + np.eye(n) * noise[None, None, :]
    lower = np.linalg.cholesky(cov)
    half = np.linalg.solve(lower, np.broadcast_to(x[:, None], (len(spreads), n, 1)))[..., 0]
    # log p(x | spreads) = -1/2 x' K^-1 x - 1/2 log |K|
    log_weight = log_weight - 0.5 * np.einsum("gn,gn->g", half, half)
    log_weight = log_weight - np.log(np.einsum("gnn->gn", lower)).sum(axis=1)
    pushed = np.linalg.solve(np.swapaxes(lower, 1, 2), half[..., None])[..., 0]
    return YarnModel(
        sightings=tuple(sightings),
        centre=centre,
        centre_sd=centre_sd,
        _weight=weights(log_weight),
        _spreads=spreads,
        _lower=lower,
        _pushed=pushed,
    )


def _alike(a: Materials, b: Materials) -> tuple[float, float, float]:
    """Return how far fibre, pattern and needle are shared, 0 to 1 each."""
    return (
        _same(a.fibre, b.fibre),
        _same(a.stitch_pattern, b.stitch_pattern),
        _near(a.needle_mm, b.needle_mm),
    )


def _same(a: str | None, b: str | None) -> float:
    return float(a is not None and b is not None and plain_word(a) == plain_word(b))


def plain_word(text: str) -> str:
    """Return ``text`` as it is compared: case and spaces do not count.

    >>> plain_word(" Merino  wool ")
    'merino wool'
    """
    return " ".join(text.casefold().split())


def _near(a: float | None, b: float | None) -> float:
    if not a or not b:
        return 0.0
    # exp(-(ln D1 - ln D2)^2 / (2 reach^2))
    return float(np.exp(-0.5 * (np.log(a / b) / NEEDLE_REACH) ** 2))
