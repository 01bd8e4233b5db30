"""Figures of a tournament: reliability, ladder, bad input; and a small one played (slow)."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.center import demo_center, read
from leaguesim.cli.main import main
from leaguesim.play.aims import Tournament
from leaguesim.study.tournament_figures import (
    DRAW,
    ladder,
    order_of,
    reliability,
    skill_of,
    spearman_brown,
    start_pair,
    told,
)

# Shrout & Fleiss 1979, table 2: six targets, four judges; ICC(1,1) = 0.17, ICC(1,4) = 0.44.
RATINGS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float
)


def test_tournament_reliability_is_the_published_example() -> None:
    one = reliability(RATINGS)
    assert one == pytest.approx(0.17, abs=0.005)
    assert spearman_brown(one, 4) == pytest.approx(0.44, abs=0.005)


def test_tournament_ladder_climbs_and_ties_go_to_the_higher_seed() -> None:
    assert ladder(np.array([[0, 200], [200, 0], [200, 200]]), [0, 1, 2]) == 0
    assert ladder(np.array([[0, 199], [200, 0], [201, 200]]), [0, 1, 2]) == 2


def test_tournament_skill_levels_squads() -> None:
    """Two equal squads swapped between draws, the late one 10 pins lower: skill is the person's own."""
    own = np.array([150.0, 170.0, 150.0, 170.0])
    squads = np.array([[0, 0, 1, 1], [1, 1, 0, 0]])
    means = np.repeat(own - 10.0 * squads, DRAW, axis=0)
    skill, error = skill_of(means, squads)
    assert skill - skill.mean() == pytest.approx(own - own.mean())
    assert error == pytest.approx(0.0, abs=1e-9)


def test_tournament_interval_takes_the_draw_as_unit() -> None:
    """What is alike within a draw counts once: t of three degrees, not a normal of 31."""
    got = told(np.repeat([1.0, 2.0, 3.0, 4.0], DRAW))
    assert got["value"] == 2.5
    assert got["high"] - 2.5 == pytest.approx(3.182 * np.std([1, 2, 3, 4], ddof=1) / 2.0, rel=1e-3)
    none = told(np.zeros(4 * DRAW))
    assert none["low"] == 0.0
    assert none["high"] == pytest.approx(0.1072, abs=1e-4)  # Wilson: z2 / (n + z2)


def test_tournament_ties_go_to_the_better_last_game() -> None:
    scores = np.array([[[200, 150], [150, 200], [100, 100]]])
    assert list(order_of(scores)[0]) == [1, 0, 2]


def test_tournament_unknown_format_leaves_nothing(tmp_path) -> None:  # type: ignore[no-untyped-def]
    out = tmp_path / "out"
    assert main(["tournament", str(demo_center()), "--format", "sprng", "--out", str(out)]) == 2
    assert not out.exists()


SMALL = Tournament(
    "small", field="population", population="league", entrants=16, squads=2, games=3, cut=4,
    reoil=False, move_pairs=1, finalists=2, oil_sd_share=0.03, tilt_sd_in=0.005,
)  # fmt: skip


@pytest.mark.slow
def test_tournament_repeats_whatever_the_workers() -> None:
    from leaguesim.study import tournament

    center = read(demo_center())
    a = tournament(center, tournament=SMALL, seed=2, played=64, workers=1)
    assert a.to_json() == tournament(center, tournament=SMALL, seed=2, played=64).to_json()
    assert a.groups.groupby("kind")["share_of_cut"].sum().to_numpy() == pytest.approx(1.0)
    assert int(a.groups[a.groups["kind"] == "hand"]["entries"].sum()) == SMALL.entrants
    assert (a.entrants["skill"] != a.entrants["average"]).all()


@pytest.mark.slow
def test_tournament_burn_reaches_only_later_squads() -> None:
    from leaguesim.study.prepare import ready
    from leaguesim.study.tournaments import _block, _field

    center = read(demo_center())
    with ready(_field(center, SMALL, 2), 2, workers=1) as made:
        on = [made.setting(center.today)]
        burn = _block(SMALL, on, made, 0, 0, lambda: None)
        fresh = _block(replace(SMALL, reoil=True), on, made, 0, 0, lambda: None)
    late = np.repeat(burn.squads, 8, axis=0) == 1
    assert (burn.squads == fresh.squads).all()
    assert (burn.exact[~late] == fresh.exact[~late]).all()
    assert (burn.exact[late] != fresh.exact[late]).mean() > 0.9


def test_tournament_start_pair_is_found_where_there_is_one_and_not_elsewhere() -> None:
    """Twelve draws of 24 people on four pairs; pairs worth 3 pins (sd), people's luck 1 pin."""
    rng = np.random.default_rng(5)
    draws, n, pairs = 40, 24, 4
    squads = np.repeat(np.arange(n)[None] // 12, draws, axis=0)
    starts = np.array([rng.permutation(n) % pairs for _ in range(draws)])
    luck = rng.normal(size=(draws, n))
    worth = 3.0 * rng.normal(size=(draws, 2, pairs))
    rigged = luck + worth[np.arange(draws)[:, None], squads, starts]
    none, there = (start_pair(np.repeat(x, DRAW, axis=0), squads, starts) for x in (luck, rigged))
    assert none is not None
    assert none["low"] == 0.0
    assert none["value"] < 0.5
    assert there is not None
    assert there["low"] < 3.0 < there["high"]
    assert there["low"] > 2.0
    alone = np.zeros((draws, n), int)
    assert start_pair(np.repeat(luck, DRAW, axis=0), squads, alone) is None


@pytest.mark.slow
def test_tournament_draw_of_very_different_lanes_is_not_fair() -> None:
    """Oil that differs by 30 % and nobody moves: the pair one begins on matters; alike lanes: no."""
    from leaguesim.study import tournament

    apart = replace(
        SMALL, entrants=32, oil_sd_share=0.3, tilt_sd_in=0.02, move_pairs=0, games=2, reoil=True
    )
    alike = replace(apart, oil_sd_share=0.0, tilt_sd_in=0.0)
    center = read(demo_center())
    one, none = (
        tournament(center, tournament=t, seed=2, played=64).figures["start_pair_sd"]
        for t in (apart, alike)
    )
    print(one, none)
    assert one["low"] > 0.0
    assert none["low"] == 0.0
    assert none["value"] < one["value"]
