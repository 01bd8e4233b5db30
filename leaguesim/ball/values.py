"""A bowling ball and a release, in the units of the trade, and what is legal.

``Ball`` and ``Release`` check themselves, because notebooks make them by hand.
"""

import math
from dataclasses import dataclass

from leaguesim.errors import InputError
from leaguesim.units import (
    BALL_DIAMETER_IN,
    BALL_DIAMETER_MAX_IN,
    BALL_DIAMETER_MIN_IN,
    BALL_MASS_MAX_LB,
    BOARDS,
    DIFFERENTIAL_MAX_IN,
    FRICTION_MAX,
    RG_MAX_IN,
    RG_MIN_IN,
    ROUGHNESS_MAX_UIN,
)

PLASTIC_DRY_FRICTION = 0.12
SANDED_DRY_FRICTION = 0.26


def dry_friction_from_roughness(roughness_uin: float) -> float:
    """Friction on a dry lane, assumed linear in cover roughness (0.12 at 5, 0.26 at 50 microinch)."""
    share = min(max((roughness_uin - 5.0) / 45.0, 0.0), 1.0)
    return PLASTIC_DRY_FRICTION + (SANDED_DRY_FRICTION - PLASTIC_DRY_FRICTION) * share


def _check(owner: str, name: str, value: float, low: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(f"{owner}: {name} must be from {low:g} to {high:g} {unit}, got {value!r}")


@dataclass(frozen=True)
class Ball:
    """A ball: mass [lb], radius of gyration and differential [in], cover roughness Ra [microinch].

    ``dry_friction`` is mu_d on this center's bare lane; None takes it from the roughness.
    ``absorption`` is the share of picked-up oil that soaks into the cover.  The flare ``differential_in``
    (0: none) decides how much of the track meets the lane clean.
    """

    mass_lb: float = 15.0
    rg_in: float = 2.50
    roughness_uin: float = 25.0
    differential_in: float = 0.0
    dry_friction: float | None = None
    absorption: float = 0.5
    diameter_in: float = BALL_DIAMETER_IN
    name: str = "ball"

    def __post_init__(self) -> None:
        _check("Ball", "mass_lb", self.mass_lb, 5.0, BALL_MASS_MAX_LB, "lb")
        _check("Ball", "rg_in", self.rg_in, RG_MIN_IN, RG_MAX_IN, "in")
        _check("Ball", "roughness_uin", self.roughness_uin, 0.5, ROUGHNESS_MAX_UIN, "microinch")
        _check("Ball", "differential_in", self.differential_in, 0.0, DIFFERENTIAL_MAX_IN, "in")
        _check("Ball", "absorption", self.absorption, 0.0, 1.0, "(share)")
        _check(
            "Ball",
            "diameter_in",
            self.diameter_in,
            BALL_DIAMETER_MIN_IN,
            BALL_DIAMETER_MAX_IN,
            "in",
        )
        if self.dry_friction is not None:
            _check("Ball", "dry_friction", self.dry_friction, 0.02, FRICTION_MAX, "")

    @property
    def mu_dry(self) -> float:
        """Friction on a dry lane, given or taken from the roughness."""
        if self.dry_friction is not None:
            return self.dry_friction
        return dry_friction_from_roughness(self.roughness_uin)


@dataclass(frozen=True, kw_only=True)
class Release:
    """A release at the foul line: the ball's centre on ``board``, ``angle_deg`` positive to the left.

    ``axis_rotation_deg`` is measured from the ball's own direction of travel; positive hooks left.
    """

    speed_mph: float
    rev_rate_rpm: float
    axis_rotation_deg: float
    axis_tilt_deg: float = 0.0
    board: float = 20.0
    angle_deg: float = 0.0

    def __post_init__(self) -> None:
        _check("Release", "speed_mph", self.speed_mph, 3.0, 40.0, "mph")
        _check("Release", "rev_rate_rpm", self.rev_rate_rpm, 0.0, 900.0, "rpm")
        _check("Release", "axis_rotation_deg", self.axis_rotation_deg, -180.0, 180.0, "degrees")
        _check("Release", "axis_tilt_deg", self.axis_tilt_deg, -90.0, 90.0, "degrees")
        _check("Release", "board", self.board, 0.5, BOARDS + 0.5, "(board)")
        _check("Release", "angle_deg", self.angle_deg, -20.0, 20.0, "degrees")
