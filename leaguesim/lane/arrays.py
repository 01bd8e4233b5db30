"""A lane as the kernels take it: SI film with repeated edge columns, and single-precision tables.

Does not compute friction or film; only changes units and layout.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.lane.lane import Lane
from leaguesim.units import BOARDS, UNIT_M


class KernelTable(NamedTuple):
    """One ball cover's friction tables: ``drag`` (mixes, films, slips), ``bare`` (mixes, films)."""

    drag: NDArray[np.float32]
    bare: NDArray[np.float32]
    per_film: float  # nodes a metre of film
    per_slip: float  # nodes a m/s of slip
    effective: bool  # bare is read at the film in the contact


def padded(film_units: NDArray[np.float64]) -> NDArray[np.float64]:
    """(rows, 39) film [units] to (rows, 41) [m], columns 0 and 40 repeating boards 1 and 39."""
    film = np.empty((film_units.shape[0], BOARDS + 2))
    film[:, 1:-1] = film_units * UNIT_M
    film[:, 0], film[:, -1] = film[:, 1], film[:, -2]
    return film


def kernel_film(lane: Lane) -> tuple[NDArray[np.float64], NDArray[np.int8]]:
    """Film (63, 41) [m] and mixture index (63, 41) of a lane."""
    mix = np.pad(lane.mix_index, ((0, 0), (1, 1)), mode="edge")
    return padded(lane.film), np.ascontiguousarray(mix)


def kernel_table(lane: Lane, ball_roughness_uin: float, mu_dry: float) -> KernelTable:
    """Friction tables of a cover on a lane, in the kernels' units."""
    table = lane.friction_table(ball_roughness_uin, mu_dry)
    return KernelTable(
        table.drag.astype(np.float32),
        table.bare.astype(np.float32),
        1.0 / (table.film_step * UNIT_M),
        1.0 / table.slip_step,
        table.bare_effective,
    )
