"""Kernels on a lane's film: friction looked up from tables, and oil taken and laid down by a ball.

SI, arrays in and out, no objects; a left-hander passes ``start = 40, step = -1`` and reads and writes
the same film through its mirror image.  Film arrays are (rows, 41): column 0 repeats board 1 and
column 40 repeats board 39, so that a ball over the outer half of an edge board meets that board's
film.  Does not know where the ball goes: the tracks come from ``ball``.
"""

import numpy as np
from numba import njit

Array = np.ndarray


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def film_at(film: Array, row: int, board: float, start: int, step: int) -> tuple[float, int]:
    """Film under the ball [m], linear between board centres, and the nearest board's column."""
    j = int(board)
    f = board - j
    left = start + step * j
    h = film[row, left] * (1.0 - f) + film[row, left + step] * f
    return h, (left if f < 0.5 else left + step)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
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
) -> float:
    """Friction from the tables: mu = mu_dry (phi (1 - y) + y), both linear between nodes.

    ``film`` is the film supplied and ``crowded`` the film in the contact, k_s times it [m].
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
    low = drag[mix, i, k] * (1.0 - b) + drag[mix, i, k + 1] * b
    high = drag[mix, i + 1, k] * (1.0 - b) + drag[mix, i + 1, k + 1] * b
    y = low * (1.0 - a) + high * a
    c = film * per_film
    m = int(c)
    if m > bare.shape[1] - 2:
        m = bare.shape[1] - 2
        c = m + 1.0
    c -= m
    phi = bare[mix, m] * (1.0 - c) + bare[mix, m + 1] * c
    return mu_dry * (phi * (1.0 - y) + y)


@njit(cache=True, nogil=True, error_model="numpy")
def wear_track(
    film: Array,
    boards: Array,
    rows: int,
    start: int,
    step: int,
    width_share: float,
    left_behind: float,
    kept: float,
    lay_per_row: float,
    cell_area: float,
) -> tuple[float, float]:
    """One ball along its track takes oil and lays some of it further on.

    Parameters
    ----------
    film : (n, 41) film, changed in place [m]
    boards : (n,) board coordinate of the ball over each row, own frame; below 0.5 or above 39.5 ends it
    rows : how many rows the ball crossed
    width_share : contact width over a board's width
    left_behind : share of the film in the contact that stays on the lane
    kept : share of what is taken that the ball keeps for good
    lay_per_row : share of the loose oil on the ball laid down again in each row
    cell_area : area of one cell [m2]

    Returns
    -------
    (kept by the ball, still loose on it at the end) [m3]
    """
    loose = 0.0
    soaked = 0.0
    take = width_share * (1.0 - left_behind)
    for i in range(rows):
        board = boards[i]
        if not (0.5 <= board <= 39.5):
            break
        j = int(board)
        f = board - j
        near = start + step * min(max(j, 1), 39)
        far = start + step * min(max(j + 1, 1), 39)
        lay = loose * lay_per_row
        taken_near = film[i, near] * (1.0 - f) * take
        taken_far = film[i, far] * f * take
        if near == far:
            taken_near = film[i, near] * take
            taken_far = 0.0
        film[i, near] += lay * (1.0 - f) / cell_area - taken_near
        film[i, far] += lay * f / cell_area - taken_far
        taken = (taken_near + taken_far) * cell_area
        soaked += kept * taken
        loose += (taken - kept * taken) - lay
        film[i, 0] = film[i, 1]
        film[i, 40] = film[i, 39]
    return soaked, loose
