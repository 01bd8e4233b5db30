"""Kept happy: our own index of play, part by part, with every threshold printed beside it.

A bowler is kept happy when the expected average holds and every other part that can be assessed does.
It is not a forecast of who quits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from leaguesim.play import _kernel
from leaguesim.play.values import Thresholds
from leaguesim.run.totals import FADE_SHIFT, SCALE, Totals
from leaguesim.study.intervals import mean_se

Array = NDArray[np.float64]

PARTS = ("average", "miss cost", "sides", "corner pins", "fade")
WORDS = {
    "average": "average falls",
    "miss cost": "misses cost too much",
    "sides": "misses to one side cost far more",
    "corner pins": "good hits leave corner pins",
    "fade": "scores fade by the last game",
}
BAND_EDGES = (0, 130, 150, 170, 190, 210, 301)
SMALLEST_BAND = 3  # bowlers; a smaller band takes everybody's median
FLAT_COST = 0.25  # pins a degree: a side as flat as this costs nothing worth comparing


@dataclass(frozen=True)
class Measures:
    """What kept happy looks at, by bowler under one condition; se beside each, NaN: can't be told."""

    average: Array
    average_se: Array
    cost: Array  # first-ball pins lost per degree of miss
    cost_se: Array
    side: Array  # dearer side over cheaper side
    side_se: Array
    corner: Array  # corner pin alone per pocket hit
    corner_se: Array
    pocket_hits: Array
    fade: Array  # first game minus last
    fade_se: Array


def band_of(reference: Array) -> list[str]:
    """Average band of each bowler in words."""
    edges = BAND_EDGES
    names = [f"{a} to {b - 1}" for a, b in pairwise(edges)]
    names[0] = f"under {edges[1]}"
    names[-1] = f"{edges[-2]} and over"
    return [names[int(k)] for k in np.searchsorted(edges[1:-1], reference, side="right")]


def band_place(name: str) -> int:
    """Where an average band stands, from the lowest.

    >>> band_place("under 130"), band_place("130 to 149")
    (0, 1)
    """
    return band_of(np.array(BAND_EDGES[:-1], np.float64)).index(name)


def _slope(sums: Array) -> tuple[Array, Array]:
    """Pins lost per degree and its standard error from (n, 6) sums of one side."""
    n, e, ee, q, qq, eq = (sums[:, k] for k in range(6))
    safe = np.maximum(n, 1.0)
    sxx = ee - e * e / safe
    sxy = eq - e * q / safe
    syy = qq - q * q / safe
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = sxy / sxx
        left = np.maximum(syy - slope * sxy, 0.0)
        se = np.sqrt(left / np.maximum(n - 2.0, 1.0) / sxx)
    bad = (n < 30) | ~(sxx > 0.0)
    return np.where(bad, np.nan, -slope), np.where(bad, np.nan, se)


def measures(totals: Totals, condition: int) -> Measures:
    """Measures of every bowler under one condition of a run."""
    c, nights = condition, totals.nights
    average, average_se = mean_se(totals.average[c], totals.square[c, c], nights)
    fade, fade_se = mean_se(totals.fade[c], totals.fade_square[c], nights)
    if totals.game.shape[2] < 2:
        fade = np.full(fade.shape, np.nan)  # a single game has no last one to fade to
    sums = totals.misses[c] / SCALE
    (inside, inside_se), (outside, outside_se) = _slope(sums[:, 0]), _slope(sums[:, 1])
    cost = 0.5 * (inside + outside)
    cost_se = 0.5 * np.hypot(inside_se, outside_se)
    high, low = np.maximum(inside, outside), np.minimum(inside, outside)
    floor = np.maximum(low, FLAT_COST)
    side = np.maximum(high, FLAT_COST) / floor
    side_se = np.hypot(inside_se, outside_se * side) / floor
    counts = totals.n_counts[c]
    pocket = counts[:, _kernel.POCKET].astype(np.float64)
    corner = counts[:, _kernel.CORNER] / np.maximum(pocket, 1.0)
    corner_se = np.sqrt(corner * (1.0 - corner) / np.maximum(pocket, 1.0))
    return Measures(
        average, average_se, cost, cost_se, side, side_se, corner, corner_se, pocket,
        fade - FADE_SHIFT, fade_se,
    )  # fmt: skip


