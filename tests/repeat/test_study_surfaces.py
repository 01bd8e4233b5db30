"""A switch on another surface: people stay as they are tied, norms stay at home, bits stay where nothing differs."""

from dataclasses import replace

import pytest

from leaguesim.center import on_surface
from leaguesim.errors import InputError
from leaguesim.lane.values import LaneState, Surface
from leaguesim.study.prepare import ready
from leaguesim.study.surfaces import across_surfaces


@pytest.fixture(scope="module")
def hall(small):
    center = small.center()
    worn = Surface("worn", 26.0, 0.0)
    return replace(center, surfaces={"same": center.surface, "worn": worn})


@pytest.fixture(scope="module")
def table(hall):
    return across_surfaces(hall, now="house", next="flat", seed=11, nights=32, workers=1)


def test_the_own_surface_by_name_changes_no_figure(small, hall, played):
    there = small.compare(on_surface(hall, "same"), "house", "flat")
    plain = played("house", "flat")
    assert there.bowlers.equals(plain.bowlers)
    assert there.league == plain.league
    assert '"surface": "same"' in there.to_json()
    assert '"surface"' not in plain.to_json()


def test_another_surface_keeps_people_and_norms_of_the_own(small, hall, played):
    there = small.compare(on_surface(hall, "worn"), "house", "flat")
    plain = played("house", "flat")
    # Nobody has an entering average: the reference is the one under today on the own surface.
    assert there.bowlers["reference"].equals(plain.bowlers["reference"])
    assert (there.bowlers["average_now"] != plain.bowlers["average_now"]).all()
    assert there.now_title == "House, worn"
    said = " ".join(there.notes)
    assert "another surface than the center's own" in said
    assert "norms of house on the center's own surface" in said


@pytest.mark.slow
def test_people_are_tied_at_home(small, hall):
    people = small.roster({"Ann": 165.0, "Hal": 158.0})
    tied = []
    for center in (hall, on_surface(hall, "worn")):
        with ready(replace(center, roster=people), 11, workers=1) as made:
            tied.append([b.accuracy_deg for b in made.order])
    assert tied[0] == tied[1]


def test_equal_conditions_change_nothing_on_another_surface(small, hall):
    there = small.compare(on_surface(hall, "worn"), "house", "copy")
    assert (there.bowlers["change"] == 0.0).all()


def test_an_unknown_surface_is_told_in_one_line(hall, small):
    with pytest.raises(InputError, match="there are same, worn; did you mean worn") as found:
        on_surface(hall, "wron")
    assert "\n" not in str(found.value)
    with pytest.raises(InputError, match="no files in surfaces/"):
        on_surface(replace(hall, surfaces={}), "worn")


def test_the_table_holds_what_each_comparison_gives(small, hall, played, table):
    own, same, worn = table.rows
    assert [r["surface"] for r in table.rows] == ["own", "same", "worn"]
    plain = played("house", "flat").league
    there = small.compare(on_surface(hall, "worn"), "house", "flat").league
    for row, league in ((own, plain), (same, plain), (worn, there)):
        for key in ("average_now", "average_next", "change"):
            assert row[key] == league[key], key
        for key, there_key in (
            ("change_se", "change_se"),
            ("low", "change_low"),
            ("high", "change_high"),
        ):
            assert row[key] == league[there_key], key
        assert row["kept_happy_next"] == league["kept_happy_next"]
    assert same["other"] == 0.0
    assert same["other_se"] == 0.0
    assert worn["other"] == pytest.approx(worn["change"] - own["change"], abs=1e-9)
    assert worn["other_se"] > 0.0


def test_workers_change_no_byte_of_the_table(hall, table):
    two = across_surfaces(hall, now="house", next="flat", seed=11, nights=32, workers=2)
    assert two.to_json() == table.to_json()


def test_only_the_film_of_a_single_lane_goes_along(hall):
    lanes = (LaneState(1, roughness_uin=40.0), LaneState(3, film_factor=1.3))
    with ready(replace(hall, lane_states=lanes), 11, workers=1, tie=False) as made:
        made.on(hall.surfaces["worn"])
        setting = made.setting("house")
    assert setting.at(0).lane.roughness_uin == 26.0
    assert setting.at(1).films[0].sum() > setting.at(0).films[0].sum()


@pytest.mark.parametrize(
    ("signs", "said"),
    [((1, -1), "One product does not suit all"), ((1, 0), "raises"), ((0, 0), "No change")],
)
def test_the_answer_follows_the_signs(table, signs, said):
    rows = [
        {
            **table.rows[0],
            "name": f"s{k}",
            "change": 3.0 * s,
            "low": 3.0 * s - 1,
            "high": 3.0 * s + 1,
        }
        for k, s in enumerate(signs)
    ]
    assert said in replace(table, rows=rows).answer
