"""The outcome of a first ball: laws tabled on a grid, interpolated, and picked at one uniform.

Scalars and arrays in, masks out; does not allocate per shot, draws no random numbers and knows only the
right-hander's deck (left-handed callers mirror before and after).  How the tables come from recorded
rows is ``_kernel_rows``' matter.
"""

import math
from typing import NamedTuple

import numpy as np

from leaguesim.compiled import lean_kernel, small_kernel

MAX_OUTCOMES = 1024  # length of the callers' buffers for a whole law
DECK_EDGE_BOARD = 19.5  # from the head pin to the edge of the deck
FULL_RACK = 1023
NO_KEY = -1

# The grid's nodes: 0.2 board apart within 7 boards of the head pin and 0.5 beyond, the rest even.
FINE_BOARD = 7.0
FINE_PER_BOARD = 5.0
COARSE_PER_BOARD = 2.0
FINE_STEPS = 35
SIDE_STEPS = 61  # from the head pin to 20 boards
ENTRY_NODES, ENTRY_LOW, ENTRY_STEP = 9, -2.0, 1.25
SPEED_NODES, SPEED_LOW, SPEED_STEP = 6, 2.0, 1.5
MASS_NODES, MASS_LOW, MASS_STEP = 4, 2.7, 1.52


class CarryArrays(NamedTuple):
    """What the kernels read: the law at every node, offset the slowest dimension, mass the fastest.

    ``starts``: (nodes + 1,) where a node's outcomes begin in ``key`` and ``weight``, most pins first.
    ``key``: pins down * 1024 + mask; ``weight``: its share.
    ``known``: (nodes, 2) P(strike) and E[pins down].  ``mask``: every outcome there is.
    """

    starts: np.ndarray
    key: np.ndarray
    weight: np.ndarray
    known: np.ndarray
    mask: np.ndarray


@lean_kernel
def mirror_mask(mask: int) -> int:
    """The mask seen in a mirror: 2-3, 4-6, 7-10 and 8-9 change places."""
    return (
        (mask & 0b0000010001)
        | ((mask & 0b0000000010) << 1) | ((mask & 0b0000000100) >> 1)
        | ((mask & 0b0000001000) << 2) | ((mask & 0b0000100000) >> 2)
        | ((mask & 0b0001000000) << 3) | ((mask & 0b1000000000) >> 3)
        | ((mask & 0b0010000000) << 1) | ((mask & 0b0100000000) >> 1)
    )  # fmt: skip


@small_kernel
def _inside(x: float, nodes: int) -> tuple[int, float]:
    """The node below a place on the grid, held at its ends, and the part of a step beyond it."""
    x = min(max(x, 0.0), nodes - 1.0)
    i = min(int(x), nodes - 2)
    return i, x - i


@small_kernel
def _swap(f: float, s: int, g: float, t: int) -> tuple[float, int, float, int]:
    """The larger part first, each with its stride."""
    return (g, t, f, s) if g > f else (f, s, g, t)


@lean_kernel
def simplex(
    b: float, a: float, v: float, m: float
) -> tuple[int, int, int, int, int, float, float, float, float, float]:
    """The five nodes around a place and their shares: linear on the simplex that holds it.

    The cell's fractions sorted from large to small lead from its lowest node to its highest (Kuhn's
    division of a cube, 1960, Bell Syst. Tech. J. 39, 1593: from memory).  Continuous everywhere.
    """
    away = abs(b)
    along = away * FINE_PER_BOARD
    if away > FINE_BOARD:
        along = FINE_STEPS + (away - FINE_BOARD) * COARSE_PER_BOARD
    i, f0 = _inside(SIDE_STEPS + math.copysign(along, b), 2 * SIDE_STEPS + 1)
    j, f1 = _inside((a - ENTRY_LOW) / ENTRY_STEP, ENTRY_NODES)
    k, f2 = _inside((v - SPEED_LOW) / SPEED_STEP, SPEED_NODES)
    n, f3 = _inside((m - MASS_LOW) / MASS_STEP, MASS_NODES)
    s0, s1, s2, s3 = ENTRY_NODES * SPEED_NODES * MASS_NODES, SPEED_NODES * MASS_NODES, MASS_NODES, 1
    p0 = i * s0 + j * s1 + k * s2 + n
    f0, s0, f1, s1 = _swap(f0, s0, f1, s1)
    f2, s2, f3, s3 = _swap(f2, s2, f3, s3)
    f0, s0, f2, s2 = _swap(f0, s0, f2, s2)
    f1, s1, f3, s3 = _swap(f1, s1, f3, s3)
    f1, s1, f2, s2 = _swap(f1, s1, f2, s2)
    p1 = p0 + s0
    p2 = p1 + s1
    p3 = p2 + s2
    return p0, p1, p2, p3, p3 + s3, 1.0 - f0, f0 - f1, f1 - f2, f2 - f3, f3


