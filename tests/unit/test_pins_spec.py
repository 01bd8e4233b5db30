"""The pin's shape and mass, the spots, the masks."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.pins import _kernel, mirror_mask, spec
from leaguesim.units import IN_M


def test_the_profile_runs_through_its_stations():
    for height, diameter in spec.PROFILE_IN:
        assert spec.radius_at(np.array([height]))[0] == pytest.approx(diameter / 2, abs=1e-9)


def test_the_pin_is_thickest_at_the_belly_and_smooth():
    height = np.linspace(0, spec.PIN_HEIGHT_IN, 3001)
    radius = spec.radius_at(height)
    assert abs(height[np.argmax(radius)] - 4.5) < 0.2
    assert np.abs(np.diff(radius[height < 14.5])).max() < 0.02


def test_spots_are_a_foot_apart():
    gaps = np.linalg.norm(spec.SPOTS_M[:, None] - spec.SPOTS_M[None], axis=2) / IN_M
    nearest = np.where(gaps == 0, 99, gaps).min(axis=1)
    assert nearest == pytest.approx(np.full(10, 12.0), abs=0.001)
    assert spec.SPOTS_M[6, 1] > 0 > spec.SPOTS_M[9, 1]  # the 7 stands on the left


def test_mirror_is_its_own_inverse_and_keeps_the_number_of_pins():
    for mask in range(1024):
        seen = mirror_mask(mask)
        assert mirror_mask(seen) == mask
        assert seen.bit_count() == mask.bit_count()
        assert _kernel.mirror_mask(mask) == seen


def test_mirrored_spots_are_the_mirrored_pins():
    for pin in range(1, 11):
        x, y = spec.SPOTS_M[pin - 1]
        twin = spec.pins_in(mirror_mask(spec.mask_of(pin)))[0]
        assert tuple(spec.SPOTS_M[twin - 1]) == pytest.approx((x, -y))


@pytest.mark.parametrize("mask", [-1, 1024])
def test_a_mask_has_ten_bits(mask):
    with pytest.raises(InputError, match="mask"):
        mirror_mask(mask)


@pytest.mark.parametrize("pin", [0, 11])
def test_pins_are_numbered_one_to_ten(pin):
    with pytest.raises(InputError, match="pins"):
        spec.mask_of(pin)
