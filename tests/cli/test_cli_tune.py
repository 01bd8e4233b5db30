"""tune on the command line and below it: bad input, a small search, resuming, files read again."""

import json
from pathlib import Path

import pytest

from leaguesim.center import demo_center, read
from leaguesim.center.aimfiles import find_goal, find_tournament
from leaguesim.cli.main import main
from leaguesim.errors import InputError, ProfileError
from leaguesim.lane.film import bands_film, volume_ml
from leaguesim.lane.lane import Lane
from leaguesim.play.aims import Goal, Limits, Machine
from leaguesim.study.tunepattern import Recipe, bands_of, condition_of, facts, toml_text
from leaguesim.study.tunesearch import Space, pool_of
from leaguesim.study.tunememory import Memory


def test_tune_pattern_meets_volume_ratio_and_doses() -> None:
    oils = read(demo_center()).conditioners
    for length in (36.0, 40.0, 44.0):
        for ratio in (1.5, 3.0, 8.0):
            bands = bands_of(Recipe(length, 25.0, ratio, 0.9, ("amber",)), Machine())
            for b in bands:
                assert b.volume_ml / 0.1 == pytest.approx(round(b.volume_ml / 0.1), abs=1e-6)
                assert b.to_ft - b.from_ft >= 2.0
            assert sum(b.volume_ml for b in bands) == pytest.approx(25.0, abs=0.1)
            row = bands_film(bands, list(oils)).sum(axis=0)[21]
            assert row[17:22].mean() / row[2:7].mean() == pytest.approx(ratio, rel=0.12)
            found = facts(bands, oils)
            assert found["ratio_right"] == found["ratio_left"]
            assert found["length_ft"] == length
            assert found["cost"] == pytest.approx(found["volume_ml"] * 9.0 / 1000.0)


def test_tune_condition_is_read_again_figure_for_figure(tmp_path: Path) -> None:
    center = tmp_path / "center"
    assert main(["new", str(center)]) == 0
    recipe = Recipe(41.0, 22.0, 6.0, 0.8, ("amber", "slate"), (0.0, 0.5, 1.0))
    made = condition_of("found", 'a "title"', recipe, Machine())
    (center / "conditions" / "found.toml").write_text(toml_text(made, "note"), encoding="utf-8")
    again = read(center).conditions["found"]
    assert again.bands == made.bands
    assert again.title == made.title
    film = Lane.from_condition(again, read(center).conditioners).film
    assert volume_ml(film) == pytest.approx(22.0, abs=0.1)


def test_tune_limits_that_exclude_everything_say_which() -> None:
    oils = read(demo_center()).conditioners
    goal = Goal("cheap", "least-spread", limits=Limits(cost_high=0.001))
    with pytest.raises(InputError, match=r"limits leave no condition.*cost excludes 100 %"):
        pool_of(Space(goal, [("amber",)]), oils, 1, "x")


def test_tune_unknown_goal_and_missing_target_leave_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out"
    for words in (["--goal", "kept-hapy"], ["--goal", "average"]):
        assert main(["tune", str(demo_center()), *words, "--out", str(out)]) == 2
    assert not out.exists()
    with pytest.raises(InputError, match=r"did you mean kept-happy\?"):
        find_goal(read(demo_center()), "kept-hapy")


def test_tune_goal_file_tells_all_faults_at_once(tmp_path: Path) -> None:
    center = tmp_path / "center"
    main(["new", str(center)])
    (center / "goals").mkdir()
    good = read(center)
    (center / "goals" / "bad.toml").write_text(
        'goal = "average"\ntarget = 190.0\nconditioners = ["ambre"]\n'
        "[limits]\nlength_low_ft = 44\nlength_high_ft = 40\n"
    )
    with pytest.raises(ProfileError) as found:
        find_goal(good, "bad")
    assert len(found.value.faults) == 2
    assert "did you mean amber?" in str(found.value)


def test_tune_shipped_goal_and_tournament_are_read() -> None:
    center = read(demo_center())
    assert find_goal(center, "field_165").target == 165.0
    assert find_tournament(center, "spring_open").conditions == ("thursday_42",)


def test_tune_state_of_another_search_is_not_used(tmp_path: Path) -> None:
    path = tmp_path / "s" / "state.json"
    Memory(path, "a").keep("t 0", {"average": 0.1 + 0.2, "oils": ("x",)})
    assert Memory(path, "a").known["t 0"]["average"] == 0.1 + 0.2
    assert Memory(path, "b").known == {}
    path.write_text("{broken")
    assert Memory(path, "a").known == {}


@pytest.mark.slow
def test_tune_resumed_search_gives_the_same_bytes(tmp_path: Path) -> None:
    from leaguesim.study import tune

    center = read(demo_center())
    goal = Goal(
        "g", "least-spread", conditioners=("amber",), candidates=8, nights=8, fresh_nights=32
    )
    state = tmp_path / "state.json"

    class StoppedError(Exception):
        pass

    def stop(done: int, _total: int, what: str) -> None:
        if what.startswith("searching") and done == 4:
            raise StoppedError

    whole = tune(center, goal=goal, seed=3).to_json()
    with pytest.raises(StoppedError):
        tune(center, goal=goal, seed=3, progress=stop, state=state)
    assert len(json.loads(state.read_text())["trials"]) == 4
    assert tune(center, goal=goal, seed=3, state=state, workers=1).to_json() == whole
