"""The handicap league: its formula, its round robin and its directions."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.outside.figures import figures
from leaguesim.study.fairness_run import floor_words
from leaguesim.study.handicap import (
    LeagueModel,
    Teams,
    above_base,
    below_median_chance,
    meetings,
    synthetic_teams,
)


@pytest.mark.parametrize("teams", [2, 5, 6, 12])
def test_a_round_robin_meets_everybody_once(teams):
    rounds = teams - 1 + teams % 2
    met = {}
    for week in range(rounds):
        home, away = meetings(teams, week)
        assert len({*home, *away}) == 2 * len(home) == 2 * (teams // 2)
        for pair in zip(home, away, strict=True):
            met[frozenset(pair)] = met.get(frozenset(pair), 0) + 1
    assert len(met) == teams * (teams - 1) // 2
    assert set(met.values()) == {1}


def lone(abilities, size=2):
    ability = np.repeat(np.array(abilities, float)[None, :, None], size, axis=2)
    return Teams(ability, ability, np.full_like(ability, 24.0), 9.5, np.ones(ability.shape, bool))


def test_equal_teams_share_the_wins_evenly():
    """1,000 seasons of four equal teams: within 4 standard errors of a half."""
    chance, se = below_median_chance(lone([180] * 4), LeagueModel(90, 210, weeks=9), 3, 1000)
    assert abs(chance - 0.5) < 4 * se


def test_more_handicap_helps_the_lower_half():
    teams = synthetic_teams(figures("fairness"), 400, 5)
    chances = [below_median_chance(teams, LeagueModel(p, 210), 5)[0] for p in (80, 90, 100)]
    assert chances[0] < chances[1] < chances[2]


def test_no_handicap_lets_the_far_better_half_win():
    assert below_median_chance(lone([120, 125, 200, 205]), LeagueModel(0, 210), 1, 200)[0] == 0.0


def test_stale_averages_after_a_drop_help_whom_it_spares():
    """The lower half keeps its pins, the upper half loses 15: old averages hand it the league."""
    teams = lone([160, 162, 180, 182])
    dropped = replace(teams, ability=teams.ability - np.array([0, 0, 15, 15.0])[None, :, None])
    model = LeagueModel(90, 210, weeks=12)
    assert (
        below_median_chance(dropped, model, 2, 400)[0]
        > below_median_chance(teams, model, 2, 400)[0] + 0.1
    )


def test_a_base_below_a_high_average_helps_the_half_where_it_bowls():
    """Teams of two, the floor counted by hand, and what seasons say of a base of 190 against 220.

    A 210 beside a 130 is a lower team, a 210 beside a 170 an upper one: at 190 the handicap gives
    the 210 nothing, where the formula without its floor would take 20 off.
    """

    def league(*teams):
        ability = np.array(teams, float)[None]
        return Teams(
            ability, ability, np.full_like(ability, 24.0), 9.5, np.ones(ability.shape, bool)
        )

    low = league((130, 210), (171, 172), (173, 174), (174, 175))
    high = league((160, 161), (162, 163), (165, 166), (170, 210))
    low_base, high_base = LeagueModel(100, 190), LeagueModel(100, 220)
    assert above_base(low, low_base) == ([1, 0], [5.0, 0.0])  # 20 pins over 2 heads and 2 teams
    assert above_base(high, low_base) == ([0, 1], [0.0, 5.0])
    assert above_base(high, high_base) == ([0, 0], [0.0, 0.0])
    moved = [
        below_median_chance(t, low_base, 4, 500)[0] - below_median_chance(t, high_base, 4, 500)[0]
        for t in (low, high)
    ]
    assert moved[0] > 0.15
    assert moved[1] < -0.15
    assert "helps the lower half here" in floor_words(low, 200)
    assert "helps the upper half here" in floor_words(high, 200)
    assert "only rounding differs" in floor_words(high, 230)


@pytest.mark.parametrize(
    ("teams", "model", "words"),
    [
        (lone([180]), LeagueModel(90, 210), "two teams"),
        (lone([180, 170]), LeagueModel(200, 210), "150 %"),
        (lone([180, 170]), LeagueModel(90, 210, weeks=0), "weeks"),
    ],
)
def test_bad_leagues_are_refused(teams, model, words):
    with pytest.raises(InputError, match=words):
        below_median_chance(teams, model, 1)
