"""Every line of the ball's kernels as plain Python, against scipy's integrator on the same equations of motion.

The equations are those of a sliding ball whose slip keeps its direction (Hopkins & Patterson 1977, Am. J. Phys.
45, 263-266), written out here once more; friction is looked up with numpy.  ``check`` takes the functions however
they were made: compiled, plain, or with one thing changed (``tests/soak/mutants.py``).
"""

import cmath
import math
from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from leaguesim.ball import _kernel

G, FT, BOARD = 9.80665, 0.3048, 41.5 / 39 * 0.0254
INERTIA = 1.0 + 0.1085**2 / 0.0648**2
BOARDS = np.arange(41)
FILM = np.tile(2e-6 * np.exp(-(((BOARDS - 22) / 9.0) ** 2)) + 2e-7, (63, 1))
DEEP, BARE = np.full((63, 41), 3e-6), np.zeros((63, 41))
PER_FILM, PER_SLIP = 2e6, 1.0
DRAG_MIX = np.full((63, 41), 1, np.int8)
TABLE_FILM, TABLE_SLIP = np.arange(9.0), np.arange(15.0)
DRAG = np.stack([np.full((9, 15), 9.0), 0.9 / (1.0 + 0.5 * TABLE_FILM[:, None] + 0.1 * TABLE_SLIP)])
PHI = np.stack([np.full(18, 9.0), np.minimum(np.arange(18) / 8.0, 1.0)])
DRY = 0.1
# film, effective, tilt pull, then speed, rim, rotation, angle, board
SHOTS = (
    (FILM, False, 0.0, 8.0, 3.0, 1.0, -0.020, 14.0), (FILM, True, 0.03, 8.5, 4.0, 0.8, -0.050, 14.0),
    (FILM, False, -0.05, 7.5, 3.0, 1.2, -0.05, 28.0), (FILM, False, 0.02, 8.0, 4.0, 1.2, -0.09, 37.0),
    (FILM, True, 0.0, 8.5, 2.0, 0.6, -0.02, 16.0), (DEEP, False, 0.05, 13.0, 2.0, 0.7, -0.01, 12.0),
    (BARE, False, 0.04, 8.0, 3.0, 0.8, -0.07, 30.0), (BARE, False, 0.0, 2.5, 1.0, 0.3, -0.05, 20.0),
    (FILM, False, 0.0, 7.0, 0.0, 0.0, 0.0, 20.0), (DEEP, True, 0.0, 5.0, 5.0, 0.0, 0.01, 10.0),
    (BARE, False, 0.05, 6.0, 6.0, 0.0, 0.0, 12.0),
)  # fmt: skip
GUTTERS = (
    (FILM, False, 0.0, 8.0, 1.0, 0.1, -0.06, 3.0), (BARE, False, 0.0, 7.0, 5.0, 1.5, 0.02, 30.0),
    (DEEP, False, 0.0, 9.0, 1.0, 0.1, 0.06, 35.0),
)  # fmt: skip
STOPS = (
    (FILM, False, 0.0, 0.25, 8.0, 0.0, 0.0, 20.0),
    (FILM, False, 0.0, 1.3, 8.0, math.pi, 0.0, 20.0), (BARE, False, 0.0, 0.29, 0.0, 0.0, 0.0, 20.0),
)  # fmt: skip


def friction(film, effective, board, slip, v2, along):
    """mu of the tables at a place, with numpy's linear interpolation."""
    v = math.sqrt(v2)
    crowd = 2.0 * v / (v + max(v - along / v, 0.0))
    h = np.interp(board, BOARDS, film)
    a, b = min(crowd * h * PER_FILM, 8.0), min(slip * PER_SLIP, 14.0)
    i, k = min(int(a), 7), min(int(b), 13)
    (p, q), (r, s) = DRAG[1, i : i + 2, k : k + 2]
    a, b = a - i, b - k
    y = (p * (1 - b) + q * b) * (1 - a) + (r * (1 - b) + s * b) * a
    phi = np.interp((crowd if effective else 1.0) * h * PER_FILM * 2.0, np.arange(18), PHI[1])
    return DRY * (phi * (1.0 - y) + y)


