"""Where a run's tasks are played and what becomes of the finished ones, told once for a whole command.

Nothing here can change a result: only who computes it, and what is kept of it on the way.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path

from leaguesim.errors import InputError
from leaguesim.run.shards import Joined


@dataclass(frozen=True)
class Engine:
    """How to play.

    Parameters
    ----------
    scheduler : address of a dask scheduler, 'tcp://host:port'; None: threads of this process
    keep : output folder that finished blocks are kept in until the results are whole
    shard : (i, n): play the i-th of n parts of the main task list, then stop
    joined : parts that were played elsewhere, in place of playing
    stores : folders of finished blocks that were used, filled in on the way
    """

    scheduler: str | None = None
    keep: Path | None = None
    shard: tuple[int, int] | None = None
    joined: Joined | None = None
    stores: list[Path] = field(default_factory=list, compare=False)


_CURRENT: ContextVar[Engine] = ContextVar("engine", default=Engine())  # noqa: B039 - frozen


def current() -> Engine:
    """The engine of this command."""
    return _CURRENT.get()


@contextmanager
def using(engine: Engine) -> Iterator[None]:
    """Play with an engine until the block ends."""
    token = _CURRENT.set(engine)
    try:
        yield
    finally:
        _CURRENT.reset(token)


def shard_of(text: str) -> tuple[int, int]:
    """'2/8' as (2, 8).

    Raises
    ------
    InputError : not of that form, or not from 1/n to n/n
    """
    first, slash, last = text.partition("/")
    if slash and first.isascii() and last.isascii() and first.isdigit() and last.isdigit():
        i, n = int(first), int(last)
        if 1 <= i <= n <= 10_000:
            return i, n
    raise InputError(f"--shard: a part such as 2/8 (the second of eight) is needed, got {text}")
