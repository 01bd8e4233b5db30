"""Second balls: for each leave and each place of the ball, the law of the pins that fall.

Laws are averages over league speeds, angles and masses; rigid rows where a leave is common, the
disc model for the rest.  Does not know how bowlers aim at a leave.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import LibraryError
from leaguesim.pins import planar
from leaguesim.pins._kernel import DECK_EDGE_BOARD
from leaguesim.pins.spec import FULL_RACK

GRID_STEP_BOARD: Final = 0.25
GRID_BOARD: Final[NDArray[np.float64]] = np.arange(-80, 81, dtype=np.float64) * GRID_STEP_BOARD
PLANAR_SHOTS: Final = 64


@dataclass(frozen=True)
class SecondBall:
    """Laws of second balls.

    ``leave_masks`` (n,) standing masks; ``index`` (1024,) row of a leave or -1;
    ``offsets_board`` (m,) ball centre right of the head pin at 60 ft;
    ``law`` (n, m, 11) probability that j more pins fall; ``rigid`` (n,) from rigid rows or not;
    ``starts`` (n m + 1,), ``masks``, ``weights``: the same laws by mask, sorted by pins, then mask.
    """

    leave_masks: NDArray[np.int64]
    index: NDArray[np.int64]
    offsets_board: NDArray[np.float64]
    law: NDArray[np.float32]
    rigid: NDArray[np.bool_]
    starts: NDArray[np.int64]
    masks: NDArray[np.int64]
    weights: NDArray[np.float64]

    @classmethod
    def from_rows(cls, rows: dict[str, NDArray[Any]]) -> "SecondBall":
        """Unpack a library file's second-ball arrays."""
        leaves = rows["second_leaves"].astype(np.int64)
        counts = rows["second_counts"].astype(np.int64)
        masks = rows["second_masks"].astype(np.int64)
        weights = rows["second_weights"].astype(np.float64)
        n, m = len(leaves), len(GRID_BOARD)
        if counts.shape != (n * m,) or counts.sum() != len(masks) or len(masks) != len(weights):
            raise LibraryError("the second-ball tables do not fit together")
        starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        cell = np.repeat(np.arange(n * m), counts)
        weights /= np.bincount(cell, weights, minlength=n * m)[cell]
        law = np.zeros((n * m, 11), np.float32)
        np.add.at(law, (cell, np.bitwise_count(masks).astype(np.int64)), weights)
        index = np.full(FULL_RACK + 1, -1, np.int64)
        index[leaves] = np.arange(n)
        rigid = rows["second_rigid"].astype(bool)
        return cls(leaves, index, GRID_BOARD, law.reshape(n, m, 11), rigid, starts, masks, weights)


def pack(
    laws: dict[int, list[tuple[NDArray[np.int64], NDArray[np.int64]]]], rigid: set[int]
) -> dict[str, NDArray[Any]]:
    """File arrays of laws given as, for a leave and each grid offset, (masks, whole weights)."""
    leaves = sorted(laws)
    cells = [cell for leave in leaves for cell in laws[leave]]
    return {
        "second_leaves": np.array(leaves, np.uint16),
        "second_rigid": np.array([leave in rigid for leave in leaves], np.uint8),
        "second_counts": np.array([len(masks) for masks, _ in cells], np.uint8),
        "second_masks": np.concatenate([masks for masks, _ in cells]).astype(np.uint16),
        "second_weights": np.concatenate([weights for _, weights in cells]).astype(np.uint8),
    }


def sorted_counts(
    masks: NDArray[np.int64], weights: NDArray[np.float64] | None = None, most: int = 200
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Different masks sorted by pins, then mask, with whole weights that sum to about ``most``."""
    values, inverse = np.unique(masks, return_inverse=True)
    total = np.bincount(inverse, weights).astype(float)
    whole = np.rint(total / total.sum() * most).astype(np.int64)
    keep = whole > 0
    values, whole = values[keep], whole[keep]
    order = np.lexsort((values, np.bitwise_count(values)))
    return values[order], whole[order]


def league_mix(n: int, rng: np.random.Generator) -> tuple[NDArray[np.float64], ...]:
    """Angles, speeds and masses of spare balls: assumed league play, no source. [deg, m/s, kg]"""
    return (
        rng.normal(2.0, 1.8, n).clip(-2.0, 8.0),
        rng.normal(7.2, 0.7, n).clip(4.0, 9.5),
        rng.normal(6.5, 0.5, n).clip(4.5, 7.26),
    )


def planar_laws(
    leave: int, rng: np.random.Generator, shots: int = PLANAR_SHOTS
) -> list[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """The disc model's law of a leave at each grid offset."""
    offsets = np.repeat(GRID_BOARD, shots)
    offsets = offsets + rng.uniform(-0.5, 0.5, len(offsets)) * GRID_STEP_BOARD
    angle, speed, mass = league_mix(len(offsets), rng)
    down = planar.shots(offsets, angle, speed, mass, rng, rack=leave).reshape(-1, shots)
    return [sorted_counts(cell) for cell in down]


def second_draws(
    second: SecondBall,
    rack: int,
    offset_board: NDArray[np.float64],
    u: NDArray[np.float64],
    out: NDArray[np.int64],
) -> None:
    """Masks at a rack other than the full one, one uniform a shot; beyond the deck's edge 0.

    The law is that of the nearest grid offset; a rack that no first ball leaves behind gets its
    law from the disc model on the spot, from a fixed seed.
    """
    row = int(second.index[rack])
    if row >= 0:
        starts = second.starts[row * len(GRID_BOARD) : (row + 1) * len(GRID_BOARD) + 1]
        masks, weights = second.masks, second.weights
    else:
        cells = planar_laws(rack, np.random.default_rng(rack))
        starts = np.concatenate([[0], np.cumsum([len(c[0]) for c in cells])])
        masks = np.concatenate([c[0] for c in cells])
        weights = np.concatenate([c[1] / c[1].sum() for c in cells])
    inside = np.abs(offset_board) <= DECK_EDGE_BOARD
    cell = np.rint((offset_board - GRID_BOARD[0]) / GRID_STEP_BOARD)
    cell = cell.clip(0, len(GRID_BOARD) - 1).astype(np.int64)
    for k in np.unique(cell[inside]):
        at = np.flatnonzero(inside & (cell == k))
        low, high = starts[k], starts[k + 1]
        pick = np.searchsorted(np.cumsum(weights[low:high])[:-1], u[at], side="right")
        out[at] = masks[low:high][pick]


def mean_pins(cells: list[tuple[NDArray[np.int64], NDArray[np.int64]]]) -> NDArray[np.float64]:
    """Expected pins down at each grid offset of a leave's laws."""
    return np.array([np.bitwise_count(m) @ w / w.sum() for m, w in cells], dtype=float)


def planar_gap(
    rigid: dict[int, list[tuple[NDArray[np.int64], NDArray[np.int64]]]], rng: np.random.Generator
) -> dict[str, float]:
    """How far the disc model is from the rigid rows: share of a leave's pins, where either hits.

    ``rms`` and ``bias`` (discs minus rigid) of the expected pins over offsets and leaves.
    """
    gaps = []
    for leave, cells in rigid.items():
        ours, theirs = mean_pins(planar_laws(leave, rng)), mean_pins(cells)
        hit = (ours > 0) | (theirs > 0)
        gaps.append((ours - theirs)[hit] / leave.bit_count())
    if not gaps:
        return {}
    whole = np.concatenate(gaps)
    return {"rms": float(np.sqrt(np.mean(whole**2))), "bias": float(whole.mean())}
