"""tune on the command line and below it: bad input, a small search, resuming, files read again."""

import json
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from leaguesim.center import demo_center, read
from leaguesim.center.aimfiles import find_goal, find_tournament
from leaguesim.cli.commands_tune import KEPT, STATE
from leaguesim.cli.main import main
from leaguesim.errors import InputError, ProfileError
from leaguesim.lane.film import bands_film, volume_ml
from leaguesim.lane.lane import Lane
from leaguesim.play.aims import Goal, Limits, Machine
from leaguesim.study.tunemeasure import fresh_seed, house_of
from leaguesim.study.tunememory import Memory, kept
from leaguesim.study.tunepattern import Recipe, bands_of, condition_of, facts, toml_text
from leaguesim.study.tuneresult import _blend_less_single
from leaguesim.study.tunesearch import OIL_WEIGHT, TAPER, Space, pool_of


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
    Memory(path, "a", 1).keep("t 0", {"average": 0.1 + 0.2, "oils": ("x",)})
    assert Memory(path, "a", 1).known["t 0"]["average"] == 0.1 + 0.2
    assert Memory(path, "b", 1).known == {}
    path.write_text("{broken")
    assert Memory(path, "a", 1).known == {}


def test_tune_searched_patterns_carry_their_oil_to_the_front() -> None:
    """Film in the heads over that at 30 ft, in the middle, at both ends of the taper searched."""
    oils = read(demo_center()).conditioners
    for taper in TAPER:
        for ratio in (2.0, 6.0):
            film = bands_film(
                bands_of(Recipe(40.0, 25.0, ratio, taper, ("amber",)), Machine()), list(oils)
            )
            middle = film.sum(axis=0)[:, 17:22].mean(axis=1)
            assert middle[8] > 3.0 * middle[30]
            assert middle[8] >= middle[15] >= middle[22] >= middle[30]


def test_tune_begins_with_todays_layout_within_the_limits() -> None:
    center = read(demo_center())
    goal = Goal("g", "kept-happy")
    space = Space(goal, [("amber",), ("slate",)])
    first, second = space.starts(center.conditions["tuesday_40"], center.conditioners)
    assert space.recipe(first).oils == ("amber",)
    assert space.recipe(second).oils == ("slate",)
    assert space.recipe(first).length_ft == pytest.approx(40.0)
    assert space.recipe(first).volume_ml == pytest.approx(25.0)
    assert not space.allowed(first, center.conditioners)
    far = space.features(np.array([first, second]))
    assert np.abs(far[0] - far[1]).max() == pytest.approx(OIL_WEIGHT)


def test_tune_population_that_is_not_there_is_told(tmp_path: Path) -> None:
    center = tmp_path / "center"
    main(["new", str(center)])
    (center / "goals" / "g.toml").write_text('goal = "discrimination"\npopulation = "leage"\n')
    (center / "tournaments" / "t.toml").write_text('field = "population"\n')
    good = read(demo_center())
    there = replace(good, folder=center)
    with pytest.raises(ProfileError, match="did you mean league"):
        find_goal(there, "g")
    with pytest.raises(ProfileError, match="population"):
        find_tournament(there, "t")


def test_tune_measures_again_with_other_people_of_a_population() -> None:
    center = read(demo_center())
    goal = Goal("g", "discrimination", population="league", people=12)
    one, two = (house_of(center, goal, s) for s in (3, fresh_seed(3)))
    assert len(one.roster) == len(two.roster) == 12
    assert [r.style for r in one.roster] != [r.style for r in two.roster]


