"""One condition made ready for a league: film a night starts from, everybody's line, crews by pair.

Earlier play (open play, another league) is played on the lanes by drawn bowlers before the night.  Does
not play the league itself.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
from leaguesim.ball.values import Ball
from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.lineup import Floor, find_line, floor_of
from leaguesim.bowlers.spares import spare_law
from leaguesim.bowlers.values import Bowler, RosterLine, Style
from leaguesim.errors import LibraryError
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import EarlierPlay
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel
from leaguesim.play.crew import PairCrew, Stance, crew_of
from leaguesim.play.draws import night_draws
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, stream

Array = NDArray[np.float64]
Mapper = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]

CREW_SIZES = (12, 8, 6, 4, 2)


@dataclass(frozen=True)
class Pins:
    """The carry library as the kernels take it."""

    arrays: Any
    second: Any
    leave_index: NDArray[np.int64]


def pins_of(library: CarryLibrary) -> Pins:
    """Kernel arrays of a library.

    Raises
    ------
    LibraryError : a first ball can leave what no second ball knows
    """
    second = library.second_ball()
    arrays = library.arrays
    index = np.asarray(second.index, np.int64)
    left = 1023 - np.unique(np.append(np.asarray(arrays.mask, np.int64), 0))
    if (index[left[left > 0]] < 0).any():
        raise LibraryError("the carry library has leaves without a second-ball law; rebuild it")
    return Pins(arrays, second, index)


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
    """A condition ready to be played: ``films`` (starts, 63, 41) [m], one crew a pair."""

    condition: str
    lane: Lane
    films: Array
    mix: NDArray[np.int8]
    pulls: Array
    stances: dict[str, Stance]
    crews: tuple[PairCrew, ...]
    wears: bool = True


def stance_of(bowler: Bowler, floor: Floor, pins: Pins) -> Stance:
    """A bowler's spare shooting and line on a film."""
    spares = spare_law(bowler, floor, pins.arrays, pins.second)
    line = find_line(bowler, floor, pins.arrays, spares.clear, spares.more)
    return Stance(bowler, line, spares)


def start_films(
    lane: Lane,
    earlier: EarlierPlay | None,
    styles: Mapping[str, Style],
    balls: Mapping[str, Ball],
    pins: Pins,
    seed: int,
) -> tuple[Array, NDArray[np.int8]]:
    """Films (starts, 63, 41) [m] that a night can start from, and the mixes.

    Without earlier play there is one, fresh; with it 32, each after its own session of drawn bowlers
    (the shares of styles are filled largest remainder first) who lined up on the fresh film.
    """
    film, mix = kernel_film(lane)
    if earlier is None or earlier.games_per_lane == 0:
        return film[None], mix
    size = next(n for n in CREW_SIZES if (2 * earlier.games_per_lane) % n == 0)
    games = 2 * earlier.games_per_lane // size
    crew = _earlier_crew(earlier, styles, balls, size, seed)
    floor = floor_of(lane, film, mix)
    ready = crew_of([stance_of(b, floor, pins) for b in crew], [i % 2 for i in range(size)], lane)
    draws = np.stack(
        [
            night_draws(seed, b.bowler, block=0, games=games, purpose=Purpose.EARLIER_PLAY)
            for b in crew
        ],
        axis=1,
    )
    ends = np.empty((NIGHTS_PER_STREAM, 2, *film.shape))
    play_block(
        film[None],
        mix,
        np.full(2, side_pull(lane.tilt_in)),
        ready,
        pins,
        draws,
        games,
        0,
        ends=ends,
    )
    return np.ascontiguousarray(ends[:, 0]), mix


def _earlier_crew(
    earlier: EarlierPlay,
    styles: Mapping[str, Style],
    balls: Mapping[str, Ball],
    size: int,
    seed: int,
) -> list[Bowler]:
    wanted = [(share * size, name) for name, share in sorted(earlier.styles)]
    counts = {name: int(w) for w, name in wanted}
    rest = sorted(wanted, key=lambda t: (-(t[0] - int(t[0])), t[1]))
    for _, name in rest[: size - sum(counts.values())]:
        counts[name] += 1
    names = [name for name, n in sorted(counts.items()) for _ in range(n)]
    crew = []
    for k, name in enumerate(names):
        who = f"earlier play, {name}, {k}"
        u = stream(seed, Purpose.EARLIER_PLAY, identity=who + ", hand").random()
        hand = "left" if u < styles[name].left_handed_share else "right"
        crew.append(draw_bowler(RosterLine(who, "", hand, name), styles[name], balls, seed))
    return crew


@dataclass(frozen=True)
class Block:
    """What a block of nights on a pair gave; shapes as in ``_kernel.play_nights``."""

    exact: Array
    sampled: NDArray[np.int64]
    counts: NDArray[np.int64]
    misses: Array
    ledger: Array


def play_block(
    films: Array,
    mix: NDArray[np.int8],
    pulls: Array,
    ready: PairCrew,
    pins: Pins,
    draws: Array,
    games: int,
    practice: int,
    *,
    wears: bool = True,
    ends: Array | None = None,
) -> Block:
    """Play ``draws.shape[0]`` nights on one pair."""
    nights, n = draws.shape[:2]
    block = Block(
        np.zeros((nights, n, games)),
        np.zeros((nights, n, games), np.int64),
        np.zeros((nights, n, _kernel.COUNTS), np.int64),
        np.zeros((nights, n, 2, 6)),
        np.zeros(2),
    )
    _kernel.play_nights(
        films, mix, pulls, wears, ready.crew, ready.covers, pins.arrays, pins.leave_index,
        draws, games, practice, block.exact, block.sampled, block.counts, block.misses,
        np.empty((0, 2, 1, 1)) if ends is None else ends, block.ledger,
    )  # fmt: skip
    return block


def make_setting(
    condition: str,
    lane: Lane,
    start: tuple[Array, NDArray[np.int8]],
    pairs: Sequence[Pair],
    pins: Pins,
    spread: Mapper = map,
) -> Setting:
    """Everybody lines up on a condition.

    Parameters
    ----------
    start : ``start_films`` of the condition; people line up on the mean of its films
    spread : a ``map`` over bowlers, for instance a thread pool's
    """
    films, mix = start
    floor = floor_of(lane, np.ascontiguousarray(films.mean(axis=0)), mix)
    people = [b for p in pairs for b in p.bowlers]
    stances = dict(
        zip(
            (b.bowler for b in people),
            spread(lambda b: stance_of(b, floor, pins), people),
            strict=True,
        )
    )
    crews = tuple(crew_of([stances[b.bowler] for b in p.bowlers], p.sides, lane) for p in pairs)
    return Setting(condition, lane, films, mix, np.full(2, side_pull(lane.tilt_in)), stances, crews)


def without_wear(setting: Setting) -> Setting:
    """The same setting on lanes that keep their film: to see what wear alone does."""
    return replace(setting, wears=False)
