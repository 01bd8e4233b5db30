"""Rounds of tasks over threads: the list is fixed before a round starts, the stopping rule sees whole rounds.

A task is (block of 32 nights, lane pair) with every condition inside on the same draws.  Kernels are
single-threaded and release the interpreter's lock.  Does not know what the conditions are compared for.
"""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Pins, Setting, play_block
from leaguesim.play.values import LeagueFormat
from leaguesim.run.totals import Totals, add_block, add_groups
from leaguesim.streams import NIGHTS_PER_STREAM

FIRST_ROUND = 64
NIGHT_BUDGET = 2000
MAX_WORKERS = 64

Progress = Callable[[int, int, str], None]


def quiet(_done: int, _total: int, _text: str) -> None:
    """Show no progress."""


def worker_count(workers: int | None) -> int:
    """How many threads to use: what was asked for, else one a core.

    Raises
    ------
    InputError : not from 1 to 64
    """
    if workers is None:
        cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
        return max(1, min(MAX_WORKERS, cores or 1))
    if not 1 <= workers <= MAX_WORKERS:
        raise InputError(
            f"workers: a whole number from 1 to {MAX_WORKERS} is needed, got {workers}"
        )
    return workers


def check_nights(nights: int | None) -> None:
    """Refuse a number of nights below 1 before any work is done (InputError)."""
    if nights is not None and nights < 1:
        raise InputError(f"nights: a whole number from 1 up is needed, got {nights}")


@dataclass(frozen=True)
class Plan:
    """What is played: settings (one a condition), pairs, and groups over bowlers.

    ``groups`` (groups, bowlers) membership, bowlers in the order of the pairs.
    """

    settings: Sequence[Setting]
    pairs: Sequence[Pair]
    pins: Pins
    league: LeagueFormat
    groups: NDArray[np.bool_]
    seed: int
    replicate: int = 0
    offsets: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        sizes = [len(p.bowlers) for p in self.pairs]
        object.__setattr__(self, "offsets", np.concatenate([[0], np.cumsum(sizes)]))

    def empty(self) -> Totals:
        """Totals of this plan before a night is played."""
        return Totals.empty(
            len(self.settings),
            int(self.offsets[-1]),
            self.league.games,
            self.groups.shape[0],
            _kernel.COUNTS,
        )


def _task(plan: Plan, block: int, pair: int, nights: int) -> tuple[Totals, NDArray[np.int64]]:
    """Play one pair's block under every condition: totals of its bowlers, and nightly group sums."""
    people = plan.pairs[pair].bowlers
    games = plan.league.games
    draws = np.stack(
        [
            night_draws(plan.seed, b.bowler, block=block, games=games, replicate=plan.replicate)
            for b in people
        ],
        axis=1,
    )[:nights]
    played = [
        play_block(
            s.films_of(block, plan.replicate), s.mix, s.pulls, s.crews[pair], plan.pins, draws, games,
            plan.league.practice_balls, wears=s.wears,
        )
        for s in plan.settings
    ]  # fmt: skip
    low, high = plan.offsets[pair], plan.offsets[pair + 1]
    own = Totals.empty(len(plan.settings), high - low, games, plan.groups.shape[0], _kernel.COUNTS)
    sums = np.zeros((len(plan.settings), nights, plan.groups.shape[0]), np.int64)
    add_block(own, np.arange(high - low), played, sums, plan.groups[:, low:high])
    return own, sums


_BY_BOWLER = ("average", "square", "game", "fade", "fade_square", "n_scores", "n_counts", "misses")
_BOWLER_AXIS = {"square": 2}


def _put(totals: Totals, own: Totals, low: int, high: int) -> None:
    for name in _BY_BOWLER:
        axis = _BOWLER_AXIS.get(name, 1)
        place = (slice(None),) * axis + (slice(low, high),)
        getattr(totals, name)[place] += getattr(own, name)


def play_nights(
    plan: Plan, first: int, last: int, workers: int, tell: Callable[[int], None] = lambda _n: None
) -> Totals:
    """Nights ``first`` to ``last`` - 1 (``first`` a multiple of 32) of a plan on so many threads."""
    blocks = range(first // NIGHTS_PER_STREAM, -(-last // NIGHTS_PER_STREAM))
    tasks = [(b, p) for b in blocks for p in range(len(plan.pairs))]
    lengths = {b: min(NIGHTS_PER_STREAM, last - b * NIGHTS_PER_STREAM) for b in blocks}
    totals = plan.empty()
    conditions, groups = len(plan.settings), plan.groups.shape[0]
    sums = {b: np.zeros((conditions, lengths[b], groups), np.int64) for b in blocks}
    pool = ThreadPoolExecutor(workers)
    try:
        waiting = [pool.submit(_task, plan, b, p, lengths[b]) for b, p in tasks]
        waiting.reverse()
        for b, p in tasks:
            own, night_sums = waiting.pop().result()  # popped: a finished task is not kept
            _put(totals, own, int(plan.offsets[p]), int(plan.offsets[p + 1]))
            sums[b] += night_sums
            tell(lengths[b])
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    sizes = plan.groups.sum(axis=1)
    for b in blocks:
        add_groups(totals, sums[b], sizes)
    return totals


def play_until(
    plan: Plan,
    *,
    nights: int | None,
    workers: int | None,
    enough: Callable[[Totals], bool],
    progress: Progress = quiet,
) -> tuple[Totals, str]:
    """Play exactly ``nights``, or rounds of 64 nights doubling until ``enough`` or 2,000 nights.

    Returns
    -------
    totals, and why it stopped: 'asked', 'enough' or 'budget'
    """
    crew = worker_count(workers)
    if nights is not None:
        check_nights(nights)
        done = [0]

        def tell(n: int) -> None:
            done[0] += n
            progress(done[0], nights * len(plan.pairs), "nights on a pair")

        return _in_rounds(plan, nights, crew, tell), "asked"
    totals, played, size = plan.empty(), 0, FIRST_ROUND
    counted = 0
    while played < NIGHT_BUDGET:
        last = min(played + size, NIGHT_BUDGET)

        def tell_round(n: int) -> None:
            nonlocal counted
            counted += n
            progress(counted, NIGHT_BUDGET * len(plan.pairs), "nights on a pair, at most")

        totals.add(play_nights(plan, played, last, crew, tell_round))
        played, size = last, last
        if enough(totals):
            return totals, "enough"
    return totals, "budget"


def _in_rounds(plan: Plan, nights: int, workers: int, tell: Callable[[int], None]) -> Totals:
    """Exactly so many nights, a bounded number in memory at a time."""
    totals = plan.empty()
    step = 16 * NIGHTS_PER_STREAM
    for first in range(0, nights, step):
        totals.add(play_nights(plan, first, min(first + step, nights), workers, tell))
    return totals