def start(speed, rim, rotation, angle):
    """Slip speed, its direction and the velocity once rolling, as complex numbers."""
    v, p = cmath.rect(speed, angle), cmath.rect(rim, rotation + angle)
    slip = v - p
    return abs(slip), (slip / abs(slip) if slip else 1.0 + 0j), p + slip * (INERTIA - 1) / INERTIA


@cache
def course(k):
    """(distance where rolling began or nan, state there) and functions of distance: board, angle, speed, time, slip."""
    film, effective, pull, *release, board = SHOTS[k]
    slip, way, roll = start(*release)

    def velocity(state):
        return roll + way * state[2] / INERTIA + 1j * state[3]

    def motion(_, state):
        v = velocity(state)
        along = state[2] * (v.real * way.real + v.imag * way.imag)
        row = film[min(int(state[0] / FT), 59)]
        mu = friction(row, effective, state[1], max(state[2], 0.0), abs(v) ** 2, along)
        return [v.real, v.imag / BOARD, -mu * G * INERTIA, pull]

    def rolls(_, state):
        return state[2] - 0.002

    def ends(_, state):
        return state[0] - 60 * FT

    rolls.terminal = ends.terminal = True
    if slip > 0.02:
        made = solve_ivp(
            motion, (0.0, 30.0), [0.0, board, slip, 0.0], "RK45", max_step=0.004, rtol=1e-8,
            atol=1e-9, events=(rolls, ends), dense_output=True,
        )  # fmt: skip
        t1, last = made.t[-1], made.y[:, -1]
    else:
        made, t1, last = None, 0.0, np.array([0.0, board, slip, 0.0])

    def at(x):
        """(board, velocity, time, slip) where the ball crosses a distance."""
        if made is not None and x <= last[0] + 1e-9:
            low, high = 0.0, t1
            for _ in range(50):
                middle = 0.5 * (low + high)
                low, high = (middle, high) if made.sol(middle)[0] < x else (low, middle)
            state = made.sol(high)
            return state[1], velocity(state), high, state[2]
        less = pull * (INERTIA - 1) / INERTIA
        t = (x - last[0]) / roll.real
        v = roll + 1j * (last[3] + less * t)
        return last[1] + (0.5 * (v.imag + roll.imag + last[3])) * t / BOARD, v, t1 + t, 0.0

    return (last[0] if last[0] < 60 * FT - 1e-6 else math.nan), at


def arguments(shot, side=1):
    film, effective, pull, speed, rim, rotation, angle, board = shot
    first = 0 if side == 1 else 40
    return (
        np.ascontiguousarray(film[:, ::side]), DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, effective,
        first, side, pull, speed, rim, rotation, angle, board, INERTIA,
    )  # fmt: skip


def check_throw(made):
    for k, shot in enumerate(SHOTS):
        told = []
        for side in (1, -1):
            track, out = np.full(63, np.nan), np.full(6, np.nan)
            assert made.throw(*arguments(shot, side), track, out) == 0
            told.append(track.tobytes() + out.tobytes())
        assert told[0] == told[1]  # a left-hander on the mirrored film
        rolled, at = course(k)
        board, v, time, slip = at(60 * FT)
        assert abs(out[0] - board) < BOARD_OFF, (k, out[0], board)
        assert abs(out[1] - cmath.phase(v)) < 4e-4
        assert abs(out[2] - abs(v)) < 1e-3
        assert abs(out[5] - time) < 4e-4
        assert abs(out[3] - slip) < 2e-3
        if math.isnan(rolled):
            assert out[4] == 1e9
        else:
            assert abs(out[4] - rolled) < 0.12, (k, out[4], rolled)
        middles = [at((row + 0.5) * FT)[0] for row in range(0, 60, 7)]
        assert np.abs(track[0:60:7] - middles).max() < TRACK_OFF, k
        assert np.isfinite(track[:60]).all()
        assert np.isnan(track[60:]).all()


BOARD_OFF, TRACK_OFF = 6e-3, 0.012  # measured: 0.0053 and 0.0102 board at most


