"""Lanes that differ: the same bytes where they do not, pairing and mirror to the bit where they do."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.center.lanes import turned
from leaguesim.lane.values import LaneState
from leaguesim.run.rounds import Plan
from leaguesim.study.prepare import ready

STATES = (
    LaneState(1, roughness_uin=24.0, tilt_in=0.02),
    LaneState(2, film_factor=1.1),
    LaneState(4, tilt_in=-0.03, residue_units=0.6),
)
PER_PAIR = ("average_now", "average_next", "change", "change_se", "line_board_now", "ball_now")


def _apart(small, states=STATES, **changes):
    return replace(small.center(), lane_states=states, **changes)


def test_lanes_written_as_the_surface_has_them_change_no_byte(small, played):
    surface = small.center().surface
    same = tuple(LaneState(n, surface.roughness_uin, surface.tilt_in, 1.0, 0.0) for n in (1, 2, 3))
    told = small.compare(_apart(small, same), "house", "flat")
    plain = played("house", "flat")
    assert told.bowlers.equals(plain.bowlers)
    assert told.scores.equals(plain.scores)
    assert told.league == plain.league


def test_workers_change_no_byte_on_lanes_that_differ(small):
    one, two = (small.compare(_apart(small), "house", "flat", workers=w) for w in (1, 2))
    assert small.digest(one) == small.digest(two)


def test_only_the_pair_whose_lanes_differ_plays_otherwise(small, played):
    """Lane 3 is of the second pair: the first pair's figures stay to the bit."""
    plain = played("house", "flat").bowlers
    other = small.compare(_apart(small, (LaneState(3, film_factor=0.7),)), "house", "flat").bowlers
    first = plain["pair"] == 0
    for column in PER_PAIR:
        assert other.loc[first, column].equals(plain.loc[first, column]), column
    assert (other.loc[~first, "average_now"] != plain.loc[~first, "average_now"]).all()


def test_a_pair_plays_as_on_a_center_whose_whole_surface_is_its_own(small):
    """Both lanes of the pair rough and tilted against a center with that surface: equal bits."""
    states = tuple(LaneState(n, roughness_uin=28.0, tilt_in=0.02) for n in (3, 4))
    rough = replace(small.center().surface, roughness_uin=28.0, tilt_in=0.02)
    a = small.compare(_apart(small, states), "house", "flat").bowlers
    b = small.compare(replace(small.center(), surface=rough), "house", "flat").bowlers
    second = a["pair"] == 1
    for column in PER_PAIR:
        assert a.loc[second, column].equals(b.loc[second, column]), column


def test_two_lanes_of_a_pair_keep_their_own_tilt(small):
    with ready(_apart(small), 11, workers=1, tie=False) as made:
        setting = made.setting("house")
    assert setting.at(0).pulls[0] != 0.0
    assert setting.at(0).pulls[1] == 0.0
    assert setting.at(1).pulls[1] == pytest.approx(-1.5 * setting.at(0).pulls[0], rel=1e-12)
    # The mean of 1 and 1.1 times the film, and of 0 and 0.6 units on the dry boards of the last foot.
    plain = setting.films[0]
    assert np.allclose(setting.at(0).films[0], 1.05 * plain, rtol=1e-12)
    assert setting.at(1).films[0][59, 20] > plain[59, 20] == 0.0


@pytest.mark.parametrize("now", ["skew"])
def test_the_mirror_holds_on_lanes_that_differ(small, now):
    center = _apart(small)
    seen = replace(small.mirrored(center), lane_states=turned(STATES))
    a = small.compare(center, now, "flat").bowlers
    b = small.compare(seen, now, "flat").bowlers
    for column in set(a) - {"hand"}:
        same = a[column].isna() & b[column].isna() | (a[column] == b[column]).fillna(False)
        assert same.all(), column


def test_equal_conditions_change_nothing_on_lanes_that_differ(small):
    table = small.compare(_apart(small), "house", "copy").bowlers
    assert (table["change"] == 0.0).all()
    assert (table["change_se"] == 0.0).all()


@pytest.mark.slow
def test_people_are_tied_on_the_lanes_they_play_on(small):
    """The first pair as on the plain center, the second as where every lane has that film: equal bits."""
    people = small.roster({"Ann": 165.0, "Hal": 158.0})
    thick = tuple(LaneState(n, film_factor=1.2) for n in (3, 4))
    tied = []
    for center in (
        replace(small.center(), roster=people),
        replace(small.center(), roster=people, film_factor=1.2),
        _apart(small, thick, roster=people),
    ):
        with ready(center, 11, workers=1) as made:
            tied.append({b.bowler: b.accuracy_deg for b in made.order})
    plain, everywhere, apart = tied
    assert apart["Ann"] == plain["Ann"] != everywhere["Ann"]
    assert apart["Hal"] == everywhere["Hal"] != plain["Hal"]


def test_a_plan_is_another_one_when_a_single_lane_is(small):
    marks = []
    for states in ((), (LaneState(3, tilt_in=0.01),), (LaneState(4, tilt_in=0.01),)):
        with ready(_apart(small, states), 11, workers=1, tie=False) as made:
            groups = np.ones((1, len(made.order)), np.bool_)
            plan = Plan(
                [made.setting("house")], made.pairs, made.pins, made.center.league, groups, 11
            )
            marks.append(plan.mark)
    assert len(set(marks)) == 3
