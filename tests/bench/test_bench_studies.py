"""Whole studies: threads, time to half a pin, 96 and 1,000 bowlers, memory over nights, cost by size.

Wall clock where threads or processes are the matter, processor time elsewhere; the load of the machine
is printed beside what it disturbs.  Bowlers beyond the demo's 48 are copies of its roster under other
names, so each is another person of the same style.
Run with ``pytest -m bench -s tests/bench/test_bench_studies.py``.
"""

import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from leaguesim.center import demo_center, read
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import play_block
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.study import compare
from leaguesim.study.prepare import ready

pytestmark = pytest.mark.bench

NOW, NEXT = "tuesday_40", "thursday_42"
HALF_A_PIN = 0.5
MEMORY_LIMIT_MB = 1024.0
LONG = "LEAGUESIM_LONG_BENCH"  # set by table.py
long = pytest.mark.skipif(LONG not in os.environ, reason=f"minutes of both cores: set {LONG}=1")


def load() -> str:
    return f"load {os.getloadavg()[0]:.1f}"


def center_of(bowlers: int):
    """The demo center with its roster repeated until it has so many bowlers."""
    center = read(demo_center())
    lines = []
    copy = 0
    while len(lines) < bowlers:
        lines += [
            replace(r, bowler=f"{r.bowler} {copy}", team=f"{r.team} {copy}") for r in center.roster
        ]
        copy += 1
    teams = len({r.team for r in lines[:bowlers]})
    return replace(
        center, roster=tuple(lines[:bowlers]), lanes=max(center.lanes, teams + teams % 2)
    )


@pytest.fixture(scope="module")
def made():
    """96 bowlers lined up on two conditions."""
    with ready(center_of(96), 5, workers=2, tie=False) as made:
        made.setting(NOW), made.setting(NEXT)
        yield made


def plan_of(made, *names):
    groups = np.ones((1, len(made.order)), np.bool_)
    settings = [made.setting(n) for n in names]
    return Plan(settings, made.pairs, made.pins, made.center.league, groups, 5)


def test_two_threads(made, least):
    plan = plan_of(made, NOW)
    play_nights(plan, 0, 1, 1)
    one, two = np.inf, np.inf
    for _ in range(5):  # in turn, so that a busy minute disturbs both
        one = min(one, least(lambda: play_nights(plan, 0, 32, 1), 1, time.perf_counter))
        two = min(two, least(lambda: play_nights(plan, 0, 32, 2), 1, time.perf_counter))
    print(f"\ntwo threads over one: {one / two:.2f} ({load()})")
    a, b = play_nights(plan, 0, 32, 1), play_nights(plan, 0, 32, 2)
    assert a.average.tobytes() == b.average.tobytes()


def test_time_to_half_a_pin(made):
    """Both ways play the same nights with the same kernels, so time goes as nights.

    Ours: means of games given where the balls arrived, and the same luck under both conditions.  Plain:
    games played out, other luck under each.  Bowlers' averages by the two must agree: neither is biased.
    """
    blocks = 8
    games, practice = made.center.league.games, made.center.league.practice_balls
    settings = [made.setting(n) for n in (NOW, NEXT)]
    ours, plain, away = [], [], []
    for k, pair in enumerate(made.pairs):
        exact = [[], []]
        sampled = [[], []]
        for block in range(blocks):
            draws = np.stack(
                [night_draws(5, b.bowler, block=block, games=games) for b in pair.bowlers], axis=1
            )
            for c, s in enumerate(settings):
                got = play_block(
                    s.films_of(block, 0), s.mix, s.pulls, s.crews[k], made.pins, draws, games,
                    practice, wears=True,
                )  # fmt: skip
                exact[c].append(got.exact.mean(axis=2))
                sampled[c].append(got.sampled.mean(axis=2))
        e, s = ([np.concatenate(x) for x in way] for way in (exact, sampled))
        ours += list((e[1] - e[0]).var(axis=0, ddof=1))
        plain += list(s[0].var(axis=0, ddof=1) + s[1].var(axis=0, ddof=1))
        for c in range(2):
            miss = s[c] - e[c]
            away += list(miss.mean(axis=0) / (miss.std(axis=0, ddof=1) / np.sqrt(miss.shape[0])))
    ours, plain, away = np.array(ours), np.array(plain), np.array(away)
    nights = plain.max() / HALF_A_PIN**2, ours.max() / HALF_A_PIN**2
    print(
        f"\nnights to a standard error of 0.5 pin for each of {ours.size} bowlers: plain "
        f"{nights[0]:.0f}, ours {nights[1]:.0f}: {nights[0] / nights[1]:.1f} times less; in the middle "
        f"bowler {np.median(plain / ours):.1f}; played out less exact, in its standard errors: mean "
        f"{away.mean():.2f}, root mean square {np.sqrt((away**2).mean()):.2f}, largest "
        f"{np.abs(away).max():.1f}"
    )
    # 192 standard normals: their mean within 3.3/sqrt(192), the largest within 4.5 (false alarms 1 in 500).
    assert abs(away.mean()) < 3.3 / np.sqrt(away.size)
    assert np.abs(away).max() < 4.5
    assert nights[0] > 2 * nights[1]


