"""Kernels of the line-up: what each line on a grid gives, in a bowler's own-hand frame.

One path a node, its arrival looked up in the carry library and against the bowler's spare shooting.
SI; does not choose a line.
"""

import math

import numpy as np

from leaguesim.ball._kernel import ARRIVED
from leaguesim.ball._kernel_many import throw_many
from leaguesim.compiled import kernel, lean_kernel
from leaguesim.pins._kernel import CarryArrays, carry

Array = np.ndarray

STRIKE = 0
FIRST = 1
SPARE = 2
TOTAL = 3


@kernel
def explore(
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
    inertia: float,
    mass: float,
    speed: Array,
    rim: Array,
    rotation: Array,
    angle: Array,
    board: Array,
    lib: CarryArrays,
    clear: Array,
    more: Array,
    seen: Array,
    exit_row: int,
    arrival: Array,
    value: Array,
) -> None:
    """Throw n balls down one film and look each up in the carry library.

    Parameters
    ----------
    speed, rim, rotation, angle, board : (n,) releases [m/s, m/s, rad, rad, board]
    exit_row : foot of the lane, counted from 0, where the ball leaves the oil
    arrival : (n, 6) filled: offset [boards], entry angle [deg], speed [m/s], where rolling began [m],
        board where the course was outermost, board on ``exit_row``; NaN for a gutter ball
    clear, more : (1024,) by standing mask: chance that the spare is made, and pins the second ball adds
    seen : (nodes, 2) nodes of the library worked out for this ``clear`` and ``more``, NaN at first
    value : (n, 4) filled: P(strike), E[first ball], P(spare), E[both balls]; for a gutter ball zeros and
        the spare from a full rack
    """
    n = speed.shape[0]
    tracks = np.empty((n, 64))
    outs = np.empty((n, 6))
    ended = np.empty(n, np.int64)
    throw_many(
        film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
        speed, rim, rotation, angle, board, inertia, tracks, outs, ended,
    )  # fmt: skip
    for i in range(n):
        out = outs[i]
        track = tracks[i]
        if ended[i] != ARRIVED:
            for k in range(6):
                arrival[i, k] = math.nan
            value[i, STRIKE] = 0.0
            value[i, FIRST] = 0.0
            value[i, SPARE] = clear[1023]
            value[i, TOTAL] = more[1023]
            continue
        arrival[i, 0] = 20.0 - out[0]
        arrival[i, 1] = math.degrees(out[1])
        arrival[i, 2] = out[2]
        arrival[i, 3] = out[4]
        outermost = track[0]
        for row in range(1, 60):
            outermost = min(outermost, track[row])
        arrival[i, 4] = outermost
        arrival[i, 5] = track[exit_row]
        # The pins themselves are not asked for: at uniform 0 the walk to them would be the longest.
        carry(lib, arrival[i, 0], arrival[i, 1], out[2], mass, 1.0, clear, more, seen, value[i])


@lean_kernel
def choose_aims(
    law: Array, made: Array, weights: Array, low: Array, high: Array, chance: Array, aim: Array
) -> None:
    """For each leave the target with the best chance of the spare, and the second ball's law there.

    Parameters
    ----------
    law : (n, m, 11) chance that j pins fall, by leave and offset node
    made : (n, m) chance that all of the leave falls
    weights : (t, m) chance of arriving at each node when aiming at each target; what is missing to 1
        misses the deck
    low, high : (t,) nodes with any weight, half-open
    chance : (n, 11) filled; ``aim`` (n,) filled with the index of the target
    """
    for i in range(law.shape[0]):
        best = -1.0
        for t in range(weights.shape[0]):
            total = 0.0
            for q in range(low[t], high[t]):
                total += weights[t, q] * made[i, q]
            if total > best:
                best = total
                aim[i] = t
        t = aim[i]
        for j in range(11):
            chance[i, j] = 0.0
        for q in range(low[t], high[t]):
            for j in range(1, 11):
                chance[i, j] += weights[t, q] * law[i, q, j]
        none = 1.0
        for j in range(1, 11):
            none -= chance[i, j]
        chance[i, 0] = max(0.0, none)
