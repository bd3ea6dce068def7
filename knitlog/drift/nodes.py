"""Where on the noise grid to put the nodes: first all over the prior, then about the bulk."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from knitlog.drift.fit_result import FloatArray
from knitlog.drift.likelihood import Mixture, Noise
from knitlog.drift.mixture import weights
from knitlog.drift.prior import Prior

_ALL_OVER = np.linspace(-1.0, 1.0, 9)
_LOWER_WITH_OTHERS = np.array([-1.3, -0.7, -0.1])
"""Where to look first for a long log's log(w / m) with memory or creep, from where it is
without."""
_IDLE = 14.0
"""Log mass below the best at which a rough look leaves a kind aside."""
_ABOUT_A_BULK = np.linspace(-2.5, 2.5, 5)
"""Nodes about a bulk, in its sds: the trapezium rule is all but exact for a normal
while its step is below 1.5 sd."""
_MOST_BEND = 2.6
"""How much the log mass may bend at the best node: the square of the step, in sds."""


class HandKind(NamedTuple):
    """Nodes of one memory and one creep."""

    memory: float
    creep: float
    probability: float


def kinds(prior: Prior) -> tuple[HandKind, ...]:
    """Return the kinds of hand the prior knows, the plain one first.

    A hand that creeps is given no memory: a round's error that lasts and a drift that changes
    cannot be told apart in a log.
    """
    steady = sum(p for creep, p in prior.creep_nodes if creep == 0.0)
    own = [HandKind(rho, 0.0, p * steady) for rho, p in prior.memory_nodes]
    own += [HandKind(0.0, creep, p) for creep, p in prior.creep_nodes if creep > 0.0]
    own.sort(key=lambda kind: (kind.memory > 0.0, kind.creep))
    return tuple(kind for kind in own if kind.probability > 0.0)


def without_memory(noise: Noise) -> Noise:
    """Return the nodes without memory, with the mass of those that have it.

    For a path whose drift may have changed at once, which takes what memory would explain.
    """
    remembers = noise.memory > 0.0
    if not remembers.any() or remembers.all():
        return replace(noise, memory=np.zeros(len(noise.memory)))
    plain = ~remembers & (noise.creep == 0.0)
    share = np.exp(noise.log_weight)
    steady = share[plain].sum()
    more = (steady + share[remembers].sum()) / steady if steady > 0.0 else 1.0
    log_weight = noise.log_weight + np.where(plain, np.log(more), 0.0)
    left: Noise = replace(noise, log_weight=log_weight)[~remembers]
    return left


def noise_nodes(log_ratio: FloatArray, own: tuple[HandKind, ...]) -> Noise:
    """Return the grid of evenly spaced ``log_ratio`` by the kinds.

    ``log_ratio`` has shape (k,), or (r, k) with nodes of its own for each of r kinds.
    """
    memory, creep, mass = np.array(own).T
    grid = np.broadcast_to(log_ratio, (len(own), log_ratio.shape[-1]))
    nodes = grid.shape[1]
    return Noise(
        log_ratio=grid.ravel(),
        memory=np.repeat(memory, nodes),
        creep=np.repeat(creep, nodes),
        log_weight=np.repeat(np.log(mass * (grid[:, 1] - grid[:, 0])), nodes),
    )


def coarse_nodes(prior: Prior, stitches: float, own: tuple[HandKind, ...]) -> Noise:
    """Return nodes of the kinds ``own`` that span the prior of log(w / m)."""
    centre = prior.log_tension_noise(stitches) - prior.log_reading_noise()
    reach = 2.6 * np.sqrt(2.0) * prior.noise_log_sd
    return noise_nodes(centre + reach * _ALL_OVER, own)


def without_idle_nodes(mixture: Mixture) -> Noise:
    """Return the nodes of ``mixture`` that carry any of its mass."""
    noise: Noise = mixture.noise[mixture.log_mass > mixture.log_mass.max() - 10.0]
    return noise


def finer_nodes(mixture: Mixture) -> Noise | None:
    """Return nodes about the bulk of ``mixture``, or None where its own are fine enough."""
    step = float(mixture.noise.log_ratio[1] - mixture.noise.log_ratio[0])
    weight = weights(mixture.log_mass)
    mean = float(weight @ mixture.noise.log_ratio)
    sd = float(np.sqrt(weight @ (mixture.noise.log_ratio - mean) ** 2))
    if sd > 1.1 * step:
        return None
    sd = max(sd, 0.35 * step)
    own = tuple(of.kind for of in _by_kind(mixture))
    return noise_nodes(np.linspace(mean - 2.8 * sd, mean + 2.8 * sd, 8), own)


def probing_nodes(mixture: Mixture, others: tuple[HandKind, ...]) -> Noise | None:
    """Return a few nodes of ``others``, near where a long log's bulk without them lies.

    The nodes of ``mixture`` have neither memory nor creep.  With them the steps' own spread w is
    smaller for the same sway of the path, so the bulk lies lower in log(w / m).
    """
    if not others:
        return None
    centre, _ = _bulk(mixture.noise.log_ratio, mixture.log_mass)
    return noise_nodes(centre + _LOWER_WITH_OTHERS, others)


def nodes_by_kind(looks: list[Mixture]) -> Noise:
    """Return nodes about each kind's own bulk, from rough looks at each; idle kinds are left."""
    found = [own for look in looks for own in _by_kind(look)]
    top = max(float(own.log_mass.max()) for own in found)
    found = [own for own in found if own.log_mass.max() > top - _IDLE]
    bulks = [_bulk(own.log_ratio, own.log_mass) for own in found]
    grid = np.array([centre + sd * _ABOUT_A_BULK for centre, sd in bulks])
    return noise_nodes(grid, tuple(own.kind for own in found))


