"""A league night against bare paths, and what each of its stages takes beside what it could at least.

One thread, processor time.  A floor is a kernel that does nothing but what no cleverness spares: the
operations that wait for one another from one row to the next, counted by hand from the stage's own lines,
or the numbers drawn without a use.  Bytes are those that a stage touches for one ball or bowler's night.
``pytest -m bench -s`` prints them.
"""

from types import SimpleNamespace

import numpy as np
import pytest
from numba import njit
from scipy.special import ndtri

from leaguesim.ball import _kernel
from leaguesim.bowlers.draw import draw_bowler
from leaguesim.center import demo_center, read
from leaguesim.lane._kernel import wear_track
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel as play_kernel
from leaguesim.play.draws import draws_a_night, night_draws
from leaguesim.play.setting import Start, make_setting, pairs_of, pins_of, play_block
from leaguesim.units import FT_M

pytestmark = pytest.mark.bench

BALLS = 20000
NIGHTS = 32
# From the slip of one row to that of the next (ball/_kernel.py row_step, lane/_kernel.py table_mu): one
# division, two roundings to an index and back, each with a read that waits for it, 26 sums and products.
# From the oil loose on a ball over one row to that over the next (wear_track): 4 sums and products.


@njit(nogil=True)
def path_floor(rows, balls, table):
    total = 0.0
    for n in range(balls):
        slip = 5.0 + 1e-9 * n
        for _ in range(rows):
            a = 1.0 / (slip + 1.0)
            for _ in range(4):
                a = a * 0.999 + 1e-3
            i = int(a)
            a = table[i] + (a - i)
            for _ in range(4):
                a = a * 0.999 + 1e-3
            k = int(a)
            a = table[k] + (a - k)
            for _ in range(5):
                a = a * 0.99 + 1e-3
            slip -= a * 1e-3
        total += slip
    return total


@njit(nogil=True)
def wear_floor(rows, balls, film):
    total = 0.0
    for n in range(balls):
        loose = 0.0
        for i in range(rows):
            j = (n + i) & 31
            lay = loose * 0.1
            taken = film[i, j] * 0.01 + film[i, j + 1] * 0.01
            film[i, j] += lay - taken
            film[i, j + 1] += lay - taken
            loose = loose * 0.9 + (taken - lay)
        total += loose
    return total


@pytest.fixture(scope="module")
def night():
    """A pair of the demo center on today's condition, as its league night plays it."""
    center = read(demo_center())
    lane = Lane.from_condition(
        center.conditions[center.today], center.conditioners,
        surface=center.surface, temperature_c=center.temperature_c, constants=center.friction,
    )  # fmt: skip
    people = [draw_bowler(r, center.styles[r.style], center.balls, 4) for r in center.roster]
    pair = pairs_of(people)[0]
    film, mix = kernel_film(lane)
    pins = pins_of(CarryLibrary.load())
    setting = make_setting("bench", lane, Start(film[None], mix), [pair], pins)
    return SimpleNamespace(center=center, pair=pair, film=film, mix=mix, setting=setting, pins=pins)


@njit(nogil=True)
def paths(film, mix, covers, crew, kind, n, rounds, throw, tracks, out):
    """Every bowler's ball on the line of the first game, without errors; how many arrived."""
    arrived = 0
    for _ in range(rounds):
        for i in range(n):
            c = kind.cover[i, 0]
            status = throw(
                film, mix, covers.drag[c], covers.bare[c], covers.mu_dry[c], covers.per_film,
                covers.per_slip, covers.effective, crew.start[i], crew.step[i], 0.0,
                kind.speed[i, 0], kind.rim[i, 0], kind.rotation[i, 0], crew.angle[i, 0],
                crew.board[i, 0], kind.inertia[i, 0], tracks[i], out[i],
            )  # fmt: skip
            arrived += status == 0
    return arrived


@njit(nogil=True)
def wears(film, mix, crew, kind, n, rounds, tracks, ledger):
    for _ in range(rounds):
        for i in range(n):
            wear_track(
                film, mix, tracks[i], 60, crew.start[i], crew.step[i], kind.take[i, 0],
                kind.kept[i, 0], kind.lay[i, 0], ledger,
            )  # fmt: skip


