"""The regulation pin as a body of revolution, its mass properties, and the ten spots of the deck.

Does not move anything: shapes, masses and places only.

Pins are numbered 1-10; bit ``n - 1`` of a mask stands for pin ``n``.  Deck coordinates: ``x`` down
the lane from the head pin's spot, ``y`` to the left, ``z`` up. [m]
GB = the US governing body's Equipment Specifications and Certifications Manual (United States
Bowling Congress).
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.units import IN_M, LB_KG, PIN_ROW_M, PIN_SPACING_M

FULL_RACK: Final = 1023
PIN_HEIGHT_IN: Final = 15.0  # GB
PIN_MASS_LB: Final = 3.5  # middle of 3 lb 6 oz - 3 lb 10 oz (GB)
PIN_MASS_LB_RANGE: Final = (3.375, 3.625)  # GB
PIN_CG_IN_RANGE: Final = (5.625, 5.9375)  # centre of gravity above the base (GB)
PIN_MASS_KG: Final = PIN_MASS_LB * LB_KG

# Height above the base and diameter [in]; profile of the governing body's manual, from memory.
PROFILE_IN: Final = (
    (0.0, 2.031), (0.75, 2.828), (2.25, 3.906), (3.375, 4.510), (4.5, 4.766), (5.875, 4.563),
    (7.25, 3.703), (8.625, 2.472), (9.375, 1.965), (10.0, 1.797), (10.875, 1.870), (11.75, 2.094),
    (12.625, 2.406), (13.5, 2.547), (15.0, 0.0),
)  # fmt: skip

BASE_RADIUS_M: Final = 0.5 * 2.031 * IN_M
BELLY_RADIUS_M: Final = 0.5 * 4.766 * IN_M

# Spots [m], pins 1..10: 12 in apart, rows 10.392 in (GB).
_ROWS: Final = (0, 1, 1, 2, 2, 2, 3, 3, 3, 3)
_SIDES: Final = (0.0, 0.5, -0.5, 1.0, 0.0, -1.0, 1.5, 0.5, -0.5, -1.5)
SPOTS_M: Final = np.array(
    [[row * PIN_ROW_M, side * PIN_SPACING_M] for row, side in zip(_ROWS, _SIDES, strict=True)]
)

# Pins 1..10 seen in a mirror: 2-3, 4-6, 7-10 and 8-9 change places.
MIRRORED: Final = (0, 2, 1, 5, 4, 3, 9, 8, 7, 6)


@dataclass(frozen=True)
class MassProperties:
    """Of a uniform solid: centre of gravity above the base and radii of gyration about it. [in]"""

    cg_in: float
    transverse_gyration_in: float
    axial_gyration_in: float


def radius_at(height_in: NDArray[np.float64]) -> NDArray[np.float64]:
    """Radius of the pin at a height above its base, a smooth curve through the profile. [in]

    A shape-preserving cubic through the stations, then the crown: a half sphere of the head's
    radius that ends at the full height.
    """
    from scipy.interpolate import PchipInterpolator

    table = np.array(PROFILE_IN[:-1])
    height = np.asarray(height_in, dtype=float)
    curve = PchipInterpolator(table[:, 0], 0.5 * table[:, 1])
    crown_radius = 0.5 * table[-1, 1]
    crown_base = PIN_HEIGHT_IN - crown_radius
    rise = np.clip((height - crown_base) / crown_radius, 0.0, 1.0)
    crown = crown_radius * np.sqrt(1.0 - rise**2)
    below = curve(np.clip(height, 0.0, table[-1, 0]))
    return np.asarray(np.where(height > crown_base, crown, below))


def mass_properties(steps: int = 6000) -> MassProperties:
    """Mass properties of a uniform solid of the profile's shape, by slices.

    Slices of radius r: dm = rho pi r^2 dz, axial r^2/2, transverse r^2/4 + (z - cg)^2 (textbook).
    """
    edges = np.linspace(0.0, PIN_HEIGHT_IN, steps + 1)
    height = 0.5 * (edges[1:] + edges[:-1])
    radius = radius_at(height)
    weight = radius**2
    total = weight.sum()
    cg = float((weight * height).sum() / total)
    axial = float((weight * radius**2 / 2.0).sum() / total)
    across = float((weight * (radius**2 / 4.0 + (height - cg) ** 2)).sum() / total)
    return MassProperties(cg, across**0.5, axial**0.5)


@lru_cache(maxsize=1)
def mass_properties_cached() -> MassProperties:
    """``mass_properties()``, computed once."""
    return mass_properties()


def topple_angle_deg(cg_in: float) -> float:
    """Tilt at which a pin balances on the rim of its base: atan(base radius / cg). [deg]"""
    return float(np.degrees(np.arctan2(0.5 * PROFILE_IN[0][1], cg_in)))


def mirror_mask(mask: int) -> int:
    """The mask seen in a mirror: pin 2 becomes 3, 4 becomes 6, 7 becomes 10, 8 becomes 9.

    >>> mirror_mask(0b1000000000)
    64
    """
    if not 0 <= int(mask) <= FULL_RACK:
        raise InputError(f"mask: 0 to {FULL_RACK} is needed, got {mask}")
    return sum(1 << MIRRORED[i] for i in range(10) if int(mask) >> i & 1)


def pins_in(mask: int) -> tuple[int, ...]:
    """The pins' numbers in a mask, ascending.

    >>> pins_in(0b1000000010)
    (2, 10)
    """
    return tuple(i + 1 for i in range(10) if int(mask) >> i & 1)


def mask_of(*pins: int) -> int:
    """The mask of some pins' numbers.

    >>> mask_of(10)
    512
    """
    if any(not 1 <= pin <= 10 for pin in pins):
        raise InputError(f"pins: numbers from 1 to 10 are needed, got {pins}")
    return sum(1 << (pin - 1) for pin in set(pins))
