"""Chances on a grid: how noise spreads them, and what lies outside the tolerance."""

from math import erf, sqrt

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def spreading(size: int, sd: float, step: float) -> FloatArray:
    """Return the matrix that averages a row of values over a normal spread of ``sd``.

    Values stand ``step`` apart; shape (size, size), columns sum to one (``row @ matrix``);
    what would leave the grid is kept at its edge.
    """
    share = (sd / step) ** 2
    if share < 0.35:
        # three points with the right variance: p each way, 2 p step^2 = sd^2
        moves = np.array([-1, 0, 1])
        chance = np.array([share / 2, 1 - share, share / 2])
    else:
        # each point stands for the step about it, which itself adds step^2 / 12
        narrow = sqrt(sd**2 - step**2 / 12)
        far = int(np.ceil(4 * narrow / step)) + 1
        moves = np.arange(-far, far + 1)
        edges = (np.arange(-far, far + 2) - 0.5) * step / (narrow * sqrt(2))
        chance = np.diff([0.5 * (1 + erf(edge)) for edge in edges])
        chance /= chance.sum()
    matrix = np.zeros((size, size))
    place = np.arange(size)
    for move, p in zip(moves, chance, strict=True):
        np.add.at(matrix, (np.clip(place + move, 0, size - 1), place), p)
    return matrix


def chance_outside(
    offset: FloatArray, tolerance: float, sd: float | FloatArray, step: float = 0.0
) -> FloatArray:
    """Return the chance of lying more than ``tolerance`` from 0, given each offset +- sd.

    ``step``: spacing of a grid the offsets stand for, which blurs the edge a little.
    """
    spread = np.maximum(sd, max(step / sqrt(6), 1e-9))
    past: FloatArray = normal_below((offset - tolerance) / spread)
    short: FloatArray = normal_below((-offset - tolerance) / spread)
    return past + short


def normal_below(z: FloatArray) -> FloatArray:
    """Return the standard normal distribution function at ``z``, any shape.

    Abramowitz & Stegun 26.2.17, error below 7.5e-8; numpy alone has no error function
    and the advice should not wait for a larger library.
    """
    t = 1 / (1 + 0.2316419 * np.abs(z))
    poly = t * (
        0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429)))
    )
    tail = np.exp(-0.5 * z * z) / sqrt(2 * np.pi) * poly
    below: FloatArray = np.where(z > 0, 1 - tail, tail)
    return below
