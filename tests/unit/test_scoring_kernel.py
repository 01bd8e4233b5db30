"""The kernels of scoring against their plain-Python twins and against a scorer written here."""

import time

import numpy as np
import pytest

from leaguesim.scoring import _kernel, score_distribution
from leaguesim.scoring.distribution import game_laws


def plain_score(frames):
    """Score of ten frames of rolls, each strike and spare looking ahead; fills sit in frame ten."""
    rolls = [roll for frame in frames for roll in frame]
    total, at = 0, 0
    for frame in frames[:9]:
        if frame[0] == 10:
            total += 10 + rolls[at + 1] + rolls[at + 2]
        elif sum(frame) == 10:
            total += 10 + rolls[at + 2]
        else:
            total += sum(frame)
        at += len(frame)
    return total + sum(frames[9])


def slots_of(frames, unused):
    slots = np.full(21, unused)
    for number, frame in enumerate(frames):
        slots[2 * number : 2 * number + len(frame)] = frame
    return slots


def random_frames(rng):
    frames = []
    for number in range(10):
        first = int(rng.choice([10, 9, 7, 0], p=[0.45, 0.25, 0.2, 0.1]))
        if first == 10 and number < 9:
            frames.append([10])
            continue
        second = int(rng.integers(0, 11)) if first == 10 else int(rng.integers(0, 11 - first))
        if first < 10 and rng.random() < 0.5:
            second = 10 - first
        frame = [first, second]
        if number == 9 and first == 10:
            frame.append(int(rng.integers(0, 11 if second == 10 else 11 - second)))
        elif number == 9 and first + second == 10:
            frame.append(int(rng.integers(0, 11)))
        frames.append(frame)
    return frames


@pytest.fixture(scope="module")
def games():
    rng = np.random.default_rng(11)
    return [random_frames(rng) for _ in range(3000)]


@pytest.mark.parametrize("unused", [0, 10, 7, -3])
def test_slots_score_like_the_plain_scorer_whatever_unused_slots_hold(games, unused):
    slots = np.array([slots_of(frames, unused) for frames in games])
    out = np.empty(len(games), dtype=np.int64)
    _kernel.score_slots_many(slots, out)
    assert out.tolist() == [plain_score(frames) for frames in games]
    assert len(set(out.tolist())) > 150


def test_totals_by_frame_match_a_cut_game(games):
    totals = np.empty(10, dtype=np.int64)
    for frames in games[:300]:
        _kernel.totals_slots(slots_of(frames, 5), totals)
        assert totals[9] == plain_score(frames)
        rolls = [roll for frame in frames for roll in frame]
        expected, at = [], 0
        for frame in frames[:9]:
            ahead = 3 if frame[0] == 10 or sum(frame) == 10 else 2
            expected.append(sum(rolls[at : at + ahead]))
            at += len(frame)
        assert totals[:9].tolist() == np.cumsum(expected).tolist()


def test_kernels_equal_their_python_twins(games):
    slots = np.array([slots_of(frames, 4) for frames in games[:200]])
    got, twin = np.empty(10, dtype=np.int64), np.empty(10, dtype=np.int64)
    for row in slots:
        assert _kernel.score_slots(row) == _kernel.score_slots.py_func(row)
        _kernel.totals_slots(row, got)
        _kernel.totals_slots.py_func(row, twin)
        assert np.array_equal(got, twin)


def random_law(rng):
    law = rng.dirichlet(np.ones(11))
    return law[10], law[:10], [rng.dirichlet(np.ones(11 - k)) for k in range(10)]


def twelve_laws(rng):
    """Kernel-shaped laws, every rack its own."""
    strike, first, second = np.empty(12), np.empty((12, 10)), np.zeros((12, 10, 11))
    for rack in range(12):
        strike[rack], first[rack], rows = random_law(rng)
        for k, row in enumerate(rows):
            second[rack, k, : 11 - k] = row
    return strike, first, second


def pmf(strike, first, second, kernel=_kernel.score_pmf):
    out = np.full(301, np.nan)
    kernel(strike, first, second, np.full((10, 301), np.nan), out)
    return out


def means(strike, first, second):
    return (np.array(v) for v in zip(*map(_kernel.rack_means, strike, first, second), strict=True))


