"""Rounds of tasks over threads or a cluster: each list is fixed before it starts.

The stopping rule sees whole rounds.  A task is (block of 32 nights, lane pair) with every condition
inside on the same draws.  Kernels are single-threaded and release the interpreter's lock.  Does not
know what the conditions are compared for.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Pins, Setting, play_block
from leaguesim.play.values import LeagueFormat
from leaguesim.run.blocks import Done, Store, Task, plan_hash
from leaguesim.run.engine import current
from leaguesim.run.guards import all_finite
from leaguesim.run.shards import Joined, Part, PartDoneError
from leaguesim.run.totals import Totals, add_block, add_groups
from leaguesim.streams import NIGHTS_PER_STREAM

FIRST_ROUND = 64
NIGHT_BUDGET = 2000
MAX_WORKERS = 64

Progress = Callable[[int, int, str], None]
Tell = Callable[[int], None]


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
        all_finite(self.settings, self.pairs)

    @cached_property
    def mark(self) -> str:
        """Hash of all that the results depend on."""
        return plan_hash(self)

    def empty(self) -> Totals:
        """Totals of this plan before a night is played."""
        return Totals.empty(
            len(self.settings),
            int(self.offsets[-1]),
            self.league.games,
            self.groups.shape[0],
            _kernel.COUNTS,
        )


def play_task(plan: Plan, task: Task) -> Done:
    """Play one pair's block under every condition: totals of its bowlers, and nightly group sums."""
    people = plan.pairs[task.pair].bowlers
    games, nights = plan.league.games, task.nights
    draws = np.stack(
        [
            night_draws(
                plan.seed, b.bowler, block=task.block, games=games, replicate=plan.replicate
            )
            for b in people
        ],
        axis=1,
    )[:nights]
    played = [
        play_block(
            s.films_of(task.block, plan.replicate), s.mix, s.pulls, s.crews[task.pair], plan.pins, draws,
            games, plan.league.practice_balls, wears=s.wears,
        )
        for s in (c.at(task.pair) for c in plan.settings)
    ]  # fmt: skip
    low, high = plan.offsets[task.pair], plan.offsets[task.pair + 1]
    own = Totals.empty(len(plan.settings), high - low, games, plan.groups.shape[0], _kernel.COUNTS)
    sums = np.zeros((len(plan.settings), nights, plan.groups.shape[0]), np.int64)
    add_block(own, np.arange(high - low), played, sums, plan.groups[:, low:high])
    return Done(own, sums)


_BY_BOWLER = (
    "average", "square", "game", "fade", "fade_square", "n_scores", "n_counts", "misses", "lines",
)  # fmt: skip
_BOWLER_AXIS = {"square": 2}


def _put(totals: Totals, own: Totals, low: int, high: int) -> None:
    for name in _BY_BOWLER:
        axis = _BOWLER_AXIS.get(name, 1)
        place = (slice(None),) * axis + (slice(low, high),)
        getattr(totals, name)[place] += getattr(own, name)


def _threads(plan: Plan, tasks: Sequence[Task], workers: int) -> Iterator[tuple[Task, Done]]:
    """Tasks played by threads of this process, in order."""
    pool = ThreadPoolExecutor(workers)
    try:
        waiting = [pool.submit(play_task, plan, t) for t in tasks]
        waiting.reverse()
        for t in tasks:
            yield t, waiting.pop().result()  # popped: a finished task is not kept
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _played(plan: Plan, tasks: Sequence[Task], workers: int) -> Iterator[tuple[Task, Done]]:
    """Every task with what it gave: found finished, or played where the engine says."""
    engine = current()
    store = None if engine.keep is None else Store.of(engine.keep, plan.mark)
    if store is not None and store.folder not in engine.stores:
        engine.stores.append(store.folder)
    rest = []
    for t in tasks:
        done = None if store is None else store.get(t)
        if done is None:
            rest.append(t)
        else:
            yield t, done
    if not rest:
        return
    if engine.scheduler is None:
        playing = _threads(plan, rest, workers)
    else:
        from leaguesim.run.cluster import play_on

        playing = play_on(engine.scheduler, plan, rest)
    for t, done in playing:
        if store is not None:
            store.put(t, done)
        yield t, done


