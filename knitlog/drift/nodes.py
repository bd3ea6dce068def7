"""Where on the noise grid to put the nodes: first all over the prior, then about the bulk."""

import numpy as np

from knitlog.drift.likelihood import Mixture, Noise
from knitlog.drift.mixture import weights
from knitlog.drift.prior import Prior
from knitlog.drift.result import FloatArray

_LOWER_WITH_MEMORY = (-1.3, -0.8, -0.3)
"""Where to look first for a long log's log(w / m) with memory, from where it is without."""
_REACH, _NODES = 2.5, 5
"""Nodes about a bulk, to so many of its sds: the trapezium rule is all but exact for a normal
while its step is below 1.5 sd."""
_MOST_BEND = 2.6
"""How much the log mass may bend at the best node: the square of the step, in sds."""


def noise_nodes(log_ratio: FloatArray, memory: tuple[tuple[float, float], ...]) -> Noise:
    """Return the grid of evenly spaced ``log_ratio`` (shape (k,)) by the memory nodes."""
    step = float(log_ratio[1] - log_ratio[0])
    rho = np.array([node for node, _ in memory])
    mass = np.array([share for _, share in memory])
    return Noise(
        log_ratio=np.tile(log_ratio, len(rho)),
        memory=np.repeat(rho, len(log_ratio)),
        log_weight=np.repeat(np.log(mass), len(log_ratio)) + np.log(step),
    )


def coarse_nodes(prior: Prior, stitches: float, *, plain: bool = False) -> Noise:
    """Return nodes that span the prior of log(w / m); ``plain``: those without memory alone."""
    centre = prior.log_tension_noise(stitches) - prior.log_reading_noise()
    reach = 2.6 * np.sqrt(2.0) * prior.noise_log_sd
    memory = tuple(n for n in prior.memory_nodes if n[0] == 0.0 or not plain)
    return noise_nodes(np.linspace(centre - reach, centre + reach, 9), memory)


def without_idle_nodes(mixture: Mixture) -> Noise:
    """Return the nodes of ``mixture`` that carry any of its mass."""
    noise = mixture.noise
    peak = mixture.by_node(mixture.log_weight).max(axis=1)
    busy = peak > peak.max() - 10.0
    return Noise(noise.log_ratio[busy], noise.memory[busy], noise.log_weight[busy])


def finer_nodes(mixture: Mixture) -> Noise | None:
    """Return nodes about the bulk of ``mixture``, or None where its own are fine enough."""
    noise = mixture.noise
    step = float(noise.log_ratio[1] - noise.log_ratio[0])
    weight = weights(mixture.log_weight)
    log_ratio = np.log(mixture.tension_sd / mixture.reading_sd)
    mean = float(weight @ log_ratio)
    sd = float(np.sqrt(weight @ (log_ratio - mean) ** 2))
    if sd > 1.1 * step:
        return None
    sd = max(sd, 0.35 * step)
    memory = list(dict.fromkeys(noise.memory.tolist()))
    base = noise.log_weight[:: len(noise.log_ratio) // len(memory)] - np.log(step)
    nodes = tuple(zip(memory, np.exp(base).tolist(), strict=True))
    return noise_nodes(np.linspace(mean - 2.8 * sd, mean + 2.8 * sd, 8), nodes)


def probing_nodes(mixture: Mixture, prior: Prior) -> Noise | None:
    """Return a few nodes with memory, near where a long log's bulk without it lies.

    The nodes of ``mixture`` are without memory.  With it the steps' own spread w is smaller
    for the same sway of the path, so the bulk lies lower in log(w / m).  None where the prior
    knows no memory.
    """
    memory = tuple(n for n in prior.memory_nodes if n[0] > 0.0)
    if not memory:
        return None
    centre, _ = _bulk(mixture.noise.log_ratio, _log_mass_by_node(mixture))
    return noise_nodes(centre + np.array(_LOWER_WITH_MEMORY), memory)


def nodes_by_memory(looks: list[Mixture]) -> Noise:
    """Return nodes about each memory's own bulk, from rough looks at each."""
    made: list[Noise] = []
    for look in looks:
        noise, mass = look.noise, _log_mass_by_node(look)
        for rho in dict.fromkeys(noise.memory.tolist()):
            mine = noise.memory == rho
            ratio = noise.log_ratio[mine]
            centre, sd = _bulk(ratio, mass[mine])
            share = noise.log_weight[mine] - np.log(ratio[1] - ratio[0])
            reach = np.linspace(centre - _REACH * sd, centre + _REACH * sd, _NODES)
            made.append(noise_nodes(reach, ((rho, float(np.exp(share[0]))),)))
    return Noise(
        np.concatenate([n.log_ratio for n in made]),
        np.concatenate([n.memory for n in made]),
        np.concatenate([n.log_weight for n in made]),
    )


def bulks_well_laid(mixture: Mixture) -> bool:
    """Tell whether the nodes of every memory that counts lie about its bulk, not too far apart."""
    mass = _log_mass_by_node(mixture)
    top = mass.max()
    for rho in dict.fromkeys(mixture.noise.memory.tolist()):
        mine = mass[mixture.noise.memory == rho]
        best = int(np.argmax(mine))
        if mine[best] < top - 10.0:
            continue
        if best in (0, len(mine) - 1):
            return False
        if 2.0 * mine[best] - mine[best - 1] - mine[best + 1] > _MOST_BEND:
            return False
    return True


def _log_mass_by_node(mixture: Mixture) -> FloatArray:
    by_node = mixture.by_node(mixture.log_weight)
    top = by_node.max(axis=1)
    mass: FloatArray = top + np.log(np.exp(by_node - top[:, None]).sum(axis=1))
    return mass


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
