"""A trial pair against the other pairs of the same weeks: the difference in pins and its error.

A linear model with everybody's level, weeks, pairs of lanes and each bowler's own response; what a
condition is made of is not known here.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from leaguesim.study.mixed import Components

Array = NDArray[np.float64]

FEWEST_GAMES, FEWEST_BOWLERS = 9, 2
WEEK_SD = 30.0  # weeks are free to be anything
PAIR_SD = 2.0  # between pairs of lanes under one condition, pins (assumed)
OWN_SD = 3.0  # between bowlers' own responses to a change, pins (assumed)


@dataclass(frozen=True)
class Contrast:
    """Pins on the trial's condition less pins on today's, like for like; ``beyond`` what was expected."""

    condition: str
    pins: float
    se: float
    beyond: float
    bowlers: int
    games: int
    nights: int
    pairs: tuple[str, ...]
    shared_pairs: bool  # some pair of lanes had both conditions


def trials_of(games: pd.DataFrame, today: str) -> tuple[list[str], list[str]]:
    """Conditions tried on some pairs while others had today's, and why others are none.

    Parameters
    ----------
    games : tables.SCORE_ROWS
    """
    found, why = [], []
    home = games[games["condition"] == today]
    for name in sorted(set(games["condition"]) - {today}):
        own = games[games["condition"] == name]
        beside = set(own["session"]) & set(home["session"])
        if not beside:
            continue
        both = set(own["bowler"]) & set(home["bowler"])
        n = len(own[own["session"].isin(beside)])
        if n < FEWEST_GAMES or len(both) < FEWEST_BOWLERS:
            why.append(
                f"{name} was tried beside {today}, but with {n} games and {len(both)} people who bowled "
                f"on both: {FEWEST_GAMES} games and {FEWEST_BOWLERS} people are needed to learn from it."
            )
            continue
        found.append(name)
    return found, why


def contrast(
    games: pd.DataFrame,
    today: str,
    trial: str,
    parts: Components,
    expected: Mapping[str, float] | None = None,
) -> Contrast:
    """The difference of a trial, weeks and pairs and people taken off.

    Parameters
    ----------
    games : tables.SCORE_ROWS; only rows of the two conditions are used
    parts : variance components of the season
    expected : what each bowler's change should be by the model; others: the mean of these
    """
    cells = (
        games[games["condition"].isin([today, trial])]
        .groupby(["bowler", "session", "condition", "lane_pair"], sort=True)["score"]
        .agg(["mean", "size"])
        .reset_index()
    )
    on = (cells["condition"] == trial).to_numpy()
    design, prior = _design(cells, on, parts)
    w = 1.0 / np.maximum(parts.night + parts.game / cells["size"].to_numpy(np.float64), 1e-6)
    left = np.linalg.inv(design.T @ (design * w[:, None]) + np.diag(prior))
    y = cells["mean"].to_numpy(np.float64)
    should = dict(expected or {})
    usual = float(np.mean(list(should.values()))) if should else 0.0
    off = np.array([should.get(b, usual) for b in cells["bowler"]]) * on
    gain = left[0] @ (design.T * w)
    tried = cells[on]
    pairs = {p for p in tried["lane_pair"] if p}
    return Contrast(
        trial, float(gain @ y), math.sqrt(float(left[0, 0])), float(gain @ (y - off)),
        tried["bowler"].nunique(), int(tried["size"].sum()), tried["session"].nunique(),
        tuple(sorted(pairs)), bool(pairs & set(cells.loc[~on, "lane_pair"])),
    )  # fmt: skip


def _design(cells: pd.DataFrame, on: NDArray[np.bool_], parts: Components) -> tuple[Array, Array]:
    """Columns (trial, mean, people, weeks, pairs, responses) and their prior precisions."""
    ones = np.ones((len(cells), 1))
    pair = np.where(
        cells["lane_pair"] != "", cells["lane_pair"], np.where(on, "\0on trial", "\0others")
    )
    people = pd.get_dummies(cells["bowler"]).to_numpy(np.float64)
    weeks = pd.get_dummies(cells["session"]).to_numpy(np.float64)
    pairs = pd.get_dummies(pd.Series(pair)).to_numpy(np.float64)
    own = people * on[:, None]
    spread = max(parts.bowler, 25.0)
    blocks = [
        (on[:, None].astype(np.float64), 1e-9), (ones, 1e-9), (people, 1.0 / spread),
        (weeks, 1.0 / WEEK_SD**2), (pairs, 1.0 / PAIR_SD**2), (own, 1.0 / OWN_SD**2),
    ]  # fmt: skip
    prior = np.concatenate([np.full(b.shape[1], p) for b, p in blocks])
    return np.concatenate([b for b, _ in blocks], axis=1), prior
