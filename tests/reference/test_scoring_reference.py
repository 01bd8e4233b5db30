"""Scoring against its outside figures (leaguesim/outside/scoring.toml, sources there)."""

from fractions import Fraction

import numpy as np
import pytest

from leaguesim.outside.figures import figures
from leaguesim.outside.scoring_checks import moments, scoring_checks
from leaguesim.scoring import (
    _kernel,
    count_games,
    game_score,
    running_totals,
    score_distribution,
)

DATA = figures("scoring")
SHEETS = {row["name"]: row for row in DATA["sheets"]["rows"]}
SETS = {k: v for k, v in DATA["independent_racks"].items() if isinstance(v, dict)}


def test_all_of_the_data_is_here():
    assert len(SHEETS) == 22
    assert sorted(SETS) == ["clean_50_50", "league_150", "nine_spare_0_7", "uniform_balls"]


@pytest.mark.parametrize("name", SHEETS)
def test_sheet(name):
    row = SHEETS[name]
    assert running_totals(row["rolls"]) == row["cumulative"]
    assert game_score(row["rolls"]) == row["total"]
    assert len(row["rolls"]) == row["balls"]
    assert sum(row["rolls"]) == row["pins"]


@pytest.mark.parametrize("name", SHEETS)
def test_written_sheet_says_the_same_rolls(name):
    """Reads the marks, so that rolls and marks guard each other, and scores them by slots."""
    slots, rolls = np.full(21, 9), []
    for number, frame in enumerate(SHEETS[name]["sheet"].split()):
        for ball, mark in enumerate(frame):
            value = {"X": 10, "-": 0, "F": 0}.get(mark)
            if value is None:
                value = 10 - rolls[-1] if mark == "/" else int(mark)
            rolls.append(value)
            slots[2 * number + ball] = value
    assert rolls == SHEETS[name]["rolls"]
    assert _kernel.score_slots(slots) == SHEETS[name]["total"]
    totals = np.empty(10, dtype=np.int64)
    _kernel.totals_slots(slots, totals)
    assert totals.tolist() == SHEETS[name]["cumulative"]


def test_counts_of_all_games_are_exact():
    counts = count_games()
    assert counts == DATA["all_games"]["counts"]
    assert sum(counts) == 66**9 * 241
    assert all(type(count) is int for count in counts)


@pytest.mark.parametrize("name", SETS)
def test_distribution(name):
    row = SETS[name]
    chances = score_distribution(row["p_strike"], row["first_ball"], row["second_ball"])
    assert chances.shape == (301,)
    assert chances == pytest.approx(np.array(row["pmf"]), rel=1e-9, abs=0)
    got = moments(chances)
    assert got["mean"] == pytest.approx(float(Fraction(row["mean_frac"])), rel=1e-9)
    assert got["var"] == pytest.approx(float(Fraction(row["var_frac"])), rel=1e-9)
    for key in ("mean", "var", "sd", "skew"):
        assert got[key] == pytest.approx(row[key], rel=1e-9)
    for at in (100, 150, 200, 250):
        assert chances[at:].sum() == pytest.approx(row[f"p_ge_{at}"], rel=1e-9, abs=0)
    assert chances[200] == pytest.approx(row["p_eq_200"], rel=1e-9, abs=0)
    assert chances[300] == pytest.approx(row["p_300"], rel=1e-9, abs=0)


@pytest.mark.parametrize("name", SETS)
def test_mean_kernel_and_closed_form(name):
    row = SETS[name]
    second = np.zeros((10, 11))
    for k, chances in enumerate(row["second_ball"]):
        second[k, : 11 - k] = chances
    first, spare, total = _kernel.rack_means(row["p_strike"], np.array(row["first_ball"]), second)
    assert first == pytest.approx(row["first_ball_mean"], rel=1e-12)
    assert total == pytest.approx(row["frame_pins_mean"], rel=1e-12)
    assert spare == pytest.approx(row["p_spare"], rel=1e-12)
    same = (np.full(12, value) for value in (row["p_strike"], first, spare, total))
    mean = _kernel.expected_game(*same, first)
    assert mean == pytest.approx(row["mean"], rel=1e-12)
    next_two = total + row["p_strike"] * first
    assert mean == pytest.approx(
        10 * (total + row["p_strike"] * next_two + spare * first), rel=1e-12
    )
    variance = 10 * row["frame_var"] + 18 * row["cov1"] + 16 * row["cov2"]
    assert row["var"] == pytest.approx(variance, rel=1e-9)


def test_perfect_games():
    perfect = DATA["perfect_games"]
    rng = np.random.default_rng(4)
    for strike, chance in zip(perfect["strike"], perfect["probability"], strict=True):
        first = (1.0 - strike) * rng.dirichlet(np.ones(10))
        second = [rng.dirichlet(np.ones(11 - k)) for k in range(10)]
        got = score_distribution(strike, first, second)[300]
        assert got == pytest.approx(chance, rel=1e-12)


def test_every_row_of_the_validation_table_passes():
    checks = scoring_checks()
    assert [check.name for check in checks if check.verdict != "pass"] == []
    assert len({check.name for check in checks}) == len(checks) == 15
    for check in checks:
        assert check.use == "check"
        assert check.source
        assert check.expected
        assert check.model


def test_the_table_can_miss(monkeypatch):
    """A scorer that forgets bonuses must be told so, row by row."""
    from leaguesim.outside import scoring_checks as table

    monkeypatch.setattr(table, "game_score", sum)
    monkeypatch.setattr(table, "running_totals", lambda rolls: list(np.cumsum(rolls)))
    monkeypatch.setattr(table, "count_games", lambda: [1] * 301)
    monkeypatch.setattr(table, "score_distribution", lambda *law: np.full(301, 1 / 301))
    assert {check.verdict for check in table.scoring_checks()} == {"miss"}