def check_mixtures(made):
    """A ball straight down the lane meets the oil of the nearest board, whatever lies on the next."""
    for board, own in ((10.4, range(11)), (10.6, range(11, 41))):
        shot = (FILM, False, 0.0, 8.0, 2.0, 0.0, 0.0, board)
        mix = np.zeros((63, 41), np.int8)
        mix[:, own] = 1
        for side in (1, -1):
            told = []
            for oils in (DRAG_MIX, np.ascontiguousarray(mix[:, ::side])):
                given = list(arguments(shot, side))
                given[1] = oils
                track, out = np.full(63, np.nan), np.full(6, np.nan)
                assert made.throw(*given, track, out) == 0
                told.append(out.tobytes())
            assert told[0] == told[1]


def check_lost(made):
    for shot in GUTTERS:
        track, out = np.full(63, np.nan), np.full(6, np.nan)
        assert made.throw(*arguments(shot), track, out) == 1
        rows = int(out[4])
        assert 0 < rows < 60
        assert np.isfinite(track[:rows]).all()
        assert np.isnan(track[rows:]).all()
        end = track[rows - 1] + (track[rows - 1] - track[rows - 2])
        assert end < 0.52 or end > 39.48
    for shot in STOPS:
        track, out = np.full(63, np.nan), np.full(6, np.nan)
        assert made.throw(*arguments(shot), track, out) == 2
        assert out[4] == 0


def check_trace(made):
    """The whole course on feet, half feet and quarter feet, against the integrator; and given friction, exactly."""
    edges = np.concatenate([np.arange(0, 20, 0.25), np.arange(20, 40, 0.5), np.arange(40, 61)]) * FT
    none = np.full(edges.size - 1, np.nan)
    for k, shot in enumerate(SHOTS):
        film, effective, pull, *release = shot
        nodes, rolled = np.full((edges.size, 5), np.nan), np.zeros(1)
        given = (film, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, effective)
        tail = (pull, *release, INERTIA, True, nodes, rolled)
        assert made.trace(*given, none, edges, *tail) == 0
        began, at = course(k)
        for i in range(0, edges.size, 9):
            board, v, time, slip = at(edges[i])
            assert abs(nodes[i, 0] - board) < 0.05, (
                k,
                i,
            )  # measured 0.044 where friction is slip's alone
            assert abs(nodes[i, 1] - v.real) < 5e-3
            assert abs(nodes[i, 2] - v.imag) < 5e-3
            assert abs(nodes[i, 3] - slip) < 0.025
            assert abs(nodes[i, 4] - time) < 5e-4
        if began > 0.0:
            assert abs(rolled[0] - began) < 0.12, (k, rolled[0], began)
        else:  # rolling from the start, or never
            assert math.isinf(rolled[0])
    given = (FILM, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, False)
    for mu in (0.0, 0.03):  # never rolls: one parabola over the whole lane
        nodes, rolled = np.full((edges.size, 5), np.nan), np.zeros(1)
        tail = (0.05, 8.0, 4.0, 1.0, 0.01, 15.0, INERTIA, False, nodes, rolled)
        assert made.trace(*given, np.full(edges.size - 1, mu), edges, *tail) == 0
        slip, way, _ = start(8.0, 4.0, 1.0, 0.01)
        v0, t = cmath.rect(8.0, 0.01), nodes[:, 4]
        x = v0.real * t - 0.5 * mu * G * way.real * t * t
        y = 15.0 + (v0.imag * t + 0.5 * (0.05 - mu * G * way.imag) * t * t) / BOARD
        assert np.allclose(x, edges, rtol=1e-12, atol=1e-12)
        assert np.allclose(nodes[:, 0], y, rtol=1e-12)
        assert np.allclose(nodes[:, 3], slip - mu * G * INERTIA * t, rtol=1e-12)
        assert math.isinf(rolled[0])
    for shots, code in ((GUTTERS, 1), (STOPS, 2)):
        for shot in shots:
            film, effective, pull, *release = shot
            nodes, rolled = np.full((edges.size, 5), np.nan), np.zeros(1)
            given = (film, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, effective)
            told = made.trace(*given, none, edges, pull, *release, INERTIA, True, nodes, rolled)
            assert told == code
            assert np.isnan(nodes[-1]).all()


