"""Handicap equity: how often a team from the lower half of the averages wins its league.

Teams meet in a round robin for a point a game and a point for the series; the most points win.  Does
not model substitutes, splits of a season, or people who play for their average.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.streams import Purpose, stream

Array = NDArray[np.float64]

FEWEST_GAMES = 21  # GB Playing Rules 100g via a secondary report: games that make an average
DAY_SD = 9.5  # day-to-day part of a bowler's spread, open league data (outside/fairness.toml)
HISTORY_GAMES = 90.0  # behind an entering average: a season of 30 nights; assumed
CHUNK = 250  # seasons at a time


@dataclass(frozen=True)
class LeagueModel:
    """Rules of a handicap league: handicap = max(0, floor(percent/100 x (base - average))).

    GB Playing Rules 100g and 319a via a secondary report; the average drops its fraction and is
    the running one from 21 games on, the entering one before.
    """

    percent: int
    base: int
    games: int = 3
    weeks: int = 33


@dataclass(frozen=True)
class Teams:
    """Bowlers of leagues, arrays (leagues, teams, size), NaN-free; a lone league has one row.

    ``ability`` expected game on the lanes they meet, ``entering`` average they come with, ``sd`` of a
    game, ``member`` False where a smaller team has an empty place.
    """

    ability: Array
    entering: Array
    sd: Array
    day_sd: float
    member: NDArray[np.bool_]


def synthetic_teams(figures: Mapping[str, Any], leagues: int, seed: int) -> Teams:
    """Leagues drawn from the stated model of ``outside/fairness.toml``."""
    m, spread = figures["handicap_model"], figures["game_spread"]
    rng = stream(seed, Purpose.CHECK, identity="handicap league")
    shape = (leagues, m["teams"], m["size"])
    ability = np.clip(rng.normal(m["average_mean"], m["average_sd"], shape), 60.0, 250.0)
    sd = np.interp(ability, spread["average"], spread["sd"])
    day = float(spread["day_sd"])
    games = float(m["history_games"])
    noise = np.sqrt((sd**2 - day**2) / games + day**2 * m["games"] / games)
    entering = ability + noise * rng.normal(size=shape)
    return Teams(ability, entering, sd, day, np.ones(shape, np.bool_))


def below_median_chance(
    teams: Teams, model: LeagueModel, seed: int, seasons: int | None = None
) -> tuple[float, float]:
    """Chance that a team whose summed entering average is in the lower half wins, and its error.

    Per-member averages are ranked; the middle one of an odd number of teams is in neither half.  Ties
    in points are drawn by lot.

    Parameters
    ----------
    seasons : played by a lone league; drawn leagues play one each

    Raises
    ------
    InputError : fewer than two teams, or a percentage, base or format out of range
    """
    _check(teams, model)
    leagues = teams.ability.shape[0]
    total = leagues if seasons is None else seasons
    wins = 0
    for first in range(0, total, CHUNK):
        rows = np.arange(first, min(first + CHUNK, total)) % leagues
        rng = stream(seed, Purpose.CHECK, identity=f"handicap season {first}")
        wins += int(_season(teams, rows, model, rng).sum())
    chance = wins / total
    return chance, float(np.sqrt(max(chance * (1.0 - chance), 1.0 / total) / total))


def handicap(average: NDArray[np.float64], model: LeagueModel) -> NDArray[np.float64]:
    """max(0, floor(percent/100 x (base - average))) of averages without fractions. [pins]"""
    return np.maximum(0.0, np.floor(model.percent * (model.base - average) / 100.0))


def above_base(teams: Teams, model: LeagueModel) -> tuple[list[int], list[float]]:
    """Whom the handicap's floor at nothing spares, in the lower and in the upper half of the teams.

    Whoever averages above the base gets no handicap, but gives nothing back either.

    Returns
    -------
    bowlers of a lone league above the base, and what that is worth to their half, mean of its teams
    [pins a head and game]
    """
    entering, member = np.floor(teams.entering[0]), teams.member[0]
    over = np.maximum(entering - model.base, 0.0) * member
    place, half = _places(teams.entering[:1], teams.member[:1])[0], len(entering) // 2
    halves = (place < half, place >= len(entering) - half)
    worth = model.percent / 100.0 * over.sum(axis=1) / member.sum(axis=1)
    return [int((over[h] > 0.0).sum()) for h in halves], [float(worth[h].mean()) for h in halves]


def _places(entering: Array, member: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Teams ranked by entering average a head, lowest 0, (leagues, teams)."""
    per_head = (entering * member).sum(axis=2) / member.sum(axis=2)
    return np.asarray(per_head.argsort(axis=1, kind="stable").argsort(axis=1, kind="stable"))


def _check(teams: Teams, model: LeagueModel) -> None:
    if teams.ability.shape[1] < 2:
        raise InputError("handicap: a league needs at least two teams")
    if not 0 <= model.percent <= 150 or not 0 <= model.base <= 300:
        raise InputError(
            f"handicap: 0 to 150 % of a base from 0 to 300 is needed, got {model.percent} % of "
            f"{model.base}"
        )
    if model.games < 1 or model.weeks < 1:
        raise InputError("handicap: a season needs games and weeks of 1 or more")


def _season(
    teams: Teams, rows: NDArray[np.int64], model: LeagueModel, rng: np.random.Generator
) -> NDArray[np.bool_]:
    """Whether each season's winner comes from the lower half, (seasons,)."""
    ability, member = teams.ability[rows], teams.member[rows]
    within = np.sqrt(np.maximum(teams.sd[rows] ** 2 - teams.day_sd**2, 0.0))
    entering = np.floor(teams.entering[rows])
    n_teams = ability.shape[1]
    pins, played = np.zeros_like(ability), 0
    points = rng.random((len(rows), n_teams)) * 1e-3  # the lot among equals
    shape = (*ability.shape, model.games)
    for week in range(model.weeks):
        average = np.floor(pins / played) if played >= FEWEST_GAMES else entering
        extra = handicap(average, model)
        form = rng.normal(size=ability.shape) * teams.day_sd
        luck = rng.normal(size=shape) * within[..., None]
        score = np.clip(np.rint((ability + form)[..., None] + luck), 0.0, 300.0)
        pins += score.sum(axis=3)
        played += model.games
        made = ((score + extra[..., None]) * member[..., None]).sum(axis=2)
        made /= member.sum(axis=2)[..., None]  # teams of other sizes are scored by the head
        sheet = np.concatenate([made, made.sum(axis=2, keepdims=True)], axis=2)
        home, away = meetings(n_teams, week)
        gap = sheet[:, home] - sheet[:, away]
        won = ((gap > 0.0) + 0.5 * (gap == 0.0)).sum(axis=2)
        points[:, home] += won
        points[:, away] += model.games + 1.0 - won
    place = _places(teams.entering[rows], member)
    winner = points.argmax(axis=1)
    return np.asarray(place[np.arange(len(rows)), winner] < n_teams // 2)


def meetings(teams: int, week: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Who meets whom: the circle method; with an odd number one team a week sits out."""
    places = teams + teams % 2
    ring = np.concatenate([[0], 1 + (np.arange(places - 1) + week) % (places - 1)])
    home, away = ring[: places // 2], ring[places // 2 :][::-1]
    plays = (home < teams) & (away < teams)
    return home[plays], away[plays]
