"""The league's throw against the fine-stepped path, its plain twin, its mirror image; lost balls."""

from types import FunctionType

import numpy as np
import pytest

from leaguesim.ball import Ball, Release, _kernel, roll
from leaguesim.ball._kernel_many import throw_many
from leaguesim.ball.path import inertia_factor, rim_speed, side_pull
from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.values import RosterLine
from leaguesim.center import demo_center, read
from leaguesim.lane.arrays import kernel_film, kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition, Conditioner, Surface
from leaguesim.units import DEG_RAD, FT_M, MPH_MPS

BOWLERS = 100
ENDS = ("pins", "gutter", "stopped")


def lane_arguments(lane, ball, *, start=0, step=1):
    film, mix = kernel_film(lane)
    table = kernel_table(lane, ball.roughness_uin, ball.mu_dry)
    pull = step * side_pull(lane.tilt_in)
    return [film, mix, table.drag, table.bare, ball.mu_dry, *table[2:], start, step, pull]


def release_arguments(release, ball):
    return [
        release.speed_mph * MPH_MPS,
        rim_speed(release.rev_rate_rpm, release.axis_tilt_deg, ball),
        release.axis_rotation_deg * DEG_RAD,
        release.angle_deg * DEG_RAD,
        release.board,
        inertia_factor(ball),
    ]


def thrown(arguments, throw=_kernel.throw):
    track, out = np.full(63, np.nan), np.full(6, np.nan)
    status = throw(*arguments, track, out)
    return ENDS[status], out, track


def plain_twin(name):
    """The kernel in plain Python, and every kernel it calls too."""
    scope = dict(vars(_kernel))
    for key, value in scope.items():
        if hasattr(value, "py_func"):
            scope[key] = FunctionType(value.py_func.__code__, scope)
    lane_scope = dict(vars(__import__("leaguesim.lane._kernel", fromlist=["x"])))
    for key in ("film_at", "table_mu"):
        scope[key] = FunctionType(scope[key].__code__, lane_scope)
    return FunctionType(getattr(_kernel, name).py_func.__code__, scope)


@pytest.fixture(scope="module")
def demo_lanes():
    center = read(demo_center())
    return [
        Lane.from_condition(
            condition,
            center.conditioners,
            surface=center.surface,
            temperature_c=center.temperature_c,
            constants=center.friction,
        )
        for condition in center.conditions.values()
    ]


@pytest.fixture(scope="module")
def shots():
    """Bowlers of every style with any ball of their bag, sent from anywhere they stand."""
    center = read(demo_center())
    rng = np.random.default_rng(20)
    styles = [center.styles[name] for name in sorted(center.styles)]
    out = []
    for i in range(BOWLERS):
        style = styles[i % len(styles)]
        b = draw_bowler(RosterLine(f"b{i}", "t", "right", style.name), style, center.balls, 3)
        release = Release(
            speed_mph=b.speed_mph,
            rev_rate_rpm=b.rev_rate_rpm,
            axis_rotation_deg=b.axis_rotation_deg,
            axis_tilt_deg=b.axis_tilt_deg,
            board=rng.uniform(b.laydown_low_board, b.laydown_high_board),
            angle_deg=rng.uniform(-4.0, 1.5),
        )
        out.append((b.bag[rng.integers(len(b.bag))], release))
    return out


def test_throw_agrees_with_the_converged_path(demo_lanes, shots):
    """Within 0.02 board at the pins; measured 0.014 at most and 0.0007 in the middle over 4,300 throws."""
    miss, turn, late, start, off_track = [], [], [], [], []
    for lane in demo_lanes:
        for ball, release in shots:
            path = roll(release, ball, lane, steps_per_ft=64)
            end, out, track = thrown(lane_arguments(lane, ball) + release_arguments(release, ball))
            assert end == path.ended
            if end == "pins":
                at = path.at_pins
                miss.append(out[0] - at.board)
                turn.append(np.degrees(out[1]) - at.angle_deg)
                late.append(out[5] - at.time_s)
                if path.roll_start_ft < 59 and out[4] < 60 * FT_M:
                    start.append(out[4] / FT_M - path.roll_start_ft)
                middle = np.interp(np.arange(60) + 0.5, path.distance_ft, path.board)
                off_track.append(np.abs(track[:60] - middle).max())
    assert len(miss) >= 150
    assert np.abs(miss).max() <= 0.02
    assert np.median(np.abs(miss)) <= 0.0015
    assert abs(np.mean(miss)) <= 0.002
    assert np.abs(turn).max() <= 0.005
    assert np.abs(late).max() <= 2e-4
    assert np.abs(start).max() <= 0.3
    assert max(off_track) <= 0.05


