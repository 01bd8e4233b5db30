"""Kernels of scoring: a game from its slots, its exact mean, its exact distribution.

They check nothing, allocate nothing and draw nothing; the typed functions beside them do the first
and the caller the rest.  All of them can be called from other kernels.

Layouts
-------
slots : 21 deliveries, frame * 2 + ball for frames 0 to 9, the third ball of the tenth in slot 20.
    A slot that is not thrown (after a strike; slot 20 after an open tenth) may hold anything.
racks : a game can need twelve fresh racks.  0 to 9 are the first balls of the frames, 10 is ball
    two of the tenth frame after a strike, 11 its ball three after two strikes or a spare.
law of a rack : ``strike`` the chance of ten; ``first[k]`` the chance of k = 0..9; ``second[k, j]``
    the chance of j more at what k left, j = 0..10-k, the last the spare; beyond it unused.
"""

import numpy as np
from numpy.typing import NDArray

from leaguesim.compiled import lean_kernel

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SLOTS = 21
RACKS = 12
SCORES = 301
WORK_ROWS = 10


@lean_kernel
def score_slots(pins: Ints) -> int:
    """Score of one game from its (21,) slots. [pins]"""
    total: int = 0
    w1 = 1  # what the coming ball counts: itself and the bonuses standing
    w2 = 1  # the same for the ball after it
    for frame in range(9):
        first = pins[2 * frame]
        if first == 10:
            total += w1 * 10
            w1 = w2 + 1
            w2 = 2
        else:
            second = pins[2 * frame + 1]
            total += w1 * first + w2 * second
            w1 = 2 if first + second == 10 else 1
            w2 = 1
    total += w1 * pins[18] + w2 * pins[19]
    if pins[18] == 10 or pins[18] + pins[19] == 10:
        total += pins[20]
    return total


@lean_kernel
def score_slots_many(pins: Ints, out: Ints) -> None:
    """Scores of many games: slots (games, 21) in, (games,) out. [pins]"""
    for game in range(pins.shape[0]):
        out[game] = score_slots(pins[game])


@lean_kernel
def totals_slots(pins: Ints, out: Ints) -> None:
    """Score after each frame, bonuses included: slots (21,) in, (10,) out. [pins]"""
    total = 0
    for frame in range(9):
        at = 2 * frame
        if pins[at] == 10:
            total += 10 + pins[at + 2]
            if pins[at + 2] == 10 and frame < 8:
                total += pins[at + 4]
            else:
                total += pins[at + 3]
        else:
            total += pins[at] + pins[at + 1]
            if pins[at] + pins[at + 1] == 10:
                total += pins[at + 2]
        out[frame] = total
    total += pins[18] + pins[19]
    if pins[18] == 10 or pins[18] + pins[19] == 10:
        total += pins[20]
    out[9] = total


@lean_kernel
def rack_means(strike: float, first: Floats, second: Floats) -> tuple[float, float, float]:
    """What ``expected_game`` needs of one rack's law.

    ``first`` (10,) and ``second`` (10, 11) as above.  Returns the mean of the first ball (a strike
    is 10) [pins], the chance of a spare, the mean of both balls (a strike is 10) [pins].
    """
    mean_first = 10.0 * strike
    spare = 0.0
    mean_both = 10.0 * strike
    for k in range(10):
        more = 0.0
        for j in range(1, 11 - k):
            more += j * second[k, j]
        mean_first += k * first[k]
        spare += first[k] * second[k, 10 - k]
        mean_both += first[k] * (k + more)
    return mean_first, spare, mean_both


@lean_kernel
def expected_game(
    strike: Floats, first: Floats, spare: Floats, total: Floats, fill_after_spare: float
) -> float:
    """Mean score of a game whose racks are independent, exactly. [pins]

    Parameters, each (12,) by rack as above
    ---------------------------------------
    strike : chance of ten on the rack
    first : mean of the rack's first ball, a strike counting 10. [pins]
    spare : chance of leaving some and then felling all of them
    total : mean of the rack's first and second ball, a strike counting 10. [pins]
    fill_after_spare : mean of ball three of the tenth frame after a spare; ``first[11]`` unless it
        arrives differently than after two strikes. [pins]

    Of rack 10 strike, first and total are read, of rack 11 only first; their other entries may
    hold anything.  Two balls of one rack need not be independent of each other.

    Mean = sum over frames of total + strike * mean of the next two balls + spare * mean of the
    next, by linearity of the mean: the next two balls after a strike are the next rack's two, or
    its strike and the first ball of the rack after.  Computed for this package.
    """
    mean: float = 0.0
    for frame in range(9):
        next_two = total[frame + 1] + strike[frame + 1] * first[frame + 2]
        mean += total[frame] + strike[frame] * next_two + spare[frame] * first[frame + 1]
    mean += total[9] + strike[9] * (total[10] + strike[10] * first[11])
    mean += spare[9] * fill_after_spare
    return mean