def check_one_step(made):
    """Friction given over the whole lane in one step: where rolling begins and where the ball ends, in closed form."""
    slip, way, roll = start(8.0, 4.0, 1.0, 0.01)
    given = (FILM, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, False)
    mu, pull, v0 = 0.1, 0.05, cmath.rect(8.0, 0.01)
    nodes, rolled = np.full((2, 5), np.nan), np.zeros(1)
    tail = (pull, 8.0, 4.0, 1.0, 0.01, 15.0, INERTIA, False, nodes, rolled)
    assert made.trace(*given, np.array([mu]), np.array([0.0, 60 * FT]), *tail) == 0
    t = slip / (mu * G * INERTIA)
    x, y = ((v - 0.5 * mu * G * w * t) * t for v, w in ((v0.real, way.real), (v0.imag, way.imag)))
    assert abs(rolled[0] - x) < 1e-9
    rest = (60 * FT - x) / roll.real
    aside = y + ((roll.imag + pull * t) + 0.5 * pull * (INERTIA - 1) / INERTIA * rest) * rest
    assert abs(nodes[1, 0] - (15.0 + aside / BOARD)) < 1e-9
    assert abs(nodes[1, 4] - (t + rest)) < 1e-12


def parabola(v, mu, way, pull, length):
    """Time over a length under constant friction, and the way aside [m]: first root of the motion along it."""
    roots = np.roots([-0.5 * mu * G * way.real, v.real, -length])
    t = min(r.real for r in np.atleast_1d(roots) if abs(r.imag) < 1e-12 and r.real > 0.0)
    return t, v.imag * t + 0.5 * (pull - mu * G * way.imag) * t * t


def check_rows(made):
    """One step of a slide: friction of the middle ahead, then a parabola; and how much of a row it takes."""

    def told(film, effective, pull, release, slip, b, drift, at, part, lost, bend):
        _, way, roll = start(*release)
        return made.row_step(
            film, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, effective, 0, 1, pull, way.real, way.imag, roll.real,
            roll.imag, way.real / INERTIA, way.imag / INERTIA, G * INERTIA, slip, b, drift, 2.0, 30, at, part, lost,
            bend, 1e9, np.full(63, np.nan),
        )  # fmt: skip

    for release in ((8.0, 4.0, 1.0, 0.3), (7.0, 3.0, -1.2, -0.2), (4.0, 9.0, 1.5, 0.2)):
        slip, way, roll = start(*release)
        for effective, pull, drift in ((False, 0.05, 1.5), (True, -0.08, -1.5)):
            for at, part, bend in ((0.0, 1.0, 0.01), (0.5, 0.5, 0.4), (0.25, 0.25, -0.4)):
                film = DEEP if part == 1.0 else FILM
                _, s, b, d, time, row, now, rest, lost, bent, _ = told(
                    film, effective, pull, release, slip, 12.3, drift, at, part, 0.2, bend
                )
                v = roll + way * slip / INERTIA + 1j * drift
                middle = 12.3 + bend * part**2 + v.imag / v.real * 0.5 * part * FT / BOARD
                half = slip - 0.1 * part
                w = roll + way * half / INERTIA + 1j * drift
                along = half * (w.real * way.real + w.imag * way.imag)
                mu = friction(film[30], effective, middle, half, abs(w) ** 2, along)
                t, aside = parabola(v, mu, way, pull, part * FT)
                assert abs(time - 2.0 - t) < 1e-6
                assert abs(b - 12.3 - aside / BOARD) < 1e-4
                assert abs(d - drift - pull * t) < 1e-6
                assert abs(s - (slip - mu * G * INERTIA * t)) < 1e-5
                assert abs(lost - mu * G * INERTIA * t / part) < 1e-5
                curve = 0.5 * (pull - mu * G * way.imag) * (0.5 * t / part) ** 2 / BOARD
                assert abs(bent - curve) < 1e-6
                assert (row, now, rest) == ((30, 0.5, 0.25) if part == 0.25 else (31, 0.0, 1.0))
    # rolling begins in the step
    _, way, roll = start(3.0, 2.5, 0.3, 0.1)
    done, _, b, d, time, row, _, _, _, _, x = told(
        BARE, False, 0.05, (3.0, 2.5, 0.3, 0.1), 0.3, 12.3, 0.1, 0.0, 1.0, 0.0, 0.0
    )
    v = roll + way * 0.3 / INERTIA + 0.1j
    mu = friction(BARE[30], False, 12.3, 0.3, 9.0, 0.0)
    t = 0.3 / (mu * G * INERTIA)
    assert (done, row) == (made.ROLLS, 30)
    assert abs(x - 30 * FT - (v.real - 0.5 * mu * G * way.real * t) * t) < 1e-12
    assert abs(b - 12.3 - (v.imag + 0.5 * (0.05 - mu * G * way.imag) * t) * t / BOARD) < 1e-12
    assert abs(time - 2.0 - t) < 1e-12
    assert abs(d - 0.1 - 0.05 * t) < 1e-12
    # film that changes: two steps of a row from 0.15 board aside in half of it, four from 0.3
    ridge = np.full((63, 41), 5e-7)
    ridge[:, 20:] = 3e-6
    for aside, part in ((0.1, 1.0), (0.16, 0.5), (0.29, 0.5), (0.31, 0.25), (1.2, 0.25)):
        for side in (1, -1):
            release = (8.0, 7.0, 0.0, side * math.atan(aside * BOARD / (0.5 * FT)))
            done, s, b, d, time, row, at, taken, *_ = told(
                ridge, False, 0.0, release, 1.0, 19.5, 0.0, 0.0, 1.0, 0.0, 0.0
            )
            assert done == made.SLIDES
            if part < 1.0:
                assert (s, b, d, time, row, at, taken) == (1.0, 19.5, 0.0, 2.0, 30, 0.0, part)
            else:
                assert (row, at, taken) == (31, 0.0, 1.0)
    # slower than 0.3 m/s along the lane it stops, at 0.3 it doesn't
    for speed, stops in ((0.3, False), (math.nextafter(0.3, 0.0), True)):
        done, *_ = made.row_step(
            DEEP, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, False, 0, 1, 0.0, 0.0, 1.0, speed, 0.0, 0.0,
            1.0 / INERTIA, G * INERTIA, 1.0, 20.0, 0.0, 0.0, 0, 0.0, 1.0, 0.0, 0.0, 1e9, np.full(63, np.nan),
        )  # fmt: skip
        assert (done == made.STOPPED) == stops


