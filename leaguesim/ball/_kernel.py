"""Kernels for a ball's path: a sliding ball with equal moments of inertia, stepped along the lane.

The slip of such a ball keeps its direction whatever the oil does (Hopkins & Patterson 1977, Am. J.
Phys. 45, 263-266), so slip speed and board are the whole state.  SI; own-hand frame with y to the
left from the bowler's own edge.  Does not model precession of the axis or a change of contact by flare.
"""

import math

import numpy as np

from leaguesim.compiled import lean_kernel, small_kernel
from leaguesim.lane._kernel import above, film_at, table_mu

Array = np.ndarray

G = 9.80665
FT = 0.3048
BOARD = 41.5 / 39 * 0.0254
ROWS = 60
ROLLING_SLIP = 0.02  # below this the ball rolls: on deep oil friction fades with slip [m/s]
STEEP_BOARDS = 0.15  # a row crossed this far aside in its first half takes two steps
STEEPER_BOARDS = 0.3  # ... and four
DEEP_NODES = 80.0
SLOWEST = 0.3  # a ball slower than this along the lane never arrives [m/s]

HALF_FOOT = 0.5 * FT * (1.0 / BOARD)  # in boards
PER_BOARD = 1.0 / BOARD

ARRIVED = 0
GUTTER = 1
STOPPED = 2
SLIDES = 3  # still on its way, and
ROLLS = 4  # from here on straight (or across 60 ft)


@small_kernel
def launch(
    speed: float, rim: float, rotation: float, angle: float, inertia: float
) -> tuple[float, float, float, float, float]:
    """Start of a slide: slip speed, its direction, and the velocity once rolling.

    ``rim`` is spin times radius, ``rotation`` its direction from the ball's own travel, ``inertia``
    1 + R2/k2; rolling velocity (R2 v + k2 p)/(R2 + k2) = p + (v - p)(inertia - 1)/inertia.
    """
    vx = speed * math.cos(angle)
    vy = speed * math.sin(angle)
    px = rim * math.cos(rotation + angle)
    py = rim * math.sin(rotation + angle)
    sx = vx - px
    sy = vy - py
    slip = math.sqrt(sx * sx + sy * sy)
    keep = (inertia - 1.0) / inertia
    fx = px + sx * keep
    fy = py + sy * keep
    if slip > 0.0:
        return slip, sx / slip, sy / slip, fx, fy
    return 0.0, 1.0, 0.0, fx, fy


@small_kernel
def entrainment(v2: float, along: float) -> float:
    """k_s = 2V/(V + u): ``v2`` is V squared, ``along`` slip times V's component along the slip.

    The rim's velocity along the travel, u = V - along/V, is floored at 0.
    """
    crowd = 2.0 * v2 - along
    return 2.0 * v2 / crowd if crowd > v2 else 2.0


@small_kernel
def slowing(q: float) -> float:
    """How much longer a step takes for being braked: 2/(1 + sqrt(1 - 2q)), q = deceleration x / v2.

    The series is within 6e-6 below 0.05; from 0.5 on the ball would turn back before the step's end.
    """
    if q < 0.05:
        return (1.0 + 0.5 * q) + (q * q) * (0.5 + 0.625 * q)
    if q < 0.5:
        return 2.0 / (1.0 + math.sqrt(1.0 - 2.0 * q))
    return 1e9


@small_kernel
def steep(
    film: Array, row: int, j: int, start: int, step: int, aside: float, per_film: float
) -> bool:
    """Whether a row is crossed so far aside, on oil that changes there, that one step will not do.

    ``aside`` boards in half the row around board ``j``; neither a bare lane nor oil so deep that
    friction hardly changes with it.
    """
    if abs(aside) <= STEEP_BOARDS:
        return False
    near = film[row, start + step * j]
    far = film[row, start + step * (j + 1)]
    if (near + far) * per_film <= 1.0 or min(near, far) * per_film >= DEEP_NODES:
        return False
    before = film[row, start + step * max(j - 1, 0)]
    beyond = film[row, start + step * min(j + 2, 40)]
    low = min(near, far, before, beyond)
    return (max(near, far, before, beyond) - low) * per_film > 1.0


