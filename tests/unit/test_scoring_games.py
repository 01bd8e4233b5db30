"""One game from its rolls: what is refused and how, and the corners of the tenth frame."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.scoring import game_score, running_totals


@pytest.mark.parametrize(
    ("rolls", "score"),
    [
        ([0] * 20, 0),
        ([10] * 12, 300),
        ([0] * 18 + [9, 1, 10], 20),
        ([0] * 18 + [10, 3, 7], 20),
        ([0] * 18 + [10, 10, 4], 24),
        ([0] * 16 + [10, 10, 3, 4], 17 + 10 + 10 + 3),
        ([0, 10] + [1] * 18, 11 + 18),
    ],
)
def test_scores_corner_games(rolls, score):
    assert game_score(rolls) == score
    assert running_totals(rolls)[-1] == score


def test_takes_any_whole_numbers():
    assert game_score(np.full(12, 10, dtype=np.int8)) == 300
    assert game_score(iter([10] * 12)) == 300
    totals = running_totals(np.array([3, 4] * 10))
    assert totals == [7 * frame for frame in range(1, 11)]
    assert all(type(total) is int for total in totals)


@pytest.mark.parametrize(
    ("rolls", "message"),
    [
        ([11] + [0] * 19, "roll 1: a ball fells 0 to 10 pins, got 11"),
        ([0, -1] + [0] * 18, "roll 2: a ball fells 0 to 10 pins, got -1"),
        ([0, 0, 7, 5] + [0] * 16, "frame 2, roll 4: 5 more pins after 7 make more than ten"),
        ([0] * 18 + [6, 6], "frame 10, roll 20"),
        ([10] * 10 + [6, 6], "frame 10, roll 12"),
        ([6, 5] + [0] * 18, "frame 1, roll 2: 5 more pins after 6 make more than ten"),
        ([10] * 9, "incomplete: frame 10 needs roll 10"),
        ([10] * 10, "incomplete: frame 10 needs roll 11"),
        ([], "incomplete: frame 1 needs roll 1"),
        ([10] * 11, "incomplete: frame 10 needs roll 12"),
        ([10] * 9 + [9, 1], "incomplete: frame 10 needs roll 12"),
        ([10] * 10 + [3], "incomplete: frame 10 needs roll 12"),
        ([0] * 19, "incomplete: frame 10 needs roll 20"),
        ([0] * 21, "over after 20 rolls, got 21"),
        ([10] * 13, "over after 12 rolls, got 13"),
        ([0] * 18 + [9, 1, 5, 0], "over after 21 rolls, got 22"),
        ([0.5] * 20, "whole numbers"),
        (["X"] * 12, "whole numbers"),
        ([None] * 20, "whole numbers"),
        (7, "whole numbers"),
        ([float("nan")] * 20, "whole numbers"),
    ],
)
@pytest.mark.parametrize("score", [game_score, running_totals])
def test_refuses_what_is_not_one_whole_game(score, rolls, message):
    with pytest.raises(InputError, match=message) as caught:
        score(rolls)
    assert isinstance(caught.value, ValueError)
    assert "\n" not in str(caught.value)