def test_distribution_kernel_equals_its_twin_and_needs_no_clean_scratch():
    laws = twelve_laws(np.random.default_rng(3))
    got = pmf(*laws)
    assert got == pytest.approx(pmf(*laws, kernel=_kernel.score_pmf.py_func), rel=1e-13, abs=0)
    assert abs(got.sum() - 1.0) < 1e-13


def test_mean_and_distribution_match_every_game_played_out():
    """Three ways to play a rack: strike, 7 and spare, 7 and 2; 137,781 games, each weighed."""
    rng = np.random.default_rng(8)
    strike = rng.uniform(0.2, 0.8, 12)
    spare = rng.uniform(0.2, 0.8, 12)
    first, second = np.zeros((12, 10)), np.zeros((12, 10, 11))
    first[:, 7] = 1.0 - strike
    second[:, 7, 3], second[:, 7, 2] = spare, 1.0 - spare
    second[:, [0, 1, 2, 3, 4, 5, 6, 8, 9], 0] = 1.0

    def rack(r):
        miss = 1.0 - strike[r]
        return [([10], strike[r]), ([7, 3], miss * spare[r]), ([7, 2], miss * (1.0 - spare[r]))]

    third = [([10], strike[11]), ([7], 1.0 - strike[11])]
    tens = [([7, 2], rack(9)[2][1])]
    tens += [([7, 3, *more], rack(9)[1][1] * p) for more, p in third]
    tens += [([10, *more], strike[9] * p) for more, p in rack(10)[1:]]
    tens += [([10, 10, *more], strike[9] * strike[10] * p) for more, p in third]

    expected, count = np.zeros(301), 0

    def play(frame, frames, chance):
        nonlocal count
        if frame == 9:
            for last, p in tens:
                expected[plain_score([*frames, last])] += chance * p
                count += 1
            return
        for rolls, p in rack(frame):
            play(frame + 1, [*frames, rolls], chance * p)

    play(0, [], 1.0)
    assert count == 3**9 * 7
    assert pmf(strike, first, second) == pytest.approx(expected, rel=1e-11, abs=1e-18)
    rack_first, rack_spare, rack_total = means(strike, first, second)
    got = _kernel.expected_game(strike, rack_first, rack_spare, rack_total, rack_first[11])
    assert got == pytest.approx(np.arange(301) @ expected, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_mean_kernel_equals_the_mean_of_the_distribution(seed):
    laws = twelve_laws(np.random.default_rng(seed))
    rack_first, rack_spare, rack_total = means(*laws)
    got = _kernel.expected_game(laws[0], rack_first, rack_spare, rack_total, rack_first[11])
    twin = _kernel.expected_game.py_func(
        laws[0], rack_first, rack_spare, rack_total, rack_first[11]
    )
    assert got == pytest.approx(np.arange(301) @ pmf(*laws), rel=1e-13)
    assert got == pytest.approx(twin, rel=1e-15)


def test_mean_kernel_reads_no_more_than_it_says():
    laws = twelve_laws(np.random.default_rng(1))
    strike = laws[0].copy()
    first, spare, total = means(*laws)
    whole = _kernel.expected_game(strike, first, spare, total, first[11])
    strike[11] = spare[10:] = total[11] = np.nan
    assert _kernel.expected_game(strike, first, spare, total, first[11]) == whole


def test_fill_after_a_spare_counts_with_the_chance_of_that_spare():
    laws = twelve_laws(np.random.default_rng(5))
    first, spare, total = means(*laws)
    base = _kernel.expected_game(laws[0], first, spare, total, 0.0)
    more = _kernel.expected_game(laws[0], first, spare, total, 6.0)
    assert more - base == pytest.approx(6.0 * spare[9], rel=1e-12)


def test_laws_reach_the_kernel_whole():
    strike, first, second = random_law(np.random.default_rng(2))
    laws = game_laws(strike, first, second)
    assert [a.shape for a in laws] == [(12,), (12, 10), (12, 10, 11)]
    assert all(a.flags.c_contiguous for a in laws)
    assert np.array_equal(pmf(*laws), score_distribution(strike, first, second))


def test_distribution_takes_under_a_millisecond():
    laws = game_laws(*random_law(np.random.default_rng(2)))
    work, out = np.empty((10, 301)), np.empty(301)
    _kernel.score_pmf(*laws, work, out)
    times = []
    for _ in range(50):
        start = time.perf_counter()
        _kernel.score_pmf(*laws, work, out)
        times.append(time.perf_counter() - start)
    assert min(times) < 1e-3
