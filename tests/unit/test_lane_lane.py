"""The public Lane: zones, ratios, mirror, friction tables and maps."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.lane import Band, Condition, Conditioner, FrictionConstants, Lane, Surface
from leaguesim.lane.film import ROWS
from leaguesim.units import BOARDS, UNIT_M

OILS = [Conditioner("amber"), Conditioner("slate", viscosity_mpas=55.0, base_share=0.5)]
AMBER = (("amber", 1.0),)
MIXED = (("amber", 0.4), ("slate", 0.6))
CONDITION = Condition(
    "leaning",
    bands=(
        Band(0, 40, 1, 39, 6.0, AMBER),
        Band(0, 36.5, 9.5, 31, 12.0, MIXED),
        Band(0, 22, 12, 25, 7.0, AMBER),
    ),
)
BALL = {"ball_roughness_uin": 30.0, "mu_dry": 0.2}


def _lane(condition=CONDITION, **kwargs):
    return Lane.from_condition(condition, OILS, **kwargs)


def _mirror(condition):
    bands = tuple(
        Band(b.from_ft, b.to_ft, 40 - b.to_board, 40 - b.from_board, b.volume_ml, b.shares)
        for b in condition.bands
    )
    return Condition(condition.name, bands=bands)


def test_uniform_and_zones_give_mu_itself_to_the_pit():
    assert (
        Lane.uniform(0.11).friction(3.0, [0.0, 59.0, 63.0], slip_mps=0.1, **BALL).tolist()
        == [0.11] * 3
    )
    lane = Lane.zones([(40, 0.04), (45, 0.1), (60, 0.2)])
    mu = lane.friction(20.0, [0.0, 39.9, 40.0, 44.9, 45.0, 62.9], slip_mps=[0.0, 9.0] * 3, **BALL)
    assert mu.tolist() == [0.04, 0.04, 0.1, 0.1, 0.2, 0.2]
    assert lane.volume_ml() == 0.0
    assert lane.film_units.shape == (60, 39)


@pytest.mark.parametrize(
    "zones",
    [
        [],
        [(40, 0.04), (40, 0.2)],
        [(40, 0.04), (30, 0.2)],
        [(0, 0.1)],
        [(40, -0.1)],
        [(40, float("nan"))],
    ],
)
def test_impossible_zones_are_refused(zones):
    with pytest.raises(InputError):
        Lane.zones(zones)


def test_volume_and_ratio():
    lane = _lane()
    assert lane.volume_ml() == pytest.approx(25.0, rel=1e-12)
    left, right = lane.crosswise_ratio(10.0)
    film = lane.film_units[10]
    assert right == pytest.approx(film[17:22].mean() / film[2:7].mean(), rel=1e-14)
    assert left == pytest.approx(film[17:22].mean() / film[32:37].mean(), rel=1e-14)
    assert lane.crosswise_ratio(50.0) == (None, None)
    with pytest.raises(InputError):
        lane.crosswise_ratio(64.0)


def test_a_mirrored_condition_is_the_mirrored_lane_bit_for_bit():
    lane = _lane(surface=Surface(tilt_in=0.03))
    other = _lane(_mirror(CONDITION), surface=Surface(tilt_in=-0.03))
    seen = lane.mirrored()
    assert np.array_equal(seen.film, other.film)
    assert np.array_equal(seen.mix_index, other.mix_index)
    assert seen.mixtures == other.mixtures
    assert seen.tilt_in == other.tilt_in
    assert seen.volume_ml() == lane.volume_ml() == other.volume_ml()
    assert seen.crosswise_ratio(10.0) == lane.crosswise_ratio(10.0)[::-1]
    assert seen.friction_table(30.0, 0.2) is lane.friction_table(30.0, 0.2)


@pytest.mark.parametrize("sharing", ["supply", "contact"])
def test_the_map_agrees_with_the_table(sharing):
    lane = _lane(constants=FrictionConstants(load_sharing=sharing))
    table = lane.friction_table(30.0, 0.2)
    board, feet = np.meshgrid(np.arange(1, BOARDS + 1), np.arange(ROWS) + 0.5)
    exact = lane.friction(board, feet, slip_mps=4.0, speed_mps=8.0, rim_mps=3.0, **BALL)
    looked_up = table.mu(lane.film, 4.0, 2.0 * 8.0 / 11.0, lane.mix_index)
    assert np.abs(exact - looked_up).max() < 5e-4
    assert exact[50, 20] == pytest.approx(0.2, abs=1e-12)
    assert exact.max() <= 0.2


def test_mixes_differ_in_friction_where_the_blend_differs():
    thin = Lane.from_condition(Condition("a", bands=(Band(0, 40, 1, 39, 40, AMBER),)), OILS)
    thick = Lane.from_condition(
        Condition("b", bands=(Band(0, 40, 1, 39, 40, (("slate", 1.0),)),)), OILS
    )
    mu = [lane.friction(20.0, 20.0, slip_mps=5.0, **BALL) for lane in (thin, thick)]
    assert thin.film[20, 20] * UNIT_M == thick.film[20, 20] * UNIT_M
    assert mu[1] != mu[0]
    assert "separate in storage" in " ".join(_lane().notes)
    assert thin.notes == ()


def test_bad_lanes_are_refused():
    with pytest.raises(InputError, match="each name once"):
        Lane.from_condition(CONDITION, [OILS[0], OILS[0]])
    with pytest.raises(InputError, match="temperature"):
        _lane(temperature_c=200.0)
    with pytest.raises(InputError, match="mu_dry"):
        _lane().friction_table(30.0, 0.5)
    with pytest.raises(InputError, match="load_sharing"):
        _lane(constants=FrictionConstants(load_sharing="both")).friction_table(30.0, 0.2)
    with pytest.raises(InputError, match="shape"):
        _lane().with_film(np.zeros((60, 39)))
    with pytest.raises(InputError, match="mean_units"):
        _lane().mean_units(0)


def test_with_film_copies():
    lane = _lane()
    worn = lane.with_film(lane.film * 0.5)
    assert worn.volume_ml() == pytest.approx(12.5)
    assert lane.volume_ml() == pytest.approx(25.0)