@lean_kernel
def score_pmf(strike: Floats, first: Floats, second: Floats, work: Floats, out: Floats) -> None:
    """Exact distribution of the score of a game whose racks are independent.

    ``strike`` (12,), ``first`` (12, 10), ``second`` (12, 10, 11) as above; ``work`` (10, 301) is
    scratch; ``out`` (301,) is filled.  Walks the frames carrying the chance of every (score so far,
    bonuses standing); a score counts each ball with its standing bonuses when it is thrown, so
    nothing is left pending.  Sums of positive terms only: the error is rounding, below 1e-13.
    """
    work[:4] = 0.0
    work[0, 0] = 1.0
    now = 0
    top = 0
    for frame in range(9):
        after = 4 - now
        work[after : after + 4] = 0.0
        for state in range(4):
            _walk_frame(strike[frame], first[frame], second[frame], work, now, after, state, top)
        now = after
        top = 30 * (frame + 1)
    out[:] = 0.0
    for state in range(4):
        w1, w2 = _weights(state)
        _tenth_steps(strike, first, second, w1, w2, work[8])
        for score in range(top + 1):
            chance = work[now + state, score]
            if chance != 0.0:
                for step in range(min(61, SCORES - score)):
                    out[score + step] += chance * work[8, step]


@lean_kernel
def _weights(state: int) -> tuple[int, int]:
    """What ball one and two of a frame count: no bonus, after a spare, a strike, two strikes."""
    if state == 0:
        return 1, 1
    if state == 1:
        return 2, 1
    if state == 2:
        return 2, 2
    return 3, 2


@lean_kernel
def _walk_frame(
    strike: float,
    first: Floats,
    second: Floats,
    work: Floats,
    now: int,
    after: int,
    state: int,
    top: int,
) -> None:
    """Carry one state's chances over one of frames 1 to 9; work[8] and work[9] are scratch."""
    w1, w2 = _weights(state)
    opens = work[8]
    spares = work[9]
    opens[:31] = 0.0
    spares[:31] = 0.0
    for k in range(10):
        for j in range(10 - k):
            opens[w1 * k + w2 * j] += first[k] * second[k, j]
        spares[w1 * k + w2 * (10 - k)] += first[k] * second[k, 10 - k]
    strike_to = after + (3 if w2 == 2 else 2)
    for score in range(top + 1):
        chance = work[now + state, score]
        if chance != 0.0:
            for step in range(31):
                work[after, score + step] += chance * opens[step]
                work[after + 1, score + step] += chance * spares[step]
            work[strike_to, score + 10 * w1] += chance * strike


@lean_kernel
def _tenth_steps(
    strike: Floats, first: Floats, second: Floats, w1: int, w2: int, steps: Floats
) -> None:
    """Chance of every number of pins the tenth frame can add, 0 to 60, into steps."""
    steps[:61] = 0.0
    for k in range(10):
        for j in range(10 - k):
            steps[w1 * k + w2 * j] += first[9, k] * second[9, k, j]
            steps[10 * w1 + w2 * k + j] += strike[9] * first[10, k] * second[10, k, j]
        spare = first[9, k] * second[9, k, 10 - k]
        _third_ball(strike[11], first[11], spare, w1 * k + w2 * (10 - k), steps)
        steps[10 * w1 + w2 * k + 10 - k] += strike[9] * first[10, k] * second[10, k, 10 - k]
    _third_ball(strike[11], first[11], strike[9] * strike[10], 10 * w1 + 10 * w2, steps)


@lean_kernel
def _third_ball(strike: float, first: Floats, chance: float, step: int, steps: Floats) -> None:
    """Spread the chance of having added ``step`` pins over a ball at a fresh rack."""
    for k in range(10):
        steps[step + k] += chance * first[k]
    steps[step + 10] += chance * strike