def check_rolling(made):
    """A ball that rolls from the start goes straight on: it arrives, or leaves at either edge in the row it is told."""
    middles, lost = (np.arange(60) + 0.5) * FT, 0
    for angle in (0.01, 0.03, 0.06):
        for beyond in (20.3, 40.7, 58.2, 59.75, 60.3, 70.0):
            off = math.tan(angle) / BOARD * (beyond * FT)
            for board, way in ((39.5 - off, 1), (0.5 + off, -1)):
                if not 0.5 < board < 39.5:
                    continue
                shot = (FILM, False, 0.0, 7.0, 7.0, 0.0, way * angle, board)
                track, out = np.full(63, np.nan), np.full(6, np.nan)
                told = made.throw(*arguments(shot), track, out)
                line = board + way * math.tan(angle) * middles / BOARD
                rows = int((middles < beyond * FT).sum())
                assert told == (1 if beyond < 60 else 0)
                assert np.allclose(track[:rows], line[:rows], rtol=0, atol=1e-9)
                assert np.isnan(track[rows:]).all()
                if told == 1:
                    assert out[4] == rows
                    lost += 1
                else:
                    end = board + way * math.tan(angle) * 60 * FT / BOARD
                    wanted = (end, way * angle, 7.0, 0.0, 0.0, 60 * FT / (7.0 * math.cos(angle)))
                    assert np.allclose(out, wanted, rtol=0, atol=1e-9)
    assert lost >= 16
    # slow balls: what matters is the speed along the lane, now and once rolling
    back = (0.5 - (INERTIA - 1) / INERTIA) * INERTIA  # of a ball of 1 m/s that will roll at 0.5
    for speed, rim, rotation in (
        (1.0, 1.0, 0.0), (0.3, 0.3, 0.0), (1.0, -back, math.pi), (7.0, 12.0, 0.0)
    ):  # fmt: skip
        shot = (BARE, False, 0.0, speed, rim, rotation, 0.0, 20.0)
        track, out = np.full(63, np.nan), np.full(6, np.nan)
        assert made.throw(*arguments(shot), track, out) == 0
        roll = start(speed, rim, rotation, 0.0)[2]
        assert abs(out[2] - roll.real) < 1e-12
        times = sorted((60 * FT / speed, 60 * FT / roll.real))
        assert times[0] - 1e-9 <= out[5] <= times[1] + 1e-9
    # a ball that begins to roll over the middle of a row is over that middle there
    track, out = np.full(63, np.nan), np.full(6, np.nan)
    told = made.arrive(
        made.ROLLS, 0.0, 7.0, 0.0, 0.2, 0.0, INERTIA, 0.01, 17.0, 0.0, 1.0, 10, 10.5 * FT, track, out
    )  # fmt: skip
    assert told == 0
    assert np.isnan(track[:10]).all()
    assert (track[10:60] == 17.0).all()


