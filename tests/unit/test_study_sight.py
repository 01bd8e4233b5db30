"""One condition looked at: finite arrivals, ratios that exist, worn lanes shown worn."""

import json
from dataclasses import replace

import numpy as np
import pytest

from leaguesim.lane.values import Band, Condition
from leaguesim.study import look

FINITE = (
    "line_board", "arrow_board", "breakpoint_board", "breakpoint_ft", "entry_angle", "speed_mph",
    "offset_board", "outside_miss_board", "inside_miss_board",
)  # fmt: skip


@pytest.fixture(scope="module")
def seen(small):
    center = small.center()
    dry = Condition("dry", "Dry outside", (Band(0, 40, 10, 30, 20.0, small.AMBER),))
    center = replace(center, conditions=center.conditions | {"dry": dry}, roster=center.roster[:3])
    return {name: look(center, condition=name, seed=4) for name in ("house", "worn", "dry")}


@pytest.mark.parametrize("name", ["house", "worn", "dry"])
def test_arrivals_are_finite_and_sane(seen, name):
    table = seen[name].look.arrivals
    assert len(table) == 3  # a style and hand each
    for column in FINITE:
        assert np.isfinite(table[column]).all(), column
    assert table["line_board"].between(1, 39).all()
    assert table["entry_angle"].between(-5, 12).all()
    assert table["speed_mph"].between(8, 25).all()
    assert table["offset_board"].between(-20, 20).all()
    assert table["breakpoint_ft"].between(0, 60).all()


def test_a_right_and_a_left_hander_of_one_style_arrive_alike(small):
    """The house pattern is symmetric and the lane level: own-hand figures are equal."""
    center = small.center()
    one, other = center.roster[5], center.roster[5]
    both = (replace(one, bowler="R"), replace(other, bowler="L", hand="left"))
    shown = look(replace(center, roster=both), condition="house", seed=4).look
    table = shown.arrivals
    right, left = (table[table["hand"] == h].iloc[0] for h in ("right", "left"))
    for column in set(table) - {"hand"}:
        assert right[column] == left[column], column
    line = shown.paths[shown.paths["release"] == "line"]
    boards = [line[line["hand"] == h]["board"].to_numpy() for h in ("right", "left")]
    assert np.array_equal(40.0 - boards[0], boards[1])


def test_paths_stay_on_the_lane(seen):
    paths = seen["house"].look.paths
    assert paths["board"].between(0.0, 40.0).all()
    assert paths["distance_ft"].between(0.0, 60.0).all()
    assert set(paths["release"]) == {"line", "board right", "board left"} | {
        f"usual miss {k}" for k in range(1, 7)
    }


def test_worn_film_is_lower_and_more_uneven(seen):
    fresh, worn = seen["house"].look, seen["worn"].look
    assert worn.volume_ml < fresh.volume_ml - 0.5
    assert worn.volume_ml > 0.5 * fresh.volume_ml
    assert fresh.volume_ml == pytest.approx(25.0, rel=1e-3)
    assert (worn.cells["film_units"] >= 0.0).all()
    assert (worn.cells["friction"] > 0.0).all()
    assert any("games a lane" in note for note in seen["worn"].notes)
    assert not any("games a lane" in note for note in seen["house"].notes)


def test_a_dry_outside_has_no_ratio(seen):
    for row in seen["dry"].look.ratios:
        assert row["right"] is None
        assert row["left"] is None
    assert "dry" in seen["dry"].look.designation
    told = {row["distance_ft"]: row for row in seen["house"].look.ratios}
    assert told[36.0]["right"] is None  # the outer boards end at 36 ft, the middle at 40
    for feet in (5.0, 10.0, 15.0, 22.0, 30.0):
        assert told[feet]["right"] == told[feet]["left"]
        assert told[feet]["right"] > 1.0


@pytest.mark.parametrize("name", ["house", "dry"])
def test_the_json_is_strict(seen, name):
    def refuse(token):
        raise AssertionError(token)

    told = json.loads(seen[name].to_json(), parse_constant=refuse)
    assert told["schema"] == "leaguesim.lane/1"
    assert len(told["arrivals"]) == 3
    for row in told["ratios"]:
        assert set(row) == {"distance_ft", "right", "left"}


def test_the_same_seed_looks_the_same(small, seen):
    center = small.center()
    again = look(replace(center, roster=center.roster[:3]), condition="worn", seed=4)
    assert again.look.cells.equals(seen["worn"].look.cells)
    assert again.look.arrivals.equals(seen["worn"].look.arrivals)
