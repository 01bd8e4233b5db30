"""Kernels on a lane's film: friction looked up from tables, and oil taken and laid down by a ball.

SI, arrays in and out, no objects; a left-hander passes ``start = 40, step = -1`` and reads and writes
the same film through its mirror image.  Film arrays are (rows, 41): column 0 repeats board 1 and
column 40 repeats board 39, so that a ball over the outer half of an edge board meets that board's
film.  Does not know where the ball goes: the tracks come from ``ball``.
"""

import numpy as np

from leaguesim.compiled import lean_kernel, small_kernel

Array = np.ndarray
above = np.uint64  # an index that is never below 0: no counting from the end is compiled for it

BARE_FINER = 2.0  # nodes of the bare table for each of the drag table: phi bends most on thin film


@small_kernel
def film_at(film: Array, row: int, board: float, start: int, step: int) -> tuple[float, int]:
    """Film under the ball [m], linear between board centres, and the nearest board's column."""
    j = int(board)
    f = board - j
    left = start + step * j
    h = film[row, left] * (1.0 - f) + film[row, left + step] * f
    return h, (left if f < 0.5 else left + step)


@small_kernel
def table_mu(
    drag: Array,
    bare: Array,
    mix: int,
    mu_dry: float,
    film: float,
    crowded: float,
    slip: float,
    per_film: float,
    per_slip: float,
    effective: bool,
) -> float:
    """Friction from the tables: mu = mu_dry (phi (1 - y) + y), both linear between nodes.

    ``film`` is the film supplied and ``crowded`` the film in the contact, k_s times it [m];
    ``effective`` says that phi belongs to the second (the other form of load sharing).
    """
    last_h = drag.shape[1] - 2
    last_s = drag.shape[2] - 2
    a = crowded * per_film
    i = int(a)
    if i > last_h:
        i = last_h
        a = last_h + 1.0
    a -= i
    b = slip * per_slip
    k = int(b)
    if k > last_s:
        k = last_s
        b = last_s + 1.0
    b -= k
    of = drag[above(mix)]
    near, far = of[above(i)], of[above(i + 1)]
    low = near[above(k)] * (1.0 - b) + near[above(k + 1)] * b
    high = far[above(k)] * (1.0 - b) + far[above(k + 1)] * b
    y = low * (1.0 - a) + high * a
    c = (crowded if effective else film) * per_film * BARE_FINER
    m = int(c)
    if m > bare.shape[1] - 2:
        m = bare.shape[1] - 2
        c = m + 1.0
    c -= m
    phi = bare[above(mix), above(m)] * (1.0 - c) + bare[above(mix), above(m + 1)] * c
    return mu_dry * (phi * (1.0 - y) + y)


@lean_kernel
def wear_track(
    film: Array,
    mix: Array,
    boards: Array,
    rows: int,
    start: int,
    step: int,
    take: Array,
    kept: Array,
    lay_per_row: float,
    ledger: Array,
) -> None:
    """One ball along its track takes oil and lays some of it further on.

    Every cell is the same size, so oil is counted in metres of film on one cell; nothing is lost:
    what leaves the lane is in the ledger.

    Parameters
    ----------
    film, mix : (n, 41) film, changed in place [m], and mixture index
    boards : (n,) board coordinate of the ball over each row, own frame
    rows : how many rows the ball crossed before it left the lane
    take : (mixes,) share of a board's film that one pass takes: contact width over board times what
        the conditioner does not leave behind
    kept : (mixes,) share of the taken oil that the ball keeps for good
    lay_per_row : share of the loose oil on the ball laid down again in each row
    ledger : (2,) added to: kept by the ball, and still loose on it at the end [m of one cell]
    """
    loose = 0.0
    soaked = 0.0
    for i in range(rows):
        board = boards[i]
        j = int(board)
        f = board - j
        near = start + step * min(max(j, 1), 39)
        far = start + step * min(max(j + 1, 1), 39)
        share = 1.0 - f
        if near == far:
            share = 1.0
            f = 0.0
        lay = loose * lay_per_row
        m = mix[i, near if share >= f else far]
        from_near = film[i, near] * share * take[m]
        from_far = film[i, far] * f * take[m]
        film[i, near] += lay * share - from_near
        film[i, far] += lay * f - from_far
        taken = from_near + from_far
        soaked += kept[m] * taken
        loose += (taken - kept[m] * taken) - lay
        film[i, 0] = film[i, 1]
        film[i, 40] = film[i, 39]
    ledger[0] += soaked
    ledger[1] += loose