@dataclass(frozen=True)
class Norms:
    """What is usual under today's condition, by bowler (that of their average band)."""

    cost: Array
    corner: Array


def norms(today: Measures, bands: Sequence[str], limits: Thresholds) -> Norms:
    """Median cost of a miss and share of corner pins of each bowler's average band, under today."""
    labels = np.array(bands)
    enough = today.pocket_hits >= limits.corner_min_pocket_hits
    cost, corner = np.full(labels.size, np.nan), np.full(labels.size, np.nan)
    for band in np.unique(labels):
        inside = labels == band
        some = inside if inside.sum() >= SMALLEST_BAND else np.ones_like(inside)
        known = some & np.isfinite(today.cost)
        cost[inside] = np.median(today.cost[known]) if known.any() else np.nan
        hits = some & enough
        corner[inside] = (
            (today.corner * today.pocket_hits)[hits].sum() / today.pocket_hits[hits].sum()
            if hits.any()
            else np.nan
        )
    return Norms(cost, corner)


@dataclass(frozen=True)
class Verdict:
    """Kept happy by bowler: ``parts`` (n, 5) 1 holds, 0 fails, NaN can't be told; ``margin_se`` (n, 5)
    the distance to the threshold in standard errors."""

    parts: Array
    margin_se: Array

    @property
    def happy(self) -> Array:
        """1.0 or 0.0 a bowler; NaN where part 1 or all the others can't be told."""
        first = self.parts[:, 0]
        others = self.parts[:, 1:]
        fails = (self.parts == 0.0).any(axis=1)
        unknown = np.isnan(first) | np.isnan(others).all(axis=1)
        return np.where(unknown & ~fails, np.nan, np.where(fails, 0.0, 1.0))

    @property
    def close(self) -> NDArray[np.bool_]:
        """Some part lies within two standard errors of its threshold."""
        return np.asarray((np.abs(np.nan_to_num(self.margin_se, nan=np.inf)) < 2.0).any(axis=1))

    def words(self) -> list[str]:
        """Why not, in words, a bowler; a part that can't be assessed says so."""
        out = []
        for row in self.parts:
            said = [WORDS[p] for p, v in zip(PARTS, row, strict=True) if v == 0.0]
            unknown = [p for p, v in zip(PARTS, row, strict=True) if np.isnan(v)]
            if unknown:
                said.append(f"({' and '.join(unknown)}: can't be told)")
            out.append("; ".join(said))
        return out


def judge(m: Measures, reference: Array, usual: Norms, limits: Thresholds) -> Verdict:
    """Every part of kept happy for every bowler under one condition."""
    enough = m.pocket_hits >= limits.corner_min_pocket_hits
    slack = [
        m.average - (reference - limits.average_drop_pins),
        limits.miss_cost_ratio * usual.cost - m.cost,
        limits.side_ratio - m.side,
        np.where(enough, limits.corner_ratio * usual.corner - m.corner, np.nan),
        limits.fade_pins - m.fade,
    ]
    ses = [m.average_se, m.cost_se, m.side_se, m.corner_se, m.fade_se]
    parts, margins = [], []
    for s, se in zip(slack, ses, strict=True):
        known = np.isfinite(s)
        parts.append(np.where(known, (np.nan_to_num(s) >= 0.0).astype(float), np.nan))
        with np.errstate(divide="ignore", invalid="ignore"):
            margins.append(np.where(known, s / np.maximum(se, 1e-9), np.nan))
    return Verdict(np.stack(parts, axis=1), np.stack(margins, axis=1))


_FIELD = {
    "average": "average_drop_pins",
    "miss cost": "miss_cost_ratio",
    "sides": "side_ratio",
    "corner pins": "corner_ratio",
    "fade": "fade_pins",
}


def moved(limits: Thresholds, part: str, factor: float) -> Thresholds:
    """The thresholds with one part's moved by a factor."""
    name = _FIELD[part]
    return replace(limits, **{name: getattr(limits, name) * factor})
