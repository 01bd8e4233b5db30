"""One condition made ready for a league: film a night starts from, everybody's line, crews by pair.

Does not know what was played before the night (``earlier`` does), nor who compares what.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
from leaguesim.bowlers.lineup import Floor, find_line, floor_of
from leaguesim.bowlers.spares import spare_law
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.lane import Lane
from leaguesim.play.block import Block as Block
from leaguesim.play.block import Pins as Pins
from leaguesim.play.block import pins_of as pins_of
from leaguesim.play.block import play_block as play_block
from leaguesim.play.crew import PairCrew, Stance, crew_of
from leaguesim.play.transition import Ground, look_ahead
from leaguesim.play.values import LeagueFormat

Array = NDArray[np.float64]
USUAL_NIGHT = LeagueFormat()
Mapper = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]


@dataclass(frozen=True)
class Pair:
    """Two teams on two lanes, bowlers in their order of play."""

    bowlers: tuple[Bowler, ...]
    sides: tuple[int, ...]


def pairs_of(bowlers: Sequence[Bowler]) -> list[Pair]:
    """Teams by name, two and two, bowlers by name: the roster's own order changes nothing.

    An odd team plays alone on its pair.
    """
    teams: dict[str, list[Bowler]] = {}
    for b in sorted(bowlers, key=lambda b: (b.team, b.bowler)):
        teams.setdefault(b.team, []).append(b)
    names = list(teams)
    pairs = []
    for k in range(0, len(names), 2):
        sides = [teams[n] for n in names[k : k + 2]]
        order = [(i, side, b) for side, team in enumerate(sides) for i, b in enumerate(team)]
        order.sort(key=lambda t: t[:2])
        pairs.append(Pair(tuple(b for _, _, b in order), tuple(s for _, s, _ in order)))
    return pairs


@dataclass(frozen=True)
class Setting:
    """A condition ready to be played: ``films`` (starts, 63, 41) [m], one crew a pair.

    With earlier play, ``sessions`` gives each night a film of its own and ``films`` are those that
    people lined up on.  Where lanes differ, ``apart`` holds the setting of every pair (all with the
    same stances and crews) and the rest is the lane as the surface alone has it.
    """

    condition: str
    lane: Lane
    films: Array
    mix: NDArray[np.int8]
    pulls: Array
    stances: dict[str, Stance]
    crews: tuple[PairCrew, ...]
    wears: bool = True
    sessions: Callable[[int, int], Array] | None = None
    apart: tuple["Setting", ...] = ()

    def at(self, pair: int) -> "Setting":
        """What a pair plays on: its own lanes where they differ, else this."""
        return self.apart[pair] if self.apart else self

    def films_of(self, block: int, replicate: int) -> Array:
        """Films that the nights of a block start from, (1 or 32, 63, 41) [m]."""
        return self.films if self.sessions is None else self.sessions(block, replicate)


class Start(NamedTuple):
    """What nights start from: films (starts, 63, 41) [m], mixes, and fresh sessions by block if any."""

    films: Array
    mix: NDArray[np.int8]
    sessions: Callable[[int, int], Array] | None = None


def stance_of(bowler: Bowler, floor: Floor, pins: Pins) -> Stance:
    """A bowler's spare shooting and line on a film."""
    spares = spare_law(bowler, floor, pins.arrays, pins.second)
    line = find_line(bowler, floor, pins.arrays, spares.clear, spares.more)
    return Stance(bowler, line, spares)


def make_setting(
    condition: str,
    lane: Lane,
    start: Start,
    pairs: Sequence[Pair],
    pins: Pins,
    spread: Mapper = map,
    *,
    tilt_in: tuple[float, float] | None = None,
    league: LeagueFormat = USUAL_NIGHT,
) -> Setting:
    """Everybody lines up on a condition, and for each game on how their pair wears it.

    Parameters
    ----------
    start : ``earlier.start_of`` the condition; people line up on the mean of its films
    spread : a ``map`` over bowlers, for instance a thread pool's
    league : the night that people know
    tilt_in : of the first and the second lane of each pair; None: both as ``lane``. [in]
    """
    films, mix = start.films, start.mix
    floor = floor_of(lane, np.ascontiguousarray(films.mean(axis=0)), mix)
    people = [b for p in pairs for b in p.bowlers]
    stances = dict(
        zip(
            (b.bowler for b in people),
            spread(lambda b: stance_of(b, floor, pins), people),
            strict=True,
        )
    )
    pulls = np.array([side_pull(t) for t in tilt_in or (lane.tilt_in, lane.tilt_in)])
    ground = Ground(floor, pulls, pins, league)
    groups = [([stances[b.bowler] for b in p.bowlers], p.sides) for p in pairs]
    ahead = look_ahead(groups, ground, spread)
    stances = {s.bowler.bowler: s for people in ahead for s in people}
    crews = tuple(crew_of(people, p.sides, lane) for people, p in zip(ahead, pairs, strict=True))
    return Setting(condition, lane, films, mix, pulls, stances, crews, sessions=start.sessions)


def on_own_lanes(
    condition: str, lane: Lane, start: Start, made: Sequence[tuple[Setting, Sequence[int]]]
) -> Setting:
    """One setting for pairs on lanes that differ.

    Parameters
    ----------
    lane, start : as the surface alone has it, for whoever looks at the condition
    made : settings with the pairs (by place, in order) that each was made for
    """
    stances = {name: stance for part, _ in made for name, stance in part.stances.items()}
    own = {k: (part, part.crews[i]) for part, where in made for i, k in enumerate(where)}
    crews = tuple(own[k][1] for k in range(len(own)))
    parts = {id(part): replace(part, stances=stances, crews=crews) for part, _ in made}
    pulls = np.full(2, side_pull(lane.tilt_in))
    return Setting(
        condition, lane, start.films, start.mix, pulls, stances, crews, sessions=start.sessions,
        apart=tuple(parts[id(own[k][0])] for k in range(len(own))),
    )  # fmt: skip


def without_wear(setting: Setting) -> Setting:
    """The same setting on lanes that keep their film, and with it the first line: what wear alone does."""
    apart = tuple(without_wear(part) for part in setting.apart)
    crews = tuple(replace(c, crew=c.crew._replace(every=0)) for c in setting.crews)
    return replace(setting, wears=False, apart=apart, crews=crews)
