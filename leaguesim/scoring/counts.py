"""How many of all possible games end on each score.

Counts games as ordered rolls, each equally; it is not the distribution of anybody's scores.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]

# Standing bonuses when a frame begins, as weights of its first and second ball:
# none, after a spare, after a strike, after two strikes.
_WEIGHTS = ((1, 1), (2, 1), (2, 2), (3, 2))
_LONGEST_STEP = 60


def count_games() -> list[int]:
    """Number of possible games with each score from 0 to 300.

    Returns
    -------
    301 exact integers; their sum is 66**9 * 241

    Source: Cooper & Kennedy 1990, Mathematics Magazine 63(4), 239-243; the sum fits 64 bits.

    >>> counts = count_games()
    >>> counts[0], counts[300], sum(counts) == 66**9 * 241
    (1, 1, True)
    """
    now = [np.zeros(1, dtype=np.int64) for _ in _WEIGHTS]
    now[0][0] = 1
    for _ in range(9):
        now = _after_frame(now)
    total = np.zeros(301, dtype=np.int64)
    for weights, counts in zip(_WEIGHTS, now, strict=True):
        ended = np.convolve(counts, _steps(weights, _tenth))
        size = min(ended.size, total.size)
        total[:size] += ended[:size]
    return [int(count) for count in total]


def _after_frame(now: list[Counts]) -> list[Counts]:
    reach = now[0].size + _LONGEST_STEP
    after = [np.zeros(reach, dtype=np.int64) for _ in _WEIGHTS]
    for state, weights in enumerate(_WEIGHTS):
        strike_to = 3 if weights[1] == 2 else 2
        for target, kind in ((0, _open), (1, _spare), (strike_to, _strike)):
            after[target] += np.convolve(now[state], _steps(weights, kind))
    return after


Kind = Callable[[int, int, Counts], None]


def _steps(weights: tuple[int, int], kind: Kind) -> Counts:
    """Number of ways to add each number of pins in one frame of a kind."""
    steps = np.zeros(_LONGEST_STEP + 1, dtype=np.int64)
    kind(*weights, steps)
    return steps


def _open(w1: int, w2: int, steps: Counts) -> None:
    for first in range(10):
        for second in range(10 - first):
            steps[w1 * first + w2 * second] += 1


def _spare(w1: int, w2: int, steps: Counts) -> None:
    for first in range(10):
        steps[w1 * first + w2 * (10 - first)] += 1


def _strike(w1: int, w2: int, steps: Counts) -> None:
    steps[w1 * 10] += 1


def _tenth(w1: int, w2: int, steps: Counts) -> None:
    """All 241 tenth frames; a third ball carries no standing bonus."""
    _open(w1, w2, steps)
    for third in range(11):
        for first in range(10):
            steps[w1 * first + w2 * (10 - first) + third] += 1
        steps[w1 * 10 + w2 * 10 + third] += 1
    for second in range(10):
        for third in range(11 - second):
            steps[w1 * 10 + w2 * second + third] += 1
