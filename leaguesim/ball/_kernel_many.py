"""Many balls down one film, two in flight: the bytes of ``throw``, ball by ball, in less time.

A step waits on the one before it (a division, two look-ups, a chain of products), so one ball leaves the
processor idle for half of its time; the steps of another, which it does not depend on, fill the gaps.
SI.  Nothing wears, and no order of the balls matters.
"""

import numpy as np

from leaguesim.ball._kernel import SLIDES, SLOWEST, STOPPED, G, launch, row_step, slide_on
from leaguesim.compiled import lean_kernel

Array = np.ndarray


@lean_kernel
def _set_off(
    speed: Array, rim: Array, rotation: Array, angle: Array, inertia: float, i: int
) -> tuple[int, float, float, float, float, float, float, float]:
    """Ball i at the foul line: on its way or too slow, then ``launch``, then d(velocity)/d(slip)."""
    slip, dx, dy, fx, fy = launch(speed[i], rim[i], rotation[i], angle[i], inertia)
    ax = dx / inertia
    ay = dy / inertia
    done = STOPPED if fx + ax * slip < SLOWEST or fx < SLOWEST else SLIDES
    return done, slip, dx, dy, fx, fy, ax, ay


@lean_kernel
def throw_many(
    film: Array, mix: Array, drag: Array, bare: Array, mu_dry: float, per_film: float, per_slip: float,
    effective: bool, start: int, step: int, side_pull: float,
    speed: Array, rim: Array, rotation: Array, angle: Array, board: Array, inertia: float,
    tracks: Array, outs: Array, status: Array,
) -> None:  # fmt: skip
    """``throw`` for each of n releases.

    Parameters
    ----------
    film ... side_pull, inertia : as for ``throw``
    speed, rim, rotation, angle, board : (n,) releases
    tracks, outs, status : (n, >=60), (n, 6), (n,) filled with what ``throw`` would
    """
    n = speed.shape[0]
    pull = G * inertia
    one, two, coming = 0, 1, 2
    b1, drift1, time1, row1, at1, part1, lost1, bend1, roll1 = (
        0.0,
        0.0,
        0.0,
        0,
        0.0,
        1.0,
        0.0,
        0.0,
        1e9,
    )
    b2, drift2, time2, row2, at2, part2, lost2, bend2, roll2 = (
        0.0,
        0.0,
        0.0,
        0,
        0.0,
        1.0,
        0.0,
        0.0,
        1e9,
    )
    if n > 0:
        b1 = board[0]
        done1, slip1, dx1, dy1, fx1, fy1, ax1, ay1 = _set_off(
            speed, rim, rotation, angle, inertia, 0
        )
    if n > 1:
        b2 = board[1]
        done2, slip2, dx2, dy2, fx2, fy2, ax2, ay2 = _set_off(
            speed, rim, rotation, angle, inertia, 1
        )
    while one < n and two < n:
        while done1 == SLIDES and done2 == SLIDES:
            done1, slip1, b1, drift1, time1, row1, at1, part1, lost1, bend1, roll1 = row_step(
                film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
                dx1, dy1, fx1, fy1, ax1, ay1, pull, slip1, b1, drift1, time1, row1, at1, part1, lost1,
                bend1, roll1, tracks[one],
            )  # fmt: skip
            done2, slip2, b2, drift2, time2, row2, at2, part2, lost2, bend2, roll2 = row_step(
                film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
                dx2, dy2, fx2, fy2, ax2, ay2, pull, slip2, b2, drift2, time2, row2, at2, part2, lost2,
                bend2, roll2, tracks[two],
            )  # fmt: skip
        if done1 != SLIDES:
            status[one] = slide_on(
                film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
                inertia, dx1, dy1, fx1, fy1, done1, slip1, b1, drift1, time1, row1, at1, part1, lost1,
                bend1, roll1, tracks[one], outs[one],
            )  # fmt: skip
            one = coming
            coming += 1
            if one < n:
                b1, drift1, time1, row1, at1 = board[one], 0.0, 0.0, 0, 0.0
                part1, lost1, bend1, roll1 = 1.0, 0.0, 0.0, 1e9
                done1, slip1, dx1, dy1, fx1, fy1, ax1, ay1 = _set_off(
                    speed, rim, rotation, angle, inertia, one
                )
        else:
            status[two] = slide_on(
                film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
                inertia, dx2, dy2, fx2, fy2, done2, slip2, b2, drift2, time2, row2, at2, part2, lost2,
                bend2, roll2, tracks[two], outs[two],
            )  # fmt: skip
            two = coming
            coming += 1
            if two < n:
                b2, drift2, time2, row2, at2 = board[two], 0.0, 0.0, 0, 0.0
                part2, lost2, bend2, roll2 = 1.0, 0.0, 0.0, 1e9
                done2, slip2, dx2, dy2, fx2, fy2, ax2, ay2 = _set_off(
                    speed, rim, rotation, angle, inertia, two
                )
    # The last one has nobody beside it.
    if one < n:
        status[one] = slide_on(
            film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
            inertia, dx1, dy1, fx1, fy1, done1, slip1, b1, drift1, time1, row1, at1, part1, lost1,
            bend1, roll1, tracks[one], outs[one],
        )  # fmt: skip
    if two < n:
        status[two] = slide_on(
            film, mix, drag, bare, mu_dry, per_film, per_slip, effective, start, step, side_pull,
            inertia, dx2, dy2, fx2, fy2, done2, slip2, b2, drift2, time2, row2, at2, part2, lost2,
            bend2, roll2, tracks[two], outs[two],
        )  # fmt: skip
