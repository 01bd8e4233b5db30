"""Which unknown matters: an emulator of the outer sample, checked on points left out, and Sobol indices.

A ridge regression on the unknowns and their squares.  It sees no unknown acting together with another
but through the bowlers' traits, and what it does not foretell of left-out points is told, not hidden.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc, sobol_indices

Array = NDArray[np.float64]

FOLDS = 8
RIDGES = (0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0)
FEWEST_R2 = 0.5  # with less of the left-out points foretold no ranking is told
SAMPLE_POWER = 13  # 8,192 points in each of the two samples of the indices


@dataclass(frozen=True)
class Ridge:
    """A fitted regression: columns, squares of them if ``bent``, about the mean of what it saw."""

    bent: bool
    centre: Array
    weights: Array
    mean: float

    def __call__(self, x: Array) -> Array:
        """(n,) foretold at (n, k) points."""
        return np.asarray(self.mean + (_columns(x, self.bent) - self.centre) @ self.weights)


def _columns(x: Array, bent: bool) -> Array:
    return np.concatenate([x, x * x], axis=1) if bent else x


def _ridges(x: Array, y: Array, bent: bool) -> list[tuple[float, Ridge]]:
    """Regressions by strength, with the mean square of errors at points left out one at a time."""
    table = _columns(x, bent)
    centre, mean = table.mean(axis=0), float(y.mean())
    u, s, vt = np.linalg.svd(table - centre, full_matrices=False)
    seen = u.T @ (y - mean)
    out = []
    for ridge in RIDGES:
        kept = s * s / (s * s + ridge)
        leverage = (u * u) @ kept + 1.0 / len(y)
        left = (y - mean - u @ (kept * seen)) / np.maximum(1.0 - leverage, 0.02)
        weights = vt.T @ (s / (s * s + ridge) * seen)
        out.append((float((left**2).mean()), Ridge(bent, centre, weights, mean)))
    return out


def emulate(x: Array, y: Array) -> Ridge:
    """The regression of (n,) outcomes on (n, k) unknowns with the least error at left-out points."""
    made = [*_ridges(x, y, False), *_ridges(x, y, True)]
    return min(made, key=lambda m: m[0])[1]


def foretold(x: Array, y: Array) -> float:
    """R2 on folds left out whole, the choice of the regression made anew in each; NaN without spread."""
    n = len(y)
    if not np.ptp(y) > 0.0 or n < 2:
        return float("nan")
    fold = np.arange(n) % min(FOLDS, n)
    off = np.empty(n)
    for k in range(min(FOLDS, n)):
        out = fold == k
        off[out] = y[out] - emulate(x[~out], y[~out])(x[out])
    return 1.0 - float((off**2).mean()) / float(((y - y.mean()) ** 2).mean())


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
