"""Balls and releases check themselves and name what is wrong."""

import math

import pytest

from leaguesim.ball import Ball, Release
from leaguesim.ball.path import inertia_factor, rim_speed, side_pull
from leaguesim.ball.values import dry_friction_from_roughness
from leaguesim.errors import InputError

GOOD = {"speed_mph": 17.0, "rev_rate_rpm": 300.0, "axis_rotation_deg": 45.0}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("mass_lb", 16.5),
        ("mass_lb", 2.0),
        ("rg_in", 2.45),
        ("rg_in", 2.81),
        ("roughness_uin", 51.0),
        ("roughness_uin", 0.0),
        ("differential_in", 0.061),
        ("differential_in", -0.01),
        ("absorption", 1.2),
        ("diameter_in", 8.4),
        ("dry_friction", 0.33),
        ("dry_friction", math.nan),
        ("rg_in", math.inf),
    ],
)
def test_ball_names_the_field(field, value):
    with pytest.raises(InputError, match=rf"^Ball: {field} must be from .* got {value!r}$"):
        Ball(**{field: value})


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("speed_mph", 2.0),
        ("speed_mph", 41.0),
        ("rev_rate_rpm", -1.0),
        ("rev_rate_rpm", 901.0),
        ("axis_rotation_deg", 181.0),
        ("axis_tilt_deg", 91.0),
        ("board", 0.4),
        ("board", 39.6),
        ("angle_deg", 21.0),
        ("angle_deg", math.nan),
    ],
)
def test_release_names_the_field(field, value):
    with pytest.raises(ValueError, match=rf"^Release: {field} must be from .* got {value!r}$"):
        Release(**{**GOOD, field: value})


def test_release_takes_keywords_only():
    with pytest.raises(TypeError):
        Release(17.0, 300.0, 45.0)


def test_dry_friction_given_or_from_roughness():
    assert Ball(dry_friction=0.2).mu_dry == 0.2
    assert Ball(roughness_uin=5.0).mu_dry == pytest.approx(0.12)
    assert Ball(roughness_uin=50.0).mu_dry == pytest.approx(0.26)
    assert dry_friction_from_roughness(27.5) == pytest.approx(0.19)
    assert dry_friction_from_roughness(0.0) == dry_friction_from_roughness(5.0)


def test_inertia_and_rim():
    ball = Ball(rg_in=2.50)
    assert inertia_factor(ball) == pytest.approx(1 + (4.27375 / 2.5) ** 2)
    assert rim_speed(60.0, 0.0, ball) == pytest.approx(2 * math.pi * 4.27375 * 0.0254)
    assert rim_speed(60.0, 60.0, ball) == pytest.approx(math.pi * 4.27375 * 0.0254)


def test_a_higher_left_edge_pulls_to_the_right():
    assert side_pull(0.04) == pytest.approx(-9.80665 * 0.04 / 41.5)
