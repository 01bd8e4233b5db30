"""The path kernel side by side with NumPy and with an ODE solver.

One thread each, processor time of that thread, the least of several repeats; every rival's error is
measured against the same converged path.  Run with ``pytest -m bench -s tests/bench/test_bench_ball.py``.
"""

import numpy as np
import pytest
from numba import njit
from scipy.integrate import solve_ivp

from leaguesim.ball import Release, _kernel, roll
from leaguesim.ball._kernel_many import throw_many
from leaguesim.ball.path import inertia_factor
from leaguesim.center import demo_center, read
from leaguesim.lane._kernel import BARE_FINER, film_at, table_mu
from leaguesim.lane.arrays import kernel_film, kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.units import BOARD_M, DEG_RAD, FT_M, MPH_MPS

pytestmark = pytest.mark.bench

THROWS = 16384
REPEATS = 11
G = 9.80665
throw = _kernel.throw


@njit(nogil=True)
def one_by_one(
    film, mix, drag, bare, mu_dry, per_film, per_slip, effective, releases, inertia, out
):
    """The league's kernel over (5, n) releases: speed, rim, rotation, angle, board; out (n, 6)."""
    track = np.empty(63)
    for i in range(releases.shape[1]):
        speed, rim, rotation, angle, board = releases[:, i]
        status = throw(
            film, mix, drag, bare, mu_dry, per_film, per_slip, effective, 0, 1, 0.0,
            speed, rim, rotation, angle, board, inertia, track, out[i],
        )  # fmt: skip
        if status != 0:
            out[i, 0] = np.nan


class Many:
    """The line search's kernel, two balls in flight, by blocks whose tracks stay in the nearest cache."""

    def __init__(self, block=256):
        self.block = block
        self.tracks, self.ended = np.empty((block, 63)), np.empty(block, np.int64)

    def __call__(
        self, film, mix, drag, bare, mu_dry, per_film, per_slip, effective, releases, inertia, out
    ):
        for k in range(0, out.shape[0], self.block):
            part = out[k : k + self.block]
            throw_many(
                film, mix, drag, bare, mu_dry, per_film, per_slip, effective, 0, 1, 0.0,
                *releases[:, k : k + self.block], inertia, self.tracks, part, self.ended,
            )  # fmt: skip
            part[self.ended[: part.shape[0]] != 0, 0] = np.nan


many = Many()


