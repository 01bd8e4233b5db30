"""First weeks after a switch: habits cost what they cost, and nothing where nothing changed."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.play.switching import (
    SEASON_GAMES,
    first_weeks,
    games_to_tell,
    old_line_on,
    shift_of,
)
from leaguesim.play.values import LeagueFormat

LEAGUE = LeagueFormat("league", games=3, practice_balls=4)


@pytest.fixture(scope="module")
def made(floor_and_pins):
    return floor_and_pins[0]


def _weeks(made, old, schedule, **options):
    settings = [made.setting(name) for name in schedule]
    return first_weeks(
        made.setting(old), settings, made.pairs, made.pins, LEAGUE, seed=5, **options
    )


@pytest.fixture(scope="module")
def jump(made):
    return _weeks(made, "house", ["flat"] * 10)


def test_a_switch_to_the_same_condition_changes_not_a_bit(made):
    """A copy under another name: everybody lines up alike and has nothing to learn."""
    weeks = _weeks(made, "house", ["copy"] * 2)
    assert np.array_equal(weeks.exact, weeks.settled)
    assert weeks.learnt.all()
    stance = made.setting("house").stances["Ann"]
    shift = shift_of(stance, made.setting("copy"), made.pins)
    assert (shift.feet, shift.arrows, shift.exit, shift.entry_deg, shift.ball) == (
        0,
        0,
        0,
        0,
        False,
    )
    assert shift.gap == 0.0


def test_the_old_line_costs_pins_at_first_and_less_later(made):
    """Sixteen seasons: the first week by more than three standard errors, the end under half of it."""
    seasons = [
        _weeks(made, "house", ["flat"] * 10, replicate=r).cost.mean(axis=1) for r in range(16)
    ]
    first = np.array([s[0] for s in seasons])
    last = np.array([s[-2:].mean() for s in seasons])
    assert first.mean() > 3.0 * first.std(ddof=1) / np.sqrt(16)
    assert last.mean() < 0.5 * first.mean()


def test_people_come_with_their_old_line_and_ball(made, jump):
    old = made.setting("house").stances
    new = made.setting("flat").stances
    for i, b in enumerate(made.order):
        line = old[b.bowler].line
        there = old_line_on(old[b.bowler], made.setting("flat"), made.pins)
        gap = new[b.bowler].line.worth - there.worth
        assert there[:3] == line[:3]
        assert jump.ball[0, i] == line.ball
        assert jump.board[0, i] == line.board
        assert jump.angle[0, i] == line.angle
        needed = games_to_tell(new[b.bowler], gap)
        assert list(jump.learnt[:, i]) == [3 * w >= needed for w in range(10)]


def test_whoever_has_learnt_stands_on_the_new_line(made, jump):
    new = made.setting("flat").stances
    assert jump.learnt.any()
    for i, b in enumerate(made.order):
        at = jump.learnt[:, i]
        assert (jump.board[at, i] == new[b.bowler].line.board).all()
        assert (jump.ball[at, i] == new[b.bowler].line.ball).all()


def test_games_to_tell_fall_with_the_square_of_the_gap(made):
    stance = made.setting("house").stances["Ann"]
    stance = replace(stance, bowler=replace(stance.bowler, accuracy_deg=0.34))
    assert games_to_tell(stance, 0.0) == games_to_tell(stance, -5.0) == SEASON_GAMES
    assert games_to_tell(stance, 3.5) == games_to_tell(stance, 1.0) == SEASON_GAMES
    assert games_to_tell(stance, 7.0) == SEASON_GAMES // 4
    assert games_to_tell(stance, 35.0) == 1


def test_a_way_through_a_mixture_is_paired_with_the_jump(made):
    """Weeks under the same condition have the same settled scores whatever came before."""
    jump = _weeks(made, "house", ["flat", "flat"])
    slow = _weeks(made, "house", ["skew", "flat"])
    assert np.array_equal(jump.settled[1], slow.settled[1])
    assert not np.array_equal(jump.exact[0], slow.exact[0])


def test_another_season_has_other_luck_and_the_same_one_the_same(made):
    a, b = (_weeks(made, "house", ["flat"], replicate=r) for r in (0, 1))
    again = _weeks(made, "house", ["flat"])
    assert np.array_equal(a.exact, again.exact)
    assert not np.array_equal(a.exact, b.exact)
