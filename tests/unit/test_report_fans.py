"""Fans, miss room and wear: what they draw is what the look holds, own edges kept."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leaguesim.report import lanefans, lanemaps
from leaguesim.report.theme import group_looks
from leaguesim.study.worn import PLAYERS, seats


def test_one_fan_a_style_with_the_left_edge_where_left_handers_are(made_up):
    look = made_up.lane().look
    looks = group_looks(look.arrivals["style"])
    paths = lanemaps.lane_paths(look)
    fans = list(lanefans.fan_figures({"": paths}, looks, length_ft=42.0))
    assert [f.group for f in fans] == [g.name for g in looks]
    for fan in fans:
        hands = {r["hand"] for r in paths if r["style"] == fan.group}
        assert ("from the left edge" in str(fan.spec)) is ("left" in hands)
        assert fan.data["oil-end"] == [{"x": 42.0}]


def test_miss_room_is_where_the_balls_end(made_up):
    look = made_up.lane().look
    rows = lanefans.miss_rows({"": look})
    assert len(rows) == 3 * len(look.arrivals)
    for arrival in look.arrivals.to_dict("records"):
        mine = {
            r["told"]: r["board"]
            for r in rows
            if (r["style"], r["hand"]) == (arrival["style"], arrival["hand"])
        }
        end = 20.0 - arrival["offset_board"]
        assert mine["on the line"] == pytest.approx(end, abs=0.006)
        outside = end - arrival["outside_miss_board"]
        assert mine["a board wide to the outside"] == pytest.approx(outside, abs=0.006)


def test_wear_shows_each_game_against_the_film_before(made_up):
    figures = list(lanefans.worn_figures(made_up.lane().look))
    assert [f.key for f in figures] == ["worn-1", "worn-2"]
    last = min(r["change"] for r in figures[1].data["worn-2"])
    first = min(r["change"] for r in figures[0].data["worn-1"])
    assert last < first < 0.0
    assert [f.key for f in lanefans.worn_figures(made_up.lane().look, last_only=True)] == ["worn-2"]


def test_a_small_crew_has_the_shares_of_the_roster():
    crew = seats({("stroker", "right"): 30, ("power", "left"): 10, ("straight", "right"): 8})
    assert len(crew) == PLAYERS
    assert crew.count(("stroker", "right")) == 5


def test_few_left_handers_spread_over_many_styles_get_their_place():
    """7 of 48, as on the demo roster: one of eight; the wear maps had none on the left side."""
    from collections import Counter

    from leaguesim.center import demo_center, read

    roster = read(demo_center()).roster
    crew = seats(Counter((r.style, r.hand) for r in roster))
    lefts = sum(r.hand == "left" for r in roster)
    assert len(crew) == PLAYERS
    assert sum(hand == "left" for _, hand in crew) == round(PLAYERS * lefts / len(roster)) > 0


@given(
    st.dictionaries(
        st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(["left", "right"])),
        st.integers(1, 30),
        min_size=1,
    )
)
def test_a_crew_keeps_the_shares_of_hands_and_does_not_know_left_from_right(counts):
    crew = seats(counts)
    total = sum(counts.values())
    lefts = sum(n for (_, hand), n in counts.items() if hand == "left")
    assert len(crew) == PLAYERS
    assert abs(sum(hand == "left" for _, hand in crew) - PLAYERS * lefts / total) < 1.0
    if lefts != total - lefts:
        other = {"left": "right", "right": "left"}
        mirrored = seats({(style, other[hand]): n for (style, hand), n in counts.items()})
        assert mirrored == sorted((style, other[hand]) for style, hand in crew)


@pytest.mark.slow
def test_a_night_takes_oil_from_the_track_and_carries_some_on():
    from leaguesim.center import demo_center, read
    from leaguesim.study import look

    worn = look(read(demo_center()), condition="tuesday_40", seed=1).look.worn
    total = worn.groupby("game")["film_units"].sum()
    assert (total.diff().dropna() < 0.0).all()
    for side in (worn["board"] < 20, worn["board"] > 20):  # both hands bowl here
        heads = worn[side & (worn["distance_ft"] < 20.0)].groupby("game")["film_units"].sum()
        assert (heads.diff().dropna() < -1.0).all()
    beyond = worn[worn["distance_ft"] > 41.0].groupby("game")["film_units"].max()
    assert beyond[0] == 0.0
    assert beyond[3] > beyond[1] > 0.0


@given(st.lists(st.lists(st.integers(0, 1), min_size=4, max_size=4), min_size=39, max_size=39))
def test_joined_cells_cover_the_lane_once_with_the_values_of_its_cells(values):
    """Each cell lies in one piece, of its own value; pieces name the boards that they cover."""
    cells = pd.DataFrame(
        [{"board": b + 1, "distance_ft": f + 0.5, "film_units": float(v)}
         for b, row in enumerate(values) for f, v in enumerate(row)]
    )  # fmt: skip
    pieces = lanemaps.runs(cells, {"film_units": 1})
    seen = np.zeros((39, 4))
    for piece in pieces:
        first, last = int(piece["low"] + 0.5), int(piece["high"] - 0.5)
        named = [int(word) for word in piece["b"].split(" to ")]
        assert (named[0], named[-1]) == (first, last)
        own = [int(word) for word in piece["own"].split(" to ")]
        assert (own[0], own[-1]) == (40 - last, 40 - first)
        for b in range(first, last + 1):
            for f in range(int(piece["from"]), int(piece["to"])):
                assert values[b - 1][f] == piece["film_units"]
                seen[b - 1, f] += 1
    assert (seen == 1).all()


def test_a_lane_alike_from_side_to_side_is_a_few_pieces():
    cells = pd.DataFrame(
        [{"board": b, "distance_ft": f + 0.5, "film_units": 9.0 if f < 3 else 0.0}
         for b in range(1, 40) for f in range(6)]
    )  # fmt: skip
    pieces = lanemaps.runs(cells, {"film_units": 1})
    assert [(p["from"], p["to"], p["b"], p["own"]) for p in pieces] == [
        (0.0, 3.0, "1 to 39", "1 to 39"), (3.0, 6.0, "1 to 39", "1 to 39"),
    ]  # fmt: skip
