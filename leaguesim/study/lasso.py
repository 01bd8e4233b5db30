"""Regression that keeps few of many inputs: the lasso path and its strength by points left out.

Least angle regression with the lasso's rule of dropping (Efron, Hastie, Johnstone & Tibshirani 2004, Annals
of Statistics 32): exact between its knots.  Does not know what the inputs are.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FOLDS = 8
STRENGTHS = np.geomspace(1.0, 0.02, 32)  # of the penalty at which the first input comes in
_TINY = 1e-12


def path(x: Array, y: Array) -> tuple[Array, Array]:
    """Knots of the lasso path: penalties (k,), falling, and weights (k, inputs).

    Parameters
    ----------
    x : (n, inputs) columns about 0; y : (n,) about 0

    Minimised is half the mean square of errors plus the penalty times the sum of absolute weights.
    """
    n, count = x.shape
    weights, active = np.zeros(count), list[int]()
    signs = np.zeros(count)
    pull = x.T @ y / n
    live = np.flatnonzero((x**2).sum(axis=0) > _TINY * n)
    knots, held = [float(np.abs(pull).max(initial=0.0))], [weights.copy()]
    if not live.size or knots[0] <= _TINY:
        return np.array(knots), np.array(held)
    first = int(live[np.abs(pull[live]).argmax()])
    active.append(first)
    signs[first] = np.sign(pull[first])
    for _ in range(4 * min(n, count)):
        penalty = knots[-1]
        own = x[:, active]
        gram = own.T @ own / n
        try:
            way = np.linalg.solve(gram, signs[active])
        except np.linalg.LinAlgError:
            break
        slope = x.T @ (own @ way) / n
        step, who, drops = _next(penalty, pull, slope, weights, way, active, live)
        weights[active] += step * way
        pull = pull - step * slope
        if drops:
            weights[who] = 0.0
            active.remove(who)
        elif who >= 0:
            active.append(who)
            signs[who] = np.sign(pull[who])
        knots.append(max(penalty - step, 0.0))
        held.append(weights.copy())
        if who < 0 or knots[-1] <= 0.01 * knots[0] or len(active) >= min(n - 1, live.size):
            break
        if not active:
            break
    return np.array(knots), np.array(held)


def _next(
    penalty: float, pull: Array, slope: Array, weights: Array, way: Array, active: list[int], live: Ints
) -> tuple[float, int, bool]:  # fmt: skip
    """How far until an input comes in or drops out: step, which (-1: the end), whether it drops."""
    step, who, drops = penalty, -1, False
    for j in live:
        if j in active:
            continue
        for up, down in ((penalty - pull[j], 1.0 - slope[j]), (penalty + pull[j], 1.0 + slope[j])):
            if down > _TINY and _TINY < up / down < step:
                step, who, drops = float(up / down), int(j), False
    for k, j in enumerate(active):
        gone = -weights[j] / way[k] if abs(way[k]) > _TINY else -1.0
        if _TINY < gone < step:
            step, who, drops = float(gone), j, True
    return step, who, drops


def weights_at(knots: Array, held: Array, penalties: Array) -> Array:
    """(penalties, inputs) weights between the knots of a path; beyond the last knot its own."""
    falling = knots[::-1]
    return np.stack([np.interp(penalties, falling, held[::-1, k]) for k in range(held.shape[1])], 1)


def lasso(x: Array, y: Array) -> tuple[Array, Array, float]:
    """Weights with the least error at folds left out.

    Parameters
    ----------
    x : (n, inputs); y : (n,)

    Returns
    -------
    weights (inputs,), centre of x, mean square of errors left out
    """
    n = len(y)
    fold = np.arange(n) % min(FOLDS, n)
    off = np.zeros(len(STRENGTHS))
    for k in range(min(FOLDS, n)):
        out = fold == k
        weights, centre, mean = _weights(x[~out], y[~out], STRENGTHS)
        off += ((y[out, None] - mean - (x[out] - centre) @ weights.T) ** 2).sum(axis=0)
    best = int(off.argmin())
    weights, centre, _ = _weights(x, y, STRENGTHS[best : best + 1])
    return weights[0], centre, float(off[best] / n)


def _weights(x: Array, y: Array, strengths: Array) -> tuple[Array, Array, float]:
    centre, scale, mean = x.mean(axis=0), x.std(axis=0), float(y.mean())
    scale = np.where(scale > _TINY, scale, 1.0)
    knots, held = path((x - centre) / scale, y - mean)
    return weights_at(knots, held, strengths * knots[0]) / scale, centre, mean
