"""The fit of the share left behind is repeatable and says what is in force; what one ball carries off."""

import pytest

from leaguesim.lane.values import Conditioner
from leaguesim.outside.figures import figures
from leaguesim.outside.wear_fit import carried_off_ul, transport_checks, wear_at

STORED = figures("calibration")["wear"]
PUBLISHED = figures("bowlers")["wear"]
KNOWN_MISSES = {
    # Computed for the dry contact; a ball that took no more would leave track and heads too fresh.
    "wear: oil one ball carries off 40 ft of even film, 10, 20, 40, 80 units"
}


@pytest.mark.parametrize(
    ("share", "stored"), [("left_behind", "at_fit"), ("left_behind_in_force", "in_force")]
)
def test_stored_wear_is_what_the_model_gives(share, stored):
    got = wear_at(STORED[share])
    assert got.track_lost == pytest.approx(STORED[stored]["track_lost"], abs=2e-3)
    assert got.heads_left == pytest.approx(STORED[stored]["heads_left"], abs=2e-3)


def test_the_share_in_force_is_the_default_conditioners():
    assert STORED["left_behind_in_force"] == Conditioner("default").left_behind


def test_the_fitted_share_meets_the_track_and_would_leave_the_heads_fresher_still():
    at = STORED["at_fit"]
    assert 0.0 <= at["track_lost"] - PUBLISHED["track"]["lost_share"] < 0.01
    assert at["heads_left"] > STORED["in_force"]["heads_left"]


def test_the_share_in_force_meets_the_track_and_is_known_to_miss_the_heads():
    assert STORED["in_force"]["track_lost"] > PUBLISHED["track"]["lost_share"]
    assert STORED["in_force"]["heads_left"] > PUBLISHED["heads"]["left_high"]


@pytest.mark.parametrize("check", transport_checks(), ids=lambda c: c.name)
def test_transport_row(check):
    expected = "miss" if check.name in KNOWN_MISSES else "pass"
    assert check.verdict == expected, f"{check.expected} expected, {check.model} found"
    assert check.use == ("fit" if "share of the film" in check.name else "check")


def test_oil_carried_off_grows_with_the_film_and_the_length():
    assert carried_off_ul(20.0, 40.0) == pytest.approx(2.0 * carried_off_ul(10.0, 40.0), rel=1e-9)
    assert carried_off_ul(20.0, 40.0) > carried_off_ul(20.0, 30.0)
