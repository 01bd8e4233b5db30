"""Ball and pins as smooth discs on a plane: the fast model behind leaves that have no rigid rows.

Discs move straight between impacts and exchange normal impulses with a restitution; a pin that gets
more than a toppling speed is down.  Does not model height, friction, spin, rolling pins lying down
or messengers that come back along the deck; how far it is from the rigid model is reported beside
the second-ball tables.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.pins import spec
from leaguesim.units import BALL_DIAMETER_IN, BOARD_M, DEG_RAD, IN_M

BALL_RADIUS_M = 0.5 * BALL_DIAMETER_IN * IN_M
# The ball's equator is 4.27 in above the deck; there the pin's radius is 2.37 in.
PIN_RADIUS_M = float(spec.radius_at(np.array([BALL_DIAMETER_IN / 2.0]))[0]) * IN_M


@dataclass(frozen=True)
class PlanarSettings:
    """Parameters of the disc model.

    ``topple_mps``: slowest speed that tips a pin (energy over the base's rim, mechanics);
    ``spotting_m``: sd of a pin's place about its spot; ``travel_m``: how far a struck pin gets
    before it lies too low to sweep standing pins upright.
    """

    restitution_ball: float = 0.70
    restitution_pin: float = 0.65
    topple_mps: float = 0.30
    spotting_m: float = 0.0015
    kickback: float = 0.35
    travel_m: float = 1.2


def first_impact_deflection_deg(
    contact_offset_boards: float,
    entry_deg: float,
    *,
    ball_kg: float,
    pin_kg: float = spec.PIN_MASS_KG,
    restitution: float = 0.75,
    contact_distance_m: float = (0.5 * BALL_DIAMETER_IN * IN_M) + spec.BELLY_RADIUS_M,
) -> float:
    """Turn of the ball's path at its first impact with the head pin, smooth discs. [deg]

    The line of centres at contact stands at asin(offset/distance) to the lane; the ball's speed
    along it falls by (1 + e) m/(M + m), across it is kept (planar two-body impulse).
    ``contact_offset_boards``: ball centre right of the head pin at the moment of contact.
    """
    reach = contact_offset_boards * BOARD_M / contact_distance_m
    if not -1.0 < reach < 1.0:
        raise InputError(f"contact_offset_boards: {contact_offset_boards} misses the head pin")
    angle = np.arcsin(reach) - entry_deg * DEG_RAD
    loss = (1.0 + restitution) * pin_kg / (ball_kg + pin_kg)
    return float(np.degrees(np.arctan2(np.sin(angle), (1.0 - loss) * np.cos(angle)) - angle))


def shots(
    offset_boards: NDArray[np.float64],
    entry_deg: NDArray[np.float64],
    speed_mps: NDArray[np.float64],
    ball_kg: NDArray[np.float64],
    rng: np.random.Generator,
    *,
    rack: int = spec.FULL_RACK,
    settings: PlanarSettings | None = None,
) -> NDArray[np.int64]:
    """Down masks of independent shots at a rack, each with its own spotting noise.

    Parameters
    ----------
    offset_boards, entry_deg, speed_mps, ball_kg : (n,) ball at 60 ft. [boards right of head pin,
        deg toward the left, m/s, kg]
    """
    from leaguesim.pins._kernel_planar import run_shots

    chosen = settings or PlanarSettings()
    rack_checked(rack)
    n = len(offset_boards)
    places = spec.SPOTS_M[None] + chosen.spotting_m * rng.standard_normal((n, 10, 2))
    b, a, v, m = (
        np.ascontiguousarray(x, dtype=np.float64)
        for x in (offset_boards, entry_deg, speed_mps, ball_kg)
    )
    out = np.empty(n, np.int64)
    numbers = np.array(
        [
            chosen.restitution_ball, chosen.restitution_pin, chosen.topple_mps, chosen.kickback,
            chosen.travel_m, BALL_RADIUS_M, PIN_RADIUS_M, spec.PIN_MASS_KG,
        ]
    )  # fmt: skip
    run_shots(b, a, v, m, places, rack, numbers, out)
    return out


def rack_checked(rack: int) -> int:
    """The mask of standing pins if it is one (1..1023), else InputError."""
    if not 1 <= int(rack) <= spec.FULL_RACK or int(rack) != rack:
        raise InputError(f"rack: a mask of standing pins from 1 to 1023 is needed, got {rack}")
    return int(rack)