@long
@pytest.mark.timeout(3600)
def test_ninety_six_bowlers_to_half_a_pin():
    center = center_of(96)
    compare(center_of(8), now=NOW, next=NEXT, seed=5, nights=1, workers=2)  # compiled
    start = time.perf_counter()
    result = compare(center, now=NOW, next=NEXT, seed=5, workers=2)
    took = time.perf_counter() - start
    worst = result.bowlers["change_se"].max()
    print(
        f"\ncompare of 96 bowlers: {took:.1f} s, {result.nights} nights, "
        f"largest standard error {worst:.2f} pin ({load()})"
    )
    assert worst <= HALF_A_PIN or result.nights == 2000


CHILD = """
import resource, sys, time
sys.path.insert(0, {here!r})
from test_bench_studies import NEXT, NOW, center_of, compare, plan_of, play_nights, ready
{do}
print("MB", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def child(do: str) -> list[float]:
    """Figures printed by a session of its own, the last one its largest memory. [MB]"""
    here = str(Path(__file__).parent)
    run = subprocess.run(
        [sys.executable, "-c", CHILD.format(here=here, do=do)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [float(line.split()[1]) for line in run.stdout.splitlines() if line[:2] in ("MB", "s ")]


def test_memory_is_flat_in_nights():
    do = (
        "with ready(center_of(48), 5, workers=2, tie=False) as made:\n"
        "    play_nights(plan_of(made, NOW, NEXT), 0, {nights}, 2)"
    )
    few, many = (child(do.format(nights=n))[-1] for n in (64, 640))
    print(f"\nmemory of 48 bowlers: {few:.0f} MB with 64 nights, {many:.0f} MB with 640")
    assert many < 1.1 * few + 20.0
    assert many < MEMORY_LIMIT_MB


@long
@pytest.mark.timeout(3600)
def test_a_thousand_bowlers():
    do = (
        "start = time.perf_counter()\n"
        "result = compare(center_of(1000), now=NOW, next=NEXT, seed=5, nights=64, workers=2)\n"
        "print('s', time.perf_counter() - start)"
    )
    took, memory = child(do)
    print(f"\n1,000 bowlers, 64 nights: {took:.0f} s, {memory:.0f} MB ({load()})")
    assert memory < MEMORY_LIMIT_MB


def test_cost_grows_with_bowlers_and_nights():
    """Processor time of playing, from 48 bowlers and 32 nights to ten times as many bowler-nights."""
    cost = []
    with ready(center_of(96), 5, workers=2, tie=False) as made:
        whole = plan_of(made, NOW)
        half = replace(
            whole, pairs=whole.pairs[:6], groups=whole.groups[:, : int(whole.offsets[6])]
        )
        play_nights(half, 0, 1, 1)
        for plan, nights in ((half, 32), (half, 64), (whole, 64), (half, 160), (whole, 160)):
            size = int(plan.offsets[-1]) * nights
            start = time.process_time()
            play_nights(plan, 0, nights, 1)
            cost.append((size, time.process_time() - start))
    base = cost[0][0]
    each = [seconds / size * 1e3 for size, seconds in cost]
    slope = np.polyfit(*np.log(np.array(cost)).T, 1)[0]
    print(
        "\ncost by size: "
        + ", ".join(f"{n / base:g}x {e:.3f}" for (n, _), e in zip(cost, each, strict=True))
        + f" ms a bowler and night; grows as the power {slope:.2f} of bowlers x nights"
    )
    assert cost[-1][0] == 10 * base
    assert 0.8 < slope < 1.2


def test_help_is_there_at_once(least):
    words = [sys.executable, "-m", "leaguesim", "--help"]
    subprocess.run(words, capture_output=True, check=True)
    took = least(
        lambda: subprocess.run(words, capture_output=True, check=True), 5, time.perf_counter
    )
    print(f"\nhelp: {took:.2f} s ({load()})")
