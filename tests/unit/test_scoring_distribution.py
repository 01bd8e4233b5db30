"""The exact distribution: against whole-number arithmetic, ten laws a game, and bad laws."""

from itertools import product

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.scoring import score_distribution
from leaguesim.scoring.distribution import game_laws

UNIT = 1000


def whole_law(rng):
    """A law in thousandths: strike, first (10), second (10 rows)."""
    first = rng.multinomial(UNIT, rng.dirichlet(np.ones(11)))
    second = [rng.multinomial(UNIT, rng.dirichlet(np.ones(11 - k))).tolist() for k in range(10)]
    return int(first[10]), first[:10].tolist(), second


def as_chances(law):
    strike, first, second = law
    return strike / UNIT, [p / UNIT for p in first], [[p / UNIT for p in row] for row in second]


def two_balls(law):
    """(first, second, weight in UNIT**2) of every way to play one rack; second None: a strike."""
    strike, first, second = law
    yield 10, None, strike * UNIT
    for k in range(10):
        for j in range(11 - k):
            yield k, j, first[k] * second[k][j]


def exact_weights(laws):
    """Whole-number weights of the 301 scores, frame by frame; each frame adds UNIT**2, the tenth 3.

    The state is the rolls that still wait for a bonus: (), ("/",), ("X",) or ("X", "X").
    """
    now = {((), 0): 1}
    for law in laws[:9]:
        after = {}
        for (waiting, score), weight in now.items():
            for first, second, more in two_balls(law):
                if more == 0:
                    continue
                times1 = 1 + len(waiting)
                times2 = 1 + ("X" in waiting)
                if second is None:
                    state, gain = (*waiting[-1:], "X") if "X" in waiting else ("X",), 10 * times1
                else:
                    state = ("/",) if first + second == 10 else ()
                    gain = first * times1 + second * times2
                key = (state, score + gain)
                after[key] = after.get(key, 0) + weight * more
        now = after
    total = [0] * 301
    for (waiting, score), weight in now.items():
        for gain, more in tenth(laws[9], 1 + len(waiting), 1 + ("X" in waiting)):
            total[score + gain] += weight * more
    return total


def tenth(law, times1, times2):
    strike, first, second = law
    fresh = [*first, strike]
    for k, j in product(range(10), range(11)):
        if k + j < 10:
            yield times1 * k + times2 * j, first[k] * second[k][j] * UNIT
        elif k + j == 10:
            for third in range(11):
                yield times1 * k + times2 * j + third, first[k] * second[k][j] * fresh[third]
        if k + j <= 10:
            yield 10 * times1 + times2 * k + j, strike * first[k] * second[k][j]
    for third in range(11):
        yield 10 * times1 + 10 * times2 + third, strike * strike * fresh[third]


@pytest.fixture(scope="module")
def ten_laws():
    rng = np.random.default_rng(20261125)
    return [whole_law(rng) for _ in range(10)]


def test_ten_laws_match_whole_number_arithmetic(ten_laws):
    weights = exact_weights(ten_laws)
    whole = UNIT ** (2 * 9 + 3)
    assert sum(weights) == whole
    exact = np.array([weight / whole for weight in weights])
    chances = [as_chances(law) for law in ten_laws]
    got = score_distribution(*zip(*chances, strict=True))
    assert np.max(np.abs(got - exact)) < 1e-15
    assert got == pytest.approx(exact, rel=1e-12, abs=0)


def test_one_law_is_ten_equal_laws(ten_laws):
    strike, first, second = as_chances(ten_laws[0])
    one = score_distribution(strike, first, second)
    assert np.array_equal(one, score_distribution([strike] * 10, [first] * 10, [second] * 10))
    assert np.array_equal(one, score_distribution(strike, first, [second] * 10))
    assert np.array_equal(one, score_distribution(np.full(10, strike), np.array(first), second))


def test_order_of_laws_matters_and_fill_balls_follow_frame_ten(ten_laws):
    sure = (1.0, [0.0] * 10, as_chances(ten_laws[0])[2])
    gutters = (0.0, [1.0] + [0.0] * 9, [[1.0] + [0.0] * (10 - k) for k in range(10)])
    last = score_distribution(*zip(*[gutters] * 9, sure, strict=True))
    assert last[30] == 1.0
    first = score_distribution(*zip(sure, *[gutters] * 9, strict=True))
    assert first[10] == 1.0
    eleven = score_distribution(*zip(*[sure] * 9, gutters, strict=True))
    assert eleven[240] == 1.0


