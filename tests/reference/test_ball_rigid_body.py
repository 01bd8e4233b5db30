"""The path against a sphere's full equations of motion under the exact friction law, by scipy.

State: position, velocity and the whole angular velocity vector; the force at the point of contact is
opposite to its slip, the torque turns the ball about all three axes.  Nothing is taken from the
path's own closed forms or its friction tables.
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from leaguesim.ball import Ball, Release, roll
from leaguesim.ball.calibrate import REFERENCE_FILM, REFERENCE_OIL, REFERENCE_SURFACE
from leaguesim.lane.friction import friction
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import CONTACT_CONSTANTS, FrictionConstants
from leaguesim.units import BOARD_M, DEG_RAD, FT_M, G_MPS2, IN_M, MPH_MPS, RPM_RADPS, UNIT_M

ROLLS = 2e-3  # slip at which the reference ball is taken to roll [m/s]

SHOTS = [
    Release(speed_mph=18, rev_rate_rpm=300, axis_rotation_deg=45, board=22, angle_deg=-2.0),
    Release(speed_mph=16, rev_rate_rpm=220, axis_rotation_deg=30, board=16, angle_deg=-1.2),
    Release(
        speed_mph=19, rev_rate_rpm=450, axis_rotation_deg=60, axis_tilt_deg=15, board=28,
        angle_deg=-3.2,
    ),
    Release(
        speed_mph=14, rev_rate_rpm=150, axis_rotation_deg=20, axis_tilt_deg=35, board=14,
        angle_deg=-0.5,
    ),
    Release(speed_mph=17, rev_rate_rpm=100, axis_rotation_deg=-20, board=18, angle_deg=0.8),
]  # fmt: skip


def film_under(lane, row, board):
    """Film linear between board centres, flat beyond the outer ones. [m]"""
    return float(np.interp(board, np.arange(1, 40), lane.film[row])) * UNIT_M


def rigid_body(release, ball, lane):
    """Board, velocity along and across, time at 60 ft, and where rolling starts [ft]."""
    radius = ball.diameter_in / 2 * IN_M
    k2 = (ball.rg_in * IN_M) ** 2
    a = release.angle_deg * DEG_RAD
    spin = release.rev_rate_rpm * RPM_RADPS
    tilt = release.axis_tilt_deg * DEG_RAD
    # The rim moves along (cos, sin) of its direction where it meets the lane: w x (0, 0, -R) = -p.
    to = release.axis_rotation_deg * DEG_RAD + a
    w = spin * np.array(
        [-math.sin(to) * math.cos(tilt), math.cos(to) * math.cos(tilt), math.sin(tilt)]
    )
    v = release.speed_mph * MPH_MPS * np.array([math.cos(a), math.sin(a)])
    state = np.array([(release.board - 20) * BOARD_M, *v, *w, 0.0])
    arm = np.array([0.0, 0.0, -radius])

    def slip_of(s):
        return s[1:3] + np.cross(s[3:6], arm)[:2]

    def per_metre(x, s, row):
        vx = s[1]
        slip = slip_of(s)
        size = float(np.hypot(*slip))
        speed = float(np.hypot(s[1], s[2]))
        rim = float(-np.cross(s[3:6], arm)[:2] @ s[1:3]) / speed
        mu = float(
            friction(
                film_under(lane, row, 20 + s[0] / BOARD_M),
                size,
                speed_mps=speed,
                rim_mps=rim,
                mixture=lane.mixtures[0],
                mu_dry=ball.mu_dry,
                ball_roughness_uin=ball.roughness_uin,
                lane_roughness_uin=lane.roughness_uin,
                temperature_c=lane.temperature_c,
                constants=lane.constants,
            )
        )
        force = -mu * G_MPS2 * slip / size  # per mass
        turn = np.cross(arm, [force[0], force[1], 0.0]) / k2
        return np.array([s[2], *force, *turn, 1.0]) / vx

    def rolling(x, s, row):
        return float(np.hypot(*slip_of(s))) - ROLLS

    rolling.terminal = True
    for row in range(60):
        done = solve_ivp(
            per_metre, (row * FT_M, (row + 1) * FT_M), state, args=(row,), events=rolling,
            rtol=1e-7, atol=1e-9,
        )  # fmt: skip
        state = done.y[:, -1]
        if done.t_events[0].size:
            rest = 60 * FT_M - done.t[-1]
            board = 20 + (state[0] + rest * state[2] / state[1]) / BOARD_M
            return board, state[1:3], state[6] + rest / state[1], done.t[-1] / FT_M
    return 20 + state[0] / BOARD_M, state[1:3], state[6], math.inf


@pytest.mark.parametrize(
    "constants", [FrictionConstants(), CONTACT_CONSTANTS], ids=lambda c: c.load_sharing
)
@pytest.mark.parametrize("release", SHOTS, ids=lambda r: f"{r.speed_mph:g}-{r.rev_rate_rpm:g}")
def test_path_is_the_rigid_bodys(release, constants):
    """On the reference film; what is left is the tables' error in friction (below 5e-4)."""
    ball = Ball(rg_in=2.52, roughness_uin=30.0, dry_friction=0.20)
    lane = Lane.from_condition(
        REFERENCE_FILM,
        [REFERENCE_OIL],
        surface=REFERENCE_SURFACE,
        temperature_c=21.1,
        constants=constants,
    )
    path = roll(release, ball, lane, steps_per_ft=64)
    assert path.ended == "pins"
    board, v, time, start = rigid_body(release, ball, lane)
    end = path.at_pins
    assert end.board == pytest.approx(board, abs=0.01)
    assert end.time_s == pytest.approx(time, abs=5e-4)
    assert end.speed_mph * MPH_MPS == pytest.approx(float(np.hypot(*v)), abs=2e-3)
    assert end.angle_deg == pytest.approx(math.degrees(math.atan2(v[1], v[0])), abs=5e-3)
    if start < 59:
        assert path.roll_start_ft == pytest.approx(start, abs=0.25)


def test_the_vertical_spin_moves_nothing():
    """Axis tilt: the part of the spin about the vertical has no slip and feels no torque."""
    ball = Ball(dry_friction=0.20)
    lane = Lane.from_condition(REFERENCE_FILM, [REFERENCE_OIL])
    tilted = Release(
        speed_mph=17,
        rev_rate_rpm=300,
        axis_rotation_deg=45,
        axis_tilt_deg=30,
        board=20,
        angle_deg=-2,
    )
    flat = Release(
        speed_mph=17,
        rev_rate_rpm=300 * math.cos(30 * DEG_RAD),
        axis_rotation_deg=45,
        board=20,
        angle_deg=-2,
    )
    assert rigid_body(tilted, ball, lane)[0] == pytest.approx(
        rigid_body(flat, ball, lane)[0], abs=1e-4
    )
    assert roll(tilted, ball, lane).at_pins.board == pytest.approx(
        roll(flat, ball, lane).at_pins.board, abs=1e-9
    )
