"""A block of nights on one pair of lanes: what goes into the kernel, what comes out.

Does not make anybody ready: ``setting`` does.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import LibraryError
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel
from leaguesim.play.crew import PairCrew

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Pins:
    """The carry library as the kernels take it."""

    arrays: Any
    second: Any
    leave_index: NDArray[np.int64]


def pins_of(library: CarryLibrary) -> Pins:
    """Kernel arrays of a library.

    Raises
    ------
    LibraryError : a first ball can leave what no second ball knows
    """
    second = library.second_ball()
    arrays = library.arrays
    index = np.asarray(second.index, np.int64)
    left = 1023 - np.unique(np.append(np.asarray(arrays.mask, np.int64), 0))
    if (index[left[left > 0]] < 0).any():
        raise LibraryError("the carry library has leaves without a second-ball law; rebuild it")
    return Pins(arrays, second, index)


@dataclass(frozen=True)
class Block:
    """What a block of nights on a pair gave; shapes as in ``_kernel.play_nights``."""

    exact: Array
    sampled: NDArray[np.int64]
    counts: NDArray[np.int64]
    misses: Array
    ledger: Array
    lines: Array = field(default_factory=lambda: np.zeros((0, 0, 0, 2)))


def play_block(
    films: Array,
    mix: NDArray[np.int8],
    pulls: Array,
    ready: PairCrew,
    pins: Pins,
    draws: Array,
    games: int,
    practice: int,
    *,
    wears: bool = True,
    ends: Array | None = None,
) -> Block:
    """Play ``draws.shape[0]`` nights on one pair.

    Raises
    ------
    ValueError : luck for another number of bowlers than there are on the pair
    """
    nights, n = draws.shape[:2]
    if n != ready.crew.side.shape[0]:
        raise ValueError(f"luck of {n} bowlers for a pair of {ready.crew.side.shape[0]}")
    block = Block(
        np.zeros((nights, n, games)),
        np.zeros((nights, n, games), np.int64),
        np.zeros((nights, n, _kernel.COUNTS), np.int64),
        np.zeros((nights, n, 2, 6)),
        np.zeros(2),
        np.zeros((nights, n, games + 1, 2)),
    )
    _kernel.play_nights(
        films, mix, pulls, wears, ready.crew, ready.covers, pins.arrays, pins.leave_index,
        draws, games, practice, block.exact, block.sampled, block.counts, block.misses,
        np.empty((0, 2, 1, 1)) if ends is None else ends, block.lines, block.ledger,
    )  # fmt: skip
    return block
