"""The first weeks to the bit: equal conditions, worker counts, the order of the roster."""

from dataclasses import replace
from datetime import date

import pytest

from leaguesim.center.sequence import DatedConditions
from leaguesim.study.prepare import ready
from leaguesim.study.switch import play_switch

SLOW = DatedConditions(((date(2027, 1, 5), "skew"), (date(2027, 1, 12), "flat")), "slow.csv")


def _told(small, center, workers=1):
    with ready(center, 11, workers=workers, tie=False) as made:
        return play_switch(made, "house", "flat", dated=SLOW)


def _same(a, b):
    return (
        a.summary() == b.summary()
        and a.weekly.equals(b.weekly)
        and a.groups.equals(b.groups)
        and a.bowlers.equals(b.bowlers)
    )


@pytest.fixture(scope="module")
def once(small):
    return _told(small, small.center())


@pytest.mark.parametrize("after", ["house", "copy"])
def test_equal_conditions_cost_exactly_nothing(played, after):
    """Both the same condition and another file with the same oil."""
    told = played("house", after).switch
    table = told.bowlers
    for column in ("first_weeks_change", "first_weeks_change_se", "old_line_gap", "move",
                   "breakpoint_shift", "exit_shift", "weeks_to_settle"):  # fmt: skip
        assert (table[column] == 0.0).all(), column
    assert not table["ball_change"].any()
    assert (told.groups[["change", "change_se"]] == 0.0).all(axis=None)
    assert (told.weekly["average"] == told.weekly["settled"]).all()
    assert (told.weekly["learnt"] == 1.0).all()
    assert told.league["change"] == told.league["change_se"] == told.league["first_week"] == 0.0


def test_workers_change_nothing(small, once):
    assert _same(once, _told(small, small.center(), workers=3))


def test_the_order_of_the_roster_changes_nothing(small, once):
    center = small.center()
    assert _same(once, _told(small, replace(center, roster=center.roster[::-1])))


def test_another_seed_is_other_luck(small, once):
    with ready(small.center(), 12, workers=1, tie=False) as made:
        assert not _same(once, play_switch(made, "house", "flat", dated=SLOW))