@small_kernel
def row_step(
    film: Array, mix: Array, drag: Array, bare: Array, mu_dry: float, per_film: float, per_slip: float,
    effective: bool, start: int, step: int, side_pull: float, dx: float, dy: float, fx: float, fy: float,
    ax: float, ay: float, pull: float, slip: float, b: float, drift: float, time: float, row: int,
    at: float, part: float, lost: float, bend: float, roll: float, track: Array,
) -> tuple[int, float, float, float, float, int, float, float, float, float, float]:  # fmt: skip
    """One step of a slide, or the decision to take a row in two or four.

    ``at`` is where in the row the step starts and ``part`` how much of it it takes; ``lost`` the slip lost
    in the last row and ``bend`` how far its pull bent the path by its middle.
    """
    if slip <= ROLLING_SLIP:
        return ROLLS, slip, b, drift, time, row, at, part, lost, bend, (row + at) * FT
    vx = fx + ax * slip
    if vx < SLOWEST:
        return STOPPED, slip, b, drift, time, row, at, part, lost, bend, roll
    per_vx = 1.0 / vx
    vy = fy + ay * slip + drift
    aside = vy * (HALF_FOOT * part) * per_vx
    middle = (b + bend * (part * part)) + aside
    if not (0.5 <= middle < 39.5):
        return GUTTER, slip, b, drift, time, row, at, part, lost, bend, roll
    j = int(middle)
    left = start + step * j
    f = middle - j
    near = film[above(row), above(left)]
    far = film[above(row), above(left + step)]
    if part == 1.0:
        track[above(row)] = middle
        if steep(film, row, j, start, step, aside, per_film):
            part = 0.5 if abs(aside) < STEEPER_BOARDS else 0.25
            return SLIDES, slip, b, drift, time, row, at, part, lost, bend, roll
    h = near * (1.0 - f) + far * f
    column = left if f < 0.5 else left + step
    s = max(slip - 0.5 * part * lost, 0.0)
    wx = fx + ax * s
    wy = fy + ay * s + drift
    k_s = entrainment(wx * wx + wy * wy, s * (wx * dx + wy * dy))
    mu = table_mu(
        drag,
        bare,
        mix[above(row), above(column)],
        mu_dry,
        h,
        h * k_s,
        s,
        per_film,
        per_slip,
        effective,
    )
    straight = FT * part * per_vx
    longer = slowing(mu * (straight * per_vx * (G * dx)))
    after = slip - mu * (straight * pull) * longer
    t = straight * longer
    across = 0.5 * (side_pull - mu * (G * dy)) * PER_BOARD
    if after <= 0.0:
        # The ball starts to roll inside this step: slide the first part, roll the rest.
        t = slip / (mu * pull)
        roll = (row + at) * FT + vx * t - 0.5 * mu * G * dx * t * t
        b += vy * PER_BOARD * t + across * t * t
        return ROLLS, slip, b, drift + side_pull * t, time + t, row, at, part, lost, bend, roll
    bend = across * (t * t)
    b += vy * PER_BOARD * t + bend
    whole = 1.0 / part
    lost = whole * (slip - after)
    bend *= 0.25 * whole * whole
    at += part
    if at >= 1.0:
        row += 1
        at = 0.0
        part = 1.0
    done = SLIDES if row < ROWS else ROLLS
    return done, after, b, drift + side_pull * t, time + t, row, at, part, lost, bend, roll


