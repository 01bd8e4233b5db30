"""Handicaps and averages carried through a switch of condition: seasons with it and without, on the same luck.

Entering averages stand until 21 games are bowled, running ones from then on; fractions are dropped.  Does
not know lanes, and nobody here plays for their average.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leaguesim.streams import Purpose, stream
from leaguesim.study.handicap import (
    CHUNK,
    DAY_SD,
    FEWEST_GAMES,
    HISTORY_GAMES,
    LeagueModel,
    handicap,
    meetings,
)

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

SEASONS = 2000


@dataclass(frozen=True)
class Switch:
    """What a season needs; arrays (bowlers,) but ``gap``.

    ``now`` and ``change`` expected game and its settled change, ``change_se`` how well that is known,
    ``sd_now`` and ``sd_next`` spread of a game [pins].  ``gap`` (weeks, bowlers): pins away from settled
    play in the weeks after the switch, the last one held on.  ``team`` number of the bowler's team.
    ``week``: the switch comes before this week's games, from 1.
    """

    now: Array
    change: Array
    change_se: Array
    sd_now: Array
    sd_next: Array
    gap: Array
    team: Ints
    week: int
    nights_per_week: int = 1


@dataclass(frozen=True)
class Carried:
    """What the seasons gave.

    ``extra`` (weeks told, bowlers): handicap pins a game more than settled averages would give, and
    ``extra_se``; NaN beyond the season.  ``points`` (2, seasons, teams) and ``place`` alike, without and with the
    switch, best 1; empty with fewer than two teams.
    """

    extra: Array
    extra_se: Array
    points: Array
    place: Array


def carry(
    of: Switch, model: LeagueModel, told: tuple[int, ...], seed: int, seasons: int = SEASONS
) -> Carried:
    """Play seasons with the switch and without.

    Parameters
    ----------
    told : weeks after the switch, from 1, at which extra handicaps are wanted
    """
    extras, points = [], []
    for first in range(0, seasons, CHUNK):
        rng = stream(seed, Purpose.CHECK, identity=f"switch season {first}")
        extra, made = _chunk(of, model, told, min(CHUNK, seasons - first), rng)
        extras.append(extra)
        points.append(made)
    extra = np.concatenate(extras, axis=1)
    both = np.concatenate(points, axis=1)
    place = (-both).argsort(axis=2, kind="stable").argsort(axis=2, kind="stable") + 1.0
    se: Array = np.asarray(extra.std(axis=1, ddof=1) / np.sqrt(seasons))
    return Carried(np.asarray(extra.mean(axis=1)), se, both, np.asarray(place, np.float64))


def _chunk(
    of: Switch, model: LeagueModel, told: tuple[int, ...], n: int, rng: np.random.Generator
) -> tuple[Array, Array]:
    """Extra handicaps (told, n, bowlers) and points (2, n, teams) of ``n`` seasons."""
    people, teams = of.now.size, int(of.team.max()) + 1
    sd = np.stack([of.sd_now, of.sd_next])
    within = np.sqrt(np.maximum(np.maximum(sd, DAY_SD) ** 2 - DAY_SD**2, 0.0))
    nights = HISTORY_GAMES / model.games
    memory = rng.normal(
        size=(n, people)
    )  # how far an average earned over a season is from its mean
    memory = memory * np.sqrt(within[0] ** 2 / HISTORY_GAMES + DAY_SD**2 / nights)
    change = of.change + of.change_se * rng.normal(size=(n, people))
    entering = np.floor(of.now + memory)
    settled = handicap(np.floor(of.now + change + memory), model) - handicap(entering, model)
    pins = np.zeros((2, n, people))
    lot = rng.random((n, teams)) * 1e-3  # the lot among equals, the same in both
    points = np.stack([lot, lot])
    extra = np.full((len(told), n, people), np.nan)
    played = 0
    for week in range(1, model.weeks + 1):
        after = week - of.week
        running = np.floor(pins / played) if played >= FEWEST_GAMES else np.stack([entering] * 2)
        given = handicap(running, model)
        if after + 1 in told:
            extra[told.index(after + 1)] = given[1] - given[0] - settled
        mean = np.stack([of.now + np.zeros((n, 1))] * 2)
        if after >= 0:
            mean[1] += change + of.gap[min(after, len(of.gap) - 1)]
        for night in range(of.nights_per_week):
            form = rng.normal(size=(n, people)) * DAY_SD
            luck = rng.normal(size=(n, people, model.games))
            spread = np.stack([within[0], within[1 if after >= 0 else 0]])[:, None, :, None]
            score = np.clip(np.rint((mean + form)[..., None] + luck * spread), 0.0, 300.0)
            pins += score.sum(axis=3)
            if teams > 1:
                round_ = (week - 1) * of.nights_per_week + night
                _score(points, score + given[..., None], of.team, round_)
        played += model.games * of.nights_per_week
    return extra, points if teams > 1 else np.zeros((2, n, 0))


def _score(points: Array, made: Array, team: Ints, round_: int) -> None:
    """A point a game and a point for the series, by the head where teams differ in size."""
    teams = points.shape[2]
    head = np.bincount(team, minlength=teams)
    games = made.shape[3]
    sums = np.zeros((*made.shape[:2], teams, games + 1))
    for t in range(teams):
        sums[:, :, t, :games] = made[:, :, team == t].sum(axis=2) / head[t]
    sums[..., games] = sums[..., :games].sum(axis=3)
    home, away = meetings(teams, round_)
    gap = sums[:, :, home] - sums[:, :, away]
    won = ((gap > 0.0) + 0.5 * (gap == 0.0)).sum(axis=3)
    points[:, :, home] += won
    points[:, :, away] += games + 1.0 - won
