"""The search for a condition: an even spread of candidates first, then where a surrogate expects the best.

Every candidate meets the same nights and luck.  The order of trials depends on the seed and on what was
measured, never on time, so a search that was stopped goes on to the same end.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RBFInterpolator
from scipy.stats import qmc

from leaguesim.errors import InputError
from leaguesim.play.aims import Goal
from leaguesim.streams import Purpose, stream
from leaguesim.study.tunepattern import Recipe, bands_of, broken, facts

Array = NDArray[np.float64]

POOL = 512  # candidates by a scrambled Sobol set, kept where the limits allow
LOCAL = 96  # and so many close to the best so far
FIRST_SHARE = 0.4  # of the budget is spent evenly
TAPER = (
    0.75,
    1.0,
)  # the shortest band ends at 30 % of the length or nearer: oil is laid to the front
NEAR = 1e-3  # a trial closer than this to an earlier one tells nothing new
APART = 0.12  # trials look this far from earlier ones every third time


class Space:
    """The free parameters of one family as a unit cube: length, volume, ratio, taper, oil, shares."""

    def __init__(self, goal: Goal, oils: Sequence[tuple[str, ...]]) -> None:
        self.goal, self.oils = goal, list(oils)
        self.blend = any(len(o) == 2 for o in oils)
        self.size = 4 + (1 if len(self.oils) > 1 else 0) + (3 if self.blend else 0)

    def recipe(self, u: Array) -> Recipe:
        """The recipe at a point of the cube."""
        limits = self.goal.limits
        low, high = (
            max(limits.ratio_right_low, limits.ratio_left_low, 1.05),
            max(min(limits.ratio_right_high, limits.ratio_left_high), 1.06),
        )
        length = limits.length_low_ft + u[0] * (limits.length_high_ft - limits.length_low_ft)
        volume = limits.volume_low_ml + u[1] * (limits.volume_high_ml - limits.volume_low_ml)
        ratio = low * (high / low) ** u[2]
        taper = TAPER[0] + u[3] * (TAPER[1] - TAPER[0])
        at, k = 4, 0
        if len(self.oils) > 1:
            k = min(int(u[4] * len(self.oils)), len(self.oils) - 1)
            at = 5
        shares = tuple(float(x) for x in u[at : at + 3]) if self.blend else (0.0, 0.0, 0.0)
        return Recipe(float(length), float(volume), float(ratio), float(taper), self.oils[k],
                      (shares[0], shares[1], shares[2]))  # fmt: skip

    def allowed(self, u: Array, conditioners: Any) -> list[str]:
        """Limits broken at a point."""
        bands = bands_of(self.recipe(u), self.goal.machine)
        return broken(facts(bands, conditioners), self.goal.limits, self.goal.machine)


def pool_of(space: Space, conditioners: Any, seed: int, family: str) -> Array:
    """Points of the cube that keep to every limit, (n, size).

    Raises
    ------
    InputError : none does; the message says which limits exclude how many
    """
    rng = stream(seed, Purpose.CHECK, identity=f"tune pool {family}")
    points = qmc.Sobol(space.size, scramble=True, rng=rng).random(POOL)
    why: dict[str, int] = {}
    kept = []
    for u in points:
        found = space.allowed(u, conditioners)
        for name in found:
            why[name] = why.get(name, 0) + 1
        if not found:
            kept.append(u)
    if not kept:
        told = ", ".join(
            f"{name} excludes {round(100 * n / POOL)} %"
            for name, n in sorted(why.items(), key=lambda t: (-t[1], t[0]))
        )
        raise InputError(
            f"goal {space.goal.name}: the limits leave no condition: of {POOL} patterns {told}; "
            "widen one of them"
        )
    return np.array(kept)


def search(
    space: Space,
    conditioners: Any,
    seed: int,
    family: str,
    budget: int,
    measure: Callable[[Array, int], dict[str, Any]],
    cost_of: Callable[[dict[str, Any]], float],
) -> list[dict[str, Any]]:
    """Try ``budget`` candidates; ``measure`` (point, number) gives each one's figures.

    The surrogate interpolates the cost by radial basis functions (``scipy``'s RBFInterpolator, linear,
    lightly smoothed); every third trial is kept away from earlier ones.
    """
    pool = pool_of(space, conditioners, seed, family)
    first = max(4, min(len(pool), round(FIRST_SHARE * budget)))
    points: list[Array] = []
    tried: list[dict[str, Any]] = []
    costs: list[float] = []
    for k in range(budget):
        if k < first and k < len(pool):
            u = pool[k]
        else:
            u = _next(space, conditioners, seed, family, k, pool, np.array(points), np.array(costs))
        points.append(u)
        tried.append(measure(u, k))
        costs.append(cost_of(tried[-1]))
    return tried


def _next(
    space: Space, conditioners: Any, seed: int, family: str, k: int, pool: Array, points: Array,
    costs: Array,
) -> Array:  # fmt: skip
    rng = stream(seed, Purpose.CHECK, replicate=k + 1, identity=f"tune {family}")
    best = points[int(np.argmin(costs))]
    wide = np.where(rng.random((LOCAL, 1)) < 0.5, 0.05, 0.15)
    near = np.clip(best + wide * rng.standard_normal((LOCAL, space.size)), 0.0, 1.0)
    near = np.array([u for u in near if not space.allowed(u, conditioners)] or [best])
    ask = np.concatenate([pool, near])
    far = np.sqrt(((ask[:, None, :] - points[None]) ** 2).sum(axis=2)).min(axis=1)
    fresh = far > (APART if k % 3 == 0 else NEAR)
    if not fresh.any():
        fresh = far >= far.max()
    ask = ask[fresh]
    where, at = np.unique(points, axis=0, return_index=True)
    if len(where) < space.size + 2:
        return np.asarray(ask[0])
    model = RBFInterpolator(where, costs[at], kernel="linear", smoothing=1e-3)
    return np.asarray(ask[int(np.argmin(model(ask)))])
