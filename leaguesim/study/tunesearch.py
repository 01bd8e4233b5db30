"""The search for a condition: today's layout and an even spread first, then where a surrogate points.

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
from leaguesim.lane.values import Condition
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
OIL_WEIGHT = 0.4  # of what is in the tanks against the cube, where distances are taken
SWAP = 0.35  # of the close candidates lay another oil
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

    def features(self, points: Array) -> Array:
        """Where distances are taken: length, volume, ratio, taper, and each oil's share in three bands.

        points : (n, size); returns (n, 4 + 3 * oils)
        """
        names = sorted({name for pair in self.oils for name in pair})
        out = np.zeros((len(points), 4 + 3 * len(names)))
        out[:, :4] = points[:, :4]
        for row, u in zip(out, points, strict=True):
            recipe = self.recipe(u)
            for band, share in enumerate(recipe.shares):
                at = 4 + band * len(names)
                row[at + names.index(recipe.oils[0])] = OIL_WEIGHT * (1.0 - share)
                row[at + names.index(recipe.oils[-1])] += OIL_WEIGHT * share
        return out

    def starts(self, today: Condition, conditioners: Any) -> list[Array]:
        """Today's length, volume and ratio in each of the oils, today's own oils first.

        A ratio beyond the limits is made smaller; what still breaks one is left out.
        """
        limits, found = self.goal.limits, facts(today.bands, conditioners)
        laid = {name for band in today.bands for name, _ in band.shares}
        order = sorted(range(len(self.oils)), key=lambda k: (-len(laid & {*self.oils[k]}), k))
        length = _within(found["length_ft"], limits.length_low_ft, limits.length_high_ft)
        volume = _within(found["volume_ml"], limits.volume_low_ml, limits.volume_high_ml)
        out = []
        for k in order:
            for ratio in (0.8, 0.7, 0.6, 0.5, 0.4):
                u = np.full(self.size, 0.5)
                u[:4] = length, volume, ratio, 1.0
                if len(self.oils) > 1:
                    u[4] = (k + 0.5) / len(self.oils)
                if not self.allowed(u, conditioners):
                    out.append(u)
                    break
        return out

    def allowed(self, u: Array, conditioners: Any) -> list[str]:
        """Limits broken at a point."""
        bands = bands_of(self.recipe(u), self.goal.machine)
        return broken(facts(bands, conditioners), self.goal.limits, self.goal.machine)


def _within(value: float, low: float, high: float) -> float:
    """Where a value lies between two limits, from 0 to 1."""
    return min(max((value - low) / max(high - low, 1e-9), 0.0), 1.0)


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
        longest, asked = space.goal.machine.longest_ft, space.goal.limits.length_low_ft
        if longest < asked:
            told += (
                f" (the machine lays {longest:g} ft at most, limits.length_low_ft asks {asked:g})"
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
    today: Condition,
) -> list[dict[str, Any]]:
    """Try ``budget`` candidates; ``measure`` (point, number) gives each one's figures.

    Half of the first ones are today's layout in other oils, the rest an even spread.

    The surrogate interpolates the cost by radial basis functions (``scipy``'s RBFInterpolator, linear,
    lightly smoothed); every third trial is kept away from earlier ones.
    """
    pool = pool_of(space, conditioners, seed, family)
    first = max(4, min(len(pool), round(FIRST_SHARE * budget)))
    begin = space.starts(today, conditioners)[: first // 2]
    begin += list(pool[: first - len(begin)])
    points: list[Array] = []
    tried: list[dict[str, Any]] = []
    costs: list[float] = []
    for k in range(budget):
        if k < len(begin):
            u = begin[k]
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
    if len(space.oils) > 1:
        swap = rng.random(LOCAL) < SWAP
        near[:, 4] = np.where(swap, rng.random(LOCAL), best[4])
    near = np.array([u for u in near if not space.allowed(u, conditioners)] or [best])
    ask = np.concatenate([pool, near])
    seen, asked = space.features(points), space.features(ask)
    far = np.sqrt(((asked[:, None, :] - seen[None]) ** 2).sum(axis=2)).min(axis=1)
    fresh = far > (APART if k % 3 == 0 else NEAR)
    if not fresh.any():
        fresh = far >= far.max()
    ask, asked = ask[fresh], asked[fresh]
    where, at = np.unique(seen, axis=0, return_index=True)
    model = RBFInterpolator(where, costs[at], kernel="linear", smoothing=1e-3)
    return np.asarray(ask[int(np.argmin(model(asked)))])
