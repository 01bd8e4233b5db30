"""A forecast's outer sample made into what people ask: changes, chances, honour scores, what to measure.

Variance of the points less their mean Monte Carlo variance is what is not known.  Does not play.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, stdtrit

from leaguesim import tables
from leaguesim.center.values import Center
from leaguesim.study.forecasting import Outcomes
from leaguesim.study.forecastresult import ForecastResult
from leaguesim.study.results import plain
from leaguesim.study.sensitivity import FEWEST_R2, emulate, foretold, indices
from leaguesim.study.unknowns import GROUPS, Unknowns, index_stream

Array = NDArray[np.float64]

LEAGUE_PINS, BOWLER_PINS = 3.0, 5.0
PERFECT, SERIES, BIG_GAME = 300, 800, 200
SERIES_GAMES = 3
FEWEST_POINTS = 32  # with fewer no emulator is worth a ranking, whatever its folds say
MEASURE = {
    "bowlers": "the bowlers: fit them on more scores, and measure speed, revs and rotation",
    "conditioners": "the conditioners: their viscosity, and how they wear and are carried",
    "blend": "the blend's viscosity",
    "application": "the film as the machine lays it, by tape readings",
    "lane and temperature": "the lanes' roughness and the temperature of lane and oil",
    "friction constants": "friction: follow balls down an oiled lane with their speeds",
    "carry of the pins": "carry: what is left standing by hits whose offset and angle were seen",
    "form of the friction model": "the form of friction: balls followed over thin and thick film",
}
ASSUMED = (
    "What is not known is drawn from stated priors, each input apart from the others; what it does to "
    "today's averages is taken up by the accuracy of everybody whose average the roster or a fit gives.",
    "Doubt of the lanes is that of all lanes together; what differs from lane to lane is as center.toml "
    "has it.",
    "Chances are of the expected change itself; the luck of a season comes on top.",
)
FITTED = (
    "Bowlers are drawn from the posterior of a fit that took conditioners, lanes and friction at their "
    "best values; where these are drawn otherwise, accuracy is tied again to an average drawn from the "
    "same posterior."
)
SERIES_NOTE = (
    "Series of 800: three games drawn apart from each other at every point; nights that run hot as a "
    "whole make them somewhat more frequent."
)
NO_SERIES = "Series of 800 are told only for nights of three games."


@dataclass(frozen=True)
class Split:
    """Change with its variance split in two; ``points`` (n, outcomes) without the Monte Carlo part."""

    change: Array
    luck: Array  # standard error of change from the nights
    unknown: Array  # sd of what is not known
    low: Array
    high: Array
    floored: NDArray[np.bool_]
    points: Array
    mean_se: Array

    def chance(self, pins: float, *, rises: bool = False) -> Array:
        """Share of points whose change falls (or rises) beyond so many pins, the mean's error in it."""
        beyond = self.points - pins if rises else -pins - self.points
        safe = np.where(self.mean_se > 0.0, self.mean_se, 1.0)
        sure = (beyond > 0.0).astype(np.float64)
        return np.asarray(np.where(self.mean_se > 0.0, ndtr(beyond / safe), sure).mean(axis=0))


def split(change: Array, square: Array) -> Split:
    """Variance of the points' changes less the mean of their Monte Carlo variances, floored at 0.

    Intervals are 90 %: Student's t on what is not known and the error of the mean of the points.
    """
    n = len(change)
    mean, total, luck = change.mean(axis=0), change.var(axis=0, ddof=1), square.mean(axis=0)
    same = np.ptp(change, axis=0) == 0.0
    total = np.where(same, 0.0, total)
    left = np.maximum(total - luck, 0.0)
    kept = np.sqrt(np.divide(left, total, out=np.zeros_like(left), where=total > 0.0))
    half = stdtrit(n - 1, 0.95) * np.sqrt(left + total / n)
    return Split(
        mean, np.sqrt(luck / n), np.sqrt(left), mean - half, mean + half,
        (total <= luck) & ~(same & (luck == 0.0)), mean + (change - mean) * kept, np.sqrt(total / n),
    )  # fmt: skip