def test_the_converged_path_is_converged(demo_lanes, shots):
    for ball, release in shots[:16]:
        paths = [roll(release, ball, demo_lanes[0], steps_per_ft=n) for n in (8, 64, 512)]
        ends = [path.at_pins.board for path in paths]
        if {path.ended for path in paths} != {"pins"}:
            continue
        assert abs(ends[1] - ends[2]) < 1e-3
        assert abs(ends[0] - ends[2]) < 1e-2


@pytest.mark.parametrize("tilt", [0.0, 0.04])
def test_throw_is_exact_on_a_dry_lane(tilt):
    """Friction without change: both solve it exactly; only the lane's tilt is stepped."""
    band = Band(0, 1, 1, 39, 1e-9, (("o", 1.0),))
    surface = Surface(tilt_in=tilt)
    lane = Lane.from_condition(Condition("c", bands=(band,)), [Conditioner("o")], surface=surface)
    for mu in (0.06, 0.12, 0.3):
        ball = Ball(dry_friction=mu)
        release = Release(speed_mph=16, rev_rate_rpm=200, axis_rotation_deg=30, board=8)
        end, out, _ = thrown(lane_arguments(lane, ball) + release_arguments(release, ball))
        path = roll(release, ball, lane, steps_per_ft=64)
        assert end == path.ended == "pins"
        assert out[0] == pytest.approx(path.at_pins.board, abs=1e-5 if tilt == 0.0 else 2e-3)
        assert out[5] == pytest.approx(path.at_pins.time_s, abs=1e-6)