@small_kernel
def _head(lib: CarryArrays, at: int, end: int) -> int:
    return int(lib.key[at]) if at < end else NO_KEY


@lean_kernel
def pick_between(
    lib: CarryArrays, p0: int, p1: int, p2: int, p3: int, p4: int,
    w0: float, w1: float, w2: float, w3: float, w4: float, u: float,
) -> int:  # fmt: skip
    """The outcome at one uniform of the law between five nodes, walked from the most pins down."""
    above = (
        w0 * lib.known[p0, 0] + w1 * lib.known[p1, 0] + w2 * lib.known[p2, 0]
        + w3 * lib.known[p3, 0] + w4 * lib.known[p4, 0]
    )  # fmt: skip
    rest = 1.0 - u
    if rest <= above:
        return FULL_RACK
    above = 0.0
    a0, a1, a2, a3, a4 = (
        lib.starts[p0], lib.starts[p1], lib.starts[p2], lib.starts[p3], lib.starts[p4],
    )  # fmt: skip
    e0, e1, e2, e3, e4 = (
        lib.starts[p0 + 1], lib.starts[p1 + 1], lib.starts[p2 + 1], lib.starts[p3 + 1],
        lib.starts[p4 + 1],
    )  # fmt: skip
    # A node without a share is not read: it would only lengthen the walk.
    a1 = a1 if w1 > 0.0 else e1
    a2 = a2 if w2 > 0.0 else e2
    a3 = a3 if w3 > 0.0 else e3
    a4 = a4 if w4 > 0.0 else e4
    a0 = a0 if w0 > 0.0 else e0
    found = 0
    while True:
        h0, h1, h2 = _head(lib, a0, e0), _head(lib, a1, e1), _head(lib, a2, e2)
        h3, h4 = _head(lib, a3, e3), _head(lib, a4, e4)
        most = max(h0, h1, h2, h3, h4)
        if most == NO_KEY:
            return found
        found = most & FULL_RACK
        if h0 == most:
            above += w0 * lib.weight[a0]
            a0 += 1
        if h1 == most:
            above += w1 * lib.weight[a1]
            a1 += 1
        if h2 == most:
            above += w2 * lib.weight[a2]
            a2 += 1
        if h3 == most:
            above += w3 * lib.weight[a3]
            a3 += 1
        if h4 == most:
            above += w4 * lib.weight[a4]
            a4 += 1
        if rest <= above:
            return found


@lean_kernel
def _fill(
    lib: CarryArrays, node: int, clear: np.ndarray, more: np.ndarray, seen: np.ndarray
) -> None:
    """What the spare after a node's outcomes gives, kept in ``seen`` for the next ball there."""
    made, added = 0.0, 0.0
    for c in range(lib.starts[node], lib.starts[node + 1]):
        left = FULL_RACK - (lib.key[c] & FULL_RACK)
        made += lib.weight[c] * clear[left]
        added += lib.weight[c] * more[left]
    seen[node, 0] = made
    seen[node, 1] = added


@lean_kernel
def carry(
    lib: CarryArrays, b: float, a: float, v: float, m: float, u: float,
    clear: np.ndarray, more: np.ndarray, seen: np.ndarray, out: np.ndarray,
) -> int:  # fmt: skip
    """One first ball: the outcome at ``u``, and what its law makes one expect.

    Parameters
    ----------
    b, a, v, m : offset [boards], entry angle [deg], speed [m/s], mass [kg]; beyond the deck's edge
        (or NaN) nothing falls, other arguments are held at the range's ends
    clear, more : (1024,) by standing mask: chance that the spare is made, and pins the second ball
        adds; 0 where nothing stands
    seen : (nodes, 2) the bowler's memory of nodes already worked out, NaN at first
    out : (4,) filled: P(strike), E[first ball], P(spare), E[both balls]
    """
    if not abs(b) <= DECK_EDGE_BOARD:
        out[0], out[1], out[2], out[3] = 0.0, 0.0, clear[FULL_RACK], more[FULL_RACK]
        return 0
    p0, p1, p2, p3, p4, w0, w1, w2, w3, w4 = simplex(b, a, v, m)
    for k in range(4):
        out[k] = 0.0
    for node, share in ((p0, w0), (p1, w1), (p2, w2), (p3, w3), (p4, w4)):
        if share <= 0.0:
            continue
        if math.isnan(seen[node, 0]):
            _fill(lib, node, clear, more, seen)
        out[0] += share * lib.known[node, 0]
        out[1] += share * lib.known[node, 1]
        out[2] += share * seen[node, 0]
        out[3] += share * (lib.known[node, 1] + seen[node, 1])
    return int(pick_between(lib, p0, p1, p2, p3, p4, w0, w1, w2, w3, w4, u))


