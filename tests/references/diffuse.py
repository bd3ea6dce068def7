"""The fit's likelihood with nothing known of its coefficients, as the references have it."""

import numpy as np

from knitlog.drift.banded import Steps
from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.likelihood import Kept, Noise, Regression, summed


def diffuse_log_likelihood(
    y: FloatArray,
    design: FloatArray,
    at: IntArray,
    w: float,
    m: float,
    *,
    creep_sd: float = 0.0,
) -> float:
    """Return the exact diffuse log-likelihood of readings at known noises.

    ``y`` has shape (m,), ``design`` (m, p) with coefficients nothing is known of, ``at``
    (m,) holds the path index of each reading; ``w``, ``m`` and ``creep_sd`` (v, by which the drift
    changes from one round to the next) are sds in the unit of ``y``.
    Durbin & Koopman 2012, section 7.2: log L_d = lim [log L(kappa) + p/2 log kappa]
    as the coefficients' prior variance kappa grows.
    """
    rough = np.linalg.lstsq(design, y, rcond=None)[0]
    p, rounds = design.shape[1], max(int(at.max()), 1)
    reg = Regression(
        y=y - design @ rough,
        design=design,
        at=at,
        trust=np.ones(len(y)),
        ahead=np.zeros(len(y)),
        rounds=rounds,
        steps=Steps.none(rounds),
        prior_mean=np.zeros(p),
        prior_sd=np.ones(p),
        homes=0,
        drift_column=p - 1,
    )
    noise = Noise(*np.array([[np.log(w / m)], [0.0], [creep_sd / w], [0.0]]))
    sums = summed(Kept.of(reg, np.ones(len(y), dtype=bool)), noise)
    xx, xy = sums.xx[0] / m**2, sums.xy[0] / m**2
    quad = float(sums.yy[0] / m**2 - xy @ np.linalg.solve(xx, xy))
    # -1/2 [n log 2 pi + log |V| + log |X'V^-1 X| + (y - Xb)'V^-1 (y - Xb)]
    log_det = 2.0 * len(y) * np.log(m) + float(sums.path.log_det[0]) + np.linalg.slogdet(xx)[1]
    return float(-0.5 * (len(y) * np.log(2 * np.pi) + log_det + quad))