@lean_kernel
def arrive(
    done: int, side_pull: float, fx: float, fy: float, ax: float, ay: float, inertia: float,
    slip: float, b: float, drift: float, time: float, row: int, roll: float, track: Array, out: Array,
) -> int:  # fmt: skip
    """From where a ball rolls, leaves or crosses 60 ft sliding to the pins, as ``throw`` says."""
    if done != ROLLS:
        out[4] = row
        return done
    if roll < ROWS * FT:
        vx = fx
        rest = ROWS * FT - roll
        # A rolling ball feels the tilt less: part of the pull goes into its spin.
        pull_rolling = side_pull * (inertia - 1.0) / inertia
        first = int(roll / FT)
        for i in range(first, ROWS):
            t = ((i + 0.5) * FT - roll) / vx
            if t < 0.0:
                continue
            middle = b + ((fy + drift) * t + 0.5 * pull_rolling * t * t) * PER_BOARD
            if not (0.5 <= middle < 39.5):
                out[4] = i
                return GUTTER
            track[i] = middle
        t = rest / vx
        b += ((fy + drift) * t + 0.5 * pull_rolling * t * t) * PER_BOARD
        time += t
        drift += pull_rolling * t
        slip = 0.0
    else:
        roll = 1e9
    vx = fx + ax * slip
    vy = fy + ay * slip + drift
    out[0] = b
    out[1] = math.atan2(vy, vx)
    out[2] = math.sqrt(vx * vx + vy * vy)
    out[3] = slip
    out[4] = roll
    out[5] = time
    if not (0.5 <= b <= 39.5):
        out[4] = ROWS
        return GUTTER
    return ARRIVED


@lean_kernel
def slide_on(
    film: Array, mix: Array, drag: Array, bare: Array, mu_dry: float, per_film: float, per_slip: float,
    effective: bool, start: int, step: int, side_pull: float, inertia: float,
    dx: float, dy: float, fx: float, fy: float, done: int, slip: float, b: float, drift: float,
    time: float, row: int, at: float, part: float, lost: float, bend: float, roll: float,
    track: Array, out: Array,
) -> int:  # fmt: skip
    """``row_step`` after ``row_step`` to the end of the slide, then ``arrive``."""
    ax = dx / inertia
    ay = dy / inertia
    pull = G * inertia
    while done == SLIDES:
        done, slip, b, drift, time, row, at, part, lost, bend, roll = row_step(
            film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
            dx, dy, fx, fy, ax, ay, pull, slip, b, drift, time, row, at, part, lost, bend, roll, track,
        )  # fmt: skip
    return int(
        arrive(
            done, side_pull, fx, fy, ax, ay, inertia, slip, b, drift, time, row, roll, track, out
        )
    )


@lean_kernel
def throw(
    film: Array,
    mix: Array,
    drag: Array,
    bare: Array,
    mu_dry: float,
    per_film: float,
    per_slip: float,
    effective: bool,
    start: int,
    step: int,
    side_pull: float,
    speed: float,
    rim: float,
    rotation: float,
    angle: float,
    board: float,
    inertia: float,
    track: Array,
    out: Array,
) -> int:
    """One ball from the foul line to the pins over a film of one-foot rows.

    Friction is that of the row's middle, where the path straight on, bent as in the row before,
    leads; with it the row is solved exactly.  Where film changes along the row it takes two or four steps.

    Parameters
    ----------
    film, mix : (>=60, 41) film [m] and mixture index of each cell
    drag, bare, mu_dry, per_film, per_slip, effective : friction tables of this ball on this lane
    start, step : 0, 1 for a right-hander; 40, -1 for a left-hander
    side_pull : acceleration of a sliding ball by the lane's cross tilt, own frame [m/s2]
    speed, rim, rotation, angle, board : release [m/s, m/s, rad, rad, board]
    inertia : 1 + R2/k2
    track : (>=60,) filled with the board over the middle of each row
    out : (6,) board, angle [rad], speed, slip at the pins, where rolling began [m], time [s]

    Returns
    -------
    ARRIVED, GUTTER or STOPPED; ``out[4]`` beyond 60 ft means it never rolled.  A ball that did not
    arrive leaves only ``out[4]``: how many rows of ``track`` it crossed
    """
    slip, dx, dy, fx, fy = launch(speed, rim, rotation, angle, inertia)
    done = STOPPED if fx + dx / inertia * slip < SLOWEST or fx < SLOWEST else SLIDES
    status = slide_on(
        film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
        inertia, dx, dy, fx, fy, done, slip, board, 0.0, 0.0, 0, 0.0, 1.0, 0.0, 0.0, 1e9, track, out,
    )  # fmt: skip
    return int(status)


