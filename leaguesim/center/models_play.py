"""Ball and style files as pydantic models.

Does not look across files.  GB = United States Bowling Congress, Equipment Specifications and
Certifications Manual.
"""

from typing import Annotated

from pydantic import Field

from leaguesim import units
from leaguesim.center.keys import (
    Angle,
    Board,
    File,
    Note,
    Revs,
    Rotation,
    Share,
    Speed,
    Tilt,
    num,
    text,
)


class BallFile(File):
    """balls/NAME.toml: a ball; limits are GB's."""

    mass_lb: Annotated[float, num(5, units.BALL_MASS_MAX_LB, "lb")] = 15.0
    """Mass [lb]."""
    rg_in: Annotated[float, num(units.RG_MIN_IN, units.RG_MAX_IN, "in")] = 2.50
    """Radius of gyration [in]."""
    roughness_uin: Annotated[float, num(0.5, units.ROUGHNESS_MAX_UIN, "microinch")] = 25.0
    """Roughness Ra of the cover [microinch]."""
    differential_in: Annotated[float, num(0, units.DIFFERENTIAL_MAX_IN, "in")] = 0.0
    """Differential RG [in]: track flare."""
    dry_friction: Annotated[float, num(0.02, units.FRICTION_MAX)] | None = None
    """Friction on a dry lane; absent takes it from the roughness."""
    absorption: Share = 0.5
    """Share of the oil picked up that soaks into the cover."""
    diameter_in: Annotated[
        float, num(units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN, "in")
    ] = units.BALL_DIAMETER_IN
    """Diameter [in]."""


class SpeedSpread(File):
    """How ball speed at release varies between people of a style."""

    mean: Speed
    sd: Annotated[float, num(0, 10, "mph")]
    low: Speed
    high: Speed


class RevSpread(File):
    """How rev rate varies between people of a style."""

    mean: Revs
    sd: Annotated[float, num(0, 300, "rpm")]
    low: Revs
    high: Revs


class RotationSpread(File):
    """How axis rotation varies between people of a style."""

    mean: Rotation
    sd: Annotated[float, num(0, 60, "degrees")]
    low: Rotation
    high: Rotation


class TiltSpread(File):
    """How axis tilt varies between people of a style."""

    mean: Tilt
    sd: Annotated[float, num(0, 30, "degrees")]
    low: Tilt
    high: Tilt


class AccuracySpread(File):
    """How the launch angle's standard deviation varies between people of a style."""

    mean: Angle
    sd: Annotated[float, num(0, 3, "degrees")]
    low: Angle
    high: Angle


class StyleFile(File):
    """styles/NAME.toml: a style of bowling; absent figures of a roster are drawn from it."""

    speed_mph: SpeedSpread
    rev_rate_rpm: RevSpread
    axis_rotation_deg: RotationSpread
    axis_tilt_deg: TiltSpread
    accuracy_deg: AccuracySpread
    speed_rev_correlation: Annotated[float, num(-0.95, 0.95)] = 0.0
    """Correlation of speed and revs between people."""
    laydown_sd_board: Annotated[float, num(0, 5, "boards")] = 0.5
    """Ball-to-ball standard deviation of the lay-down board."""
    speed_sd_mph: Annotated[float, num(0, 5, "mph")] = 0.3
    """Ball-to-ball standard deviation of speed."""
    rev_sd_rpm: Annotated[float, num(0, 100, "rpm")] = 10.0
    """Ball-to-ball standard deviation of revs."""
    rotation_sd_deg: Annotated[float, num(0, 30, "degrees")] = 2.0
    """Ball-to-ball standard deviation of axis rotation."""
    spare_accuracy: Annotated[float, num(0.1, 5)] = 0.9
    """Release error on spares against that on strikes."""
    bag: Annotated[list[str], Field(min_length=1, max_length=12)]
    """Strike balls by name, the usual first one first."""
    spare_ball: Annotated[str, text()] | None = None
    """Ball for spares; absent uses the strike ball."""
    left_handed_share: Share = 0.12
    """Share of left-handers when people are drawn without a roster."""
    laydown_low_board: Board = 8.0
    """Outermost lay-down board a bowler of this style would use, from their own edge."""
    laydown_high_board: Board = 36.0
    """Innermost one."""
    move_gain: Annotated[float, num(0, 2)] = 0.5
    """Share of a seen miss that the bowler corrects by moving."""
    move_after_balls: Annotated[int, num(1, 50, "balls", whole=True)] = 2
    """Balls seen before moving."""
    control_spread: Annotated[float, num(0, 1)] = 0.0
    """How lay-down, speed, rev and rotation errors vary between people: sd of their logarithm."""
    control_correlation: Annotated[float, num(-0.95, 0.95)] = 0.0
    """Correlation of that with the launch angle's error."""
    spare_spread: Annotated[float, num(0, 1)] = 0.0
    """How spare accuracy varies between people: sd of its logarithm."""
    gain_spread: Annotated[float, num(0, 1)] = 0.0
    """How the share corrected by moving varies between people: sd of its logarithm."""
    patience_spread: Annotated[float, num(0, 1)] = 0.0
    """How the balls seen before moving vary between people: sd of their logarithm."""
    bag_least: Annotated[int, num(0, 12, "balls", whole=True)] = 0
    """Fewest strike balls a bowler owns, in the order of the bag; 0: all of them."""
    farthest_move_board: Annotated[float, num(0, 30, "boards")] = 8.0
    """Farthest a bowler moves over a night at the feet, or at the arrows by a turn [boards]."""
    note: Note = ""
    """Anything worth remembering."""
