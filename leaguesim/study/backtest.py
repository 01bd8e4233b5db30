"""A back-test: fit on the first two thirds of the nights, forecast each bowler's average in the rest.

The stand-in of the simulation is shared with the fit of the whole season and was placed where all its scores
point, so the last third is not quite unseen.
"""

import math
from typing import Any

import numpy as np
import pandas as pd
from scipy.special import bdtr

from leaguesim.center.values import Center
from leaguesim.study.emulator import FIGURES, MEAN, Emulator
from leaguesim.study.mixed import components, shrunken
from leaguesim.study.posterior import forecast, mean_sd, posterior
from leaguesim.study.season import Season

LEVELS = (50, 80, 95)
Z = {50: 0.6744897501960817, 80: 1.2815515655446004, 95: 1.959963984540054}
TAIL = 0.025
COLUMNS = ["bowler", "style", "hand", "games", "actual", "forecast", "sd", "last", "shrunken"]


def backtest(
    center: Center, season: Season, emulators: dict[str, Emulator], seed: int
) -> tuple[dict[str, Any], pd.DataFrame]:
    """Error, coverage and skill on the last third of the nights, and one row a bowler.

    ``skill_last`` and ``skill_shrunken`` are 1 minus the mean squared error over that of the plain
    average and of the shrunken average; what luck alone puts in is ``luck_error``.  ``coverage_50`` is
    beside ``coverage_50_low`` and ``_high``, where right intervals land 19 times in 20 with so few bowlers.
    """
    at_home = season.games[season.games["condition"] == center.today]
    sessions = sorted(at_home["session"].unique())
    cut = (2 * len(sessions)) // 3
    early = season.part(set(sessions[:cut]))
    if len(early.people) < 2 or early.games["score"].nunique() < 2:
        return {"bowlers": 0, "why_not": "too few nights"}, pd.DataFrame(columns=COLUMNS)
    parts = components(*early.arrays())
    level, _, _ = shrunken(parts, *early.arrays())
    blup = dict(zip(early.people, level, strict=True))
    seen = early.seen(parts)
    output = season.conditions.index(center.today) * FIGURES + MEAN
    late = at_home[at_home["session"].isin(set(sessions[cut:]))]
    rows, luck = [], []
    for line in center.roster:
        own = late[late["bowler"] == line.bowler]
        if line.bowler not in early.people or len(own) < 3:
            continue
        told = seen[line.bowler]
        post = posterior(center, line, emulators, told, seed)
        mean, sd = mean_sd(*forecast(post, told, output))
        nights = own.groupby("session").size().to_numpy(np.float64)
        v = float((parts.night * nights**2 + parts.game * nights).sum() / nights.sum() ** 2)
        luck.append(v)
        before = early.games[early.games["bowler"] == line.bowler]
        rows.append(
            (
                line.bowler, line.style, line.hand, len(own), float(own["score"].mean()), mean,
                math.hypot(sd, math.sqrt(v)), float(before["score"].mean()), blup[line.bowler],
            )
        )  # fmt: skip
    table = pd.DataFrame(rows, columns=COLUMNS)
    if table.empty:
        return {"bowlers": 0, "why_not": "nobody has games in both parts"}, table
    return _figures(table, luck), table


def _figures(t: pd.DataFrame, luck: list[float]) -> dict[str, Any]:
    error = (t["actual"] - t["forecast"]).to_numpy()
    square = float((error**2).mean())
    out: dict[str, Any] = {
        "bowlers": len(t),
        "mean_error": float(error.mean()),
        "rms_error": math.sqrt(square),
        "absolute_error": float(np.abs(error).mean()),
        "luck_error": math.sqrt(float(np.mean(luck))),
    }
    for level in LEVELS:
        out[f"coverage_{level}"] = float((np.abs(error) <= Z[level] * t["sd"]).mean())
        low, high = by_chance(len(t), level / 100.0)
        out[f"coverage_{level}_low"], out[f"coverage_{level}_high"] = low, high
    for name in ("last", "shrunken"):
        naive = float(((t["actual"] - t[name]) ** 2).mean())
        out[f"rms_{name}"] = math.sqrt(naive)
        out[f"skill_{name}"] = 1.0 - square / naive if naive > 0 else math.nan
    return out


def by_chance(n: int, share: float) -> tuple[float, float]:
    """Least and most of n that right intervals cover, a chance of 2.5 % at most beyond either. [share]

    Bowlers count as independent; nights that run hot for all make the true range somewhat wider.
    """
    at_most = bdtr(np.arange(n + 1), n, share)
    low = int((at_most < TAIL).sum())
    high = int((at_most < 1.0 - TAIL).sum())
    return low / n, high / n
