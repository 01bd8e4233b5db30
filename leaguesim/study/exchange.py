"""What an average made on one condition or in one house is worth on another.

A straight line over this roster's expected averages; entrants' own averages carry luck of their own.
"""

import math
from collections.abc import Mapping
from itertools import permutations
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from leaguesim import tables
from leaguesim.study.intervals import FEWEST_PAIRS

Array = NDArray[np.float64]

STEP_PINS = 10
FEWEST_BOWLERS = 4


def _line(x: Array, y: Array) -> Array:
    """Value at the middle and slope, about the mean of x; flat where x does not vary."""
    middle = x.mean()
    spread = ((x - middle) ** 2).sum()
    slope = ((x - middle) * (y - y.mean())).sum() / spread if spread > 0.0 else 0.0
    return np.array([y.mean() - slope * middle, slope])


def exchange_table(averages: Mapping[str, Array], pair_of: NDArray[np.int64]) -> Any:
    """Every average of the roster's range, in steps of 10, from each condition to each other.

    The interval of the mean leaves whole pairs of lanes out in turn; that of a single bowler adds
    the scatter about the line (tables.EXCHANGE).  Nothing is told outside the roster's own range.
    """
    data: dict[str, list[Any]] = {k: [] for k in tables.EXCHANGE}
    for a, b in permutations(averages, 2):
        x, y = averages[a], averages[b]
        grid = np.arange(
            math.ceil(x.min() / STEP_PINS) * STEP_PINS, x.max() + 1e-9, STEP_PINS, dtype=np.float64
        )
        mean, half, person = _at(x, y, grid, pair_of)
        for k, at in enumerate(grid):
            values = (
                a, b, float(at), mean[k], mean[k] - half[k], mean[k] + half[k],
                mean[k] - person[k], mean[k] + person[k],
            )  # fmt: skip
            for key, value in zip(data, values, strict=True):
                data[key].append(value)
    return tables.frame(tables.EXCHANGE, data)


def _at(x: Array, y: Array, grid: Array, pair_of: NDArray[np.int64]) -> tuple[Array, Array, Array]:
    """Mean on the grid, half an interval of it, half an interval of one bowler."""
    design = np.stack([np.ones(grid.size), grid], axis=1)
    line = _line(x, y)
    mean = design @ line
    labels = np.unique(pair_of)
    k, n = labels.size, x.size
    if k < FEWEST_PAIRS or n < FEWEST_BOWLERS:
        unknown = np.full(grid.size, np.nan)
        return mean, unknown, unknown
    out = np.stack([design @ _line(x[pair_of != c], y[pair_of != c]) for c in labels])
    variance = (k - 1) / k * ((out - out.mean(axis=0)) ** 2).sum(axis=0)
    scatter = float(((y - line[0] - line[1] * x) ** 2).sum() / (n - 2))
    half = stdtrit(k - 1, 0.975) * np.sqrt(variance)
    person = np.sqrt(half**2 + (stdtrit(n - 2, 0.975) ** 2) * scatter)
    return mean, half, person
