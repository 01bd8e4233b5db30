"""The benches' one stopwatch."""

import time
from collections.abc import Callable

import pytest


@pytest.fixture(scope="session")
def least() -> Callable[..., float]:
    """``least(run, repeats, clock)``: the least time of some repeats; other work can only add to one. [s]

    The clock is this thread's processor time, unless threads or waiting are part of what is measured.
    """

    def measure(
        run: Callable[[], object], repeats: int = 7, clock: Callable[[], float] = time.thread_time
    ) -> float:
        times = []
        for _ in range(repeats):
            start = clock()
            run()
            times.append(clock() - start)
        return min(times)

    return measure
