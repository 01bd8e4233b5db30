"""How well library rows foretell rows held out: the learning curve and the choice of kernel widths.

Does not know which of two equally good widths is prettier; nothing here runs at play time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.pins import _kernel
from leaguesim.pins.carry import ROW_FIELDS, WIDTHS, bucketed, tabled
from leaguesim.pins.spec import FULL_RACK


@dataclass(frozen=True)
class HeldOut:
    """Scores on held-out rows.

    ``strike_brier`` mean squared error of the strike rate against struck or not; ``own_brier`` what
    the forecast expects of itself, mean p (1 - p), equal to it if calibrated; ``pins_rms`` root mean
    square error of the expected pins down. Most of each is chance that no forecast can remove.
    """

    rows: int
    strike_brier: float
    pins_rms: float
    own_brier: float


def held_out(
    rows: dict[str, NDArray[Any]],
    train: NDArray[np.int64],
    test: NDArray[np.int64],
    widths: Sequence[float] = WIDTHS,
) -> HeldOut:
    """Score the kernel law of the ``train`` rows on the ``test`` rows (indices)."""
    names = (*ROW_FIELDS,)
    lib = tabled(bucketed({name: rows[name][train] for name in names}, widths))
    points = np.column_stack([rows[name][test].astype(np.float64) for name in ROW_FIELDS[:4]])
    masks = np.empty(_kernel.MAX_OUTCOMES, np.int64)
    weights = np.empty(_kernel.MAX_OUTCOMES)
    strike, pins = np.zeros(len(test)), np.zeros(len(test))
    for i, (b, a, v, m) in enumerate(points):
        n = _kernel.outcome_law(lib, b, a, v, m, masks, weights)
        strike[i] = weights[n - 1] if masks[n - 1] == FULL_RACK else 0.0
        pins[i] = float(np.bitwise_count(masks[:n]) @ weights[:n])
    down = rows["mask"][test].astype(np.int64)
    return HeldOut(
        len(train),
        float(np.mean((strike - (down == FULL_RACK)) ** 2)),
        float(np.sqrt(np.mean((pins - np.bitwise_count(down)) ** 2))),
        float(np.mean(strike * (1.0 - strike))),
    )


def learning_curve(
    rows: dict[str, NDArray[Any]], sizes: Sequence[int], seed: int = 0, held: float = 0.2
) -> list[HeldOut]:
    """Scores of ever larger random parts of the rows on one held-out fifth."""
    order = np.random.default_rng(seed).permutation(len(rows["mask"]))
    cut = int(len(order) * held)
    test, rest = order[:cut], order[cut:]
    return [held_out(rows, rest[: min(size, len(rest))], test) for size in sizes]


def slip_effect(
    rows: dict[str, NDArray[Any]], widths: Sequence[float] = WIDTHS
) -> tuple[float, float]:
    """Strikes gained by 1 m/s of sideways rim slip on arrival, near the pocket, and its error.

    Slope of (struck - strike rate of the row's place) over the recorded slip, by least squares.
    """
    offset = rows["offset_board"].astype(float)
    near = (np.abs(offset - 2.5) < 1.5) & (rows["entry_deg"] > 1) & (rows["slip_mps"] > 0)
    lib = tabled(bucketed(rows, widths))
    b, a, v, m = (np.ascontiguousarray(rows[k][near], dtype=np.float64) for k in ROW_FIELDS[:4])
    rate = np.empty(len(b))
    _kernel.strike_many(lib, b, a, v, m, rate)
    rest = (rows["mask"][near] == FULL_RACK) - rate
    slip = rows["slip_mps"][near].astype(float)
    slip -= slip.mean()
    spread = float((slip**2).sum())
    return float((slip * rest).sum()) / spread, float(rest.std()) / spread**0.5