def check_steps(made):
    """Single steps of the course anywhere on the lane, over oil that changes along it and beside the lane's edges."""
    film = np.ascontiguousarray(FILM * (0.2 + np.arange(63) / 20.0)[:, None])

    def told(mu, edges, effective, pull, release, board, bounded=False):
        nodes, rolled = np.full((len(edges), 5), np.nan), np.zeros(1)
        code = made.trace(
            film, DRAG_MIX, DRAG, PHI, DRY, PER_FILM, PER_SLIP, effective, np.full(len(edges) - 1, mu),
            np.array(edges) * FT, pull, *release, board, INERTIA, bounded, nodes, rolled,
        )  # fmt: skip
        return code, nodes, rolled[0]

    for edges in (
        (0.3, 0.7, 2),
        (0.8, 1.1, 4),
        (10.2, 11.5, 14),
        (33.0, 35.9, 39),
        (57.5, 60.0, 63),
    ):
        middle = 0.5 * (edges[0] + edges[1])
        for release in ((8.0, 4.0, 1.0, 0.6), (7.0, 3.0, 0.8, -0.5), (8.0, 5.0, 1.2, 0.0)):
            slip, way, _ = start(*release)
            v = cmath.rect(release[0], release[3])
            for effective in (False, True):
                for board in (-3.0, 1.0, 5.0, 20.0, 39.0, 43.0):
                    there = board + 0.5 * (edges[1] - edges[0]) * FT * v.imag / v.real / BOARD
                    there = min(max(there, 0.5), 39.5)
                    along = slip * (v.real * way.real + v.imag * way.imag)
                    mu = friction(film[int(middle)], effective, there, slip, abs(v) ** 2, along)
                    t, aside = parabola(v, mu, way, 0.05, (edges[1] - edges[0]) * FT)
                    code, nodes, rolled = told(math.nan, edges, effective, 0.05, release, board)
                    assert code == 0
                    wanted = (board + aside / BOARD, slip - mu * G * INERTIA * t, t)
                    assert np.allclose(nodes[1, [0, 3, 4]], wanted, rtol=0, atol=1e-6)
                    assert rolled >= edges[1] * FT
    # slip too small to tell from rolling is rolling from the first edge on
    assert told(math.nan, (3.3, 4.0, 5.0), False, 0.0, (8.01, 8.0, 0.0, 0.0), 20.0)[2] == 3.3 * FT
    # a slow slide stays a slide, and without friction little slip stays as it is
    code, nodes, rolled = told(0.03, (0.0, 3.3), False, 0.0, (1.2, 0.0, 0.0, 0.0), 20.0)
    t, _ = parabola(1.2 + 0j, 0.03, 1.0 + 0j, 0.0, 3.3 * FT)
    assert code == 0
    assert abs(nodes[1, 4] - t) < 1e-12
    assert abs(nodes[1, 1] - (1.2 - 0.03 * G * t)) < 1e-12
    assert math.isinf(rolled)
    code, nodes, rolled = told(0.0, (0.0, 30.0, 60.0), False, 0.0, (8.0, 7.5, 0.0, 0.0), 20.0)
    assert code == 0
    assert np.allclose(nodes[:, 3], 0.5, rtol=0, atol=1e-12)
    assert math.isinf(rolled)
    # a ball just fast enough rolls all the way
    code, nodes, _ = told(0.1, (0.0, 30.0, 60.0), False, 0.0, (0.3, 0.3, 0.0, 0.0), 20.0)
    assert code == 0
    assert abs(nodes[2, 4] - 60 * FT / 0.3) < 1e-9
    # a rolling ball goes straight on, to the first edge that it crosses beside the lane
    edges = np.arange(0.0, 60.5, 0.5)
    for board, way in ((30.0, 1), (10.0, -1), (38.0, 1), (2.0, -1)):
        line = board + way * math.tan(0.03) * edges * FT / BOARD
        out = np.flatnonzero((line < 0.5) | (line > 39.5))[0]
        code, nodes, _ = told(0.1, edges, False, 0.0, (7.0, 7.0, 0.0, way * 0.03), board, True)
        assert code == 1
        assert np.allclose(nodes[: out + 1, 0], line[: out + 1], rtol=0, atol=1e-9)
        assert np.isnan(nodes[out + 1 :]).all()


