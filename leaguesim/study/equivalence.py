"""Tests that can say "the same within a margin", and a few neighbours for shares and reliability.

Works on estimates and tables that others make; knows nothing of lanes.  Where statsmodels has the
method it is used, so that only the arithmetic of an estimate with its own degrees of freedom is ours.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, stdtr, stdtrit

from leaguesim.errors import InputError

Array = NDArray[np.float64]

LARGEST_EFFECT = 1000.0  # pins; beyond any difference of averages, also of a series of three games


def difference_p(estimate: float, se: float, df: float) -> float:
    """Two-sided p-value of "no difference" by Student's t; 1 for an exact zero, NaN if unknown."""
    if estimate == 0.0 and se == 0.0:
        return 1.0
    if se == 0.0:
        return 0.0
    return float(2.0 * stdtr(df, -abs(estimate) / se))


def tost_p(estimate: float, se: float, df: float, margin: float) -> float:
    """p-value of "differs by the margin or more": the larger of two one-sided t tests.

    Schuirmann 1987, J. Pharmacokin. Biopharm. 15, 657-680 (from memory).

    >>> round(tost_p(0.0, 1.0, 20.0, 3.0), 4)
    0.0035
    """
    if margin <= 0.0:
        raise InputError(f"an equivalence margin must be above 0, got {margin:g}")
    if math.isnan(se):
        return math.nan
    if se == 0.0:
        return 0.0 if abs(estimate) < margin else 1.0
    return float(stdtr(df, -(margin - abs(estimate)) / se))


def catch_chance(effect: float, se: float, df: float, margin: float, tests: int = 1) -> float:
    """Chance that a true effect is called a difference (t test at 5 %) of the margin or more.

    Noncentral t for the test, a normal for the size; the rarer of the two, so a lower bound is not
    given away by their dependence.  ``tests`` shares the 5 % out as Holm's first step does.

    >>> round(catch_chance(8.0, 2.0, 20.0, 3.0), 2)
    0.97
    """
    from scipy.stats import nct

    if math.isnan(se):
        return math.nan
    if se == 0.0:
        return 1.0 if abs(effect) >= margin else 0.0
    at = float(stdtrit(df, 1.0 - 0.025 / tests))
    shown = float(nct.sf(at, df, abs(effect) / se))
    large = float(ndtr((abs(effect) - margin) / se))
    return min(shown, large)


def smallest_caught(
    se: float, df: float, margin: float, tests: int = 1, chance: float = 0.8
) -> float:
    """The smallest true effect that ``catch_chance`` finds with that chance, to 0.05. [pins]

    NaN where not even ``LARGEST_EFFECT`` is found.
    """
    if math.isnan(se):
        return math.nan
    low, high = margin, margin + 1.0
    while catch_chance(high, se, df, margin, tests) < chance:
        if high >= LARGEST_EFFECT:
            return math.nan
        low, high = high, min(2.0 * high, LARGEST_EFFECT)
    while high - low > 0.05:
        middle = 0.5 * (low + high)
        if catch_chance(middle, se, df, margin, tests) < chance:
            low = middle
        else:
            high = middle
    return high


def t_interval(estimate: float, se: float, df: float, level: float = 0.95) -> tuple[float, float]:
    """Interval of an estimate with a standard error of so many degrees of freedom."""
    if math.isnan(se):
        return math.nan, math.nan
    half = float(stdtrit(df, 0.5 + level / 2.0)) * se if se > 0.0 else 0.0
    return estimate - half, estimate + half


def holm(p: ArrayLike) -> Array:
    """p-values adjusted by Holm's step-down; NaN stays NaN and does not count.

    Holm 1979, Scand. J. Statist. 6, 65-70 (from memory).  Not statsmodels' own, which collects the
    garbage of the whole process at each call: 0.4 s here, for the same bits.
    """
    values = np.asarray(p, np.float64)
    out = np.full(values.shape, np.nan)
    known = np.flatnonzero(np.isfinite(values))
    order = known[np.argsort(values[known], kind="stable")]
    stepped = values[order] * np.arange(order.size, 0, -1)
    out[order] = np.minimum(np.maximum.accumulate(stepped), 1.0)
    return out


@dataclass(frozen=True)
class Contrast:
    """Mean of one group less mean of the rest; ``se`` and ``df`` are NaN where nothing can be told.

    ``pairs`` says in how many clusters the smaller side stands.
    """

    estimate: float
    se: float
    df: float
    pairs: int


