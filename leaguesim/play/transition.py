"""The line of each game of a night: people who are settled know how their pair wears, and play for it.

A few nights of the pair's own bowlers are played ahead, game by game.  Whoever can tell that the wear
costs them pins looks for a line on the film of the middle of the game, and takes it where they can tell
that it is better than staying.  The luck of those nights belongs to the bowlers and to nothing else.
Does not move anybody: the night does.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.lineup import Aim, Floor, find_line, floor_of, told_apart, worth_of
from leaguesim.play.block import Pins, play_block
from leaguesim.play.crew import GameLine, Stance, crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.values import LeagueFormat

Array = NDArray[np.float64]
Mapper = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]
Group = tuple[Sequence[Stance], Sequence[int]]

NIGHTS_AHEAD = 4
AHEAD_SEED = 0  # one for every study: what people expect is not the luck of a study
AHEAD_REPLICATE = 4_000_000
MOST_GAMES = 3  # that have a line of their own; later ones keep the last


class Ground(NamedTuple):
    """What is played on ahead: the fresh lane, the side pull of both lanes, pins, the league's night."""

    floor: Floor
    pulls: Array
    pins: Pins
    league: LeagueFormat


def look_ahead(
    groups: Sequence[Group],
    ground: Ground,
    spread: Mapper = map,
    *,
    only: Sequence[str] | None = None,
) -> list[list[Stance]]:
    """Bowlers with a line for each game of the night, pair by pair.

    Parameters
    ----------
    groups : a pair's stances in their order of play, and the lane that each starts on
    spread : a ``map``, for instance a thread pool's
    only : names of those who look; the others keep what they have (None: everybody looks)
    """
    games = min(ground.league.games, MOST_GAMES)
    now = [[_fresh(s, only) for s in people] for people, _ in groups]
    sides = [s for _, s in groups]
    draws = list(spread(lambda people: _draws(people, games), now))
    for game in range(games):
        films = list(
            spread(partial(_middle, ground=ground, game=game), zip(now, sides, draws, strict=True))
        )
        tasks = [
            (s, films[k][1][i], films[k][0], len(people))
            for k, people in enumerate(now)
            for i, s in enumerate(people)
        ]

        def looked(task: tuple[Stance, Array, Floor, int]) -> Stance:
            if only is not None and task[0].bowler.bowler not in only:
                return task[0]
            return _next_line(*task, ground.pins)

        found = iter(list(spread(looked, tasks)))
        now = [[next(found) for _ in people] for people in now]
    return now


def _fresh(stance: Stance, only: Sequence[str] | None) -> Stance:
    looks = only is None or stance.bowler.bowler in only
    return replace(stance, games=(), every=0) if looks else stance


def _draws(people: Sequence[Stance], games: int) -> Array:
    """(NIGHTS_AHEAD, n, draws_a_night) of luck that is nobody else's."""
    made = [
        night_draws(AHEAD_SEED, s.bowler.bowler, block=0, games=games, replicate=AHEAD_REPLICATE)
        for s in people
    ]
    return np.stack([m[:NIGHTS_AHEAD] for m in made], axis=1)


def _middle(
    pair: tuple[Sequence[Stance], Sequence[int], Array], *, ground: Ground, game: int
) -> tuple[Floor, Array]:
    """The expected lane of the middle of a game, from 0: half-way from its start to its end.

    Parameters
    ----------
    pair : stances, the lanes they start on, and (nights, n, draws_a_night) their luck

    Returns
    -------
    the lane, and (n, 2, 2) how far people stand on the mean from their first line before and after
    """
    people, sides, draws = pair
    floor, league = ground.floor, ground.league
    crew = crew_of(people, sides, floor.lane)
    films, moved = [floor.film], np.empty(0)
    for count in range(max(game, 1), game + 2):
        ends = np.empty((len(draws), 2, *floor.film.shape))
        block = play_block(
            floor.film[None], floor.mix, ground.pulls, crew, ground.pins, draws, count,
            league.practice_balls, ends=ends,
        )  # fmt: skip
        films.append(ends.mean(axis=(0, 1)))
        moved = block.lines.mean(axis=0)[:, game : game + 2]
    film = np.ascontiguousarray(0.5 * (films[-2] + films[-1]))
    return floor_of(floor.lane, film, floor.mix), moved


def _next_line(stance: Stance, moved: Array, floor: Floor, every: int, pins: Pins) -> Stance:
    """A bowler with the line of one more game.

    Parameters
    ----------
    moved : (2, 2) how far they stand on the mean from the first line before and after that game
    every : bowlers on the pair
    """
    b, lib, spares = stance.bowler, pins.arrays, stance.spares
    first, last = stance.line, stance.played[-1].line
    at = moved.mean(axis=0)
    stay = Aim(last.ball, first.board + float(at[0]), first.angle + float(at[1]), 0.0)
    worth = worth_of(b, floor, lib, spares.clear, spares.more, stay)
    line, aside = last, np.zeros(2)
    if first.worth - worth > told_apart(b):
        found = find_line(b, floor, lib, spares.clear, spares.more, first)
        if found.worth - worth > told_apart(b):
            line = found
            aside = moved[0] - (last.board - first.board, last.angle - first.angle)
    game = GameLine(line, (float(aside[0]), float(aside[1])))
    return replace(stance, games=(*stance.games, game), every=every)
