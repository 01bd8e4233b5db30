"""Which unknown matters: an emulator of the outer sample, checked on points left out, and Sobol indices.

A lasso on the unknowns, which keeps few of them; then, if that foretells more, with their squares and
with products of those it kept most of.  What it does not foretell of left-out points is told, not hidden.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc, sobol_indices

from leaguesim.study.lasso import FOLDS, lasso

Array = NDArray[np.float64]

FEWEST_R2 = 0.8  # with less of the left-out points foretold no ranking is told
MOST_PAIRED = 6  # unknowns, at most, whose products are tried
SAMPLE_POWER = 13  # 8,192 points in each of the two samples of the indices


@dataclass(frozen=True)
class Sparse:
    """A fitted regression about the mean of what it saw.

    ``paired``: None for a plain one; else every column also acts squared, and these together.
    """

    paired: tuple[int, ...] | None
    centre: Array
    weights: Array
    mean: float

    def __call__(self, x: Array) -> Array:
        """(n,) foretold at (n, k) points."""
        return np.asarray(self.mean + (_columns(x, self.paired) - self.centre) @ self.weights)


def _columns(x: Array, paired: Sequence[int] | None) -> Array:
    if paired is None:
        return x
    pairs = [x[:, i] * x[:, j] for k, i in enumerate(paired) for j in paired[:k]]
    return np.concatenate([x, x * x, *(p[:, None] for p in pairs)], axis=1)


def emulate(x: Array, y: Array) -> Sparse:
    """The regression of (n,) outcomes on (n, k) unknowns with the least error at left-out points."""
    mean = float(y.mean())
    weights, centre, error = lasso(x, y)
    size = np.abs(weights) * x.std(axis=0)
    order = np.argsort(-size, kind="stable")[:MOST_PAIRED]
    paired = tuple(int(k) for k in order if size[k] > 0.0)
    more, middle, less = lasso(_columns(x, paired), y)
    if error <= less:
        return Sparse(None, centre, weights, mean)
    return Sparse(paired, middle, more, mean)


def foretold(x: Array, y: Array, luck: float = 0.0) -> float:
    """R2 on folds left out whole, the choice of the regression made anew in each; NaN without spread.

    ``luck``: variance of the nights' luck in y, which nothing can foretell and which is no doubt of the
    outcome: it is taken off the errors and off the spread.
    """
    n = len(y)
    if not np.ptp(y) > 0.0 or n < 2:
        return float("nan")
    fold = np.arange(n) % min(FOLDS, n)
    off = np.empty(n)
    for k in range(min(FOLDS, n)):
        out = fold == k
        off[out] = y[out] - emulate(x[~out], y[~out])(x[out])
    spread = float(((y - y.mean()) ** 2).mean()) - luck
    if spread <= 0.0:
        return float("nan")
    return 1.0 - max(float((off**2).mean()) - luck, 0.0) / spread


def indices(
    tell: Callable[[Array], Array],
    columns: Callable[[Array], Array],
    group_of: Sequence[int],
    rng: np.random.Generator,
) -> tuple[Array, Array]:
    """First-order and total Sobol indices of groups of inputs (Saltelli et al. 2010, as in SciPy).

    Parameters
    ----------
    tell : outcome (n,) of columns (n, k)
    columns : columns (n, k) of uniforms (n, d)
    group_of : (d,) which group each uniform belongs to, 0 to groups - 1

    Returns
    -------
    (groups,), (groups,); NaN where nothing varies
    """
    group = np.asarray(group_of)
    d, n, count = group.size, 1 << SAMPLE_POWER, int(group.max()) + 1
    u = qmc.Sobol(2 * d, scramble=True, rng=rng).random_base2(SAMPLE_POWER)
    a, b = u[:, :d], u[:, d:]
    f_a, f_b = tell(columns(a)), tell(columns(b))
    if not np.ptp(f_a) > 0.0:
        return np.full(count, np.nan), np.full(count, np.nan)
    mixed = [tell(columns(np.where(group == g, b, a))) for g in range(count)]
    told = sobol_indices(
        func={"f_A": f_a[None, :], "f_B": f_b[None, :], "f_AB": np.stack(mixed)[:, None, :]}, n=n
    )
    clip = [np.clip(np.ravel(v), 0.0, 1.0) for v in (told.first_order, told.total_order)]
    return clip[0], clip[1]
