"""One ball's whole course down a lane, for people: notebooks, pictures, checks.

The league plays thousands of balls through ``ball._kernel.throw``; this is the same physics with
every foot kept and finer steps.  Does not move oil.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from leaguesim.ball import _kernel
from leaguesim.ball.values import Ball, Release
from leaguesim.lane.arrays import kernel_film, kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.units import (
    DEG_RAD,
    FT_M,
    G_MPS2,
    IN_M,
    LANE_LENGTH_FT,
    LANE_WIDTH_IN,
    MPH_MPS,
    RPM_RADPS,
)

Array = npt.NDArray[np.float64]
STEPS_PER_FT = 8


def inertia_factor(ball: Ball) -> float:
    """1 + R2/k2 of a ball; 3.5 for a uniform sphere."""
    return 1.0 + (0.5 * ball.diameter_in / ball.rg_in) ** 2


def rim_speed(rev_rate_rpm: float, axis_tilt_deg: float, ball: Ball) -> float:
    """Speed of the rim at the lane [m/s]: spin times radius, less the part about the vertical.

    Axis tilt turns part of the spin about the vertical, which moves nothing at the point of contact:
    a factor cos(tilt).  The slow climb of the axis by friction torque is left out.
    """
    radius = 0.5 * ball.diameter_in * IN_M
    return rev_rate_rpm * RPM_RADPS * radius * math.cos(axis_tilt_deg * DEG_RAD)


def side_pull(tilt_in: float) -> float:
    """Acceleration of a sliding ball to the left by the lane's cross tilt [m/s2]; left edge higher: < 0."""
    return -G_MPS2 * tilt_in / LANE_WIDTH_IN


@dataclass(frozen=True)
class AtPins:
    """The ball where its centre crosses 60 ft (or where its course ended, if ``arrived`` is False)."""

    distance_ft: float
    board: float
    speed_mph: float
    angle_deg: float
    slip_mps: float
    time_s: float
    arrived: bool


@dataclass(frozen=True)
class BallPath:
    """The course of one ball; every array is (n,), from the foul line on.

    ``roll_start_ft`` is inf for a ball that never rolls; ``ended`` is 'pins', 'gutter' or 'stopped'.
    """

    distance_ft: Array
    board: Array
    speed_mph: Array
    angle_deg: Array
    slip_mps: Array
    time_s: Array
    roll_start_ft: float
    ended: str

    @property
    def at_pins(self) -> AtPins:
        """The last point of the course under the same names."""
        return AtPins(
            distance_ft=float(self.distance_ft[-1]),
            board=float(self.board[-1]),
            speed_mph=float(self.speed_mph[-1]),
            angle_deg=float(self.angle_deg[-1]),
            slip_mps=float(self.slip_mps[-1]),
            time_s=float(self.time_s[-1]),
            arrived=self.ended == "pins",
        )


def _tables(lane: Lane, ball: Ball) -> list[Any]:
    if lane.fixed_mu is not None:
        film, mix = np.zeros((1, 41)), np.zeros((1, 41), np.int8)
        none = np.zeros((1, 2, 2), np.float32)
        return [film, mix, none, none[0], *_NO_TABLE]
    film, mix = kernel_film(lane)
    table = kernel_table(lane, ball.roughness_uin, ball.mu_dry)
    return [film, mix, table.drag, table.bare, ball.mu_dry, *table[2:]]


_NO_TABLE = (0.0, 1.0, 1.0, False)


def _steps(lane: Lane, steps_per_ft: int) -> tuple[Array, Array]:
    edges = np.linspace(0.0, LANE_LENGTH_FT, int(LANE_LENGTH_FT) * steps_per_ft + 1)
    if lane.fixed_mu is None:
        return edges * FT_M, np.full(edges.size - 1, np.nan)
    ends, mu = lane.fixed_mu
    edges = np.unique(np.concatenate([edges, ends[ends < LANE_LENGTH_FT]]))
    middle = 0.5 * (edges[1:] + edges[:-1])
    return edges * FT_M, mu[np.clip(np.searchsorted(ends, middle) - 1, 0, mu.size - 1)]


def roll(release: Release, ball: Ball, lane: Lane, *, steps_per_ft: int = STEPS_PER_FT) -> BallPath:
    """Roll one ball down a lane and keep its whole course.

    Friction is held over each step and the step solved exactly, so ``Lane.uniform`` and
    ``Lane.zones`` are exact; those check lanes are as wide as the ball needs.
    Source: Hopkins & Patterson 1977, Am. J. Phys. 45, 263-266.

    Parameters
    ----------
    release : speed, revs, rotation from the direction of travel, tilt, board, angle
    ball : mass, radius of gyration, cover
    lane : a ``Lane``; its friction is looked up in the film, or fixed
    """
    edges, fixed = _steps(lane, steps_per_ft)
    nodes = np.full((edges.size, 5), np.nan)
    rolled = np.full(1, np.inf)
    status = _kernel.trace(
        *_tables(lane, ball),  # type: ignore[call-arg]
        fixed,
        edges,
        side_pull(lane.tilt_in),
        release.speed_mph * MPH_MPS,
        rim_speed(release.rev_rate_rpm, release.axis_tilt_deg, ball),
        release.axis_rotation_deg * DEG_RAD,
        release.angle_deg * DEG_RAD,
        release.board,
        inertia_factor(ball),
        lane.fixed_mu is None,
        nodes,
        rolled,
    )
    kept = ~np.isnan(nodes[:, 0])
    b, vx, vy, slip, time = nodes[kept].T
    return BallPath(
        distance_ft=edges[kept] / FT_M,
        board=b,
        speed_mph=np.hypot(vx, vy) / MPH_MPS,
        angle_deg=np.degrees(np.arctan2(vy, vx)),
        slip_mps=slip,
        time_s=time,
        roll_start_ft=float(rolled[0]) / FT_M,
        ended=("pins", "gutter", "stopped")[status],
    )


__all__ = ["AtPins", "BallPath", "inertia_factor", "rim_speed", "roll", "side_pull"]