class Vectors:
    """All throws at once, row by row, on the same tables: NumPy's best shape for this work.

    The same step, so the same error: rows crossed steeply take two or four steps, by groups.  Balls
    that roll or leave the lane are dropped from the arrays.  No track is kept, which the kernel does.
    """

    def __init__(self, film, mix, table, mu_dry, inertia):
        self.film, self.mix = film.ravel(), mix.ravel().astype(np.int64)
        self.drag, self.bare = table.drag.ravel(), table.bare.ravel()
        self.shape = table.drag.shape
        self.bares = table.bare.shape[1]
        self.mu_dry, self.inertia = mu_dry, inertia
        self.per_film, self.per_slip = table.per_film, table.per_slip

    def mu(self, mix, h, crowded, slip):
        _, films, slips = self.shape
        a = np.minimum(crowded * self.per_film, films - 1.0)
        i = np.minimum(a.astype(np.int64), films - 2)
        a -= i
        b = np.minimum(slip * self.per_slip, slips - 1.0)
        k = np.minimum(b.astype(np.int64), slips - 2)
        b -= k
        at = (mix * films + i) * slips + k
        d = self.drag
        low = d[at] * (1.0 - b) + d[at + 1] * b
        at += slips
        y = low * (1.0 - a) + (d[at] * (1.0 - b) + d[at + 1] * b) * a
        c = np.minimum(h * self.per_film * BARE_FINER, self.bares - 1.0)
        m = np.minimum(c.astype(np.int64), self.bares - 2)
        c -= m
        m += mix * self.bares
        phi = self.bare[m] * (1.0 - c) + self.bare[m + 1] * c
        return self.mu_dry * (phi * (1.0 - y) + y)

    def start(self, releases):
        speed, rim, rotation, angle, board = releases.T
        vx, vy = speed * np.cos(angle), speed * np.sin(angle)
        px, py = rim * np.cos(rotation + angle), rim * np.sin(rotation + angle)
        sx, sy = vx - px, vy - py
        slip = np.hypot(sx, sy)
        keep = (self.inertia - 1.0) / self.inertia
        s = np.empty((11, board.size))
        s[0], s[1], s[2] = slip, board, 0.0  # slip, board, time
        s[3], s[4] = sx / slip, sy / slip  # dx, dy
        s[5], s[6] = px + sx * keep, py + sy * keep  # fx, fy
        s[7], s[8], s[9] = 0.0, 0.0, 1e9  # lost, bend, roll
        s[10] = np.arange(board.size)
        return s

    def look(self, s, row, part):
        slip, b, _, dx, dy, fx, fy, _, bend = s[:9]
        vx = fx + dx * slip / self.inertia
        vy = fy + dy * slip / self.inertia
        aside = vy / vx * (0.5 * FT_M / BOARD_M * part)
        middle = b + bend * part**2 + aside
        return vx, vy, aside, middle

    def advance(self, s, row, part, at, seen):
        """One step of every column of s in place."""
        vx, vy, near, far, f, column = seen
        slip, _, _, dx, dy, fx, fy, lost, _ = s[:9]
        h = near * (1.0 - f) + far * f
        mid = np.maximum(slip - 0.5 * part * lost, 0.0)
        wx, wy = fx + dx * mid / self.inertia, fy + dy * mid / self.inertia
        v2 = wx * wx + wy * wy
        crowd = 2.0 * v2 - mid * (wx * dx + wy * dy)
        k_s = 2.0 * v2 / np.maximum(crowd, v2)
        mu = self.mu(self.mix[row * 41 + column], h, h * k_s, mid)
        straight = FT_M * part / vx
        q = mu * G * dx * straight / vx
        longer = 1.0 + 0.5 * q + q * q * (0.5 + 0.625 * q)
        t = straight * longer
        loss = mu * G * self.inertia * t
        ends = loss >= slip
        if ends.any():
            t = np.where(ends, slip / (mu * G * self.inertia), t)
            x = (row + at) * FT_M + vx * t - 0.5 * mu * G * dx * t * t
            s[9] = np.where(ends & (s[9] > 1e8), x, s[9])
            loss = np.where(ends, slip, loss)
        bent = -0.5 * mu * G * dy / BOARD_M * t * t
        s[1] += vy * t / BOARD_M + bent
        s[2] += t
        s[0] -= loss
        s[7] = loss / part
        s[8] = 0.25 * bent / part**2

    def steep(self, row, aside, middle, near, far):
        nodes = self.per_film
        steep = (np.abs(aside) > _kernel.STEEP_BOARDS) & ((near + far) * nodes > 1.0)
        steep &= np.minimum(near, far) * nodes < _kernel.DEEP_NODES
        if not steep.any():
            return steep
        j = middle.astype(np.int64)
        before = self.film[row * 41 + np.maximum(j - 1, 0)]
        beyond = self.film[row * 41 + np.minimum(j + 2, 40)]
        low = np.minimum(np.minimum(near, far), np.minimum(before, beyond))
        high = np.maximum(np.maximum(near, far), np.maximum(before, beyond))
        return steep & ((high - low) * nodes > 1.0)

    def under(self, row, middle):
        j = middle.astype(np.int64)
        near, far = self.film[row * 41 + j], self.film[row * 41 + j + 1]
        f = middle - j
        return near, far, f, np.where(f < 0.5, j, j + 1)

    def __call__(self, releases, out):
        out[:] = np.nan
        s = self.start(releases)
        for row in range(60):
            vx, vy, aside, middle = self.look(s, row, 1.0)
            keep = (middle >= 0.5) & (middle < 39.5)
            done = (s[0] <= _kernel.ROLLING_SLIP) | (s[9] < 1e8)
            if done.any() or not keep.all():
                s[9] = np.where(done & (s[9] > 1e8), row * FT_M, s[9])
                self.rolled(s[:, done], out)
                keep &= ~done
                s = s[:, keep]
                vx, vy, aside, middle = vx[keep], vy[keep], aside[keep], middle[keep]
                if s.shape[1] == 0:
                    return
            near, far, f, column = self.under(row, middle)
            steep = self.steep(row, aside, middle, near, far)
            if not steep.any():
                self.advance(s, row, 1.0, 0.0, (vx, vy, near, far, f, column))
                continue
            steeper = steep & (np.abs(aside) >= _kernel.STEEPER_BOARDS)
            once = np.flatnonzero(~steep)
            part_of = s[:, once]
            seen = (vx, vy, near, far, f, column)
            self.advance(part_of, row, 1.0, 0.0, tuple(x[once] for x in seen))
            s[:, once] = part_of
            for which, pieces in ((steep & ~steeper, 2), (steeper, 4)):
                index = np.flatnonzero(which)
                if index.size == 0:
                    continue
                part_of = s[:, index]
                for piece in range(pieces):
                    part = 1.0 / pieces
                    vx1, vy1, _, middle1 = self.look(part_of, row, part)
                    middle1 = np.clip(middle1, 0.5, 39.499)
                    under = self.under(row, middle1)
                    seen1 = (vx1, vy1, *under)
                    self.advance(part_of, row, part, piece * part, seen1)
                s[:, index] = part_of
        rolling = s[9] < 1e8
        self.rolled(s[:, rolling], out)
        s = s[:, ~rolling]
        on = (s[1] >= 0.5) & (s[1] <= 39.5)
        out[s[10, on].astype(np.int64)] = s[1, on]

    def rolled(self, s, out):
        end = s[1] + s[6] * (60 * FT_M - s[9]) / s[5] / BOARD_M
        on = (end >= 0.5) & (end <= 39.5)
        out[s[10, on].astype(np.int64)] = end[on]


