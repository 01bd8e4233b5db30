"""The shipped friction constants: what they were fitted to, that they are the fit, what they miss."""

from dataclasses import asdict, replace

import pytest

from leaguesim.ball.calibrate import (
    PathFacts,
    Target,
    fit,
    flattened,
    misfit,
    path_facts,
    reference_lane,
    robot_misfit,
    robot_misses,
)
from leaguesim.errors import InputError
from leaguesim.lane.values import CONTACT_CONSTANTS, FrictionConstants
from leaguesim.outside.calibration import calibration_checks, miss_targets, targets
from leaguesim.outside.figures import figures, unsourced

STORED = figures("calibration")
KNOWN_MISSES = {
    "path: robot's inside miss a degree, within a board",
    # Thicker oil drags more and nothing in the law makes a cold lane slicker.
    "path: a lane 5 degrees C colder hooks less, load on supply",
    "path: a lane 5 degrees C colder hooks less, load on contact film",
}
SHIPPED = {"supply": FrictionConstants(), "contact": CONTACT_CONSTANTS}


@pytest.mark.parametrize("sharing", ["supply", "contact"])
def test_the_shipped_constants_are_the_stored_fit(sharing):
    constants = SHIPPED[sharing]
    stored = STORED[sharing]
    assert constants.load_sharing == sharing
    assert (constants.c_a, constants.drag_c) == (stored["c_a"], stored["drag_c"])
    found = asdict(path_facts(constants))
    for name, value in stored["facts"].items():
        assert found[name] == pytest.approx(value, rel=2e-3, abs=2e-3), name
    assert unsourced(STORED) == []


@pytest.mark.parametrize("sharing", ["supply", "contact"])
def test_no_neighbouring_constants_fit_better(sharing):
    best = SHIPPED[sharing]

    def far(constants):
        return misfit(path_facts(constants), targets()) + robot_misfit(constants, miss_targets())[0]

    score = far(best)
    for c_a, drag_c in ((0.1, 0.0), (-0.1, 0.0), (0.0, 0.25), (0.0, -0.25)):
        near = replace(best, c_a=best.c_a + c_a, drag_c=best.drag_c + drag_c)
        assert far(near) > score


def test_the_switch_needs_its_own_constants():
    """Load on the contact film with the other mode's c_a misses the friction it was fitted to."""
    wrong = path_facts(replace(FrictionConstants(), load_sharing="contact"))
    assert abs(wrong.friction_oiled - 0.04) > abs(
        path_facts(CONTACT_CONSTANTS).friction_oiled - 0.04
    )


@pytest.mark.parametrize("check", calibration_checks(), ids=lambda c: c.name)
def test_calibration_check(check):
    expected = "miss" if check.name in KNOWN_MISSES else "pass"
    assert check.verdict == expected, f"{check.expected} expected, {check.model} found"


def test_a_flatter_film_helps_an_outside_miss_less_and_none_turns_it_past_the_pocket():
    outside = [robot_misses(FrictionConstants(), share)[0] for share in (0.0, 0.2, 0.4, 0.6)]
    assert outside == sorted(outside)
    assert outside[0] > 0.0
    inside = [robot_misses(FrictionConstants(), share)[1] for share in (0.0, 0.2, 0.4, 0.6)]
    assert max(inside) < 11.85


def test_flattening_keeps_the_volume_and_lowers_the_ratio():
    house = reference_lane(FrictionConstants())
    flat = reference_lane(FrictionConstants(), film=flattened(0.5))
    assert house.volume_ml() == pytest.approx(25.0)
    assert flat.volume_ml() == pytest.approx(25.0)
    assert flat.crosswise_ratio(20)[1] < 3 < house.crosswise_ratio(20)[1]
    with pytest.raises(InputError):
        flattened(1.0)


def test_a_lost_ball_is_a_large_misfit_and_unknown_targets_are_refused():
    lost = PathFacts(0.04, 0.2, 50.0, float("nan"), 10.0, 5.0, 17.5, 0.009)
    assert misfit(lost, [Target("outside_miss_boards", 4.2, 2.0)]) == pytest.approx(36.0)
    with pytest.raises(InputError, match="targets"):
        fit([Target("charm", 1.0, 1.0)], load_sharing="supply")
