"""Oil and pins as the machines meet them: pins standing off their spots, oil carried off, oil past the pins.

A few nights are played for the wear; balls are then thrown on the film before the first game and after the
last, from where people stand.  Does not model a machine: what stops one is assumed.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.lineup import Floor, nodes_seen, throw_many, with_errors
from leaguesim.bowlers.release import delivery, even_errors
from leaguesim.lane.arrays import kernel_table
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.maps import LEAGUE_KG, OFF_SPOT_M, neighbours
from leaguesim.play.crew import Stance
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Pins, Setting, play_block
from leaguesim.play.values import LeagueFormat
from leaguesim.study.prepare import Ready
from leaguesim.units import UNIT_M, UNIT_ML_PER_CELL

Array = NDArray[np.float64]

NIGHTS = 8
BALLS = 8  # a bowler throws on each film of a night
MACHINE_REPLICATE = 8_000_000  # these nights are not the study's
FRAMES = 10
CAUSES = ("pins off their spots", "oil carried off on balls", "oil past the pins")
UNITS = ("first balls", "mL", "mL")
ASSUMED = {
    CAUSES[0]: (
        f"stops from a pin that stands more than {OFF_SPOT_M * 100:.0f} cm off its spot after the first "
        "ball are in proportion to such balls; how far a machine's own tongs reach is not modelled"
    ),
    CAUSES[1]: (
        "stops from oily balls (return, lift) are in proportion to the oil that balls keep; nobody is taken "
        "to wipe theirs"
    ),
    CAUSES[2]: (
        "stops from oil on pins and pin deck are in proportion to the oil that is still loose on a ball "
        "when it leaves the lane"
    ),
}

_BOARDS = np.concatenate(
    [np.arange(-19.0, -7.0, 1.0), np.arange(-7.0, 7.01, 0.5), np.arange(8.0, 19.1, 1.0)]
)
_ANGLES = np.arange(-2.0, 8.1, 1.25)
_SPEEDS = np.array([5.0, 6.25, 7.5, 8.75])


@lru_cache(maxsize=1)
def off_spot_table() -> Array:
    """Share of first balls that leave a pin off its spot, on the grid of offset, angle and speed."""
    library = CarryLibrary.load()
    moved = library.rows["moved_2mm"].max(1) * float(library.settings["moved_step_m"]) > OFF_SPOT_M
    out = np.zeros((_BOARDS.size, _ANGLES.size, _SPEEDS.size))
    for i, b in enumerate(_BOARDS):
        for j, a in enumerate(_ANGLES):
            for k, v in enumerate(_SPEEDS):
                w = neighbours(library, float(b), float(a), float(v), LEAGUE_KG)
                total = w.sum()
                out[i, j, k] = (w @ moved) / total if total > 0.0 else 0.0
    return out


def off_spot(offset: Array, entry_deg: Array, speed_mps: Array) -> Array:
    """Chance that a first ball leaves a pin off its spot, right-hander's deck; gutter balls (NaN) none."""
    from scipy.interpolate import RegularGridInterpolator

    at = RegularGridInterpolator((_BOARDS, _ANGLES, _SPEEDS), off_spot_table())
    grids = (_BOARDS, _ANGLES, _SPEEDS)
    there = np.isfinite(offset)
    place = np.stack(
        [
            np.clip(np.where(there, x, 0.0), g[0], g[-1])
            for x, g in zip((offset, entry_deg, speed_mps), grids, strict=True)
        ],
        axis=-1,
    )
    return np.where(there, at(place), 0.0)


def meet(
    setting: Setting, k: int, pair: Pair, pins: Pins, league: LeagueFormat, seed: int
) -> Array:
    """(nights, causes) sums over one pair's frames: off-spot balls expected, mL on balls, mL past the pins."""
    own, n = setting.at(k), len(pair.bowlers)
    draws = np.stack(
        [
            night_draws(seed, b.bowler, block=0, games=league.games, replicate=MACHINE_REPLICATE)
            for b in pair.bowlers
        ],
        axis=1,
    )[:NIGHTS]
    films = own.films_of(0, MACHINE_REPLICATE)
    out = np.zeros((NIGHTS, len(CAUSES)))
    errors = even_errors(NIGHTS * BALLS).reshape(NIGHTS, BALLS, -1)
    people = [setting.stances[b.bowler] for b in pair.bowlers]
    seen = [nodes_seen(pins.arrays) for _ in people]
    arrivals = np.empty((NIGHTS, n, 2, BALLS, 6))
    for night in range(NIGHTS):
        start, side = films[night % len(films)], night % 2
        ends = np.empty((1, 2, *start.shape))
        played = play_block(
            start[None], own.mix, own.pulls, setting.crews[k], pins, draws[night : night + 1],
            league.games, league.practice_balls, wears=own.wears, ends=ends,
        )  # fmt: skip
        out[night, 1:] = played.ledger * (UNIT_ML_PER_CELL / UNIT_M)
        floors = [
            Floor(np.ascontiguousarray(film), own.mix, float(own.pulls[side]), own.lane, 60)
            for film in (start, ends[0, side])
        ]
        for i, stance in enumerate(people):
            for when, shift in enumerate((played.lines[0, i, 0], played.lines[0, i, -1])):
                ball = stance.played[-when].line.ball
                arrivals[night, i, when] = _thrown(
                    stance, ball, floors[when], shift, errors[night], pins, seen[i]
                )
    chance = off_spot(*(arrivals[..., c] for c in range(3)))
    out[:, 0] = league.games * FRAMES * chance.mean(axis=(2, 3)).sum(axis=1)
    return out


def upset(made: Ready, setting: Setting, seed: int) -> Array:
    """What upsets machines under one condition, (nights, causes) per 1,000 frames of the whole league."""
    league = made.center.league

    def one(at: tuple[int, Pair]) -> Array:
        return meet(setting, *at, made.pins, league, seed)

    sums = made.spread(one, list(enumerate(made.pairs)))
    return np.asarray(np.sum(sums, axis=0) * 1000.0 / frames_of(made.pairs, league))


def _thrown(
    stance: Stance, which: int, floor: Floor, shift: Array, errors: Array, pins: Pins, seen: Array
) -> Array:
    """(balls, 6) arrivals of one bowler's balls on one film."""
    line = stance.line
    intent, ball = delivery(stance.bowler, which)
    table = kernel_table(floor.lane, ball.roughness_uin, ball.mu_dry)
    board, angle = line.board + float(shift[0]), line.angle + float(shift[1])
    arrival, _ = throw_many(
        floor, table, ball, intent, stance.bowler.hand, pins.arrays, stance.spares.clear,
        stance.spares.more, with_errors(intent, board, angle, errors), seen,
    )  # fmt: skip
    return arrival


def frames_of(pairs: Sequence[Pair], league: LeagueFormat) -> int:
    """Frames of a league night."""
    return sum(len(p.bowlers) for p in pairs) * league.games * FRAMES


def against(rates: Array, today: Array) -> tuple[Array, Array]:
    """Index (today = 100) and its standard error, (causes,), nights paired; NaN where today has none.

    The error is that of a ratio of means (delta method) over nights.
    """
    mean, base = rates.mean(axis=0), today.mean(axis=0)
    there = base > 0.0
    ratio = np.divide(mean, base, out=np.full(mean.shape, np.nan), where=there)
    off = rates - np.where(there, ratio, 0.0) * today
    se = off.std(axis=0, ddof=1) / np.sqrt(len(rates))
    return 100.0 * ratio, 100.0 * np.divide(se, base, out=np.full(se.shape, np.nan), where=there)
