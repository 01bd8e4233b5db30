"""What a trial pair and film readings teach about conditioners: a normal posterior of their deviates.

Every uncertain property of ``lane.priors`` is a standard normal deviate before anything is measured;
measurements enter as linear equations about it.  Does not simulate and does not read files.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.lane.friction import friction
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.priors import conditioner_at, uncertain
from leaguesim.lane.values import Conditioner
from leaguesim.units import UNIT_M

Array = NDArray[np.float64]

_CLIP: Final = 2.0**-40
_DRAWS_POWER: Final = 12
_FILM_UNITS, _SLIP, _SPEED = 20.0, 5.0, 8.0  # where friction is told: units, m/s, m/s
_MU_DRY, _BALL_UIN = 0.20, 40.0  # a middling cover, for telling only
FRICTION = f"friction at {_FILM_UNITS:g} units and {_SLIP:g} m/s of slip"


@dataclass(frozen=True)
class Learnt:
    """Posterior of ``axes`` ("conditioner: property"): mean (k,) and covariance (k, k) of deviates.

    ``told`` holds one row a source of knowledge, plain values for page and file.
    """

    axes: tuple[str, ...]
    mean: Array
    covariance: Array
    told: tuple[dict[str, Any], ...] = ()

    def with_row(self, row: dict[str, Any]) -> "Learnt":
        """The same with one more row about what was measured."""
        return replace(self, told=(*self.told, row))

    def updated(self, slopes: Array, value: Array, noise: Array) -> "Learnt":
        """After seeing value = slopes @ deviates + noise.

        Parameters
        ----------
        slopes : (m, k); value : (m,); noise : (m, m) covariance
        """
        seen = slopes @ self.covariance @ slopes.T + noise
        gain = np.linalg.solve(seen, slopes @ self.covariance).T
        mean = self.mean + gain @ (value - slopes @ self.mean)
        left = self.covariance - gain @ slopes @ self.covariance
        return replace(self, mean=mean, covariance=0.5 * (left + left.T))

    def deviates(self, name: str) -> dict[str, float]:
        """Mean deviates of one conditioner by property."""
        own = f"{name}: "
        return {
            a.removeprefix(own): float(m)
            for a, m in zip(self.axes, self.mean, strict=True)
            if a.startswith(own)
        }

    def root(self, own: Sequence[int]) -> Array:
        """Symmetric root of the covariance of some of the axes."""
        value, vector = np.linalg.eigh(self.covariance[np.ix_(own, own)])
        return np.asarray((vector * np.sqrt(np.maximum(value, 0.0))) @ vector.T)

    def moved(self, axes: Sequence[str], cube: Array) -> Array:
        """A sample (n, d) of the prior's unit cube made one of the posterior.

        The symmetric root of the covariance keeps every axis as near to what it was as can be; axes
        that nothing is known of stay as they are.
        """
        here = [(list(axes).index(a), k) for k, a in enumerate(self.axes) if a in axes]
        if not here:
            return cube
        at, own = [a for a, _ in here], [k for _, k in here]
        z = ndtri(np.clip(cube[:, at], _CLIP, 1.0 - _CLIP))
        out = cube.copy()
        out[:, at] = ndtr(self.mean[own] + z @ self.root(own))
        return out

    def to_plain(self) -> dict[str, Any]:
        """Plain values for ``fitted.json``."""
        return {
            "axes": list(self.axes),
            "mean": self.mean.tolist(),
            "covariance": self.covariance.tolist(),
            "told": [dict(row) for row in self.told],
        }


def axes_of(center: Center, names: Sequence[str]) -> tuple[str, ...]:
    """The axes of some conditioners, as ``center.priors.dimensions`` names them."""
    return tuple(
        f"{name}: {part.name}"
        for name in sorted(names)
        for part in uncertain(center.conditioners[name])
    )


def prior(center: Center, names: Sequence[str]) -> Learnt:
    """Nothing learnt yet about these conditioners."""
    axes = axes_of(center, names)
    return Learnt(axes, np.zeros(len(axes)), np.eye(len(axes)))


def from_plain(told: Mapping[str, Any], center: Center) -> Learnt:
    """What ``Learnt.to_plain`` gave, for a center that has these conditioners.

    Raises
    ------
    InputError, KeyError, TypeError, ValueError : not such a thing, or of other conditioners
    """
    axes = tuple(str(a) for a in told["axes"])
    mean = np.array(told["mean"], np.float64)
    covariance = np.array(told["covariance"], np.float64)
    known = set(axes_of(center, list(center.conditioners)))
    strange = [a for a in axes if a not in known]
    if strange:
        raise InputError(f"the center has no {strange[0]}: fit again")
    if mean.shape != (len(axes),) or covariance.shape != (len(axes), len(axes)):
        raise ValueError("what was learnt about conditioners is not whole")
    root = np.linalg.eigvalsh(covariance)  # raises for what is no matrix of numbers
    if not np.isfinite(mean).all() or not np.isfinite(covariance).all() or root.min() < -1e-6:
        raise ValueError("what was learnt about conditioners is no covariance")
    return Learnt(axes, mean, covariance, tuple(dict(row) for row in told["told"]))


def likeliest(center: Center, learnt: Learnt | None) -> Center:
    """The center with its conditioners at the middle of what was learnt."""
    if learnt is None:
        return center
    made = {
        name: conditioner_at(c, learnt.deviates(name)) if learnt.deviates(name) else c
        for name, c in center.conditioners.items()
    }
    return replace(center, conditioners=made)


def widths(center: Center, learnt: Learnt) -> list[dict[str, Any]]:
    """Each property before and after, 5th, 50th and 95th hundredth, a row each; friction first."""
    from scipy.stats import qmc

    sobol = qmc.Sobol(len(learnt.axes), scramble=True, rng=np.random.default_rng(0))
    z = ndtri(np.clip(sobol.random_base2(_DRAWS_POWER), _CLIP, 1.0 - _CLIP))
    root = np.linalg.cholesky(learnt.covariance + 1e-12 * np.eye(len(learnt.axes)))
    after = learnt.mean + z @ root.T
    rows = []
    for name in dict.fromkeys(a.split(": ")[0] for a in learnt.axes):
        own = [k for k, a in enumerate(learnt.axes) if a.startswith(f"{name}: ")]
        parts = [learnt.axes[k].removeprefix(f"{name}: ") for k in own]
        c = center.conditioners[name]
        both = [_values(center, c, parts, draws[:, own]) for draws in (z, after)]
        for what in both[0]:
            row: dict[str, Any] = {"conditioner": name, "property": what}
            for side, values in zip(("prior", "posterior"), both, strict=True):
                low, middle, high = np.quantile(values[what], [0.05, 0.5, 0.95])
                row |= {side: float(middle), f"{side}_low": float(low), f"{side}_high": float(high)}
            wide = row["prior_high"] - row["prior_low"]
            left = row["posterior_high"] - row["posterior_low"]
            row["narrowed"] = 1.0 - left / wide if wide > 0.0 else 0.0
            rows.append(row)
    return rows


def _values(
    center: Center, conditioner: Conditioner, parts: Sequence[str], z: Array
) -> dict[str, Array]:
    """Friction and every property at draws (n, properties) of one conditioner."""
    made = [conditioner_at(conditioner, dict(zip(parts, row, strict=True))) for row in z.tolist()]
    out = {FRICTION: np.array([_friction(center, c) for c in made[:: 1 << 3]])}
    return out | {p: np.array([getattr(c, p) for c in made]) for p in parts}


def _friction(center: Center, conditioner: Conditioner) -> float:
    return float(
        friction(
            _FILM_UNITS * UNIT_M, _SLIP, speed_mps=_SPEED, rim_mps=_SPEED - _SLIP,
            mixture=mixture_of(conditioner), mu_dry=_MU_DRY, ball_roughness_uin=_BALL_UIN,
            lane_roughness_uin=center.surface.roughness_uin, temperature_c=center.temperature_c,
            constants=center.friction,
        )
    )  # fmt: skip
