"""The first weeks in a comparison: what is asked of people, what it costs, jump against sequence."""

import json
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from leaguesim import tables
from leaguesim.center.sequence import DatedConditions, check_sequence
from leaguesim.errors import InputError
from leaguesim.study.switch import SEASONS, WEEKS, play_switch

SLOW = DatedConditions(((date(2027, 1, 5), "skew"), (date(2027, 1, 19), "flat")), "slow.csv")


@pytest.fixture(scope="module")
def made(floor_and_pins):
    return floor_and_pins[0]


@pytest.fixture(scope="module")
def slow(made):
    return play_switch(made, "house", "flat", dated=SLOW)


def test_what_a_switch_asks_is_the_difference_of_the_lines(made, slow):
    old, new = made.setting("house").stances, made.setting("flat").stances
    for row in slow.bowlers.to_dict("records"):
        a, b = old[row["bowler"]].line, new[row["bowler"]].line
        assert row["feet_move"] == b.board - a.board
        assert row["arrows_move"] == pytest.approx(b.arrow_board - a.arrow_board)
        assert abs(row["move"]) == max(abs(row["feet_move"]), abs(row["arrows_move"]))
        assert row["breakpoint_shift"] == b.breakpoint_board - a.breakpoint_board
        assert row["ball_change"] == (a.ball != b.ball)
        assert row["ball_change"] == (row["ball_from"] != row["ball_to"])
        rolls = a.roll_start_ft <= 60.0 and b.roll_start_ft <= 60.0
        assert np.isnan(row["roll_start_shift"]) != rolls


def test_the_first_weeks_are_the_mean_of_the_weeks_told(slow):
    """By bowler, by group and for the league the same plays are added up."""
    jump = slow.weekly[slow.weekly["way"] == "jump"]
    first = jump[jump["week"] <= WEEKS].groupby("bowler", sort=False)
    table = slow.bowlers.set_index("bowler")
    for name, column in (("first_weeks", "average"), ("settled", "settled")):
        assert np.allclose(table[name], first[column].mean().loc[table.index], atol=1e-9)
    assert np.allclose(
        table["first_weeks_change"], table["first_weeks"] - table["settled"], atol=1e-9
    )
    league = slow.groups[(slow.groups["way"] == "jump") & (slow.groups["group"] == "league")]
    assert list(league["week"]) == list(range(1, slow.weeks_played + 1))
    means = jump.groupby("week")["average"].mean()
    assert np.allclose(league["average"], means, atol=1e-9)
    told = slow.league
    assert told["change"] == pytest.approx(table["first_weeks_change"].mean(), abs=1e-9)
    assert told["first_week"] == pytest.approx(league["change"].iloc[0], abs=1e-9)
    assert told["change_se"] > 0.0
    assert told["alike"] + told["learn"] + told["keep"] == 8


def test_old_habits_cost_pins_in_the_first_week(slow):
    """By more than three standard errors on the demo's kinds of people, and less at the end."""
    told = slow.league
    assert told["first_week"] < -3.0 * told["first_week_se"]
    assert told["last_week"] > told["first_week"]


def test_weeks_to_settle_are_those_after_which_everybody_has_learnt(slow):
    jump = slow.weekly[slow.weekly["way"] == "jump"]
    for row in slow.bowlers.to_dict("records"):
        learnt = jump[jump["bowler"] == row["bowler"]].sort_values("week")["learnt"]
        expected = [float(w >= row["weeks_to_settle"]) for w in range(slow.weeks_played)]
        assert list(learnt) == expected, row["bowler"]


def test_the_sequence_has_its_conditions_and_ends_where_the_jump_does(slow):
    assert slow.weeks_played == WEEKS + 2
    rows = slow.groups[(slow.groups["way"] == "sequence") & (slow.groups["group"] == "league")]
    assert list(rows["condition"]) == ["skew"] * 2 + ["flat"] * WEEKS
    assert list(rows["date"])[:3] == ["2027-01-05", "2027-01-12", "2027-01-19"]
    jump = slow.groups[(slow.groups["way"] == "jump") & (slow.groups["group"] == "league")]
    # The same luck: settled play of the weeks that both spend on the same oil is the same to the bit.
    assert list(rows["settled"])[2:] == list(jump["settled"])[2:]
    told = slow.sequence
    assert told["gain"] == pytest.approx(told["sequence"] - told["jump"], abs=1e-9)
    assert told["habit_gain"] == pytest.approx(
        told["sequence_change"] - told["jump_change"], abs=1e-9
    )
    settled = rows["settled"].mean() - jump["settled"].mean()
    assert told["gain"] - told["habit_gain"] == pytest.approx(settled, abs=1e-9)


def test_the_jump_is_the_same_with_and_without_a_sequence(made, slow):
    alone = play_switch(made, "house", "flat")
    assert alone.sequence is None
    assert alone.steps == ()
    assert alone.weeks_played == WEEKS
    assert alone.league == slow.league
    assert alone.bowlers.equals(slow.bowlers)


def test_a_sequence_of_one_condition_is_the_jump(made):
    dated = DatedConditions(((date(2027, 1, 5), "flat"), (date(2027, 1, 12), "flat")), "flat.csv")
    told = play_switch(made, "house", "flat", dated=dated).sequence
    assert told["gain"] == told["gain_se"] == told["habit_gain"] == 0.0


def test_a_sequence_that_ends_elsewhere_is_refused(made):
    with pytest.raises(InputError, match=r"slow\.csv: ends on flat, but .* house"):
        check_sequence(SLOW, "house")
    with pytest.raises(InputError, match="must end"):
        play_switch(made, "house", "skew", dated=SLOW)


def test_two_nights_a_week_are_one_week(small):
    from leaguesim.study.prepare import ready

    center = small.center()
    center = replace(center, league=replace(center.league, nights_per_week=2))
    with ready(center, 11, workers=1, tie=False) as twice:
        told = play_switch(twice, "house", "flat")
    assert told.weeks_played == WEEKS
    assert len(told.weekly) == WEEKS * 8
    jump = told.weekly.groupby("bowler")["learnt"].sum()
    assert (jump <= WEEKS).all()


def test_a_comparison_carries_them(played):
    result = played("house", "flat")
    told = json.loads(result.to_json())["first_weeks"]
    assert told["seasons"] == SEASONS
    assert told["weeks"] == told["weeks_played"] == WEEKS
    assert told["sequence"] is None
    assert {*told["bowlers"][0]} == set(tables.SWITCH)
    assert len(told["by_week"]) == WEEKS
    assert sum(row["roll_start_shift"] is None for row in told["bowlers"]) == int(
        result.switch.bowlers["roll_start_shift"].isna().sum()
    )


def test_games_of_the_night_by_bowler(played):
    result = played("house", "flat")
    games = result.games_table
    for side in ("now", "next"):
        for g in (1, 2, 3):
            rows = games[(games["condition"] == side) & (games["game"] == g)]
            assert list(rows["bowler"]) == list(result.bowlers["bowler"])
            assert list(rows["average"]) == list(result.bowlers[f"game{g}_{side}"])
            held = rows["average"].to_numpy() >= result.bowlers["reference"].to_numpy() - 3.0
            assert list(rows["held"]) == list(held)
    assert (games["moved"] >= 0.0).all()
    assert games["moved"].max() > 0.0
    assert (games["moved"] <= 16.0).all()  # eight at the feet and eight at the arrows