@pytest.mark.parametrize("effective", [False, True])
def test_compiled_throw_is_its_plain_twin(demo_lanes, shots, effective):
    twin = plain_twin("throw")
    for ball, release in shots[:12]:
        given = lane_arguments(demo_lanes[1], ball) + release_arguments(release, ball)
        given[2], given[3] = given[2].astype(np.float64), given[3].astype(np.float64)
        given[7] = effective
        end, out, track = thrown(given)
        end_twin, out_twin, track_twin = thrown(given, twin)
        assert end == end_twin
        np.testing.assert_allclose(out, out_twin, rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(track, track_twin, rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize("n", [0, 1, 2, 3, 60])
def test_two_in_flight_give_the_bytes_of_one(demo_lanes, n):
    """Gutter balls and balls that stop among them, so that either of the two ends first."""
    ball, rng = Ball(), np.random.default_rng(8)
    given = lane_arguments(demo_lanes[1], ball)
    r = np.stack(
        [
            rng.uniform(5.0, 9.0, n),
            rng.uniform(0.0, 6.0, n),
            rng.uniform(0.0, 3.1, n),
            rng.uniform(-0.09, 0.09, n),
            rng.uniform(3.0, 36.0, n),
        ]
    )
    r[0, 4::9], r[1, 4::9], r[2, 4::9] = 1.3, 8.0, np.pi
    tracks, outs = np.full((n, 63), np.nan), np.full((n, 6), np.nan)
    status = np.full(n, -1)
    throw_many(*given, *r, inertia_factor(ball), tracks, outs, status)
    for i in range(n):
        end, out, track = thrown([*given, *r[:, i], inertia_factor(ball)])
        assert ENDS[status[i]] == end
        assert outs[i].tobytes() == out.tobytes()
        assert tracks[i].tobytes() == track.tobytes()
    assert n < 60 or set(status) == {0, 1, 2}


def test_compiled_trace_is_its_plain_twin(demo_lanes, shots):
    twin = plain_twin("trace")
    edges = np.linspace(0, 60, 121) * FT_M
    for ball, release in shots[:6]:
        given = lane_arguments(demo_lanes[0], ball)
        given[2], given[3] = given[2].astype(np.float64), given[3].astype(np.float64)
        pull = given.pop()
        given = given[:-2]
        got = []
        for kernel in (_kernel.trace, twin):
            nodes, rolled = np.full((edges.size, 5), np.nan), np.full(1, np.inf)
            fixed = np.full(edges.size - 1, np.nan)
            tail = [*release_arguments(release, ball), True, nodes, rolled]
            status = kernel(*given, fixed, edges, pull, *tail)
            got.append((status, nodes, rolled))
        assert got[0][0] == got[1][0]
        np.testing.assert_allclose(got[0][1], got[1][1], rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(got[0][2], got[1][2], rtol=1e-12)


def lopsided():
    """A lane that is not its own mirror image: film, mixes and tilt."""
    bands = (
        Band(0, 40, 2, 38, 9.0, (("a", 1.0),)),
        Band(0, 34, 6, 25, 8.0, (("b", 1.0),)),
        Band(3, 22, 12, 31, 5.0, (("a", 0.5), ("b", 0.5))),
    )
    oils = [Conditioner("a", viscosity_mpas=20), Conditioner("b", viscosity_mpas=60)]
    surface = Surface(tilt_in=0.03)
    return Lane.from_condition(Condition("lopsided", bands=bands), oils, surface=surface)


def test_a_left_hander_on_the_mirrored_lane_is_bit_for_bit_the_right_hander(shots):
    lane = lopsided()
    assert not np.array_equal(lane.film, lane.film[:, ::-1])
    ends = set()
    for ball, release in shots:
        tail = release_arguments(release, ball)
        right = thrown(lane_arguments(lane, ball) + tail)
        left = thrown(lane_arguments(lane.mirrored(), ball, start=40, step=-1) + tail)
        same_lane = thrown(lane_arguments(lane, ball, start=40, step=-1) + tail)
        assert right[0] == left[0]
        assert right[1].tobytes() == left[1].tobytes()
        assert right[2].tobytes() == left[2].tobytes()
        if right[0] == "pins":
            assert right[1].tobytes() != same_lane[1].tobytes()
        ends.add(right[0])
    assert "pins" in ends


def test_gutter_tells_how_far_the_track_goes(demo_lanes):
    ball = Ball()
    for board, angle, speed in ((5.0, -4.0, 18.0), (38.0, 6.0, 18.0), (30.0, 2.5, 21.0)):
        release = Release(
            speed_mph=speed, rev_rate_rpm=100, axis_rotation_deg=5, board=board, angle_deg=angle
        )
        given = lane_arguments(demo_lanes[0], ball) + release_arguments(release, ball)
        end, out, track = thrown(given)
        path = roll(release, ball, demo_lanes[0])
        assert end == path.ended == "gutter"
        rows = int(out[4])
        assert abs(rows - path.distance_ft[-1]) <= 1.0
        assert np.isfinite(track[:rows]).all()
        assert ((track[:rows] >= 0.5) & (track[:rows] < 39.5)).all()
        assert np.isnan(out[[0, 1, 2, 3, 5]]).all()
        assert path.at_pins.arrived is False


def test_a_ball_that_cannot_arrive_stops(demo_lanes):
    """Backspin beyond what the speed carries: 3 mph with 600 rpm the wrong way round."""
    ball = Ball()
    release = Release(speed_mph=3, rev_rate_rpm=600, axis_rotation_deg=180)
    given = lane_arguments(demo_lanes[0], ball) + release_arguments(release, ball)
    end, out, _ = thrown(given)
    assert (end, out[4]) == ("stopped", 0)
    path = roll(release, ball, demo_lanes[0])
    assert path.ended == "stopped"
    assert path.distance_ft[-1] < 60
    assert roll(release, ball, Lane.uniform(0.2)).ended == "stopped"


def test_slow_ball_arrives_and_outputs_are_finite(demo_lanes):
    ball = Ball()
    release = Release(speed_mph=6, rev_rate_rpm=40, axis_rotation_deg=0)
    end, out, track = thrown(lane_arguments(demo_lanes[0], ball) + release_arguments(release, ball))
    path = roll(release, ball, demo_lanes[0], steps_per_ft=64)
    assert end == path.ended == "pins"
    assert np.isfinite(out).all()
    assert np.isfinite(track[:60]).all()
    assert out[0] == pytest.approx(path.at_pins.board, abs=0.02)
    assert out[5] == pytest.approx(path.at_pins.time_s, abs=1e-3)


@pytest.mark.parametrize("q", [0.0, 0.01, 0.049999, 0.05, 0.2, 0.499])
def test_slowing_is_the_closed_form(q):
    assert _kernel.slowing(q) == pytest.approx(2 / (1 + np.sqrt(1 - 2 * q)), rel=6e-6)


def test_entrainment_floors_the_rim_at_rest():
    v2, v = 64.0, 8.0
    assert _kernel.entrainment(v2, v * v) == pytest.approx(2.0)  # no rim speed
    assert _kernel.entrainment(v2, 0.0) == pytest.approx(1.0)  # rim as fast as the ball
    assert _kernel.entrainment(v2, 1.2 * v2) == 2.0  # backspin
