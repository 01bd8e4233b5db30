"""A bowler's releases in SI: the one they mean, and how it varies from ball to ball.

Does not know the lane.  Errors are independent normal laws in angle, lay-down board, speed, revs and
rotation, scaled by the session's form; spares are thrown flatter with a spare ball.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import inertia_factor, rim_speed
from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Bowler
from leaguesim.units import DEG_RAD, LB_KG, MPH_MPS

Array = NDArray[np.float64]

# With a plastic spare ball people go straight: part of the revs, little rotation (assumed).
SPARE_REV_SHARE = 0.8
SPARE_ROTATION_SHARE = 0.25
WHITENED = 32  # from so many even errors on they are made uncorrelated


class Intent(NamedTuple):
    """What a bowler means to do with one ball, and the standard deviations around it (SI, radians)."""

    speed: float
    rim: float
    rotation: float
    inertia: float
    mass: float
    angle_sd: float
    board_sd: float
    speed_sd: float
    rim_sd: float
    rotation_sd: float


def strike_intent(bowler: Bowler, ball: Ball) -> Intent:
    """The strike release with one ball of the bag."""
    rim = rim_speed(bowler.rev_rate_rpm, bowler.axis_tilt_deg, ball)
    return Intent(
        speed=bowler.speed_mph * MPH_MPS,
        rim=rim,
        rotation=bowler.axis_rotation_deg * DEG_RAD,
        inertia=inertia_factor(ball),
        mass=ball.mass_lb * LB_KG,
        angle_sd=bowler.accuracy_deg * DEG_RAD,
        board_sd=bowler.laydown_sd_board,
        speed_sd=bowler.speed_sd_mph * MPH_MPS,
        rim_sd=rim_speed(bowler.rev_sd_rpm, bowler.axis_tilt_deg, ball),
        rotation_sd=bowler.rotation_sd_deg * DEG_RAD,
    )


def spare_intent(bowler: Bowler) -> tuple[Intent, Ball]:
    """The spare release and its ball: the spare ball if the bowler owns one, else the first of the bag."""
    ball = bowler.spare_ball or bowler.bag[0]
    intent = strike_intent(bowler, ball)
    scale = bowler.spare_accuracy
    intent = intent._replace(angle_sd=intent.angle_sd * scale, board_sd=intent.board_sd * scale)
    if bowler.spare_ball is not None:
        intent = intent._replace(
            rim=intent.rim * SPARE_REV_SHARE,
            rim_sd=intent.rim_sd * SPARE_REV_SHARE,
            rotation=intent.rotation * SPARE_ROTATION_SHARE,
        )
    return intent, ball


def delivery(bowler: Bowler, ball: int) -> tuple[Intent, Ball]:
    """How a bowler throws ``ball`` of the bag at a full rack; one beyond the bag: the spare ball, straight."""
    if ball == len(bowler.bag):
        return spare_intent(bowler)
    return strike_intent(bowler, bowler.bag[ball]), bowler.bag[ball]


def even_errors(n: int, first: int = 0) -> Array:
    """(n, 5) standard normal errors spread evenly: a Kronecker sequence through the inverse normal.

    The generalised golden ratio in five dimensions (Roberts 2018, from memory), no random numbers;
    ``first`` leaves out so many points.
    Centred, and from 32 on of unit size and uncorrelated: 128 raw ones are off centre by 0.05 of a
    standard deviation (0.2 board at the pins) and correlated up to 0.14.
    """
    from scipy.special import ndtri

    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / 6.0)
    steps = (1.0 / root) ** np.arange(1, 6)
    u = (0.5 + np.outer(np.arange(first + 1, first + n + 1), steps)) % 1.0
    z: Array = np.asarray(ndtri(np.clip(u, 1e-12, 1.0 - 1e-12)))
    z -= z.mean(axis=0)
    if n < WHITENED:
        return z
    white: Array = np.linalg.solve(np.linalg.cholesky(z.T @ z / n), z.T)
    return np.ascontiguousarray(white.T)
