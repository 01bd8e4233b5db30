"""Event-driven motion of eleven discs; arrays in, masks out. Does not draw random numbers."""

import numpy as np

from leaguesim.compiled import kernel
from leaguesim.units import BOARD_M, DEG_RAD, HEAD_PIN_TO_PIT_IN, IN_M, LANE_WIDTH_IN

BALL = 10
EVENTS = 400
PIT_M = HEAD_PIN_TO_PIT_IN * IN_M
EDGE_M = 0.5 * LANE_WIDTH_IN * IN_M
WALL_M = EDGE_M + 9.25 * IN_M


@kernel
def _meet(dx: float, dy: float, du: float, dv: float, reach: float) -> float:
    """Time until two discs touch; infinity if never."""
    closing = dx * du + dy * dv
    if closing >= 0.0:
        return np.inf
    speed2 = du * du + dv * dv
    gap = dx * dx + dy * dy - reach * reach
    root = closing * closing - speed2 * gap
    if root <= 0.0:
        return np.inf
    return float(max(0.0, (-closing - np.sqrt(root)) / speed2))


@kernel
def _next_event(
    pos: np.ndarray, vel: np.ndarray, live: np.ndarray, went: np.ndarray,
    travel: float, r_ball: float, r_pin: float,
) -> tuple[float, int, int]:  # fmt: skip
    """Time to the next event, the disc it happens to, and what it meets.

    The third is another disc, -2 for a kickback or -3 for leaving (pit, gutter, lying down).
    """
    best = np.inf
    first, second = -1, -1
    for i in range(11):
        if live[i] == 0:
            continue
        ui, vi = vel[i, 0], vel[i, 1]
        if ui != 0.0 or vi != 0.0:
            if i != BALL and vi != 0.0:
                wall = (WALL_M - r_pin) if vi > 0.0 else -(WALL_M - r_pin)
                t = (wall - pos[i, 1]) / vi
                if 0.0 <= t < best:
                    best, first, second = t, i, -2
            elif i == BALL and vi != 0.0:
                t = ((EDGE_M if vi > 0.0 else -EDGE_M) - pos[i, 1]) / vi
                if 0.0 <= t < best:
                    best, first, second = t, i, -3
            if ui != 0.0:
                t = ((PIT_M if ui > 0.0 else -0.6) - pos[i, 0]) / ui
                if 0.0 <= t < best:
                    best, first, second = t, i, -3
            if i != BALL:
                t = (travel - went[i]) / np.sqrt(ui * ui + vi * vi)
                if t < best:
                    best, first, second = max(t, 0.0), i, -3
        for j in range(i + 1, 11):
            if live[j] == 0:
                continue
            du, dv = vel[j, 0] - ui, vel[j, 1] - vi
            if du == 0.0 and dv == 0.0:
                continue
            reach = r_pin + (r_ball if j == BALL else r_pin)
            t = _meet(pos[j, 0] - pos[i, 0], pos[j, 1] - pos[i, 1], du, dv, reach)
            if t < best:
                best, first, second = t, i, j
    return best, first, second


@kernel
def _impact(
    pos: np.ndarray, vel: np.ndarray, first: int, second: int, m_pin: float, other: float, e: float
) -> None:
    """Exchange the normal impulse of pin ``first`` and disc ``second`` of mass ``other``."""
    dx, dy = pos[second, 0] - pos[first, 0], pos[second, 1] - pos[first, 1]
    size = np.sqrt(dx * dx + dy * dy)
    dx, dy = dx / size, dy / size
    closing = (vel[second, 0] - vel[first, 0]) * dx + (vel[second, 1] - vel[first, 1]) * dy
    push = -(1.0 + e) * closing * m_pin * other / (m_pin + other)
    vel[first, 0] -= push / m_pin * dx
    vel[first, 1] -= push / m_pin * dy
    vel[second, 0] += push / other * dx
    vel[second, 1] += push / other * dy


@kernel
def one_shot(
    offset: float,
    entry: float,
    speed: float,
    mass: float,
    places: np.ndarray,
    rack: int,
    numbers: np.ndarray,
    pos: np.ndarray,
    vel: np.ndarray,
    live: np.ndarray,
    went: np.ndarray,
) -> int:
    """One shot in SI and radians at the pins of ``rack``; returns the pins that fell."""
    e_ball, e_pin, topple, kickback, travel = (
        numbers[0],
        numbers[1],
        numbers[2],
        numbers[3],
        numbers[4],
    )
    r_ball, r_pin, m_pin = numbers[5], numbers[6], numbers[7]
    for i in range(10):
        pos[i, 0] = places[i, 0]
        pos[i, 1] = places[i, 1]
        vel[i, 0] = 0.0
        vel[i, 1] = 0.0
        went[i] = 0.0
        live[i] = (rack >> i) & 1
    start = -0.30
    pos[BALL, 0] = start
    pos[BALL, 1] = -offset + start * np.tan(entry)
    vel[BALL, 0] = speed * np.cos(entry)
    vel[BALL, 1] = speed * np.sin(entry)
    live[BALL] = 1
    if abs(offset) > EDGE_M:
        return 0
    down = 0
    for _ in range(EVENTS):
        best, first, second = _next_event(pos, vel, live, went, travel, r_ball, r_pin)
        if first < 0:
            break
        for i in range(11):
            if live[i]:
                pos[i, 0] += vel[i, 0] * best
                pos[i, 1] += vel[i, 1] * best
                if i != BALL:
                    went[i] += best * np.sqrt(vel[i, 0] ** 2 + vel[i, 1] ** 2)
        if second == -3:
            live[first] = 0
            continue
        if second == -2:
            vel[first, 1] *= -kickback
            continue
        other = mass if second == BALL else m_pin
        _impact(pos, vel, first, second, m_pin, other, e_ball if second == BALL else e_pin)
        for i in (first, second):
            if i != BALL:
                if vel[i, 0] ** 2 + vel[i, 1] ** 2 > topple * topple:
                    down |= 1 << i
                elif not (down >> i) & 1:
                    vel[i, 0] = 0.0
                    vel[i, 1] = 0.0
    return down


@kernel
def run_shots(
    offset_boards: np.ndarray,
    entry_deg: np.ndarray,
    speed_mps: np.ndarray,
    ball_kg: np.ndarray,
    places: np.ndarray,
    rack: int,
    numbers: np.ndarray,
    out: np.ndarray,
) -> None:
    """Many shots; ``places`` is (n, 10, 2), ``out`` the (n,) down masks."""
    pos = np.empty((11, 2))
    vel = np.empty((11, 2))
    live = np.empty(11, np.int64)
    went = np.empty(11)
    for k in range(offset_boards.shape[0]):
        out[k] = one_shot(
            offset_boards[k] * BOARD_M, entry_deg[k] * DEG_RAD, speed_mps[k], ball_kg[k],
            places[k], rack, numbers, pos, vel, live, went,
        )  # fmt: skip