@pytest.fixture(scope="module")
def work():
    center = read(demo_center())
    condition = center.conditions[center.today]
    lane = Lane.from_condition(
        condition,
        center.conditioners,
        surface=center.surface,
        temperature_c=center.temperature_c,
        constants=center.friction,
    )
    ball = center.balls["medium"]
    film, mix = kernel_film(lane)
    table = kernel_table(lane, ball.roughness_uin, ball.mu_dry)
    rng = np.random.default_rng(2)
    releases = np.stack(
        [
            rng.uniform(14.5, 19.0, THROWS) * MPH_MPS,
            rng.uniform(2.0, 5.5, THROWS),
            rng.uniform(20.0, 65.0, THROWS) * DEG_RAD,
            rng.uniform(-2.8, -0.8, THROWS) * DEG_RAD,
            rng.uniform(16.0, 27.0, THROWS),
        ],
        axis=1,
    )
    return center, lane, ball, film, mix, table, releases


def errors(work, boards, n=400):
    """Misses at the pins of the first throws against the converged path. [boards]"""
    _, lane, ball, *_, releases = work
    radius = 0.5 * ball.diameter_in * 0.0254
    miss = []
    for (speed, rim, rotation, angle, board), got in zip(releases[:n], boards, strict=False):
        release = Release(
            speed_mph=speed / MPH_MPS,
            rev_rate_rpm=rim / radius * 30 / np.pi,
            axis_rotation_deg=rotation / DEG_RAD,
            board=board,
            angle_deg=angle / DEG_RAD,
        )
        path = roll(release, ball, lane, steps_per_ft=64)
        if path.ended == "pins":
            miss.append(abs(got - path.at_pins.board))
    return np.array(miss)


def kernel_arguments(work):
    _, _, ball, film, mix, table, releases = work
    out = np.empty((THROWS, 6))
    columns = np.ascontiguousarray(releases.T)
    return (film, mix, table.drag, table.bare, ball.mu_dry, *table[2:], columns), (
        inertia_factor(ball),
        out,
    )


def test_kernel_against_numpy(work, least):
    _, _, ball, film, mix, table, releases = work
    first, (inertia, out) = kernel_arguments(work)
    many(*first, inertia, out)
    alone = np.empty_like(out)
    one_by_one(*first, inertia, alone)
    assert alone[:, 0].tobytes() == out[:, 0].tobytes()
    numpy_way = Vectors(film, mix, table, ball.mu_dry, inertia)
    boards = np.empty(THROWS)
    numpy_way(releases, boards)
    arrived = np.isfinite(out[:, 0]) & np.isfinite(boards)
    assert arrived.mean() > 0.7
    assert (np.isfinite(out[:, 0]) == np.isfinite(boards)).mean() > 0.99
    assert np.abs(out[arrived, 0] - boards[arrived]).max() < 2e-3
    kernel_miss, numpy_miss = errors(work, out[:, 0]), errors(work, boards)
    numba_s = least(lambda: many(*first, inertia, out), REPEATS) / THROWS
    alone_s = least(lambda: one_by_one(*first, inertia, alone), REPEATS) / THROWS
    blocks = {}
    for block in (256, 1024, 4096, 16384):
        parts = [(releases[k : k + block], boards[k : k + block]) for k in range(0, THROWS, block)]

        def run(parts=parts):
            for part, result in parts:
                numpy_way(part, result)

        blocks[block] = least(run, 5) / THROWS
    best = min(blocks, key=blocks.get)
    print(f"\nkernel {numba_s * 1e9:.0f} ns a throw, miss at most {np.nanmax(kernel_miss):.4f}, "
          f"in the middle {np.nanmedian(kernel_miss):.5f} board")  # fmt: skip
    print(f"NumPy {blocks[best] * 1e9:.0f} ns a throw in blocks of {best}, "
          f"miss at most {np.nanmax(numpy_miss):.4f} board; by block: "
          + ", ".join(f"{k}: {v * 1e9:.0f}" for k, v in blocks.items()))  # fmt: skip
    print(f"NumPy over kernel: {blocks[best] / numba_s:.2f}")
    print(f"NumPy over one ball at a time ({alone_s * 1e9:.0f} ns): {blocks[best] / alone_s:.2f}")
    assert np.nanmax(kernel_miss) <= 0.02
    assert np.nanmax(numpy_miss) <= 0.02
    assert blocks[best] > numba_s


