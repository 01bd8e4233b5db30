"""Variance components of a season (bowler, night, game) and shrunken averages.

REML for nested scores, any number of games a night; exact moments where the design is balanced, or
where a component is at zero.  Does not know bowlers' styles or lanes.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Components:
    """Mean [pins] and variances [pins^2] of bowler, night within bowler, game within night."""

    mean: float
    bowler: float
    night: float
    game: float
    method: str


def moments(score: Array, bowler: Ints, night: Ints) -> Components:
    """Method of moments: nested sums of squares equated to their expectations, floored at 0.

    Henderson's method 1 for a nested design (Searle, Casella & McCulloch 1992, ch. 3 and 5, from
    memory); in a balanced one it is the analysis of variance itself.

    Parameters
    ----------
    bowler, night : (n,) labels 0, 1, ...; a night belongs to one bowler
    """
    n = score.size
    cells, who, count, mean = _nights(score, bowler, night)
    games = np.bincount(who, count)
    per_bowler = np.bincount(who, count * mean) / games
    grand = float(score.mean())
    a, b = games.size, cells
    ss_game = float(((score - mean[night]) ** 2).sum())
    ss_night = float((count * (mean - per_bowler[who]) ** 2).sum())
    ss_bowler = float((games * (per_bowler - grand) ** 2).sum())
    within = np.bincount(who, count**2) / games
    k_night = float(n - within.sum())
    k_both = float(within.sum() - (count**2).sum() / n)
    k_bowler = float(n - (games**2).sum() / n)
    game = ss_game / (n - b) if n > b else 0.0
    night_ = max((ss_night - (b - a) * game) / k_night, 0.0) if k_night > 1e-9 else 0.0
    bowler_ = (ss_bowler - k_both * night_ - (a - 1) * game) / k_bowler if a > 1 else 0.0
    return Components(grand, max(bowler_, 0.0), night_, game, "moments")


def _nights(score: Array, bowler: Ints, night: Ints) -> tuple[int, Ints, Array, Array]:
    count = np.bincount(night).astype(np.float64)
    mean = np.bincount(night, score) / count
    who = np.zeros(count.size, np.int64)
    who[night] = bowler
    return count.size, who, count, mean


def reml(score: Array, bowler: Ints, night: Ints) -> Components:
    """Restricted maximum likelihood of the nested model (Patterson & Thompson 1971).

    The likelihood in closed form over nights and bowlers: no matrix larger than a vector.  Where the
    optimum lies at zero, that component is zero and ``method`` says so.

    Raises
    ------
    InputError : fewer than two bowlers, or all scores equal
    """
    from scipy import optimize

    if np.unique(bowler).size < 2:
        raise InputError("variance components need at least two bowlers")
    if np.ptp(score) == 0.0:
        raise InputError("all scores are equal: there is nothing to fit")
    start = moments(score, bowler, night)
    cells, who, count, mean = _nights(score, bowler, night)
    n, ss_game = score.size, float(((score - mean[night]) ** 2).sum())
    scale = float(score.var())

    def deviance(log: Array) -> float:
        vb, vn, vg = np.exp(np.clip(log, -30.0, 5.0)) * scale
        v = vn + vg / count  # variance of a night's mean given the bowler
        w = np.bincount(who, 1.0 / v)
        m = np.bincount(who, mean / v) / w
        u = vb + 1.0 / w
        mu = float((m / u).sum() / (1.0 / u).sum())
        inner = float(((mean - m[who]) ** 2 / v).sum())
        return float(
            (n - cells) * float(np.log(vg)) + ss_game / vg
            + float((np.log(count) + np.log(v)).sum()) + inner
            + float((np.log(w) + np.log(u)).sum()) + float(((m - mu) ** 2 / u).sum())
            + float(np.log((1.0 / u).sum()))
        )  # fmt: skip

    floor = 1e-6
    best: Any
    minimize: Any = optimize.minimize
    how: Any = {"xatol": 1e-9, "fatol": 1e-11, "maxiter": 8000, "maxfev": 16000}
    x0: Any = np.log(np.maximum([start.bowler, start.night, start.game], floor * scale) / scale)
    if n == cells:  # one game a night: night and game cannot be told apart
        x0[1] = -30.0
        best = minimize(
            lambda x: deviance(np.array([x[0], -30.0, x[1]])), x0[[0, 2]], method="Nelder-Mead",
            options=how,
        )  # fmt: skip
        log = np.array([best.x[0], -30.0, best.x[1]])
    else:
        best = minimize(
            deviance, x0, method="Nelder-Mead",
            options=how,
        )  # fmt: skip
        log = best.x
    at_zero = log < np.log(1e-5)
    vb, vn, vg = np.where(at_zero, 0.0, np.exp(np.clip(log, -30.0, 5.0)) * scale)
    parts = Components(
        0.0, float(vb), float(vn), float(vg), "reml, at zero" if at_zero.any() else "reml"
    )
    means, variance = _levels(parts, score, bowler, night)
    u = parts.bowler + variance
    return Components(
        float((means / u).sum() / (1.0 / u).sum()),
        parts.bowler,
        parts.night,
        parts.game,
        parts.method,
    )


def _levels(parts: Components, score: Array, bowler: Ints, night: Ints) -> tuple[Array, Array]:
    """Each bowler's weighted mean of nights and its sampling variance."""
    _, who, count, mean = _nights(score, bowler, night)
    v = np.maximum(parts.night + parts.game / count, 1e-9)
    w = np.bincount(who, 1.0 / v)
    return np.bincount(who, mean / v) / w, 1.0 / w


def components(score: Array, bowler: Ints, night: Ints) -> Components:
    """REML, or moments where it does not end on a finite answer."""
    found = reml(score, bowler, night)
    finite = np.isfinite([found.mean, found.bowler, found.night, found.game]).all()
    return found if finite else moments(score, bowler, night)


def shrunken(
    parts: Components, score: Array, bowler: Ints, night: Ints
) -> tuple[Array, Array, Array]:
    """Best linear unbiased predictions of bowlers' levels: value, standard error, sampling variance.

    Robinson (1991), Statistical Science 6; the error of the grand mean is left out.
    """
    level, variance = _levels(parts, score, bowler, night)
    share = parts.bowler / np.maximum(parts.bowler + variance, 1e-12)
    return parts.mean + share * (level - parts.mean), np.sqrt(share * variance), variance
