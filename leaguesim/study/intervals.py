"""Standard errors and intervals: Monte Carlo for this roster, and resampled pairs for people like these.

The two are never mixed: more nights shrink only the first.  Does not decide what is compared.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from leaguesim.run.totals import SCALE
from leaguesim.streams import Purpose, stream

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

Z95 = 1.959963984540054
RESAMPLES = 1999
FEWEST_PAIRS = 4  # with fewer, t of one or two degrees makes an interval that says nothing


def mean_se(total: Ints, square: Ints, nights: int) -> tuple[Array, Array]:
    """Mean and its standard error from fixed-point sums over nights; NaN from one night. [pins]"""
    mean = total / SCALE / nights
    return mean, _se(square / SCALE - nights * mean**2, nights)


def _se(squares: Array, nights: int) -> Array:
    """Standard error of a mean from the sum of squared deviations."""
    if nights < 2:
        return np.full(squares.shape, np.nan)
    return np.asarray(np.sqrt(np.maximum(squares, 0.0) / (nights - 1) / nights))


def change_se(
    now: Ints, after: Ints, square_now: Ints, square_after: Ints, cross: Ints, nights: int
) -> tuple[Array, Array]:
    """Paired change and its standard error, the night as unit. [pins]

    The sum of squared differences is taken in whole numbers, so that identical conditions give
    exactly zero and swapping them flips only the sign.  One night tells no standard error: NaN.
    """
    difference = (after - now) / SCALE / nights
    squares = (square_now + square_after - 2 * cross) / SCALE
    same = (after == now) & (square_now == square_after) & (square_now == cross)
    return difference, np.where(same, 0.0, _se(squares - nights * difference**2, nights))


def people_interval(
    values: Array, clusters: Ints, seed: int, *, share: bool = False
) -> tuple[float, float]:
    """95 % interval of a mean when whole pairs of lanes are drawn again.

    Bowlers on a pair share a lane, so pairs are resampled, not bowlers (cluster bootstrap; Davison
    & Hinkley 1997, ch. 3.8, from memory).  The mean plus and minus Student's t of one less than the
    pairs times their resampled spread, which is too small by the root of (k - 1)/k: the plain
    percentiles cover 86 % at 6 pairs and 50 % at 2, this 95 %.  The interval of -values is the mirror
    image.  NaN values are left out; nan, nan where fewer than two pairs have any.  ``share``: the
    values are 0 or 1, and so the interval ends there.
    """
    ok = np.isfinite(values)
    labels = np.unique(clusters[ok])
    k = labels.size
    if k < 2:
        return math.nan, math.nan
    sums = np.array([values[ok & (clusters == c)].sum() for c in labels])
    counts = np.array([(ok & (clusters == c)).sum() for c in labels])
    rng = stream(seed, Purpose.BOOTSTRAP)
    draw = (rng.random((RESAMPLES, k)) * k).astype(np.int64)
    means = sums[draw].sum(axis=1) / counts[draw].sum(axis=1)
    middle = float(sums.sum() / counts.sum())
    half = float(stdtrit(k - 1, 0.975) * means.std() * math.sqrt(k / (k - 1)))
    if share:
        return max(middle - half, 0.0), min(middle + half, 1.0)
    return middle - half, middle + half


def told_interval(
    values: Array, clusters: Ints, seed: int, *, share: bool = False
) -> tuple[float, float]:
    """``people_interval`` where at least four pairs of lanes have a value, else nan, nan."""
    if np.unique(clusters[np.isfinite(values)]).size < FEWEST_PAIRS:
        return math.nan, math.nan
    return people_interval(values, clusters, seed, share=share)
