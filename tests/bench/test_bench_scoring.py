"""Exact distribution and exact mean against sampled games, side by side in one run.

The sampled side is a compiled kernel too, draws made beforehand and not counted.
"""

import time

import numpy as np
import pytest
from numba import njit

from leaguesim.outside.figures import figures
from leaguesim.scoring import _kernel
from leaguesim.scoring.distribution import game_laws

pytestmark = pytest.mark.bench

GAMES = 200_000
score_slots = _kernel.score_slots


@njit(nogil=True)
def pick(uniform, edges, last):
    value = 0
    while value < last and uniform >= edges[value]:
        value += 1
    return value


@njit(nogil=True)
def sample(uniforms, fresh, second, slots, out):
    """Scores of games from cumulative laws of twelve racks; unused slots are not drawn."""
    for game in range(out.size):
        u = uniforms[game]
        for frame in range(9):
            first = pick(u[2 * frame], fresh[frame], 10)
            slots[2 * frame] = first
            if first < 10:
                edges = second[frame, first]
                slots[2 * frame + 1] = pick(u[2 * frame + 1], edges, 10 - first)
        first = pick(u[18], fresh[9], 10)
        more = pick(u[19], fresh[10], 10) if first == 10 else 0
        if first < 10:
            more = pick(u[19], second[9, first], 10 - first)
        slots[18], slots[19] = first, more
        if first == 10 and more < 10:
            slots[20] = pick(u[20], second[10, more], 10 - more)
        else:
            slots[20] = pick(u[20], fresh[11], 10)
        out[game] = score_slots(slots)


def test_exact_against_sampled(least):
    row = figures("scoring")["independent_racks"]["league_150"]
    laws = game_laws(row["p_strike"], row["first_ball"], row["second_ball"])
    fresh = np.cumsum(np.column_stack([laws[1], laws[0]]), axis=1)
    second = np.cumsum(laws[2], axis=2)
    uniforms = np.random.default_rng(1).random((GAMES, 21))
    slots, scores = np.empty(21, dtype=np.int64), np.empty(GAMES, dtype=np.int64)
    work, out = np.empty((10, 301)), np.empty(301)
    means = [np.array(v) for v in zip(*map(_kernel.rack_means, *laws), strict=True)]
    args = (laws[0], *means, means[0][11])

    def many_means():
        for _ in range(1000):
            _kernel.expected_game(*args)

    sample(uniforms[:2], fresh, second, slots, scores[:2])
    _kernel.score_pmf(*laws, work, out)
    many_means()
    game = (
        least(lambda: sample(uniforms, fresh, second, slots, scores), 5, time.perf_counter) / GAMES
    )
    exact = least(lambda: _kernel.score_pmf(*laws, work, out), 50, time.perf_counter)
    mean = least(many_means, 20, time.perf_counter) / 1000
    assert abs(scores.mean() - row["mean"]) < 4 * row["sd"] / np.sqrt(GAMES)
    error = np.abs(out - np.array(row["pmf"])).max()

    print(f"\nsampled game {game * 1e9:.0f} ns, exact distribution {exact * 1e6:.0f} us")
    print(f"exact mean {mean * 1e9:.0f} ns with the call from Python; exact error {error:.1g}")
    ratios = []
    for se in (1.0, 0.5, 0.1):
        games = (row["sd"] / se) ** 2
        ratios.append(games * game / exact)
        print(
            f"mean to a standard error of {se} pin: {games:.0f} games; sampling takes "
            f"{ratios[-1]:.2f} of the exact distribution's time, "
            f"{games * game / mean:.0f} of the exact mean's"
        )
    for se in (1e-2, 1e-3, 1e-4):
        games = row["p_ge_200"] * (1 - row["p_ge_200"]) / se**2
        ratios.append(games * game / exact)
        print(
            f"P(score >= 200) to a standard error of {se}: {games:.0f} games; sampling takes "
            f"{ratios[-1]:.2f} of the exact distribution's time"
        )
    assert ratios[2] > 1.0
    assert ratios[-1] > 1.0