def bulks_well_laid(mixture: Mixture) -> bool:
    """Tell whether the nodes of every kind that counts lie about its bulk, not too far apart."""
    top = mixture.log_mass.max()
    for own in _by_kind(mixture):
        mass = own.log_mass.tolist()
        best = mass.index(max(mass))
        if mass[best] < top - 10.0:
            continue
        if best in (0, len(mass) - 1):
            return False
        if 2.0 * mass[best] - mass[best - 1] - mass[best + 1] > _MOST_BEND:
            return False
    return True


class _OfKind(NamedTuple):
    """The k nodes of one kind, evenly spaced."""

    kind: HandKind
    log_ratio: FloatArray
    """log(w / m), shape (k,)."""
    log_mass: FloatArray
    """Shape (k,)."""


def _by_kind(mixture: Mixture) -> list[_OfKind]:
    """Return the nodes of each kind, of which all have as many."""
    noise = mixture.noise
    rows = len(set(zip(noise.memory.tolist(), noise.creep.tolist(), strict=True)))
    memory, creep, log_ratio, log_weight, log_mass = (
        values.reshape(rows, -1)
        for values in (
            noise.memory,
            noise.creep,
            noise.log_ratio,
            noise.log_weight,
            mixture.log_mass,
        )
    )
    share = np.exp(log_weight[:, 0]) / (log_ratio[:, 1] - log_ratio[:, 0])
    own = map(HandKind, memory[:, 0].tolist(), creep[:, 0].tolist(), share.tolist())
    return [_OfKind(*of) for of in zip(own, log_ratio, log_mass, strict=True)]


def _bulk(log_ratio: FloatArray, log_mass: FloatArray) -> tuple[float, float]:
    """Return centre and sd of the parabola through the best node and its neighbours.

    Kept near the nodes, and its sd above an eighth of their step and below one and a half.
    """
    step = float(log_ratio[1] - log_ratio[0])
    i = min(max(int(np.argmax(log_mass)), 1), len(log_ratio) - 2)
    left, peak, right = log_mass[i - 1 : i + 2].tolist()
    bend = max(2.0 * peak - left - right, 0.4)
    shift = min(max(0.5 * (right - left) / bend, -1.5), 1.5)
    sd = min(max(bend**-0.5, 0.125), 1.5)
    return float(log_ratio[i]) + shift * step, sd * step