def test_tune_blend_less_single_oil_is_told_with_its_interval() -> None:
    """Eight pairs of two: the blend keeps everybody happy, the single oil nobody."""
    n = 16
    paired = {
        "style": ["a", "b"] * (n // 2),
        "averages": np.array([np.full(n, 150.0), np.full(n, 152.0)]),
        "happy": np.array([np.zeros(n), np.ones(n)]),
        "pair_of": np.repeat(np.arange(n // 2), 2),
    }
    best = [{"name": "x_1", "family": "plain"}, {"name": "x_2", "family": "blend"}]
    rows = _blend_less_single(best, paired, 1)
    assert [r["who"] for r in rows] == ["everybody", "a", "b"]
    assert rows[0]["kept_happy"] == 1.0
    assert rows[0]["average"] == pytest.approx(2.0)
    assert rows[0]["average_low"] == pytest.approx(2.0)
    assert _blend_less_single(best[:1], paired, 1) == []
    few = {**paired, "pair_of": np.zeros(n, int)}
    assert np.isnan(_blend_less_single(best, few, 1)[0]["average_low"])


@pytest.mark.slow
def test_tune_resumed_search_gives_the_same_bytes(tmp_path: Path) -> None:
    from leaguesim.study import tune

    center = read(demo_center())
    goal = Goal(
        "g", "least-spread", conditioners=("amber",), candidates=8, nights=8, fresh_nights=32,
        population="league", people=8,
    )  # fmt: skip
    state = tmp_path / "state.json"

    class StoppedError(Exception):
        pass

    def stop(done: int, _total: int, what: str) -> None:
        if what.startswith("searching") and done == 4:
            raise StoppedError

    whole = tune(center, goal=goal, seed=3).to_json()
    with pytest.raises(StoppedError):
        tune(center, goal=goal, seed=3, progress=stop, state=state)
    assert len(kept(state)["trials"]) == 4
    assert tune(center, goal=goal, seed=3, state=state, workers=1).to_json() == whole


QUICK = "candidates = 8\nnights = 8\nfresh_nights = 32\n"


def quick_center(tmp_path: Path, goal: str) -> Path:
    """A starter center with four people and a goal of few nights."""
    center = tmp_path / "center"
    assert main(["new", str(center)]) == 0
    lines = (center / "roster.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (center / "roster.csv").write_text("".join(lines[:5]), encoding="utf-8")
    (center / "goals" / "quick.toml").write_text(goal + QUICK, encoding="utf-8")
    return center


def tune_process(center: Path, out: Path, *more: str) -> "subprocess.Popen[str]":
    """The command in a process of its own, which can be interrupted."""
    words = ["tune", str(center), "--goal", "quick", "--out", str(out), *more]
    return subprocess.Popen(
        [sys.executable, "-m", "leaguesim", *words], text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL], ids=["ctrl-c", "killed"])
def test_tune_stopped_goes_on_to_the_same_bytes(tmp_path: Path, how: signal.Signals) -> None:
    """Stopped after three trials, then the same command again: page, tables and JSON as unbroken."""
    center = quick_center(tmp_path, 'goal = "least-spread"\n')
    whole, broken = tmp_path / "whole", tmp_path / "broken"
    words = ["tune", str(center), "--goal", "quick", "--quiet"]
    first = tune_process(center, broken)
    state = broken / KEPT / STATE
    end = time.monotonic() + 240.0
    while len(kept(state).get("trials", ())) < 3:
        assert time.monotonic() < end
        assert first.poll() is None
        time.sleep(0.02)
    first.send_signal(how)
    told = first.communicate(timeout=60)[1]
    seed, so_far = kept(state)["seed"], len(kept(state)["trials"])
    if how == signal.SIGINT:
        assert first.returncode == 130
        assert f"{so_far} conditions tried are kept in {broken}; the same command goes on" in told
    assert so_far < 8
    assert [p.name for p in broken.iterdir()] == [KEPT]
    assert main([*words, "--out", str(broken)]) == 0  # no seed given: that of the stopped search
    assert main([*words, "--out", str(whole), "--seed", str(seed)]) == 0
    assert not (broken / KEPT).exists()
    names = sorted(p.name for p in whole.iterdir())
    assert sorted(p.name for p in broken.iterdir()) == names
    for name in names:
        if name.endswith((".csv", ".toml")):
            assert (whole / name).read_bytes() == (broken / name).read_bytes()
    results = [json.loads((p / "summary.json").read_text()) for p in (whole, broken)]
    hashes = [r.pop("manifest")["result_sha256"] for r in results]
    assert results[0] == results[1]
    assert hashes[0] == hashes[1]


@pytest.mark.slow
def test_tune_target_that_nothing_reaches_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    center = quick_center(tmp_path, 'goal = "average"\n')
    out = tmp_path / "deep" / "out"
    words = ["tune", str(center), "--goal", "quick", "--target", "280", "--seed", "1"]
    assert main([*words, "--out", str(out), "--quiet"]) == 2
    told = capsys.readouterr().err
    assert "none of 8 conditions tried within the limits averages 280" in told
    assert "the averages run from" in told
    assert "stands at the limits of" in told or "may find a nearer one" in told
    assert "kept" not in told
    assert not out.parent.exists()


@pytest.mark.parametrize(
    ("goal", "told"),
    [
        ("[limits]\ncost_high = 0.001\n", "the limits leave no condition"),
        (
            "[limits]\nlength_low_ft = 48\nlength_high_ft = 50\n[machine]\nlongest_ft = 40\n",
            "the machine lays 40 ft at most",
        ),
    ],
)
def test_tune_limits_that_exclude_everything_leave_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], goal: str, told: str
) -> None:
    """One sentence which limits did it, before anybody lines up; the file as a newcomer writes it."""
    center = tmp_path / "center"
    assert main(["new", str(center)]) == 0
    (center / "goals" / "narrow.toml").write_text('goal = "least-spread"\n' + goal)
    out = tmp_path / "deep" / "out"
    words = ["tune", str(center), "--goal", "narrow", "--seed", "1", "--quiet"]
    assert main([*words, "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert told in said
    assert "Traceback" not in said
    assert not out.parent.exists()


@pytest.mark.parametrize(
    "command", [["tune", "--goal", "kept-happy"], ["tournament", "--format", "club_open"]]
)
def test_tune_and_tournament_of_nobody_leave_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: list[str]
) -> None:
    center = tmp_path / "center"
    assert main(["new", str(center)]) == 0
    head = (center / "roster.csv").read_text(encoding="utf-8").splitlines()[0]
    (center / "roster.csv").write_text(head + "\n", encoding="utf-8")
    capsys.readouterr()
    out = tmp_path / "deep" / "out"
    assert main([command[0], str(center), *command[1:], "--seed", "1", "--out", str(out)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    assert not out.parent.exists()


@pytest.mark.slow
def test_tune_limit_on_machine_stops_is_kept_or_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A limit that some patterns break: the winner is within it; one that all break is told."""
    center = quick_center(tmp_path, 'goal = "least-spread"\nconditioners = ["amber"]\n')
    file = center / "goals" / "quick.toml"
    plain = file.read_text(encoding="utf-8")
    capsys.readouterr()

    def tuned(high: float) -> Any:
        file.write_text(f"{plain}[limits]\nstops_high = {high}\n", encoding="utf-8")
        words = ["tune", str(center), "--goal", "quick", "--seed", "1", "--json", "--quiet"]
        assert main(words) == 0
        return json.loads(capsys.readouterr().out)

    loose = tuned(1000.0)
    stops = sorted(t["stops"] for t in loose["tried"])
    high = round(0.5 * (stops[1] + stops[2]), 3)
    found = tuned(high)
    won = found["best"][0]
    same = [t for t in found["tried"] if t["average"] == won["searched"]["average"]]
    assert len(same) == 1
    assert same[0]["stops"] <= high
    assert stops[-1] > high
    assert "Machine stops: at most an index of" in " ".join(found["answer"])
    file.write_text(f"{plain}[limits]\nstops_high = 1.0\n", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["tune", str(center), "--goal", "quick", "--seed", "1", "--out", str(out)]) == 2
    assert "keeps machine stops to an index of 1: the least is" in capsys.readouterr().err
    assert not out.exists()
