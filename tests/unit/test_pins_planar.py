"""The disc model: conservation, geometry and symmetry."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.pins import planar
from leaguesim.pins.spec import FULL_RACK, mask_of, mirror_mask
from leaguesim.units import BOARD_M


def fire(offsets, entry=0.0, rack=FULL_RACK, seed=0, **settings):
    n = len(offsets)
    chosen = planar.PlanarSettings(**settings)
    return planar.shots(
        np.asarray(offsets, float), np.full(n, entry), np.full(n, 7.5), np.full(n, 6.8),
        np.random.default_rng(seed), rack=rack, settings=chosen,
    )  # fmt: skip


def test_a_head_on_first_impact_does_not_turn_the_ball():
    assert planar.first_impact_deflection_deg(0.0, 0.0, ball_kg=6.8) == pytest.approx(0.0)


def test_a_lighter_ball_turns_more():
    turns = [planar.first_impact_deflection_deg(2.5, 6.0, ball_kg=m) for m in (7.26, 6.0, 4.5, 2.7)]
    assert turns == sorted(turns)


def test_a_ball_that_misses_the_head_pin_is_refused():
    with pytest.raises(InputError, match="misses"):
        planar.first_impact_deflection_deg(8.0, 0.0, ball_kg=6.8)


def test_only_standing_pins_fall():
    for rack in (mask_of(10), mask_of(2, 8, 10), mask_of(7, 10), mask_of(4, 7, 9)):
        assert not (fire(np.linspace(-19, 19, 200), rack=rack) & ~rack).any()


def test_a_lone_pin_falls_exactly_when_the_ball_reaches_it():
    reach = (planar.BALL_RADIUS_M + planar.PIN_RADIUS_M) / BOARD_M
    centre = 18 * 0.0254 / BOARD_M  # the 10 stands 18 in right of the middle
    inside = fire(np.linspace(centre - 0.97 * reach, 19.4, 60), rack=mask_of(10), spotting_m=0.0)
    assert (inside == mask_of(10)).all()
    outside = fire(np.linspace(0.0, centre - 1.01 * reach, 60), rack=mask_of(10), spotting_m=0.0)
    assert not outside.any()


def test_the_mirror_image_of_a_shot_fells_the_mirrored_pins():
    offsets = np.linspace(-15.03, 15.01, 301)
    right = fire(offsets, entry=3.0, spotting_m=0.0)
    left = fire(-offsets, entry=-3.0, spotting_m=0.0)
    same = np.array([mirror_mask(int(m)) for m in left]) == right
    assert same.mean() > 0.98  # rounding may part two impacts at the same instant


def test_spotting_noise_is_what_makes_shots_differ():
    still = fire(np.full(50, 2.3), entry=5.0, spotting_m=0.0)
    assert len(set(still.tolist())) == 1
    assert len(set(fire(np.full(200, 2.3), entry=5.0).tolist())) > 1
