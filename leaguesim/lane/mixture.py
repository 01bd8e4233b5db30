"""What the oil in a cell is made of: blended conditioner properties and the grid of distinct mixes.

Does not follow how mixes change during play: only the total film wears and is carried, the mix of a
cell stays what was laid down there (a stated approximation; a carried drop is the mix of the nearest
oiled cell up-lane).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.lane.values import Conditioner
from leaguesim.lane.viscosity import (
    TemperatureLaw,
    blend_uncertainty,
    dynamic_mpas,
    kinematic_mm2ps,
    law_from_change,
    walther,
)

Array = NDArray[np.float64]

LANE_C: Final = 21.1  # where data sheets of conditioners state viscosity (70 F)
QUANTUM: Final = 32  # volume shares are rounded to 1/32
MIX_MAX: Final = 127  # the mix index of a cell is an int8


@dataclass(frozen=True)
class Mixture:
    """The properties of an oil, pure or blended, that friction and wear ask for."""

    law: TemperatureLaw
    density_g_per_ml: float
    base_share: float = 1.0
    critical_rate_per_s: float = 1.0e6
    boundary_factor: float = 1.0
    left_behind: float = 0.65
    ball_affinity: float = 0.5
    viscosity_error: float = 0.0

    def viscosity_pas(self, temperature_c: float) -> float:
        """Dynamic viscosity at rest and at a temperature. [Pa s]"""
        return dynamic_mpas(self.law.kinematic_mm2ps(temperature_c), self.density_g_per_ml) * 1e-3


def _check(conditioner: Conditioner) -> None:
    c = conditioner
    limits = {
        "viscosity_mpas": (1.0, 1000.0),
        "viscosity_at_c": (-20.0, 120.0),
        "density_g_per_ml": (0.5, 1.5),
        "base_share": (0.0, 1.0),
        "critical_rate_per_s": (1.0, 1e12),
        "boundary_factor": (0.05, 20.0),
        "left_behind": (0.0, 1.0),
        "ball_affinity": (0.0, 1.0),
    }
    for name, (low, high) in limits.items():
        value = getattr(c, name)
        if not (math.isfinite(value) and low <= value <= high):
            raise InputError(
                f"conditioner {c.name}: {name} must be from {low:g} to {high:g}, got {value!r}"
            )


def mixture_of(conditioner: Conditioner) -> Mixture:
    """The mixture that is one conditioner alone; InputError for a property out of its range."""
    c = conditioner
    _check(c)
    nu = kinematic_mm2ps(c.viscosity_mpas, c.density_g_per_ml)
    return Mixture(
        law_from_change(c.viscosity_at_c, nu, c.viscosity_change_per_10f),
        c.density_g_per_ml,
        c.base_share,
        c.critical_rate_per_s,
        c.boundary_factor,
        c.left_behind,
        c.ball_affinity,
    )


def blend(mixtures: Sequence[Mixture], shares: Sequence[float]) -> Mixture:
    """Blend by volume shares.

    Viscosity by the double-log rule of ASTM D7152 at every temperature: it is linear in the
    constants of the D341 law, so those are averaged.  Base share, boundary factor, durability and
    affinity are averaged, the critical rate logarithmically with the thickened share as weight (no
    source; the spread is inside the 15 % a thickened blend is given).
    """
    if len(mixtures) != len(shares) or abs(math.fsum(shares) - 1.0) > 1e-9 or min(shares) < 0.0:
        raise InputError(f"blend: one share a conditioner, adding up to 1, got {list(shares)}")
    used = [(m, s) for m, s in zip(mixtures, shares, strict=True) if s > 0.0]
    if len(used) == 1:
        return used[0][0]

    def mean(name: str) -> float:
        return math.fsum(s * float(getattr(m, name)) for m, s in used)

    weights = [s * (1.0 - m.base_share) for m, s in used]
    if math.fsum(weights) <= 0.0:
        weights = [s for _, s in used]
    rate = math.exp(
        math.fsum(
            w * math.log(m.critical_rate_per_s) for w, (m, _) in zip(weights, used, strict=True)
        )
        / math.fsum(weights)
    )
    law = TemperatureLaw(
        math.fsum(s * m.law.a for m, s in used), math.fsum(s * m.law.b for m, s in used)
    )
    return Mixture(
        law,
        mean("density_g_per_ml"),
        mean("base_share"),
        rate,
        mean("boundary_factor"),
        mean("left_behind"),
        mean("ball_affinity"),
        blend_uncertainty([s for _, s in used], [m.base_share for m, _ in used]),
    )


def thickened(mixture: Mixture, factor: float) -> Mixture:
    """A mixture whose kinematic viscosity at 21.1 deg C is ``factor`` times what its law says."""
    if factor == 1.0:
        return mixture
    law = mixture.law
    nu = law.kinematic_mm2ps(LANE_C)
    moved = replace(law, a=law.a + walther(nu * factor) - walther(nu))
    return replace(mixture, law=moved)


def quantise(shares: Array) -> NDArray[np.int64]:
    """Volume shares (..., n) rounded to 32nds that add up to 32 (largest remainders first)."""
    scaled = np.asarray(shares, dtype=np.float64) * QUANTUM
    whole = np.floor(scaled + 1e-9).astype(np.int64)
    missing = QUANTUM - whole.sum(axis=-1, keepdims=True)
    order = np.argsort(-(scaled - whole), axis=-1, kind="stable")
    rank = np.argsort(order, axis=-1, kind="stable")
    return np.asarray(whole + (rank < missing))


def mix_grid(
    film: Array, overall: Sequence[float]
) -> tuple[NDArray[np.int8], tuple[tuple[int, ...], ...]]:
    """Which mix each cell holds, and the distinct mixes as 32nds by conditioner.

    A dry cell takes the mix of the nearest oiled cell up-lane (toward the foul line) on its board,
    else the condition's overall mix.

    Parameters
    ----------
    film : (n, rows, boards) film by conditioner. [units]
    overall : n volume shares of the whole condition
    """
    total = film.sum(axis=0)
    wet = total > 0.0
    shares = np.where(wet, film, 1.0 / len(film)) / np.where(wet, total, 1.0)
    parts = quantise(np.moveaxis(shares, 0, -1))
    base = quantise(np.asarray(overall, dtype=np.float64))
    above = np.broadcast_to(base, parts[0].shape)
    for i in range(len(parts)):
        parts[i] = np.where(wet[i][:, None], parts[i], above)
        above = parts[i]
    mixes, index = np.unique(parts.reshape(-1, len(film)), axis=0, return_inverse=True)
    if len(mixes) > MIX_MAX:
        raise InputError(f"condition: {len(mixes)} different blends; at most {MIX_MAX} are handled")
    grid = index.reshape(total.shape).astype(np.int8)
    return grid, tuple(tuple(int(v) for v in row) for row in mixes)
