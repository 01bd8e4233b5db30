"""The league and the till: handicaps through a switch, standings, conditioner, what upsets machines."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim import tables
from leaguesim.lane.values import LaneState
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play.values import Prices
from leaguesim.study import till
from leaguesim.study.handicap import FEWEST_GAMES, LeagueModel
from leaguesim.study.prepare import ready
from leaguesim.study.tillmachine import against, off_spot, off_spot_table
from leaguesim.study.tillseasons import Switch, carry, handicap
from tests import small_center

N = 8


def switch(change, *, gap=0.0, week=1, se=0.0) -> Switch:
    return Switch(
        now=np.full(N, 170.0), change=np.asarray(change, float), change_se=np.full(N, se),
        sd_now=np.full(N, 24.0), sd_next=np.full(N, 24.0), gap=np.full((1, N), gap),
        team=np.arange(N) // 2, week=week,
    )  # fmt: skip


def test_the_rule_of_handicap():
    # By hand: 90 % of 210 - 163 = 42.3; nobody above the base gets less than nothing.
    model = LeagueModel(percent=90, base=210)
    assert handicap(np.array([163.0, 209.0, 210.0, 250.0]), model).tolist() == [42.0, 0.0, 0.0, 0.0]


def test_nothing_changes_without_a_change():
    got = carry(switch(np.zeros(N)), LeagueModel(90, 210, weeks=14), (1, 3, 6, 12), 3, seasons=40)
    assert (got.extra == 0.0).all()
    assert (got.points[0] == got.points[1]).all()


def test_old_averages_stand_until_21_games_then_catch_up():
    change = np.array([-20.0] * 4 + [0.0] * 4)
    model = LeagueModel(90, 210, games=3, weeks=20)
    weeks = tuple(range(1, 13))
    got = carry(switch(change), model, weeks, 5, seasons=400)
    last = FEWEST_GAMES // model.games  # the last week bowled on the entering average
    # 20 pins lower at 90 % is 18 pins of handicap that the old average does not give.
    assert got.extra[:last, :4] == pytest.approx(-18.0, abs=0.3)
    assert abs(got.extra[last:, :4]).max() < 0.3
    assert abs(got.extra[:, 4:]).max() == 0.0


def test_a_switch_in_mid_season_catches_up_little_by_little():
    change = np.full(N, -20.0)
    got = carry(switch(change, week=11), LeagueModel(90, 210, weeks=30), (1, 6, 12, 25), 5, 400)
    assert got.extra[0] == pytest.approx(-18.0, abs=0.3)
    # Ten weeks of old games and five of new ones: two thirds of the drop are still to come.
    assert got.extra[1] == pytest.approx(-12.0, abs=0.5)
    assert (got.extra[2] > got.extra[1]).all()
    assert np.isnan(got.extra[3]).all()  # the season is over


def test_pins_still_missing_from_settled_play_lower_the_running_average():
    got = carry(switch(np.zeros(N), gap=-5.0), LeagueModel(100, 250, weeks=14), (1, 12), 5, 400)
    assert (got.extra[0] == 0.0).all()
    assert got.extra[1] == pytest.approx(5.0, abs=0.3)


def test_points_are_handed_out_in_full_and_who_falls_loses_some():
    change = np.array([-15.0] * 2 + [0.0] * 6)
    model = LeagueModel(90, 210, weeks=12)
    got = carry(switch(change), model, (1,), 7, seasons=300)
    # Four teams: two meetings a week for three games and a series.
    assert got.points.sum(axis=2) == pytest.approx(2 * 4 * model.weeks, abs=0.01)
    gap = (got.points[1] - got.points[0]).mean(axis=0)
    assert gap[0] < -3.0
    assert (gap[1:] > 0.0).all()
    assert got.place.min() == 1.0
    assert got.place.max() == 4.0


def test_an_unsure_change_widens_what_seasons_give():
    model = LeagueModel(100, 210, weeks=8)
    sure, unsure = (
        carry(switch(np.full(N, -5.0), se=se), model, (1,), 7, seasons=200) for se in (0.0, 4.0)
    )
    assert (unsure.extra_se > 2.0 * sure.extra_se).all()


def test_off_spot_follows_the_recorded_shots():
    rows = CarryLibrary.load().rows
    step = float(CarryLibrary.load().settings["moved_step_m"])
    there = (abs(rows["offset_board"]) < 6.5) & (rows["speed_mps"] > 6.0) & (rows["ball_kg"] > 6.0)
    moved = rows["moved_2mm"][there].max(1) * step > 0.05
    told = off_spot(
        *(rows[k][there].astype(float) for k in ("offset_board", "entry_deg", "speed_mps"))
    )
    se = moved.std() / np.sqrt(moved.size)
    assert abs(told.mean() - moved.mean()) < 4.0 * se
    assert off_spot(np.array([np.nan]), np.array([np.nan]), np.array([np.nan])).tolist() == [0.0]
    assert ((off_spot_table() >= 0.0) & (off_spot_table() <= 1.0)).all()


def test_an_index_is_100_of_itself_and_unknown_without_today():
    rates = np.array([[2.0, 0.0], [4.0, 0.0]])
    index, se = against(rates, rates)
    assert index[0] == 100.0
    assert se[0] == 0.0
    assert np.isnan(index[1])
    assert against(1.5 * rates, rates)[0][0] == pytest.approx(150.0)


@pytest.fixture(scope="module")
def found():
    prices = Prices("coins", lanes_oiled_per_week=10)
    center = replace(small_center.center(), prices=prices)
    return center, small_center.compare(center, "house", "skew")


def test_litres_are_what_the_bands_lay(found):
    center, result = found
    oil = result.till.oil.set_index(["side", "conditioner"])
    assert list(result.till.oil.columns) == list(tables.TILL_OIL)
    # HOUSE: 5 + 9 + 7 + 4 mL of amber; SKEW: 6 + 2 + 3 of amber, 6 + 7 of slate (its blend is 1 to 3).
    assert oil.loc[("now", "all"), "ml_per_lane"] == pytest.approx(25.0)
    assert oil.loc[("next", "amber"), "ml_per_lane"] == pytest.approx(11.0)
    assert oil.loc[("next", "slate"), "ml_per_lane"] == pytest.approx(13.0)
    amber, slate = (center.conditioners[n].price_per_litre for n in ("amber", "slate"))
    cost = (11.0 * amber + 13.0 * slate) / 1000.0
    assert oil.loc[("next", "all"), "cost_per_lane"] == pytest.approx(cost)
    assert oil.loc[("next", "all"), "litres_per_night"] == pytest.approx(24.0 * 4 / 1000.0)
    assert oil.loc[("next", "all"), "cost_per_season"] == pytest.approx(cost * 10 * 32)


def test_without_a_price_there_are_litres_only(found):
    center, _ = found
    bare = {k: replace(c, price_per_litre=None) for k, c in center.conditioners.items()}
    states = (LaneState(1, film_factor=1.2), LaneState(2, film_factor=1.0))
    bare_center = replace(center, conditioners=bare, lane_states=states, prices=Prices())
    with ready(bare_center, 1, workers=1, tie=False) as made:
        oil = till._oil(made, {"now": "house", "next": "skew"}).set_index(["side", "conditioner"])
    assert oil["cost_per_season"].isna().all()
    # Two pairs; the two lanes of the first have 1.2 and 1 times the film.
    assert oil.loc[("now", "all"), "ml_per_lane"] == pytest.approx(25.0 * (1.1 + 1.0) / 2.0)
    assert oil.loc[("now", "all"), "litres_per_season"] == pytest.approx(26.25 * 4 * 32 / 1000.0)


def test_the_machine_is_held_against_today(found):
    _, result = found
    machine = result.till.machine
    assert list(machine["index_now"]) == [100.0] * 3  # house is today's
    assert (machine["index_now_se"] == 0.0).all()
    assert (machine[["per_1000_today", "per_1000_next"]] > 0.0).all(axis=None)
    assert (machine["index_next"] != 100.0).any()
    oil = machine.set_index("cause").loc["oil carried off on balls"]
    assert oil["per_1000_next"] == pytest.approx(oil["per_1000_today"] * oil["index_next"] / 100.0)


def test_tables_of_the_league(found):
    _, result = found
    told = result.till
    assert list(told.bowlers["bowler"]) == list(result.bowlers["bowler"])
    assert told.bowlers["edge_week_1"].mean() == pytest.approx(0.0, abs=1e-9)
    assert set(told.groups["kind"]) == {"league", "style", "hand", "average band"}
    assert told.teams["points_change"].sum() == pytest.approx(0.0, abs=1e-6)
    assert told.caught_up == 8
    assert told.summary()["machine"][0]["index_now"] == 100.0


def test_the_base_of_the_league_wins_over_that_of_fairness():
    center = small_center.center()
    assert till.league_model(center).base == center.fairness.handicap_base
    league = replace(center.league, handicap_base=220, handicap_percent=80, switch_week=31)
    other = replace(center, league=league)
    assert (till.league_model(other).base, till.league_model(other).percent) == (220, 80)
    assert till.catches_up(other) == 2
    assert till.catches_up(replace(other, league=replace(league, switch_week=32))) is None


def test_a_switch_after_the_season_is_told_with_its_line(tmp_path):
    from shutil import copytree

    from leaguesim.center import demo_center, read
    from leaguesim.errors import ProfileError

    folder = copytree(demo_center(), tmp_path / "hall")
    file = folder / "center.toml"
    text = file.read_text(encoding="utf-8")
    for key, value, said in (
        ("switch_week = 1 ", "switch_week = 40 ", "after the season: it has 32 weeks"),
        ("handicap_percent = 90", "handicap_percent = 151", "handicap_percent"),
    ):
        assert key in text
        file.write_text(text.replace(key, value), encoding="utf-8")
        with pytest.raises(ProfileError, match=said):
            read(folder)
    file.write_text(text, encoding="utf-8")
    assert read(folder).league.handicap_percent == 90