def people_contrast(values: Array, inside: NDArray[np.bool_], clusters: NDArray[Any]) -> Contrast:
    """Difference of two groups' means when whole clusters are left out in turn (jackknife).

    Bowlers of a pair of lanes share its wear, so pairs are resampled, not bowlers.  The spread of the
    k estimates with one cluster gone, times (k - 1)/k, is the variance; degrees of freedom are the
    clusters of the rarer group less one.  It does not fall as more nights are played, except by
    the nights' own luck leaving ``values``.

    Parameters
    ----------
    values : (n,) one figure a bowler, NaN left out
    inside : (n,) who belongs to the group
    clusters : (n,) the pair of lanes
    """
    ok = np.isfinite(values)
    a, b = ok & inside, ok & ~inside
    if not a.any() or not b.any():
        return Contrast(math.nan, math.nan, math.nan, 0)
    labels = np.unique(clusters[ok])
    pairs = min(np.unique(clusters[a]).size, np.unique(clusters[b]).size)
    estimate = float(values[a].mean() - values[b].mean())
    if pairs < 2:
        return Contrast(estimate, math.nan, math.nan, pairs)
    left_out = [
        values[a & (clusters != c)].mean() - values[b & (clusters != c)].mean() for c in labels
    ]
    return Contrast(estimate, _jackknife_se(np.array(left_out)), pairs - 1.0, pairs)


def people_mean(values: Array, clusters: NDArray[Any]) -> Contrast:
    """Mean over bowlers with the same leave-one-pair-out standard error."""
    ok = np.isfinite(values)
    labels = np.unique(clusters[ok])
    if not ok.any():
        return Contrast(math.nan, math.nan, math.nan, 0)
    estimate = float(values[ok].mean())
    if labels.size < 2:
        return Contrast(estimate, math.nan, math.nan, int(labels.size))
    left_out = np.array([values[ok & (clusters != c)].mean() for c in labels])
    return Contrast(estimate, _jackknife_se(left_out), labels.size - 1.0, int(labels.size))


def _jackknife_se(left_out: Array) -> float:
    k = left_out.size
    return float(math.sqrt((k - 1) / k * ((left_out - left_out.mean()) ** 2).sum()))


def newcombe(a: int, of_a: int, b: int, of_b: int) -> tuple[float, float]:
    """95 % interval of share a less share b of two independent groups (Newcombe 1998, method 10).

    Raises
    ------
    InputError : an empty group, or more hits than members
    """
    from statsmodels.stats.proportion import confint_proportions_2indep

    for hits, size in ((a, of_a), (b, of_b)):
        if size < 1 or not 0 <= hits <= size:
            raise InputError(f"a share needs 0 to n of at least 1, got {hits} of {size}")
    low, high = confint_proportions_2indep(a, of_a, b, of_b, method="newcomb", compare="diff")
    return float(low), float(high)


def mcnemar(only_first: int, only_second: int, *, exact: bool = True) -> tuple[float, float]:
    """McNemar's test of paired yes and no: (statistic, p-value).

    Parameters
    ----------
    only_first, only_second : those who say yes under one condition only
    exact : binomial (statistic: the smaller count); else chi-square without correction
    """
    if min(only_first, only_second) < 0:
        raise InputError("McNemar's test needs counts of 0 or more")
    if only_first == only_second == 0:
        return 0.0, 1.0
    from statsmodels.stats.contingency_tables import mcnemar as test

    made = test([[0, only_first], [only_second, 0]], exact=exact, correction=False)
    return float(made.statistic), float(made.pvalue)


def icc(table: Sequence[Sequence[float]] | Array) -> dict[str, float]:
    """Intraclass correlations of n targets by k judges, from the two-way table's mean squares.

    Shrout & Fleiss 1979, Psychol. Bull. 86, 420-428: icc11, icc21, icc31 of one judge, icc1k, icc2k,
    icc3k of the mean of k.

    Raises
    ------
    InputError : fewer than two targets or judges, targets that are all equal, or a value that is not finite
    """
    x = np.asarray(table, np.float64)
    if x.ndim != 2 or min(x.shape) < 2 or not np.isfinite(x).all():
        raise InputError("an intraclass correlation needs a full table of at least 2 by 2")
    n, k = x.shape
    grand, rows, columns = x.mean(), x.mean(axis=1), x.mean(axis=0)
    between = k * ((rows - grand) ** 2).sum() / (n - 1)
    judges = n * ((columns - grand) ** 2).sum() / (k - 1)
    within = ((x - rows[:, None]) ** 2).sum() / (n * (k - 1))
    error = (within * n * (k - 1) - judges * (k - 1)) / ((n - 1) * (k - 1))
    if between == 0.0:
        raise InputError("an intraclass correlation needs targets that differ")
    both = between + (k - 1) * error + k * (judges - error) / n
    return {
        "icc11": float((between - within) / (between + (k - 1) * within)),
        "icc21": float((between - error) / both),
        "icc31": float((between - error) / (between + (k - 1) * error)),
        "icc1k": float((between - within) / between),
        "icc2k": float((between - error) / (between + (judges - error) / n)),
        "icc3k": float((between - error) / between),
    }
