"""Finished blocks of a run: what one is, what it depends on, and how it is kept until the run is whole.

A block that is damaged, or of another plan, is played again.  Does not decide what is played.
"""

import hashlib
import io
import json
import os
import secrets
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim import __version__
from leaguesim.compiled import kernel_sources
from leaguesim.errors import InputError
from leaguesim.run.totals import Totals
from leaguesim.streams import LAYOUT_VERSION

if TYPE_CHECKING:
    from leaguesim.run.rounds import Plan

PREFIX = ".leaguesim-blocks-"
Ints = NDArray[np.int64]


class Task(NamedTuple):
    """The smallest piece of work: a block of 32 nights (fewer in the last) on a pair of lanes."""

    block: int
    pair: int
    nights: int


class Done(NamedTuple):
    """What a task gave: totals of its pair's bowlers, and nightly sums by group."""

    totals: Totals
    sums: Ints


@lru_cache(maxsize=1)
def sources_hash() -> str:
    """Hash of everything that computes: all sources of the package below the study room."""
    h = hashlib.blake2b(digest_size=16)
    root = Path(__file__).parent.parent
    rooms = ("lane", "pins", "scoring", "ball", "bowlers", "play")
    paths = {p for room in rooms for p in (root / room).rglob("*.py")}
    own = {root / "streams.py", root / "run" / "totals.py", root / "run" / "rounds.py"}
    for path in sorted({*paths, *kernel_sources(), *own}):
        h.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return h.hexdigest()


def plan_hash(plan: "Plan") -> str:
    """Hash of all that the results of a plan's tasks depend on, to the last bit."""
    h = hashlib.blake2b(digest_size=16)
    h.update(f"{__version__} {LAYOUT_VERSION} {sources_hash()}".encode())
    who = [[b.bowler for b in p.bowlers] for p in plan.pairs]
    league = (plan.league.games, plan.league.practice_balls)
    _feed(h, (plan.seed, plan.replicate, league, who, plan.groups))
    _feed(h, (plan.pins.arrays, plan.pins.second, plan.pins.leave_index))
    for s in plan.settings:
        _feed(h, (s.wears, [(c.crew, c.covers) for c in s.crews]))
        for own in (s, *s.apart):
            told = None if own.sessions is None else getattr(own.sessions, "identity", own.sessions)
            _feed(h, (own.films, own.mix, own.pulls, told))
    return h.hexdigest()


def content_hash(value: Any) -> str:
    """Hash of a value made of arrays, numbers, words, tuples and dataclasses."""
    h = hashlib.blake2b(digest_size=16)
    _feed(h, value)
    return h.hexdigest()


def _feed(h: "hashlib.blake2b", value: Any) -> None:
    """Feed a value made of arrays, numbers, words, tuples and dataclasses, with its shape."""
    if isinstance(value, np.ndarray):
        a = np.ascontiguousarray(value)
        h.update(f"array {a.dtype.str} {a.shape};".encode())
        h.update(a.tobytes())
    elif isinstance(value, (list, tuple)):
        h.update(f"list {len(value)};".encode())
        for part in value:
            _feed(h, part)
    elif value is None or isinstance(value, (str, int, float, bool, np.generic)):
        h.update(f"{type(value).__name__} {value!r};".encode())
    elif is_dataclass(value):
        h.update(f"{type(value).__name__};".encode())
        for f in fields(value):
            _feed(h, getattr(value, f.name))
    else:
        raise TypeError(f"cannot tell what a {type(value).__name__} depends on")


def pack(arrays: dict[str, Any], about: dict[str, Any]) -> bytes:
    """Arrays and plain values in one file, with a digest in front."""
    out = io.BytesIO()
    np.savez_compressed(out, about=np.array(json.dumps(about, sort_keys=True)), **arrays)
    data = out.getvalue()
    return hashlib.blake2b(data, digest_size=32).digest() + data


def unpack(data: bytes) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    """What ``pack`` put together.

    Raises
    ------
    InputError : cut off or changed
    """
    mark, body = data[:32], data[32:]
    if hashlib.blake2b(body, digest_size=32).digest() != mark:
        raise InputError("damaged: its digest does not match")
    with np.load(io.BytesIO(body), allow_pickle=False) as held:
        arrays = {name: held[name] for name in held.files}
    return arrays, json.loads(str(arrays.pop("about")))


def totals_arrays(totals: Totals) -> dict[str, Any]:
    """A run's totals as named arrays."""
    return {f"t_{f.name}": np.asarray(getattr(totals, f.name)) for f in fields(totals)}


def totals_from(arrays: dict[str, NDArray[Any]]) -> Totals:
    """The totals that ``totals_arrays`` took apart."""
    held: dict[str, Any] = {f.name: arrays[f"t_{f.name}"] for f in fields(Totals)}
    held["nights"] = int(held["nights"])
    return Totals(**held)


@dataclass(frozen=True)
class Store:
    """Finished blocks of one plan in the output folder; made at the first block kept."""

    folder: Path

    @classmethod
    def of(cls, out: Path, mark: str) -> "Store":
        """The store of a plan (by its hash) in an output folder."""
        return cls(out / f"{PREFIX}{mark}")

    def _file(self, task: Task) -> Path:
        return self.folder / f"block-{task.block:05d}-pair-{task.pair:04d}-{task.nights}.npz"

    def get(self, task: Task) -> Done | None:
        """A finished block; None if there is none or it is damaged."""
        try:
            arrays, _ = unpack(self._file(task).read_bytes())
            return Done(totals_from(arrays), arrays["sums"])
        except (OSError, ValueError, KeyError):
            return None

    def put(self, task: Task, done: Done) -> None:
        """Keep a finished block; where it can't be kept the run goes on without."""
        arrays = {**totals_arrays(done.totals), "sums": done.sums}
        path = self._file(task)
        with suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            write_whole(path, pack(arrays, {}))


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that is there whole or not at all (OSError if it can't be)."""
    part = path.with_name(f".part-{secrets.token_hex(6)}")
    try:
        with part.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def kept_in(store: Path) -> int:
    """How many finished blocks lie in a store's folder."""
    with suppress(OSError):
        return sum(1 for _ in store.glob("block-*.npz"))
    return 0
