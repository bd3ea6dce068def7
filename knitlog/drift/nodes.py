"""Where on the noise grid to put the nodes: first all over the prior, then about the bulk."""

from typing import NamedTuple

import numpy as np

from knitlog.drift.likelihood import Mixture, Noise
from knitlog.drift.mixture import weights
from knitlog.drift.prior import Prior
from knitlog.drift.result import FloatArray

_ALL_OVER = np.linspace(-1.0, 1.0, 9)
_LOWER_WITH_MEMORY = np.array([-1.3, -0.8, -0.3])
"""Where to look first for a long log's log(w / m) with memory, from where it is without."""
_ABOUT_A_BULK = np.linspace(-2.5, 2.5, 5)
"""Nodes about a bulk, in its sds: the trapezium rule is all but exact for a normal
while its step is below 1.5 sd."""
_MOST_BEND = 2.6
"""How much the log mass may bend at the best node: the square of the step, in sds."""


def noise_nodes(log_ratio: FloatArray, memory: tuple[tuple[float, float], ...]) -> Noise:
    """Return the grid of evenly spaced ``log_ratio`` by the memory nodes.

    ``log_ratio`` has shape (k,), or (r, k) with nodes of its own for each of r memories.
    """
    rho, mass = np.array(memory).T
    grid = np.broadcast_to(log_ratio, (len(rho), log_ratio.shape[-1]))
    width = np.log(mass * (grid[:, 1] - grid[:, 0]))
    return Noise(
        log_ratio=grid.ravel(),
        memory=np.repeat(rho, grid.shape[1]),
        log_weight=np.repeat(width, grid.shape[1]),
    )


def coarse_nodes(prior: Prior, stitches: float, *, plain: bool = False) -> Noise:
    """Return nodes that span the prior of log(w / m); ``plain``: those without memory alone."""
    centre = prior.log_tension_noise(stitches) - prior.log_reading_noise()
    reach = 2.6 * np.sqrt(2.0) * prior.noise_log_sd
    memory = tuple(n for n in prior.memory_nodes if n[0] == 0.0 or not plain)
    return noise_nodes(centre + reach * _ALL_OVER, memory)


def without_idle_nodes(mixture: Mixture) -> Noise:
    """Return the nodes of ``mixture`` that carry any of its mass."""
    noise = mixture.noise
    peak = mixture.by_node(mixture.log_weight).max(axis=1)
    busy = peak > peak.max() - 10.0
    return Noise(noise.log_ratio[busy], noise.memory[busy], noise.log_weight[busy])


def finer_nodes(mixture: Mixture) -> Noise | None:
    """Return nodes about the bulk of ``mixture``, or None where its own are fine enough."""
    step = float(mixture.noise.log_ratio[1] - mixture.noise.log_ratio[0])
    weight = weights(mixture.log_weight)
    log_ratio = np.log(mixture.tension_sd / mixture.reading_sd)
    mean = float(weight @ log_ratio)
    sd = float(np.sqrt(weight @ (log_ratio - mean) ** 2))
    if sd > 1.1 * step:
        return None
    sd = max(sd, 0.35 * step)
    memory = tuple(own.node for own in _by_memory(mixture))
    return noise_nodes(np.linspace(mean - 2.8 * sd, mean + 2.8 * sd, 8), memory)


def probing_nodes(mixture: Mixture, prior: Prior) -> Noise | None:
    """Return a few nodes with memory, near where a long log's bulk without it lies.

    The nodes of ``mixture`` are without memory.  With it the steps' own spread w is smaller
    for the same sway of the path, so the bulk lies lower in log(w / m).  None where the prior
    knows no memory.
    """
    memory = tuple(n for n in prior.memory_nodes if n[0] > 0.0)
    if not memory:
        return None
    centre, _ = _bulk(mixture.noise.log_ratio, mixture.log_mass)
    return noise_nodes(centre + _LOWER_WITH_MEMORY, memory)


def nodes_by_memory(looks: list[Mixture]) -> Noise:
    """Return nodes about each memory's own bulk, from rough looks at each."""
    found = [own for look in looks for own in _by_memory(look)]
    bulks = [_bulk(own.log_ratio, own.log_mass) for own in found]
    grid = np.array([centre + sd * _ABOUT_A_BULK for centre, sd in bulks])
    return noise_nodes(grid, tuple(own.node for own in found))


def bulks_well_laid(mixture: Mixture) -> bool:
    """Tell whether the nodes of every memory that counts lie about its bulk, not too far apart."""
    top = mixture.log_mass.max()
    for own in _by_memory(mixture):
        mass = own.log_mass.tolist()
        best = mass.index(max(mass))
        if mass[best] < top - 10.0:
            continue
        if best in (0, len(mass) - 1):
            return False
        if 2.0 * mass[best] - mass[best - 1] - mass[best + 1] > _MOST_BEND:
            return False
    return True


class _OfMemory(NamedTuple):
    """The k nodes of one memory, evenly spaced."""

    node: tuple[float, float]
    """The memory and its probability."""
    log_ratio: FloatArray
    """log(w / m), shape (k,)."""
    log_mass: FloatArray
    """Shape (k,)."""


def _by_memory(mixture: Mixture) -> list[_OfMemory]:
    """Return the nodes of each memory, of which all have as many."""
    noise = mixture.noise
    rows = len(set(noise.memory.tolist()))
    memory, log_ratio, log_weight, log_mass = (
        values.reshape(rows, -1)
        for values in (noise.memory, noise.log_ratio, noise.log_weight, mixture.log_mass)
    )
    share = np.exp(log_weight[:, 0]) / (log_ratio[:, 1] - log_ratio[:, 0])
    nodes = zip(memory[:, 0].tolist(), share.tolist(), strict=True)
    return [_OfMemory(*own) for own in zip(nodes, log_ratio, log_mass, strict=True)]


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
