"""The designation looks at every foot: a short band between two tapes is seen, both sides are told, dry is said."""

from dataclasses import replace

import pytest

from leaguesim.center import demo_center, read
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition
from leaguesim.study.sight import designation

AMBER = (("amber", 1.0),)
FLAT = Band(0, 41, 1, 39, 16.0, AMBER)


@pytest.fixture(scope="module")
def laid():
    oils = read(demo_center()).conditioners
    return lambda *bands: Lane.from_condition(Condition("c", bands=bands), oils)


def test_an_even_film_is_within(laid):
    told = designation(laid(FLAT))
    assert told.startswith("Largest crosswise ratio 1.0:1")
    assert "every foot of the pattern looked at: within the 3:1" in told


def test_a_hill_between_two_tapes_is_seen(laid):
    hill = laid(FLAT, Band(16, 21, 14, 26, 6.0, AMBER))
    told = designation(hill)
    assert hill.crosswise_ratio(18.5)[0] > 9.0
    assert f"Largest crosswise ratio {hill.crosswise_ratio(18.5)[0]:.1f}:1" in told
    assert "above the 3:1" in told


def test_sides_that_differ_are_both_told(laid):
    lane = laid(FLAT, Band(0, 40, 14, 26, 6.0, AMBER), Band(0, 40, 27, 39, 6.0, AMBER))
    left, right = lane.crosswise_ratio(20.5)
    assert left < right
    assert f"{right:.1f}:1 at" in designation(lane)
    assert "on the right" in designation(lane)
    assert "on the left" in designation(lane)


def test_dry_outside_is_said_with_where_it_begins(laid):
    short = replace(FLAT, to_ft=30)
    told = designation(laid(short, Band(0, 40, 10, 30, 8.0, AMBER)))
    assert "at 30 ft boards 3 to 7 of a side are dry" in told
    assert told.endswith("so not sport.")
    assert designation(laid(Band(0, 40, 10, 30, 8.0, AMBER))).startswith(
        "The outside is dry all along"
    )
