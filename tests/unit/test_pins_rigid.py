"""The rigid model itself; skipped where the extra ``pins`` is not installed."""

import numpy as np
import pytest

pytest.importorskip("mujoco", reason="the extra 'pins' (mujoco) is not installed")

from leaguesim.pins import rigid, rigid_checks
from leaguesim.pins.spec import FULL_RACK, mask_of


@pytest.fixture(scope="module")
def deck():
    return rigid.RigidDeck()


@pytest.mark.parametrize("e", [0.3, 0.5, 0.7, 0.9])
def test_the_damping_gives_the_restitution_asked_for(e):
    assert rigid.spring_restitution(rigid.damping_ratio(e)) == pytest.approx(e, abs=1e-6)


@pytest.mark.parametrize("ball", [True, False])
@pytest.mark.parametrize("speed", [4.0, 7.0, 9.0])
def test_restitution_in_a_straight_collision_lies_in_the_published_range(ball, speed):
    hit = rigid_checks.impact(rigid.RigidSettings(), ball=ball, closing_mps=speed)
    assert 0.65 <= hit.restitution <= 0.78


@pytest.mark.parametrize("ball", [True, False])
def test_contact_normals_lie_along_the_line_of_axes(ball):
    hit = rigid_checks.impact(rigid.RigidSettings(), ball=ball, miss_m=0.05)
    assert hit.normal_error_deg < 0.3


def test_energy_does_not_rise():
    assert rigid_checks.energy_rise(rigid.RigidSettings(), np.random.default_rng(1)) < 0.01


def test_a_gutter_ball_fells_nothing(deck):
    assert deck.shoot(19.8, 0.0, 7.0, 6.8, np.random.default_rng(0)).down == 0


def test_a_pin_left_alone_stands_on_its_spot(deck):
    shot = deck.shoot(-14.0, 0.0, 7.0, 6.8, np.random.default_rng(0), rack=mask_of(10))
    assert shot.down == 0
    assert shot.moved_m.max() < 1e-4


def test_a_corner_pin_is_taken_and_only_it(deck):
    shot = deck.shoot(16.5, 0.0, 7.0, 6.8, np.random.default_rng(0), rack=mask_of(10))
    assert shot.down == mask_of(10)


def test_shots_repeat_from_the_same_generator(deck):
    a = deck.shoot(2.2, 5.0, 7.5, 6.8, np.random.default_rng(4))
    deck.shoot(0.0, 0.0, 5.0, 5.0, np.random.default_rng(9))
    b = deck.shoot(2.2, 5.0, 7.5, 6.8, np.random.default_rng(4))
    assert (a.down, a.time_s) == (b.down, b.time_s)
    assert (a.moved_m == b.moved_m).all()


def test_pocket_hits_fell_most_pins(deck):
    rng = np.random.default_rng(2)
    pins = [deck.shoot(2.3, 5.0, 7.5, 6.8, rng).down.bit_count() for _ in range(12)]
    assert np.mean(pins) > 8.8


@pytest.mark.parametrize(("speed", "mass", "rack"), [
    (0.0, 6.8, FULL_RACK), (-1.0, 6.8, FULL_RACK), (7.0, 0.0, FULL_RACK), (7.0, 6.8, 0),
])  # fmt: skip
def test_bad_shots_are_refused(deck, speed, mass, rack):
    with pytest.raises(ValueError, match=r"speed_mps|rack"):
        deck.shoot(0.0, 0.0, speed, mass, np.random.default_rng(0), rack=rack)
