"""Verdicts, designation, readings, mirror and exchange of the fairness study."""

import json
from dataclasses import replace

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.lane.values import Condition, Readings
from leaguesim.play.values import FairnessLimits
from leaguesim.study import fairness, fairness_run
from leaguesim.study.exchange import exchange_table
from leaguesim.study.fairness_effects import effects_table, group_questions, verdict
from leaguesim.study.fairness_hands import mirrored_condition
from leaguesim.study.fairness_lane import reading_table
from leaguesim.study.prepare import lane_of


@pytest.fixture(scope="module")
def run(small):
    """Fairness of few nights; seasons shortened, everything else as shipped."""
    kept = fairness_run.SEASONS
    fairness_run.SEASONS = 40

    def play(center=None, **options):
        options = {"seed": 11, "nights": 8, "workers": 1, **options}
        return fairness(center or small.center(), **options)

    yield play
    fairness_run.SEASONS = kept


@pytest.fixture(scope="module")
def same(run):
    return run(condition="copy", against="house")


def made_up(change, left, pairs=6):
    n = change.size
    members = np.stack([np.ones(n, bool), left, ~left])
    kinds, names = ("league", "hand", "hand"), ("league", "left", "right")
    pair_of = np.repeat(np.arange(pairs), n // pairs)
    asked = group_questions(kinds, names, members, change, np.full(n, 0.3), 170.0 + change, pair_of)
    return effects_table(asked, 3.0)


def test_identical_conditions_are_fair_with_exactly_no_difference(same):
    e = same.effects
    assert (e["effect"].dropna()[e["kind"] != "same person, other hand"] == 0.0).all()
    change = e[e["group"].str.endswith("as it changes")]
    assert (change["effect"] == 0.0).all()
    assert (same.twins["gap"] == same.twins["gap_against"]).all()
    handicap = same.handicap
    assert (handicap["before"] == handicap["settled"]).all()
    assert (handicap["condition"] == 0.0).all()


def test_no_change_at_48_bowlers_is_fair():
    left = np.arange(48) % 6 == 0
    e = made_up(np.zeros(48), left)
    assert list(e["verdict"]) == ["fair"]
    assert list(e["effect"]) == [0.0]
    assert e["words"][0].startswith("left-handers: fair within 3 pins of right-handers")


def test_the_mirror_changes_nothing(same, run):
    assert same.control["largest_gap"] == 0.0
    assert same.control["bowlers_off"] == 0
    assert run(condition="skew", against="skew").control["bowlers_off"] == 0


def test_a_skewed_lane_tells_the_hands_apart(run):
    """The twins would agree on any lane if nobody had turned them."""
    twins = run(condition="skew", against="house").twins
    assert (twins["gap"].abs() > 0.01).all()


def test_groups_of_one_and_few_pairs_say_so(same):
    few = same.effects[same.effects["verdict"] == "too few"]
    assert len(few) > 0
    assert few["words"].str.contains("too few|nobody to compare").all()
    json.loads(same.to_json())


def test_one_condition_alone_judges_twins_only(run):
    alone = run(condition="house")
    assert not alone.compared
    assert set(alone.effects["kind"]) == {"same person, other hand"}


@pytest.mark.parametrize("names", [("nowhere", None), ("house", "nowhere")])
def test_unknown_conditions_are_refused(small, names):
    with pytest.raises(InputError, match="nowhere"):
        fairness(small.center(), condition=names[0], against=names[1])


def test_an_empty_roster_is_refused(small):
    with pytest.raises(InputError, match="roster is empty"):
        fairness(replace(small.center(), roster=()), condition="flat")


def test_one_team_is_no_league(small, run):
    lines = tuple(replace(r, team="A1") for r in small.center().roster[:3])
    alone = run(replace(small.center(), roster=lines), condition="flat")
    assert alone.handicap is None
    assert "no league" in alone.handicap_words


def test_another_house_joins_the_exchange(small, run):
    away = replace(small.center(), name="Far Hall", today="flat")
    table = run(condition="flat", nights=4, houses=[away]).exchange
    assert {"Far Hall: flat", "Small Hall: flat", "Small Hall: house"} == set(table["from"])
    same = table[(table["from"] == "Small Hall: flat") & (table["to"] == "Far Hall: flat")]
    assert np.allclose(same["average"], same["becomes"])
    with pytest.raises(InputError, match="same name"):
        run(condition="flat", houses=[small.center()])


def test_verdicts_need_a_size_and_a_proof():
    assert verdict(-9.0, 0.01, 0.9, 3.0) == "unfair"
    assert verdict(-9.0, 0.20, 0.9, 3.0) == "not shown"
    assert verdict(-2.0, 0.01, 0.2, 3.0) == "not shown"
    assert verdict(-1.0, 0.01, 0.01, 3.0) == "fair"


def test_a_line_is_exchanged_both_ways():
    x = np.linspace(120, 210, 24)
    table = exchange_table({"a": x, "b": 0.8 * x + 20}, np.repeat(np.arange(6), 4))
    there = table[table["from"] == "a"]
    assert np.allclose(there["becomes"], 0.8 * there["average"] + 20)
    assert np.allclose(there["low"], there["high"])
    assert there["average"].between(120, 210).all()


def test_readings_are_held_against_intent(small):
    meant = lane_of(small.center(), "house")
    film = meant.film_units
    good = [(f, b, film[f, b - 1]) for f in (8, 20) for b in range(1, 40)]
    points = [(f + 0.5, float(b), u + (9.0 if b == 5 else 0.0)) for f, b, u in good]
    readings = Readings(*zip(*points, strict=True), (("amber", 1.0),))
    table = reading_table(readings, meant, FairnessLimits())
    assert len(table) == 78
    assert set(table.loc[~table["within"], "board"]) == {5.0}


def test_a_mirror_twice_is_the_condition(small):
    skew = Condition("skew", "Skew", small.SKEW)
    assert mirrored_condition(mirrored_condition(skew)) == skew
    assert mirrored_condition(skew) != skew