def _tasks(plan: Plan, first: int, last: int) -> list[Task]:
    """The task list of nights ``first`` to ``last`` - 1: by block, then pair."""
    blocks = range(first // NIGHTS_PER_STREAM, -(-last // NIGHTS_PER_STREAM))
    return [
        Task(b, p, min(NIGHTS_PER_STREAM, last - b * NIGHTS_PER_STREAM))
        for b in blocks
        for p in range(len(plan.pairs))
    ]


def _gather(
    plan: Plan, first: int, last: int, tasks: Sequence[Task], workers: int, tell: Tell
) -> tuple[Totals, NDArray[np.int64]]:
    """Totals of some tasks of nights ``first`` to ``last`` - 1, and nightly group sums, not yet closed."""
    totals = plan.empty()
    sums = np.zeros((len(plan.settings), last - first, plan.groups.shape[0]), np.int64)
    for t, done in _played(plan, tasks, workers):
        _put(totals, done.totals, int(plan.offsets[t.pair]), int(plan.offsets[t.pair + 1]))
        start = t.block * NIGHTS_PER_STREAM - first
        sums[:, start : start + t.nights] += done.sums
        tell(t.nights)
    return totals, sums


def play_nights(
    plan: Plan, first: int, last: int, workers: int, tell: Tell = lambda _n: None
) -> Totals:
    """Nights ``first`` to ``last`` - 1 (``first`` a multiple of 32) of a plan, where the engine says."""
    totals, sums = _gather(plan, first, last, _tasks(plan, first, last), workers, tell)
    add_groups(totals, sums, plan.groups.sum(axis=1))
    return totals


def _play_shard(plan: Plan, nights: int, workers: int, progress: Progress) -> Part:
    """Every n-th task of the whole list."""
    shard = current().shard
    if shard is None:
        raise InputError("--shard: no part was asked for")
    i, n = shard
    tasks = _tasks(plan, 0, nights)[i - 1 :: n]
    whole = sum(t.nights for t in tasks)
    done = 0

    def tell(count: int) -> None:
        nonlocal done
        done += count
        progress(done, whole, f"nights on a pair, part {i} of {n}")

    totals, sums = _gather(plan, 0, nights, tasks, workers, tell)
    return Part(plan.mark, (i, n), nights, totals, sums)


def _from_parts(plan: Plan, nights: int | None, joined: Joined) -> Totals:
    """The totals of a run whose parts were played elsewhere.

    Raises
    ------
    InputError : the parts are not of this plan
    """
    if nights != joined.nights or plan.mark != joined.plan:
        raise InputError(
            "merge: the parts are of another run than this center gives now: its files, this version or "
            "this machine are not those that the parts were played with"
        )
    totals = joined.totals
    add_groups(totals, joined.sums, plan.groups.sum(axis=1))
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
    check_nights(nights)
    engine = current()
    if engine.joined is not None:
        return _from_parts(plan, nights, engine.joined), "asked"
    if engine.shard is not None:
        if nights is None:
            raise InputError("--shard: needs --nights, or parts would stop at different nights")
        raise PartDoneError(_play_shard(plan, nights, crew, progress))
    if nights is not None:
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


def _in_rounds(plan: Plan, nights: int, workers: int, tell: Tell) -> Totals:
    """Exactly so many nights, a bounded number in memory at a time."""
    totals = plan.empty()
    step = 16 * NIGHTS_PER_STREAM
    for first in range(0, nights, step):
        totals.add(play_nights(plan, first, min(first + step, nights), workers, tell))
    return totals
