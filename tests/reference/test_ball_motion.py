"""The path against ``outside/ball.toml``, and its first integrals over lanes drawn at random."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leaguesim.ball import Ball, Release, roll
from leaguesim.ball.calibrate import REFERENCE_OIL, reference_lane
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition, FrictionConstants
from leaguesim.outside.ball_checks import (
    TYPICAL,
    _typical,
    ball_checks,
    exit_boards,
    flat_condition,
)
from leaguesim.outside.figures import figures, unsourced
from leaguesim.units import DEG_RAD, FT_M, G_MPS2, IN_M, MPH_MPS, RPM_RADPS

DATA = figures("ball")
KNOWN_MISSES = {
    "path: scatter of identical releases at the pins (the lane and ball have no noise of their own)"
}
# A rule of thumb that the line-up leans to among equals: no evidence, and missed far from 40 ft.
OPEN_MISSES = (": the middle line", ": every line", ": boards further in for each foot of oil")


def test_rows_agree_but_for_the_known_misses():
    checks = ball_checks()
    missed = {c.name: (c.expected, c.model) for c in checks if c.verdict == "miss"}
    assert set(missed) >= KNOWN_MISSES
    unknown = set(missed) - KNOWN_MISSES
    assert all(name.endswith(OPEN_MISSES) for name in unknown), missed
    assert len(checks) >= 25
    assert all(c.source for c in checks)
    assert {c.name for c in checks if c.use == "fit"} == {
        c.name for c in checks if "leaves a flat film" in c.name
    }


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


def rolling_velocity(release, ball):
    """(R2 v + k2 p)/(R2 + k2) in plain arithmetic: along the lane, to the left. [m/s]"""
    k2, radius2 = ball.rg_in**2, (ball.diameter_in / 2) ** 2
    out = []
    rim = release.rev_rate_rpm * RPM_RADPS * ball.diameter_in / 2 * IN_M
    rim *= math.cos(release.axis_tilt_deg * DEG_RAD)
    a = release.angle_deg * DEG_RAD
    for turn in (math.cos, math.sin):
        v = release.speed_mph * MPH_MPS * turn(a)
        p = rim * turn(a + release.axis_rotation_deg * DEG_RAD)
        out.append((radius2 * v + k2 * p) / (radius2 + k2))
    return out


def velocity(path):
    """(n, 2) velocity along the path. [m/s]"""
    angle = np.radians(path.angle_deg)
    return path.speed_mph[:, None] * MPH_MPS * np.stack([np.cos(angle), np.sin(angle)], axis=1)


releases = st.builds(
    Release,
    speed_mph=st.floats(12, 24),
    rev_rate_rpm=st.floats(0, 600),
    axis_rotation_deg=st.floats(-70, 90),
    axis_tilt_deg=st.floats(0, 40),
    angle_deg=st.floats(-5, 5),
)
balls = st.builds(Ball, rg_in=st.floats(2.46, 2.80), diameter_in=st.floats(8.5, 8.595))
lanes = st.lists(st.tuples(st.floats(2, 8), st.floats(0.005, 0.32)), min_size=1, max_size=8).map(
    lambda parts: Lane.zones(
        [(float(x), mu) for x, (_, mu) in zip(np.cumsum([p[0] for p in parts]), parts, strict=True)]
    )
)


@settings(max_examples=150, deadline=None)
@given(release=releases, ball=balls, lane=lanes)
def test_rolling_velocity_is_the_releases_whatever_the_oil(release, ball, lane):
    path = roll(release, ball, lane)
    v = velocity(path)
    along, left = rolling_velocity(release, ball)
    if path.ended == "pins" and path.at_pins.slip_mps == 0.0:
        assert v[-1] == pytest.approx([along, left], abs=1e-9)
    # Before that the rest of the velocity keeps its direction and is slip / (1 + R2/k2) long.
    rest = v - [along, left]
    share = ball.rg_in**2 / (ball.rg_in**2 + (ball.diameter_in / 2) ** 2)
    assert np.hypot(*rest.T) == pytest.approx(path.slip_mps * share, abs=1e-9)
    cross = rest[:, 0] * rest[0, 1] - rest[:, 1] * rest[0, 0]
    assert np.abs(cross).max() < 1e-9


@settings(max_examples=60, deadline=None)
@given(release=releases, ball=balls, mu=st.floats(0.01, 0.32))
def test_slip_falls_at_a_steady_rate_on_even_friction(release, ball, mu):
    path = roll(release, ball, Lane.uniform(mu))
    factor = 1 + (ball.diameter_in / 2 / ball.rg_in) ** 2
    expected = np.maximum(path.slip_mps[0] - mu * G_MPS2 * factor * path.time_s, 0.0)
    assert path.slip_mps == pytest.approx(expected, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(
    release=releases,
    volume=st.floats(5, 35),
    length=st.floats(30, 48),
    boards=st.tuples(st.integers(1, 12), st.integers(28, 39)),
)
def test_rolling_velocity_on_oil(release, volume, length, boards):
    """The same on real film, friction from the tables, for balls that stay on and roll."""
    band = Band(0.0, length, *boards, volume, ((REFERENCE_OIL.name, 1.0),))
    lane = Lane.from_condition(Condition("oil", bands=(band,)), [REFERENCE_OIL])
    path = roll(release, Ball(), lane)
    if path.ended == "pins" and path.at_pins.slip_mps == 0.0:
        assert velocity(path)[-1] == pytest.approx(rolling_velocity(release, Ball()), abs=1e-9)


def test_the_oil_does_move_the_ball():
    """The invariants above would hold for a lane that does nothing: it does not."""
    release = Release(speed_mph=18, rev_rate_rpm=300, axis_rotation_deg=45, board=8)
    boards = [roll(release, Ball(), Lane.uniform(mu)).at_pins.board for mu in (0.1, 0.15, 0.25)]
    assert boards[0] < boards[1] - 5 < boards[2] - 10


@pytest.mark.parametrize("shot", DATA["two_zones"]["shots"], ids=lambda s: str(s["rev_rate_rpm"]))
def test_two_zones_in_closed_form(shot):
    """Each zone solved by hand: constant deceleration along and across, then a straight line."""
    v = shot["speed_mph"] * MPH_MPS
    radius, k = 8.5475 / 2 * IN_M, 2.5 * IN_M
    rim = shot["rev_rate_rpm"] * RPM_RADPS * radius
    turn = shot["axis_rotation_deg"] * DEG_RAD
    sx, sy = v - rim * math.cos(turn), -rim * math.sin(turn)
    slip = math.hypot(sx, sy)
    dx, dy = sx / slip, sy / slip
    x = y = t = vy = 0.0
    vx = v
    for end_ft, mu in ((40.0, 0.04), (60.0, 0.20)):
        a = mu * G_MPS2
        length = end_ft * FT_M - x
        slide = slip / (a * (1 + radius**2 / k**2))
        cross = (vx - math.sqrt(vx * vx - 2 * a * dx * length)) / (a * dx)
        step = min(slide, cross)
        x += vx * step - 0.5 * a * dx * step**2
        y += vy * step - 0.5 * a * dy * step**2
        vx, vy = vx - a * dx * step, vy - a * dy * step
        slip -= a * (1 + radius**2 / k**2) * step
        t += step
    rest = (60 * FT_M - x) / vx
    y, t = y + vy * rest, t + rest
    lane = Lane.zones([tuple(z) for z in DATA["two_zones"]["zones"]])
    release = Release(
        speed_mph=shot["speed_mph"],
        rev_rate_rpm=shot["rev_rate_rpm"],
        axis_rotation_deg=shot["axis_rotation_deg"],
    )
    end = roll(release, Ball(), lane).at_pins
    assert end.time_s == pytest.approx(t, abs=1e-9)
    assert (end.board - 20.0) * 41.5 / 39 * IN_M == pytest.approx(y, abs=1e-9)
    assert end.speed_mph * MPH_MPS == pytest.approx(math.hypot(vx, vy), abs=1e-9)
    assert t == pytest.approx(shot["time_s"], abs=5e-4)
    assert y / (41.5 / 39 * IN_M) == pytest.approx(shot["boards"], abs=5e-3)


@pytest.mark.parametrize("ratio", [2.0, 3.0])
def test_flat_condition_has_the_ratio_it_names(ratio):
    lane = Lane.from_condition(flat_condition(40.0, ratio), [REFERENCE_OIL])
    assert lane.volume_ml() == pytest.approx(25.0)
    for distance in (5.0, 20.0, 39.5):
        assert lane.crosswise_ratio(distance) == pytest.approx((ratio, ratio))


def test_longer_oil_is_left_further_inside():
    bowlers = [_typical(*traits) for traits in TYPICAL]
    short, long = (exit_boards(length, 2.0, bowlers) for length in (34.0, 46.0))
    assert np.mean(short) + 1.0 < np.mean(long)


def test_robot_misses_are_told_with_their_numbers():
    from leaguesim.outside.calibration import calibration_checks

    rows = {c.name: c for c in calibration_checks()}
    inside = next(c for name, c in rows.items() if "inside miss a degree" in name)
    assert inside.verdict == "miss"
    assert inside.use == "fit"  # its scale was widened with these figures in sight: no evidence
    assert "10.2" in inside.expected
    assert "11.6 at 8.4:1" in inside.model


def test_reference_film_is_a_house_film():
    lane = reference_lane(FrictionConstants())
    assert lane.volume_ml() == pytest.approx(25.0)
    assert min(r for r in lane.crosswise_ratio(20.0) if r is not None) > 6.0