@lean_kernel
def trace(
    film: Array,
    mix: Array,
    drag: Array,
    bare: Array,
    mu_dry: float,
    per_film: float,
    per_slip: float,
    effective: bool,
    fixed_mu: Array,
    edges: Array,
    side_pull: float,
    speed: float,
    rim: float,
    rotation: float,
    angle: float,
    board: float,
    inertia: float,
    bounded: bool,
    nodes: Array,
    rolled: Array,
) -> int:
    """The same slide with its whole course, on any grid of distances, right-hander's frame.

    Friction is constant within a step, which is then solved exactly in time.  ``fixed_mu`` (n,) is the
    friction of each step; NaN takes it from the film.  ``edges`` (n + 1,) distances [m].
    ``nodes`` (n + 1, 5) is filled with board, vx, vy, slip, time at each edge and ``rolled`` (1,) with
    the distance where rolling began (inf: never).  Returns ARRIVED, GUTTER or STOPPED, and a node
    past the end of the ball's course keeps what it had.
    """
    slip, dx, dy, fx, fy = launch(speed, rim, rotation, angle, inertia)
    per_c = 1.0 / inertia
    b = board
    drift = 0.0
    time = 0.0
    rolled[0] = math.inf
    for i in range(edges.shape[0]):
        vx = fx + dx * slip * per_c
        vy = fy + dy * slip * per_c + drift
        nodes[i, 0] = b
        nodes[i, 1] = vx
        nodes[i, 2] = vy
        nodes[i, 3] = slip
        nodes[i, 4] = time
        if bounded and not (0.5 <= b <= 39.5):
            return GUTTER
        if i == edges.shape[0] - 1:
            break
        if vx < SLOWEST:
            return STOPPED
        length = edges[i + 1] - edges[i]
        mu = 0.0
        if slip > 0.0:
            mu = fixed_mu[i]
            if math.isnan(mu):
                middle = b + 0.5 * length * vy / vx / BOARD
                middle = min(max(middle, 0.5), 39.499999)
                row = int(0.5 * (edges[i] + edges[i + 1]) / FT)
                h, column = film_at(film, row, middle, 0, 1)
                v2 = vx * vx + vy * vy
                k_s = entrainment(v2, slip * (vx * dx + vy * dy))
                mu = table_mu(
                    drag,
                    bare,
                    mix[row, column],
                    mu_dry,
                    h,
                    h * k_s,
                    slip,
                    per_film,
                    per_slip,
                    effective,
                )
                if slip <= ROLLING_SLIP:
                    rolled[0] = min(rolled[0], edges[i])
        pull = mu * G
        slide = slip / (pull * inertia) if pull > 0.0 else (math.inf if slip > 0.0 else 0.0)
        square = vx * vx - 2.0 * pull * dx * length
        t = 2.0 * length / (vx + math.sqrt(square)) if square > 0.0 else math.inf
        if slide < t:
            x = vx * slide - 0.5 * pull * dx * slide * slide
            b += (vy * slide - 0.5 * pull * dy * slide * slide) / BOARD
            if slip > 0.0:
                rolled[0] = min(rolled[0], edges[i] + x)
            time += slide
            slip = 0.0
            if fx < SLOWEST:
                return STOPPED
            drift += side_pull * slide
            rest = (length - x) / fx
            down = side_pull * (inertia - 1.0) * per_c
            b += ((fy + drift) * rest + 0.5 * down * rest * rest) / BOARD
            drift += down * rest
            time += rest
        else:
            if t == math.inf:
                return STOPPED
            b += (vy * t + 0.5 * (side_pull - pull * dy) * t * t) / BOARD
            slip -= pull * inertia * t
            drift += side_pull * t
            time += t
    return ARRIVED
