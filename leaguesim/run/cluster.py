"""The same tasks on a dask cluster: what a lost worker or a restarted scheduler takes is played again.

Finished tasks are handed over at once, so nothing finished is lost.  Does not decide what is played, and
needs the ``cluster`` extra.
"""

import io
import pickle
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from leaguesim.errors import InputError, LeaguesimError, PartFailedError
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play.setting import Pins, pins_of
from leaguesim.run.blocks import Done, Task, content_hash, sources_hash

if TYPE_CHECKING:
    from leaguesim.run.rounds import Plan

FIRST_WAIT_S = 10.0
PATIENCE_S = 120.0  # without a scheduler, before giving up
LOOK_EVERY_S = 0.5
MOST_TRIES = 5  # of one task whose workers die


class _LostError(Exception):
    """The scheduler or the way to it is gone; what is not finished must be asked for again."""


def load_dask() -> Any:
    """The ``distributed`` package.

    Raises
    ------
    InputError : the extra is not installed
    """
    try:
        import distributed
    except ImportError as error:
        raise InputError(
            "--scheduler: dask is not installed; install leaguesim with its cluster extra: "
            "pip install 'leaguesim[cluster]'"
        ) from error
    import dask

    dask.config.set({"distributed.admin.large-graph-warning-threshold": "1GB"})
    return distributed


@lru_cache(maxsize=1)
def _shipped() -> Pins:
    return pins_of(CarryLibrary.load())


@lru_cache(maxsize=1)
def _shipped_mark() -> str:
    return content_hash(_shipped())


class _Packer(pickle.Pickler):
    """Leaves the shipped carry library out, which every worker has."""

    def persistent_id(self, value: Any) -> str | None:
        if isinstance(value, Pins) and content_hash(value) == _shipped_mark():
            return _shipped_mark()
        return None


class _Unpacker(pickle.Unpickler):
    def persistent_load(self, mark: Any) -> Pins:
        if mark != _shipped_mark():
            raise LeaguesimError("a worker of the cluster has another carry library")
        return _shipped()


def pack_plan(plan: "Plan") -> bytes:
    """A plan as bytes for the workers."""
    out = io.BytesIO()
    _Packer(out, protocol=5).dump(plan)
    return out.getvalue()


@lru_cache(maxsize=4)
def _plan(mark: str, blob: bytes) -> "Plan":
    made: Plan = _Unpacker(io.BytesIO(blob)).load()  # our own bytes, from the session that asks
    return made


def unpack_plan(mark: str, blob: bytes, sources: str) -> "Plan":
    """Runs on a worker: the plan, refused where the worker has other code than who asks."""
    if sources != sources_hash():
        raise LeaguesimError("a worker of the cluster has another leaguesim than this machine")
    return _plan(mark, blob)


def work(plan: "Plan", task: Task) -> Done:
    """Runs on a worker: one task."""
    from leaguesim.run.rounds import play_task

    return play_task(plan, Task(*task))


def play_on(address: str, plan: "Plan", tasks: Sequence[Task]) -> Iterator[tuple[Task, Done]]:
    """Tasks in the order in which the cluster finishes them.

    Raises
    ------
    InputError : no scheduler at the address at the start, or dask is missing
    PartFailedError : the scheduler stays away, or a task's workers die again and again
    """
    dask = load_dask()
    left = dict.fromkeys(tasks)
    tries = dict.fromkeys(tasks, 0)
    blob = pack_plan(plan)
    since: float | None = None
    while left:
        try:
            client = _connect(dask, address, FIRST_WAIT_S if since is None else 2.0)
        except (OSError, ValueError) as error:
            if since is None:
                raise InputError(f"--scheduler: no dask scheduler at {address}: {error}") from error
            if time.monotonic() - since > PATIENCE_S:
                raise PartFailedError(
                    f"{address}: the scheduler did not come back in {PATIENCE_S:.0f} s"
                ) from error
            time.sleep(LOOK_EVERY_S)
            continue
        try:
            for task, done in _ask(dask, client, plan.mark, blob, list(left), tries):
                del left[task]
                since = None
                yield task, done
        except _LostError:
            pass
        finally:
            _leave(client)
        since = time.monotonic() if since is None else since


def _connect(dask: Any, address: str, timeout: float) -> Any:
    return dask.Client(address, timeout=timeout, set_as_default=False)


def _leave(client: Any) -> None:
    with suppress(Exception):  # it may be half gone already; there is nothing to save in it
        client.close(timeout=2)


def _ask(
    dask: Any, client: Any, mark: str, blob: bytes, tasks: list[Task], tries: dict[Task, int]
) -> Iterator[tuple[Task, Done]]:
    """Submit tasks to one scheduler and hand over what comes, until all have or it is gone."""
    session = time.monotonic_ns()
    plan = client.submit(unpack_plan, mark, blob, sources_hash(), key=f"plan-{mark}-{session}")

    def submit(t: Task) -> Any:
        return client.submit(
            work, plan, tuple(t), key=f"task-{mark}-{t.block}-{t.pair}-{session}-{tries[t]}"
        )

    waiting = {submit(t): t for t in tasks}
    while waiting:
        ready = [f for f in waiting if f.status != "pending"]
        if not ready:
            if client.status != "running":
                raise _LostError
            time.sleep(0.02)
            continue
        for future in ready:
            task = waiting.pop(future)
            if future.status == "finished":
                try:
                    done = future.result(timeout=60)
                except (dask.TimeoutError, OSError, KeyError, dask.CancelledError) as error:
                    raise _LostError from error
                yield task, Done(*done)
            elif future.status == "error":
                waiting[_again(dask, future, task, tries, submit)] = task
            else:  # cancelled or lost: the scheduler has forgotten us
                raise _LostError


def _again(dask: Any, future: Any, task: Task, tries: dict[Task, int], submit: Any) -> Any:
    """Ask for a task again whose workers died; whatever else went wrong is the task's own fault."""
    try:
        error = future.exception(timeout=60)
    except (dask.TimeoutError, OSError, dask.CancelledError) as gone:
        raise _LostError from gone
    tries[task] += 1
    if not isinstance(error, dask.scheduler.KilledWorker):
        raise error
    if tries[task] >= MOST_TRIES:
        raise PartFailedError(
            f"block {task.block} on pair {task.pair} lost its worker {tries[task]} times over"
        )
    return submit(task)