def check_parts(made):
    for release in (
        (8.0, 4.0, 1.0, 0.02),
        (7.0, 0.0, 0.3, -0.05),
        (5.0, 7.0, 2.5, 0.1),
        (6.0, 6.0, 0.0, 0.0),
        (6.0, 5.5, 0.0, 0.01),
    ):
        slip, way, roll = start(*release)
        told = made.launch(*release, INERTIA)
        assert np.allclose(
            told, (slip, way.real, way.imag, roll.real, roll.imag), rtol=1e-12, atol=1e-12
        )
    for v, along in ((8.0, 64.0), (8.0, 0.0), (8.0, 30.0), (8.0, 90.0), (5.0, -10.0), (0.7, 0.2)):
        assert abs(made.entrainment(v * v, along) - 2 * v / (v + max(v - along / v, 0.0))) < 1e-12
    for q in (0.0, 1e-3, 0.02, 0.04999, 0.05, 0.1, 0.3, 0.49, 0.4999):
        assert abs(made.slowing(q) * (1 + math.sqrt(1 - 2 * q)) / 2 - 1) < (
            6e-6 if q < 0.05 else 1e-12
        )
    assert made.slowing(0.5) == made.slowing(0.7) == 1e9
    film = np.zeros((2, 41))
    for base, hump in (
        (0.0, 0.0),
        (0.4, 0.0),
        (1.0, 0.9),
        (1.0, 1.2),
        (79.0, 5.0),
        (80.5, 5.0),
        (0.0, 0.9),
        (0.3, 1.05),
    ):
        for at in range(41):
            film[1] = base / PER_FILM
            film[1, at] += hump / PER_FILM
            for start_, step in ((0, 1), (40, -1)):
                own = film[1, ::step] * PER_FILM
                for j in (0, 1, 7, 20, 38, 39):
                    around = own[[max(j - 1, 0), j, j + 1, min(j + 2, 40)]]
                    changes = around.max() - around.min() > 1.0
                    near = own[j : j + 2]
                    wanted = changes and near.sum() > 1.0 and near.min() < 80.0
                    for aside, counts in (
                        (0.16, True),
                        (-0.16, True),
                        (0.14, False),
                        (-0.14, False),
                    ):
                        told = made.steep(film, 1, j, start_, step, aside, PER_FILM)
                        assert bool(told) == (bool(wanted) and counts)


def check(made):
    """AssertionError if a kernel does not do what it says."""
    check_parts(made)
    check_throw(made)
    check_mixtures(made)
    check_lost(made)
    check_trace(made)
    check_one_step(made)
    check_rows(made)
    check_rolling(made)
    check_steps(made)


def test_compiled_kernels():
    check(_kernel)


def test_a_kernel_that_is_wrong_is_seen(changeable):
    wrong = changeable(_kernel)
    wrong.slowing = lambda q: _kernel.slowing(q) * (1.0 + 1e-5)
    with pytest.raises(AssertionError):
        check(wrong)