@lean_kernel
def outcome_law(
    lib: CarryArrays,
    offset_board: float,
    entry_deg: float,
    speed_mps: float,
    mass_kg: float,
    masks_out: np.ndarray,
    weights_out: np.ndarray,
) -> int:
    """The whole law in order (pins down, then mask), weights summing to 1.

    Arguments outside the library's range are held at its edge; beyond the deck edge the one outcome
    is mask 0.  ``pick`` from it gives what ``draw_many`` gives but for rounding; it is the slower way.

    Returns
    -------
    how many entries of ``masks_out`` (int64) and ``weights_out`` (float64), MAX_OUTCOMES long, were
    written
    """
    if not abs(offset_board) <= DECK_EDGE_BOARD:
        masks_out[0] = 0
        weights_out[0] = 1.0
        return 1
    p0, p1, p2, p3, p4, w0, w1, w2, w3, w4 = simplex(offset_board, entry_deg, speed_mps, mass_kg)
    n = 0
    for node, share in ((p0, w0), (p1, w1), (p2, w2), (p3, w3), (p4, w4)):
        if share <= 0.0:
            continue
        for c in range(lib.starts[node], lib.starts[node + 1]):
            key = lib.key[c]
            at = 0
            while at < n and masks_out[at] < key:
                at += 1
            if at == n or masks_out[at] != key:
                for later in range(n, at, -1):
                    masks_out[later] = masks_out[later - 1]
                    weights_out[later] = weights_out[later - 1]
                masks_out[at] = key
                weights_out[at] = 0.0
                n += 1
            weights_out[at] += share * lib.weight[c]
    for i in range(n):
        masks_out[i] &= FULL_RACK
    return n


@lean_kernel
def pick(masks: np.ndarray, weights: np.ndarray, n: int, u: float) -> int:
    """The outcome at one uniform: the inverse of the cumulated weights."""
    below = 0.0
    for i in range(n - 1):
        below += weights[i]
        if u < below:
            return int(masks[i])
    return int(masks[n - 1])


@lean_kernel
def draw_many(
    lib: CarryArrays,
    offset: np.ndarray,
    entry: np.ndarray,
    speed: np.ndarray,
    mass: np.ndarray,
    u: np.ndarray,
    out: np.ndarray,
) -> None:
    """One pick for each of n shots, all arrays (n,)."""
    for i in range(out.shape[0]):
        if not abs(offset[i]) <= DECK_EDGE_BOARD:
            out[i] = 0
            continue
        p0, p1, p2, p3, p4, w0, w1, w2, w3, w4 = simplex(offset[i], entry[i], speed[i], mass[i])
        out[i] = pick_between(lib, p0, p1, p2, p3, p4, w0, w1, w2, w3, w4, u[i])


@lean_kernel
def strike_many(
    lib: CarryArrays,
    offset: np.ndarray,
    entry: np.ndarray,
    speed: np.ndarray,
    mass: np.ndarray,
    rate: np.ndarray,
) -> None:
    """Strike share at each of n points."""
    known = lib.known
    for i in range(rate.shape[0]):
        rate[i] = 0.0
        if abs(offset[i]) <= DECK_EDGE_BOARD:
            p0, p1, p2, p3, p4, w0, w1, w2, w3, w4 = simplex(offset[i], entry[i], speed[i], mass[i])
            rate[i] = (
                w0 * known[p0, 0] + w1 * known[p1, 0] + w2 * known[p2, 0] + w3 * known[p3, 0]
                + w4 * known[p4, 0]
            )  # fmt: skip
