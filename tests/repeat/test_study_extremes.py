"""Kept happy where nobody would bowl and where nothing changes: dry, flooded, identical.

Three dozen nights of eight people: what is told is far outside the luck of them.
"""

from dataclasses import replace

import pytest

from leaguesim.lane.values import Band, Condition

AMBER = (("amber", 1.0),)


@pytest.fixture(scope="module")
def against(small):
    """The house pattern against another condition, by name."""
    hall = small.center()
    odd = {
        "dry": Condition("dry", "Dry", (Band(0, 40, 2, 38, 0.4, AMBER),)),
        "flooded": Condition("flooded", "Flooded", (Band(0, 60, 1, 39, 120.0, AMBER),)),
    }
    hall = replace(hall, conditions={**hall.conditions, **odd})
    return {name: small.compare(hall, "house", name) for name in ("dry", "flooded", "copy")}


@pytest.mark.slow
@pytest.mark.parametrize("name", ["dry", "flooded"])
def test_a_dry_and_a_flooded_lane_keep_fewer_people_happy(against, name):
    league = against[name].league
    assert league["average_next"] < league["average_now"] - 3.0
    assert league["kept_happy_next"] < league["kept_happy_now"]
    assert 0.0 <= league["kept_happy_next"] <= 1.0


@pytest.mark.slow
def test_an_identical_condition_keeps_the_same_people_happy(against):
    """Exactly: the same people, nights and luck."""
    bowlers = against["copy"].bowlers
    assert (bowlers["kept_happy_now"] == bowlers["kept_happy_next"]).all()
    assert (bowlers["change"] == 0.0).all()