def honours(scores: NDArray[np.int64], games_a_night: int) -> dict[str, Array]:
    """(2, bowlers) chances a game of 300, a game of 200 and more, and a series of 800 and more."""
    count = scores.sum(axis=-1, keepdims=True)
    share = scores / np.maximum(count, 1)
    out = {
        "games_300": share[..., PERFECT].mean(axis=0),
        "games_200": share[..., BIG_GAME:].sum(axis=-1).mean(axis=0),
    }
    if games_a_night == SERIES_GAMES:
        size = 1 << (SERIES_GAMES * PERFECT).bit_length()
        series = np.zeros(scores.shape[1:3])
        for point in share:  # one at a time keeps memory flat
            law = np.fft.irfft(np.fft.rfft(point, size, axis=-1) ** SERIES_GAMES, size, axis=-1)
            beyond = law[..., SERIES : SERIES_GAMES * PERFECT + 1].sum(axis=-1)
            series += np.where(beyond > 1e-12, beyond, 0.0) / len(share)
        out["series_800"] = series
    return out


def told(
    center: Center,
    sample: Unknowns,
    seen: Outcomes,
    asked: tuple[str, str],
    *,
    seed: int,
    nights: int,
    fitted: bool,
) -> ForecastResult:
    """The result of a forecast's outer sample."""
    league = center.league
    season_nights = league.weeks * league.nights_per_week
    parts = split(seen.change, seen.square)
    count = _per_season(honours(seen.scores, league.games), season_nights, league.games)
    n = len(seen.people)
    bowlers = _table(parts, seen, slice(0, n)) | {
        name: [p[k] for p in seen.people] for k, name in enumerate(("bowler", "team", "style", "hand"))
    }  # fmt: skip
    bowlers["chance_falls"] = parts.chance(BOWLER_PINS)[:n]
    groups = _table(parts, seen, slice(n, None)) | {
        "kind": ["league"] + ["style"] * (len(seen.names) - 1),
        "group": list(seen.names),
        "bowlers": seen.members.sum(axis=1),
        "chance_falls": parts.chance(LEAGUE_PINS)[n:],
        "chance_rises": parts.chance(LEAGUE_PINS, rises=True)[n:],
    }
    for name, values in count.items():
        for c, side in enumerate(("now", "next")):
            bowlers[f"{name}_{side}"] = values[c]
            groups[f"{name}_{side}"] = seen.members @ values[c]
    group_table = tables.frame(tables.FORECAST_GROUPS, groups)
    sensitivities, r2 = _sensitivities(sample, seen, parts, seed)
    table = tables.frame(tables.SENSITIVITIES, sensitivities)
    league_row = {
        str(k): plain(v) for k, v in group_table.iloc[0].items() if k not in ("kind", "group")
    }
    return ForecastResult(
        center=center.name,
        now=asked[0],
        next=asked[1],
        seed=seed,
        unknowns=len(sample.seeds),
        nights=nights,
        season_games=season_nights * league.games,
        fitted=fitted,
        league=league_row | _kept_happy(seen.happy),
        bowlers=tables.frame(tables.FORECAST_BOWLERS, bowlers),
        groups=group_table,
        sensitivities=table,
        r2=r2,
        measure_first=measure_first(sensitivities, r2, float(parts.unknown[n]), len(sample.seeds)),
        notes=_notes(parts, n, fitted, league.games),
    )


def _per_season(chances: dict[str, Array], nights: int, games: int) -> dict[str, Array]:
    """Expected numbers a season when everybody bowls every night."""
    out = {k: v * nights * (1 if k == "series_800" else games) for k, v in chances.items()}
    if "series_800" not in out:
        out["series_800"] = np.full(next(iter(out.values())).shape, np.nan)
    return out


