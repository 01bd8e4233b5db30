"""How a command's work is played and told: the options that never change a result.

Does not play.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from leaguesim.run.engine import Engine
    from leaguesim.run.output import OutputFolder
    from leaguesim.run.shards import Joined


@dataclass(frozen=True)
class How:
    """Where tasks are played (``scheduler``, ``joined`` parts) and how the result is told."""

    json: bool = False
    csv: bool = False
    pseudonyms: bool = False
    scheduler: str | None = None
    joined: "Joined | None" = None

    @contextmanager
    def engine(self, place: "OutputFolder | None", seed: int) -> Iterator[None]:
        """Play so; finished blocks are kept in the output folder until the results are there."""
        from leaguesim.run.engine import Engine

        keep = None if place is None or self.joined is not None else place.path
        with keeping(Engine(self.scheduler, keep, None, self.joined), seed):
            yield


@contextmanager
def keeping(engine: "Engine", seed: int | None) -> Iterator[None]:
    """Play with an engine; if that fails, the last line says which blocks it keeps."""
    from leaguesim.cli.failures import KEEPING, Keeping
    from leaguesim.run.engine import using

    if engine.keep is not None:
        KEEPING.append(Keeping(engine.keep, engine.stores, seed))
    with using(engine):
        yield
    KEEPING.clear()
