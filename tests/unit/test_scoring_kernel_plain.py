"""Every line of the scoring kernels as plain Python, against games and laws worked out here.

``check`` takes the functions of the module however they were made: compiled, plain, or with one thing changed
(``tests/soak/mutants.py`` asks it whether anybody would notice).
"""

from functools import lru_cache
from itertools import product

import numpy as np
import pytest

from leaguesim.scoring import _kernel

GAMES = (
    [[10]] * 9 + [[10, 10, 10]],
    [[10]] * 9 + [[10, 10, 4]],
    [[10]] * 9 + [[10, 3, 7]],
    [[10]] * 9 + [[9, 1, 10]],
    [[10]] * 9 + [[8, 1]],
    [[9, 1]] * 9 + [[9, 1, 9]],
    [[9, 0]] * 10,
    [[0, 10]] * 9 + [[0, 10, 2]],
    [[10], [7, 3], [10], [10], [4, 2], [10], [0, 0], [5, 5], [6, 1], [0, 9]],
    [[3, 7], [10], [10], [10], [6, 4], [1, 2], [10], [8, 0], [10], [7, 3, 5]],
)


def plain_score(frames):
    """Each ball with what it counts, by looking ahead; fills only close the tenth."""
    rolls = [roll for frame in frames for roll in frame]
    totals, at = [], 0
    for frame in frames[:9]:
        ahead = 3 if frame[0] == 10 or sum(frame) == 10 else 2
        totals.append(sum(rolls[at : at + ahead]))
        at += len(frame)
    return np.cumsum([*totals, sum(frames[9])])


def slots(frames, unused):
    made = np.full(21, unused)
    for k, frame in enumerate(frames):
        made[2 * k : 2 * k + len(frame)] = frame
    return made


def random_laws(seed):
    rng = np.random.default_rng(seed)
    strike, first, second = np.empty(12), np.empty((12, 10)), np.full((12, 10, 11), np.nan)
    for rack in range(12):
        law = rng.dirichlet(np.ones(11))
        strike[rack], first[rack] = law[10], law[:10]
        for k in range(10):
            second[rack, k, : 11 - k] = rng.dirichlet(np.ones(11 - k))
    return strike, first, second


def rack_ways(law, rack):
    """(rolls, chance) of every way to play one rack by two balls."""
    strike, first, second = (part[rack] for part in law)
    yield (10,), strike
    for k in range(10):
        for j in range(11 - k):
            yield (k, j), first[k] * second[k, j]


def tenth_ways(law):
    strike, first, _ = law
    third = [((k,), first[11, k]) for k in range(10)] + [((10,), strike[11])]
    for rolls, chance in rack_ways(law, 9):
        if rolls == (10,):
            for more, p in rack_ways(law, 10):
                if more == (10,):
                    yield from (((10, 10, *last), chance * p * q) for last, q in third)
                else:
                    yield (10, *more), chance * p
        elif sum(rolls) == 10:
            yield from (((*rolls, *last), chance * q) for last, q in third)
        else:
            yield rolls, chance


def distribution(law):
    """By states of what still waits for a bonus; plain sums over every way to play each frame."""
    now = {(1, 1, 0): 1.0}
    for rack in range(9):
        after = {}
        for (w1, w2, score), chance in now.items():
            for rolls, p in rack_ways(law, rack):
                gain = w1 * rolls[0] + (w2 * rolls[1] if len(rolls) == 2 else 0)
                then = (w2 + 1, 2) if rolls == (10,) else (2 if sum(rolls) == 10 else 1, 1)
                key = (*then, score + gain)
                after[key] = after.get(key, 0.0) + chance * p
        now = after
    out = np.zeros(301)
    tens = list(tenth_ways(law))
    for w1, w2 in {key[:2] for key in now}:
        steps = np.zeros(61)
        for rolls, p in tens:
            steps[w1 * rolls[0] + w2 * rolls[1] + sum(rolls[2:])] += p
        for (a, b, score), chance in now.items():
            if (a, b) == (w1, w2):
                reach = min(61, 301 - score)
                out[score : score + reach] += chance * steps[:reach]
    return out


LAW = random_laws(4)


@lru_cache(maxsize=1)
def truth():
    return distribution(LAW)


def check(made):
    """AssertionError if a kernel does not do what it says."""
    for frames, unused in product(GAMES, (7, -3)):
        row, want, got = slots(frames, unused), plain_score(frames), np.full(10, -1)
        assert made.score_slots(row) == want[9]
        made.totals_slots(row, got)
        assert got.tolist() == want.tolist()
    many = np.array([slots(frames, 10) for frames in GAMES])
    scores = np.full(len(GAMES), -1)
    made.score_slots_many(many, scores)
    assert scores.tolist() == [plain_score(frames)[9] for frames in GAMES]
    strike, first, second = LAW
    told = np.array([made.rack_means(strike[r], first[r], second[r]) for r in range(12)])
    for rack in range(12):
        ways = list(rack_ways(LAW, rack))
        assert abs(sum(p for _, p in ways) - 1.0) < 1e-12
        wanted = (
            sum(r[0] * p for r, p in ways),
            sum(p for r, p in ways if len(r) == 2 and sum(r) == 10),
            sum(sum(r) * p for r, p in ways),
        )
        assert np.allclose(told[rack], wanted, rtol=1e-12, atol=0.0)
    mean = made.expected_game(strike, told[:, 0], told[:, 1], told[:, 2], told[11, 0])
    assert abs(mean - truth() @ np.arange(301)) < 1e-10
    out = np.full(301, np.nan)
    made.score_pmf(strike, first, second, np.full((10, 301), np.nan), out)
    assert np.allclose(out, truth(), rtol=1e-10, atol=1e-16)
    for sure, score in ((1.0, 300), (0.0, 90)):  # always ten, or always nine and then none
        first = np.zeros((12, 10))
        first[:, 9] = 1.0 - sure
        second = np.zeros((12, 10, 11))
        second[:, :, 0] = 1.0
        made.score_pmf(np.full(12, sure), first, second, np.full((10, 301), np.nan), out)
        assert out[score] == out.sum() == 1.0


def test_the_reference_is_a_distribution():
    assert truth().sum() == pytest.approx(1.0)
    assert truth()[300] == pytest.approx(np.prod(LAW[0]), rel=1e-9)  # twelve strikes
    assert [int(plain_score(g)[9]) for g in GAMES[:2]] == [300, 294]


def test_compiled_kernels():
    check(_kernel)


def test_a_kernel_that_is_wrong_is_seen(changeable):
    wrong = changeable(_kernel)
    wrong.expected_game = lambda *given: _kernel.expected_game(*given) + 1e-6
    with pytest.raises(AssertionError):
        check(wrong)