def _table(parts: Split, seen: Outcomes, which: slice) -> dict[str, Any]:
    average = seen.average.mean(axis=0)
    return {
        "average_now": average[0, which],
        "average_next": average[1, which],
        "change": parts.change[which],
        "luck_se": parts.luck[which],
        "unknown_sd": parts.unknown[which],
        "low": parts.low[which],
        "high": parts.high[which],
        "floored": parts.floored[which],
    }


def _kept_happy(happy: Array) -> dict[str, float]:
    out = {}
    for c, side in enumerate(("now", "next")):
        known = happy[np.isfinite(happy[:, c]), c]
        low, high = np.quantile(known, [0.05, 0.95]) if known.size else (np.nan, np.nan)
        out[f"kept_happy_{side}"] = float(known.mean()) if known.size else float("nan")
        out[f"kept_happy_{side}_low"], out[f"kept_happy_{side}_high"] = float(low), float(high)
    return out


def _sensitivities(
    sample: Unknowns, seen: Outcomes, parts: Split, seed: int
) -> tuple[dict[str, list[Any]], dict[str, float]]:
    """First-order and total indices of the league's and each style's change, by group of unknowns."""
    data: dict[str, list[Any]] = {name: [] for name in tables.SENSITIVITIES}
    r2: dict[str, float] = {}
    n = len(seen.people)
    for g, name in enumerate(seen.names):
        y = seen.change[:, n + g]
        of, x, group_of = sample.columns(seen.traits[:, seen.members[g]].mean(axis=1))
        r2[name] = foretold(x, y, float(seen.square[:, n + g].mean()))
        here = sorted(set(group_of))
        first, total = np.full(len(here), np.nan), np.full(len(here), np.nan)
        ranked = parts.unknown[n + g] > 0.0 and _can_rank(r2[name], len(y))
        if ranked:
            place = [here.index(k) for k in group_of]
            first, total = indices(emulate(x, y), of, place, index_stream(seed))
        for k, group in enumerate(here):
            data["outcome"].append(name)
            data["group"].append(GROUPS[group])
            data["first_order"].append(float(first[k]))
            data["total"].append(float(total[k]))
            data["ranked"].append(bool(ranked))
    return data, r2


def _can_rank(r2: float, points: int) -> bool:
    return bool(np.isfinite(r2)) and r2 >= FEWEST_R2 and points >= FEWEST_POINTS


def measure_first(
    table: dict[str, list[Any]], r2: dict[str, float], unknown: float, points: int
) -> str:
    """One plain sentence: which measurement would tell most about the league's change."""
    if unknown == 0.0:
        return "Nothing to measure first: beyond luck, no doubt of the league's change shows."
    rows = [
        (total, group)
        for outcome, group, total, ranked in zip(
            table["outcome"], table["group"], table["total"], table["ranked"], strict=True
        )
        if outcome == "league" and ranked
    ]
    if not rows:
        why = (
            f"{points} points are too few for it ({FEWEST_POINTS} at least)"
            if points < FEWEST_POINTS
            else "the emulator foretells too little of the points left out (R2 "
            f"{r2['league']:.2f}, {FEWEST_R2:g} needed)"
        )
        return f"What to measure first cannot be told: {why}; ask for more points or nights."
    total, group = max(rows)
    return (
        f"Measure first {MEASURE[group]}: about {100 * total:.0f} % of the doubt of the league's "
        "change comes from there, alone or together with other unknowns."
    )


def _notes(parts: Split, n: int, fitted: bool, games: int) -> list[str]:
    notes = [*ASSUMED, *((FITTED,) if fitted else ())]
    notes.append(SERIES_NOTE if games == SERIES_GAMES else NO_SERIES)
    floored = int(parts.floored[:n].sum())
    if floored:
        notes.append(
            f"For {floored} of {n} bowlers the points differ no more than by luck: what is not known "
            "was put at 0, which says that it is small against the luck of these nights, not that it is 0."
        )
    if parts.floored[n]:
        notes.append(
            "For the league the points differ no more than by luck: what is not known was put at 0."
        )
    return notes