@pytest.fixture(scope="module")
def bare(night, least):
    """Seconds of a bare path, with the tracks and ends of the pair's balls."""
    ready, n = night.setting.crews[0], len(night.pair.bowlers)
    tracks, out = np.empty((n, 63)), np.empty((n, 6))
    rounds = BALLS // n
    given = (
        night.film, night.mix, ready.covers, ready.crew, ready.crew.strike, n, rounds, _kernel.throw,
        tracks, out,
    )  # fmt: skip
    assert paths(*given) > 0.9 * rounds * n
    path = least(lambda: paths(*given), 11) / (rounds * n)
    return SimpleNamespace(path=path, tracks=tracks, out=out)


def test_league_night_against_bare_paths(night, bare, least):
    games, practice, seed = night.center.league.games, night.center.league.practice_balls, 4
    setting, bowlers = night.setting, night.pair.bowlers
    draws = np.stack([night_draws(seed, b.bowler, block=0, games=games) for b in bowlers], axis=1)

    def nights(wears=True):
        return play_block(
            setting.films, setting.mix, setting.pulls, setting.crews[0], night.pins, draws, games,
            practice, wears=wears,
        )  # fmt: skip

    counts = nights().counts
    balls = counts[:, :, play_kernel.BALLS].sum() + practice * counts.shape[0] * counts.shape[1]
    path = bare.path
    league = least(nights, 5) / balls
    dry = least(lambda: nights(wears=False), 5) / balls
    print(f"\npath {path * 1e9:.0f} ns; league ball {league * 1e9:.0f} ns: {league / path:.2f} paths; "
          f"without wear {dry * 1e9:.0f} ns: {dry / path:.2f} paths; "
          f"{balls / counts.shape[0]:.0f} balls a night of {len(bowlers)} bowlers, "
          f"{league * balls / counts.shape[0] * 1e3:.2f} ms")  # fmt: skip
    assert league > path * 0.5


def test_floors(night, bare, least):
    crew, n, path = night.setting.crews[0].crew, len(night.pair.bowlers), bare.path
    kind, tracks, ledger, rounds = crew.strike, bare.tracks, np.zeros(2), BALLS // n
    slid = int(np.minimum(bare.out[:, 4] / FT_M, 60.0).mean())
    path_floor(slid, 10, np.full(4, 0.5))
    path_least = least(lambda: path_floor(slid, BALLS, np.full(4, 0.5))) / BALLS

    film = night.film.copy()
    wears(film, night.mix, crew, kind, n, 1, tracks, ledger)
    wear = least(lambda: wears(film, night.mix, crew, kind, n, rounds, tracks, ledger)) / (
        rounds * n
    )
    wear_floor(60, 10, film)
    wear_least = least(lambda: wear_floor(60, BALLS, film)) / BALLS

    games = night.center.league.games
    numbers = draws_a_night(games)
    rng = np.random.default_rng(1)
    name = night.pair.bowlers[0].bowler
    draws = least(lambda: night_draws(1, name, block=0, games=games)) / NIGHTS
    drawn = least(lambda: rng.random((NIGHTS, numbers))) / NIGHTS
    turned = rng.random((NIGHTS, numbers))
    draws_least = drawn + least(lambda: ndtri(turned)) / NIGHTS * 5.0 / 6.0

    cells = night.film.itemsize * 2
    path_bytes = (
        slid * (cells + night.mix.itemsize + 8 * night.setting.crews[0].covers.drag.itemsize)
        + 60 * 8
    )
    wear_bytes = 60 * (2 * cells + night.mix.itemsize + 8)
    print(
        f"\nfloors: path {path * 1e6:.2f} us against {path_least * 1e6:.2f} us, {slid} rows of sliding, "
        f"{path_bytes} bytes; "
        f"wear {wear * 1e6:.2f} us against {wear_least * 1e6:.2f} us, 60 rows, {wear_bytes} bytes; "
        f"random numbers {draws * 1e6:.0f} us against {draws_least * 1e6:.0f} us, {numbers} of a "
        f"bowler's night, {numbers * 8} bytes"
    )
    assert path_least < path * 1.2
    assert wear_least < wear * 1.2
    assert draws_least < draws * 1.2
