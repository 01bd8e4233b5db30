"""The carry library as maps over offset and angle: strikes, leaves, corner pins, pins off their spot.

Sums over recorded rows only; does not simulate, draw, or know whose balls arrive where.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.pins.carry import DENSE, CarryLibrary
from leaguesim.pins.spec import FULL_RACK, mask_of
from leaguesim.units import LB_KG

LEAGUE_MPS: Final = 7.5
LEAGUE_KG: Final = 15.0 * LB_KG
OFF_SPOT_M: Final = 0.05  # a standing pin moved further is off its spot; our own line
# Half-widths of the means where rows are dense, and elsewhere. [boards, deg, m/s, kg]
NARROW: Final = (0.34, 1.5, 1.65, 1.7)
BROAD: Final = (0.56, 2.5, 3.0, 2.3)
LEAST_ROWS: Final = 25  # neighbours a cell needs before a leave is named


@dataclass(frozen=True)
class CarryMap:
    """Kernel means at (n,) places, in order of ``offset_board`` and then ``entry_deg``.

    ``strike``, ``ten``, ``seven`` (that pin alone stands), ``off_spot`` (a pin stands more than
    ``OFF_SPOT_M`` from where it stood) are shares of all shots; ``leave`` the commonest standing
    mask after a ball that is no strike and ``leave_share`` its share of those balls (-1, 0 if
    too few rows); ``rows`` how many had weight.
    """

    offset_board: NDArray[np.float64]
    entry_deg: NDArray[np.float64]
    strike: NDArray[np.float64]
    ten: NDArray[np.float64]
    seven: NDArray[np.float64]
    off_spot: NDArray[np.float64]
    leave: NDArray[np.int64]
    leave_share: NDArray[np.float64]
    rows: NDArray[np.int64]


def carry_map(
    library: CarryLibrary,
    offsets: NDArray[np.float64],
    angles: NDArray[np.float64],
    *,
    speed_mps: float = LEAGUE_MPS,
    ball_kg: float = LEAGUE_KG,
) -> CarryMap:
    """Maps at every pair of an offset [boards] and an angle [deg], right-hander's deck."""
    standing = FULL_RACK - library.rows["mask"].astype(np.int64)
    step = float(library.settings["moved_step_m"])
    moved = (library.rows["moved_2mm"].max(1) * step > OFF_SPOT_M).astype(float)
    places = [(float(x), float(y)) for x in offsets for y in angles]
    out = np.zeros((len(places), 5))
    leave, rows = np.full(len(places), -1, np.int64), np.zeros(len(places), np.int64)
    for i, (x, y) in enumerate(places):
        weight = neighbours(library, x, y, speed_mps, ball_kg)
        near = np.flatnonzero(weight > 0.0)
        rows[i] = len(near)
        if not len(near):
            continue
        w = weight[near] / weight[near].sum()
        left = standing[near]
        shares = np.bincount(left, w, minlength=FULL_RACK + 1)
        strike = shares[0]
        shares[0] = 0.0
        out[i, :4] = strike, shares[mask_of(10)], shares[mask_of(7)], w @ moved[near]
        if len(near) >= LEAST_ROWS and strike < 1.0:
            leave[i] = int(shares.argmax())
            out[i, 4] = shares.max() / (1.0 - strike)
    grid = np.array(places)
    return CarryMap(
        grid[:, 0], grid[:, 1], out[:, 0], out[:, 1], out[:, 2], out[:, 3], leave, out[:, 4], rows
    )


def neighbours(
    library: CarryLibrary, offset: float, entry: float, speed: float, mass: float
) -> NDArray[np.float64]:
    """Weight of every row for one place: a product of parabolas, 0 beyond the half-widths."""
    low, high = DENSE[1:5:2], DENSE[2:5:2]
    dense = abs(offset) <= DENSE[0] and low[0] <= speed <= high[0] and low[1] <= mass <= high[1]
    names = ("offset_board", "entry_deg", "speed_mps", "ball_kg")
    at = zip(names, (offset, entry, speed, mass), NARROW if dense else BROAD, strict=True)
    weight = np.ones(len(library.rows["mask"]))
    for name, value, width in at:
        weight *= _hump((library.rows[name] - value) / width)
    return weight


def _hump(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.maximum(0.0, 1.0 - x * x)
