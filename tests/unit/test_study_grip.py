"""Friction against slip by conditioner, the slip of styles, and their charts on the lane page."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.center import demo_center, read
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition
from leaguesim.report import gripcharts
from leaguesim.study.grip import FILMS_UNITS, SLIPS_MPS, friction_curves, slip_ranges
from leaguesim.study.results import LaneResult
from leaguesim.study.sight import REFERENCE_BALL
from leaguesim.units import MPH_MPS, UNIT_ML_PER_CELL


@pytest.fixture(scope="module")
def center():
    return read(demo_center())


@pytest.fixture(scope="module")
def result(center):
    return LaneResult(
        "x", True, None, [], curves=friction_curves(center, REFERENCE_BALL),
        slips=slip_ranges(center, REFERENCE_BALL), used=("slate",),
    )  # fmt: skip


def test_a_curve_is_the_friction_of_a_lane_with_that_film(center, result):
    """Against a lane oiled evenly with 6 units: the same law by another way in."""
    volume = 6.0 * 39 * 40 * UNIT_ML_PER_CELL
    bands = (Band(0.0, 40.0, 1, 39, volume, (("flint", 1.0),)),)
    lane = Lane.from_condition(
        Condition("even", bands=bands), center.conditioners, surface=center.surface,
        temperature_c=center.temperature_c, constants=center.friction,
    )  # fmt: skip
    rim = 300.0 * 2 * np.pi / 60 * REFERENCE_BALL_RADIUS_M * np.cos(np.pi / 4)
    expected = lane.friction(
        20, 20.0, ball_roughness_uin=REFERENCE_BALL.roughness_uin, mu_dry=REFERENCE_BALL.mu_dry,
        slip_mps=np.array(SLIPS_MPS), speed_mps=17.0 * MPH_MPS, rim_mps=rim,
    )  # fmt: skip
    got = [
        r["friction"]
        for r in result.curves
        if (r["conditioner"], r["film_units"]) == ("flint", 6.0)
    ]
    assert np.allclose(got, expected, rtol=1e-9)


REFERENCE_BALL_RADIUS_M = 0.5 * 8.5475 * 0.0254


def test_friction_rises_with_slip_and_falls_with_film(result):
    table = {
        (r["conditioner"], r["film_units"], r["slip_mps"]): r["friction"] for r in result.curves
    }
    for name in {key[0] for key in table}:
        for film in FILMS_UNITS:
            mu = [table[name, film, s] for s in SLIPS_MPS]
            assert (np.diff(mu) > 0.0).all()
            assert mu[-1] < REFERENCE_BALL.mu_dry
        thin, middle, thick = ([table[name, f, s] for s in SLIPS_MPS] for f in FILMS_UNITS)
        assert (np.array(thin) > middle).all()
        assert (np.array(middle) > thick).all()


def test_a_style_without_spread_has_one_slip(center):
    """17 mph, 100 rpm, no rotation: 17 x 0.44704 less the rim's 1.14 m/s."""
    spread = {"sd": 0.0}
    style = center.styles["straight"]
    still = replace(
        style,
        speed_mph=replace(style.speed_mph, mean=17.0, **spread),
        rev_rate_rpm=replace(style.rev_rate_rpm, mean=100.0, low=0.0, **spread),
        axis_rotation_deg=replace(style.axis_rotation_deg, mean=0.0, low=0.0, **spread),
    )
    one = replace(center, styles={**center.styles, "straight": still})
    row = next(r for r in slip_ranges(one, REFERENCE_BALL) if r["style"] == "straight")
    expected = 17.0 * MPH_MPS - 100 * 2 * np.pi / 60 * REFERENCE_BALL_RADIUS_M
    assert row["low_mps"] == pytest.approx(expected, abs=2e-3)
    assert row["high_mps"] == row["low_mps"] == row["middle_mps"]


def test_ranges_are_in_order_and_on_the_chart(result):
    for r in result.slips:
        assert 0.0 < r["low_mps"] < r["middle_mps"] < r["high_mps"] < gripcharts.TOP_MPS


def test_a_legend_holds_seven_conditioners_those_of_the_condition_first(result):
    more = [{**r, "conditioner": f"a{k}"} for k in range(5) for r in result.curves[:3]]
    names, rest = gripcharts.shown_conditioners(replace(result, curves=[*result.curves, *more]))
    assert len(names) == 7
    assert "slate" in names
    assert len(rest) == 5
    figures = gripcharts.grip_figures(replace(result, curves=[*result.curves, *more]))
    assert "Not drawn:" in figures[0].about


def test_one_chart_a_film_and_one_of_styles(result):
    figures = gripcharts.grip_figures(result)
    assert [f.key for f in figures] == ["grip-3", "grip-6", "grip-20", "grip-styles"]
    assert {r["style"] for r in figures[-1].data["grip-styles"]} >= {"two-handed", "power"}
    assert gripcharts.grip_figures(replace(result, curves=[], slips=[])) == []
