"""Luck and doubt told apart, chances and honour scores by hand, and what to measure first."""

import numpy as np
import pytest

from leaguesim.study.forecasttold import honours, measure_first, split


def test_luck_and_doubt_are_told_apart() -> None:
    rng = np.random.default_rng(2)
    points, outcomes = 128, 400
    doubt, luck = 2.0, 1.5
    change = 1.0 + doubt * rng.standard_normal((points, outcomes))
    seen = change + luck * rng.standard_normal((points, outcomes))
    parts = split(seen, np.full(seen.shape, luck**2))
    assert (parts.unknown**2).mean() == pytest.approx(doubt**2, rel=0.02)
    assert parts.luck == pytest.approx(np.full(outcomes, luck / np.sqrt(points)))
    assert not parts.floored.any()
    assert np.allclose(parts.points.std(axis=0, ddof=1), parts.unknown)
    truth = 1.0 + doubt * rng.standard_normal((2000, outcomes))
    covered = ((parts.low < truth) & (truth < parts.high)).mean()
    assert covered == pytest.approx(0.90, abs=0.01)
    assert parts.chance(5.0).mean() == pytest.approx(0.00135, abs=0.001)
    assert parts.chance(3.0, rises=True).mean() == pytest.approx(0.1587, abs=0.01)


def test_luck_alone_is_put_at_no_doubt_and_said() -> None:
    rng = np.random.default_rng(3)
    seen = rng.standard_normal((16, 300))
    parts = split(seen, np.ones(seen.shape))
    assert 0.3 < parts.floored.mean() < 0.8
    assert (parts.unknown[parts.floored] == 0.0).all()
    assert (parts.unknown[~parts.floored] > 0.0).all()


def test_equal_points_without_luck_are_exactly_so() -> None:
    parts = split(np.zeros((8, 3)), np.zeros((8, 3)))
    for values in (parts.change, parts.luck, parts.unknown, parts.low, parts.high):
        assert (values == 0.0).all()
    assert not parts.floored.any()
    assert (parts.chance(3.0) == 0.0).all()
    assert (parts.chance(3.0, rises=True) == 0.0).all()


def test_honour_scores_by_hand() -> None:
    scores = np.zeros((2, 2, 3, 301), np.int64)
    scores[:, :, 0, 300] = 6
    scores[:, :, 1, [200, 300]] = 3
    scores[:, :, 2, 199] = 6
    told = honours(scores, 3)
    assert told["games_300"] == pytest.approx(np.array([[1.0, 0.5, 0.0]] * 2))
    assert told["games_200"] == pytest.approx(np.array([[1.0, 1.0, 0.0]] * 2))
    # 300, 300, 200 is 800: at least two of three games at 300.
    assert told["series_800"] == pytest.approx(np.array([[1.0, 0.5, 0.0]] * 2))
    assert "series_800" not in honours(scores, 4)


def test_points_count_alike_whatever_they_hold() -> None:
    scores = np.zeros((2, 2, 1, 301), np.int64)
    scores[0, :, 0, 300] = 6
    scores[1, :, 0, 100] = 6
    assert honours(scores, 3)["series_800"] == pytest.approx(np.array([[0.5]] * 2))


def _table(ranked: bool) -> dict[str, list[object]]:
    return {
        "outcome": ["league", "league", "power"],
        "group": ["bowlers", "conditioners", "bowlers"],
        "first_order": [0.2, 0.7, 1.0],
        "total": [0.25, 0.75, 1.0],
        "ranked": [ranked] * 3,
    }


def test_what_to_measure_first_is_the_largest_part_of_the_leagues_doubt() -> None:
    words = measure_first(_table(True), {"league": 0.8}, 2.0, 128)
    assert words.startswith("Measure first the conditioners")
    assert "75 %" in words


@pytest.mark.parametrize(
    ("r2", "points", "why"), [(0.31, 128, "R2 0.31"), (0.9, 8, "8 points are too few")]
)
def test_no_ranking_is_told_from_a_poor_emulator(r2: float, points: int, why: str) -> None:
    words = measure_first(_table(False), {"league": r2}, 2.0, points)
    assert "cannot be told" in words
    assert why in words


def test_nothing_to_measure_without_doubt() -> None:
    assert "Nothing to measure" in measure_first(_table(False), {"league": 0.1}, 0.0, 128)