def good_law():
    return 0.3, [0.07] * 10, [[1.0 / (11 - k)] * (11 - k) for k in range(10)]


def with_row(k, row):
    second = good_law()[2]
    second[k] = row
    return second


BAD = {
    "strike is a string": (("x", None, None), "strike must be numbers"),
    "three strikes": (([0.3] * 3, None, None), "strike must be one chance or ten"),
    "strike too likely": ((0.4, None, None), "strike and first_ball: chances must sum to 1"),
    "strike is nan": ((float("nan"), None, None), "finite"),
    "negative": ((0.3, [-0.07, 0.21] + [0.07] * 8, None), "not negative"),
    "nine first balls": ((0.3, [0.07] * 9, None), "first_ball must be ten chances"),
    "ragged first balls": ((0.3, [[0.07] * 10, [0.07] * 9], None), "first_ball must be numbers"),
    "nine leaves": ((0.3, None, good_law()[2][:9]), "second_ball must be ten rows"),
    "a flat second ball": ((0.3, None, [0.1] * 10), "second_ball must be ten rows"),
    "no second ball": ((0.3, None, 0.5), "second_ball must be ten rows"),
    "long row": ((0.3, None, with_row(9, [0.5, 0.5, 0.0])), r"second_ball\[9\] must have 2"),
    "padded rows": ((0.3, None, np.full((10, 11), 1 / 11)), r"second_ball\[1\] must have 10"),
    "row sum": ((0.3, None, with_row(4, [0.2] * 7)), r"second_ball\[4\]: chances must sum to 1"),
    "row inf": ((0.3, None, with_row(8, [float("inf"), 0, 0])), r"second_ball\[8\]: .* finite"),
    "frame named": (
        (0.3, None, [*[good_law()[2]] * 6, with_row(2, [0.2] * 9), *[good_law()[2]] * 3]),
        r"second_ball of frame 7\[2\]",
    ),
    "frame short": ((0.3, None, [*[good_law()[2]] * 9, [[1.0]]]), "second_ball of frame 10"),
    "frame law": (([0.3] * 9 + [0.2], None, None), "strike and first_ball of frame 10"),
    "empty": ((0.3, None, []), "second_ball must be ten rows"),
}


@pytest.mark.parametrize("case", BAD)
def test_refuses_what_is_not_a_law(case):
    changed, message = BAD[case]
    law = [good if new is None else new for good, new in zip(good_law(), changed, strict=True)]
    with pytest.raises(InputError, match=message):
        score_distribution(*law)


def test_sums_off_by_rounding_are_scaled_to_one():
    strike, first, second = good_law()
    chances = score_distribution(strike + 5e-10, first, second)
    assert abs(chances.sum() - 1.0) < 1e-14
    with pytest.raises(InputError):
        score_distribution(strike + 5e-9, first, second)


def test_inputs_are_left_alone():
    strike, first, second = np.full(10, 0.3), np.full((10, 10), 0.07), good_law()[2]
    score_distribution(strike, first, second)
    assert np.array_equal(strike, np.full(10, 0.3))
    assert np.array_equal(first, np.full((10, 10), 0.07))


def test_ten_second_ball_laws_are_of_ten_rows_each():
    first = np.full(10, 0.05)
    law = [[1.0 / (11 - k)] * (11 - k) for k in range(10)]
    with pytest.raises(InputError, match="second_ball of frame 10 must be ten rows"):
        score_distribution(0.5, first, [law] * 9 + [law[:9]])


def test_laws_come_out_whole_and_in_shape():
    """Twelve racks, ten counts each; what sums to 1 but for rounding sums to 1."""
    law = [[(1.0 + 9e-10) / (11 - k)] * (11 - k) for k in range(10)]
    strikes, firsts, seconds = game_laws(0.5, np.full(10, 0.05), law)
    assert (strikes.shape, firsts.shape, seconds.shape) == ((12,), (12, 10), (12, 10, 11))
    assert np.abs(seconds.sum(axis=2) - 1.0).max() < 1e-12