@njit(nogil=True)
def slope(x, state, film, mix, drag, bare, mu_dry, per_film, per_slip, effective, launch, inertia):
    """d(slip, board, time)/dx from the same tables: what the solver calls, compiled."""
    dx, dy, fx, fy = launch
    slip, board = max(state[0], 0.0), min(max(state[1], 0.5), 39.499)
    vx, vy = fx + dx * slip / inertia, fy + dy * slip / inertia
    h, column = film_at(film, min(int(x / 0.3048), 59), board, 0, 1)
    v2 = vx * vx + vy * vy
    crowd = 2.0 * v2 - slip * (vx * dx + vy * dy)
    k_s = 2.0 * v2 / crowd if crowd > v2 else 2.0
    mu = 0.0
    if state[0] > 0.0:
        mu = table_mu(
            drag, bare, mix[min(int(x / 0.3048), 59), column], mu_dry, h, h * k_s, slip, per_film,
            per_slip, effective,
        )  # fmt: skip
    return np.array([-mu * 9.80665 * inertia / vx, vy / vx / (41.5 / 39 * 0.0254), 1.0 / vx])


def test_kernel_against_an_ode_solver(work, least):
    *_, releases = work
    first, (inertia, out) = kernel_arguments(work)
    some = 200
    many(*first, inertia, out)
    starts = [_kernel.launch.py_func(s, r, t, a, inertia) for s, r, t, a, _ in releases[:some]]
    boards = np.empty(some)

    def solve(rtol, max_step, method="RK23"):
        for i, (slip, *launch) in enumerate(starts):
            done = solve_ivp(
                slope, (0.0, 60 * FT_M), [slip, releases[i, 4], 0.0], method=method, rtol=rtol,
                atol=rtol, max_step=max_step, args=(*first[:-1], tuple(launch), inertia),
            )  # fmt: skip
            boards[i] = done.y[1, -1]

    numba_s = least(lambda: many(*first, inertia, out), REPEATS) / THROWS
    kernel_miss = errors(work, out[:, 0], some)
    print(
        f"\nkernel {numba_s * 1e6:.2f} us a throw, miss at most {np.nanmax(kernel_miss):.4f} board"
    )
    ratios = []
    for rtol, max_step in ((1e-3, np.inf), (1e-3, 2 * FT_M), (1e-4, FT_M), (1e-5, FT_M)):
        solve(rtol, max_step)
        kept = np.where(np.isfinite(out[:some, 0]), boards, np.nan)
        miss = errors(work, kept, some)
        seconds = least(lambda rtol=rtol, step=max_step: solve(rtol, step), 3) / some
        ratios.append((seconds / numba_s, np.nanmax(miss)))
        print(f"solver, tolerance {rtol:g}, steps up to {max_step / FT_M:.3g} ft: "
              f"{seconds * 1e6:.0f} us a throw, miss at most {np.nanmax(miss):.4f}, in the middle "
              f"{np.nanmedian(miss):.5f} board; {ratios[-1][0]:.0f} times the kernel")  # fmt: skip
    assert min(r for r, _ in ratios) > 10
    # As exact as the kernel has to be: the quickest of several settings that miss by 0.02 board at most.
    fair = []
    for method in ("RK23", "RK45"):
        for rtol, feet in ((1e-5, 0.5), (1e-6, 1.0), (1e-6, 0.5)):
            how = (rtol, feet * FT_M, method)
            seconds = least(lambda how=how: solve(*how), 1) / some
            kept = np.where(np.isfinite(out[:some, 0]), boards, np.nan)
            miss = np.nanmax(errors(work, kept, some))
            print(
                f"{method}, tolerance {rtol:g}, steps up to {feet:g} ft: {miss:.4f} board at most"
            )
            if miss <= 0.02:
                said = f"{method}, tolerance {rtol:g}, steps up to {feet:g} ft"
                fair.append((seconds / numba_s, miss, said))
    assert fair
    ratio, miss, said = min(fair)
    print(
        f"solver at equal error ({said}): miss at most {miss:.4f} board; {ratio:.0f} times the kernel"
    )
