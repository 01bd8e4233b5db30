"""Figures of a tournament: reliability, ladder, bad input; and a small one played (slow)."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from leaguesim.center import demo_center, read
from leaguesim.cli.main import main
from leaguesim.play.aims import Tournament
from leaguesim.study.tournament_figures import (
    DRAW,
    figures_of,
    groups_of,
    ladder,
    order_of,
    people_ratio,
    reliability,
    reliability_ends,
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


def test_tournament_ladder_newcomers_bowl_their_own_first_game() -> None:
    """The second match: its winner's second game against the top seed's first."""
    assert ladder(np.array([[190, 300], [150, 150], [200, 191]]), [0, 1, 2]) == 2
    assert ladder(np.array([[191, 0], [150, 300], [200, 191]]), [0, 1, 2]) == 0


def test_tournament_selection_ratio_is_counted_by_hand() -> None:
    """Two of four left-handers and two of eight right-handers: twice as often, a half of the cut."""
    made_cut = np.zeros((4 * DRAW, 12), bool)
    made_cut[:, [0, 1, 4, 5]] = True
    hand = ["left"] * 4 + ["right"] * 8
    left, right = groups_of({"hand": hand}, made_cut, 4).to_dict("records")
    assert (left["entries"], left["share_of_cut"], left["selection_ratio"]) == (4, 0.5, 2.0)
    assert (right["entries"], right["share_of_cut"], right["selection_ratio"]) == (8, 0.5, 0.5)
    assert (left["ratio_low"], left["ratio_high"]) == (2.0, 2.0)  # this field, always the same
    assert left["people_low"] < 1.0 < 2.0 < left["people_high"]  # four people prove nothing
    assert right["people_low"] == pytest.approx(1.0 / left["people_high"])


def test_tournament_groups_of_one_or_all_or_none_tell_no_ratio() -> None:
    made_cut = np.zeros((4 * DRAW, 6), bool)
    made_cut[:, :2] = True
    one, rest = groups_of({"style": ["a"] + ["b"] * 5}, made_cut, 2).to_dict("records")
    assert one["entries"] == 1
    assert one["selection_ratio"] == pytest.approx(5.0)
    assert pd.isna([one["people_low"], rest["people_low"]]).all()
    everybody = groups_of({"style": ["a"] * 6}, made_cut, 2).iloc[0]
    assert everybody["selection_ratio"] is None
    none, _ = groups_of({"hand": ["left"] * 2 + ["right"] * 4}, ~made_cut, 4).to_dict("records")
    assert pd.isna(none["selection_ratio"])
    assert people_ratio(np.zeros(8), np.arange(8) < 4) == (None, None)
    lone = np.array([1.0, 0.0, 0.0, 0.0, 0.5, 0.5, 0.5, 0.5])
    assert people_ratio(lone, np.arange(8) < 4) == (None, None)


def test_tournament_late_squad_is_found_whoever_bowls_in_it() -> None:
    """The late squad loses 4 pins a game; entrants 30 pins apart, squads drawn anew."""
    rng = np.random.default_rng(4)
    draws, n, games = 16, 24, 4
    form = Tournament("x", entrants=n, squads=2, games=games, cut=6)
    squads = np.array([rng.permutation(n) % 2 for _ in range(draws)])
    skill = 170.0 + 30.0 * rng.standard_normal(n)
    lanes = np.repeat(squads, DRAW, axis=0)[:, :, None]
    luck = 25.0 * rng.standard_normal((draws * DRAW, n, games))
    for lost in (4.0, 0.0):
        scores = np.rint(skill[None, :, None] - lost * lanes + luck).astype(np.int64)
        none = np.zeros((*scores.shape[:2], 0), np.int64)
        late = figures_of(form, scores, none, squads, skill)[0]["late_less_early_squad"]
        assert late["low"] < -lost < late["high"]
        assert (late["high"] < 0.0) == (lost > 0.0)
    alone = replace(form, squads=1)
    figures, _ = figures_of(alone, scores, none, np.zeros_like(squads), skill)
    assert figures["late_less_early_squad"] is None


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
    from leaguesim.study.tournaments import _block, _field, made_ready

    center = read(demo_center())
    with ready(_field(center, SMALL, 2), 2, workers=1) as made:
        on = made_ready(SMALL, [center.today], made)
        burn = _block(SMALL, on, made, 0, 0, lambda: None)
        unready = _block(SMALL, [[on[0][0]] * 2], made, 0, 0, lambda: None)
        oiled = replace(SMALL, reoil=True)
        fresh = _block(oiled, made_ready(oiled, [center.today], made), made, 0, 0, lambda: None)
    late = np.repeat(burn.squads, 8, axis=0) == 1
    assert (burn.squads == fresh.squads).all()
    assert (burn.exact[~late] == fresh.exact[~late]).all()
    assert (burn.exact[late] != fresh.exact[late]).mean() > 0.9
    # Who bowls on the burn has lined up on it: the lines of the fresh oil score less there.
    assert (unready.exact[~late] == burn.exact[~late]).all()
    assert burn.exact[late].mean() > unready.exact[late].mean()


@pytest.mark.slow
def test_tournament_moving_two_conditions_and_ladder() -> None:
    """Whoever moves meets other oil after the first game; the second condition comes at half time;
    only finalists bowl the ladder, with luck of their own."""
    from leaguesim.study.prepare import ready
    from leaguesim.study.tournaments import _block, _field, made_ready

    center = read(demo_center())
    form = replace(SMALL, games=4, oil_sd_share=0.3, reoil=True, finalists=3)
    with ready(_field(center, form, 2), 2, workers=1) as made:
        today = made_ready(form, [center.today], made)
        two = made_ready(form, [center.today, "thursday_42"], made)
        moving = _block(form, today, made, 0, 0, lambda: None)
        staying = _block(replace(form, move_pairs=0), today, made, 0, 0, lambda: None)
        both = _block(form, two, made, 0, 0, lambda: None)
        none = _block(replace(form, finalists=0), today, made, 0, 0, lambda: None)
    assert (moving.exact[:, :, 0] == staying.exact[:, :, 0]).all()
    assert (moving.exact[:, :, 1] != staying.exact[:, :, 1]).mean() > 0.9
    assert (moving.exact[:, :, :2] == both.exact[:, :, :2]).all()
    assert (moving.exact[:, :, 2:] != both.exact[:, :, 2:]).mean() > 0.9
    assert (none.sampled == moving.sampled).all()
    assert none.ladders.shape[2] == 0
    finalists = np.zeros(moving.sampled.shape[:2], bool)
    np.put_along_axis(finalists, order_of(moving.sampled)[:, :3], True, axis=1)
    assert ((moving.ladders > 0) == finalists[:, :, None]).all()
    block, ladders = moving.sampled[finalists], moving.ladders[finalists]
    assert (ladders[:, :1] == block).any(axis=1).mean() < 0.5
    luck = (moving.sampled - moving.exact)[finalists].mean(axis=1)
    assert luck.mean() > 3.0  # what brought them there was luck too, and does not come again
    assert abs(np.corrcoef(luck, ladders.mean(axis=1))[0, 1]) < 0.35  # 96 finalists


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
    """Oil that differs by half and nobody moves: the pair one begins on matters; alike lanes: no."""
    from leaguesim.study import tournament

    apart = replace(
        SMALL, entrants=32, oil_sd_share=0.5, tilt_sd_in=0.04, move_pairs=0, games=2, reoil=True
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


def exact_ends(scores: np.ndarray) -> tuple[float, float]:
    """95 % of ICC(1,1) of normal scores of one tournament: Shrout & Fleiss 1979, p. 424, by F."""
    from scipy.stats import f

    n, k = scores.shape
    ratio = k * scores.mean(axis=1).var(ddof=1) / scores.var(axis=1, ddof=1).mean()
    ends = (
        ratio / f.ppf(0.975, n - 1, n * (k - 1)),
        ratio * f.ppf(0.975, n * (k - 1), n - 1),
    )
    low, high = ((x - 1.0) / (x + k - 1.0) for x in ends)
    return float(low), float(high)


def test_tournament_exact_interval_is_the_published_one() -> None:
    """Of the published ratings: -0.13 to 0.72 (the example of R's psych::ICC, from memory)."""
    assert exact_ends(RATINGS) == pytest.approx((-0.133, 0.723), abs=0.002)


@pytest.mark.parametrize(("n", "games", "skill", "played"), [(24, 6, 15.0, 1), (48, 4, 12.0, 8)])
def test_tournament_reliability_interval_covers(
    n: int, games: int, skill: float, played: int
) -> None:
    """1,500 fields of normal skill and games: it holds the true value in 95 % of them, 3.5 standard
    errors either way (0.95 +- 0.02), and of a single tournament it lies where the exact one lies."""
    rng = np.random.default_rng(6)
    true, fields = skill**2 / (skill**2 + 24.0**2), 1500
    held, apart = 0, []
    for _ in range(fields):
        scores = skill * rng.standard_normal((n, 1)) + 24.0 * rng.standard_normal(
            (played, n, games)
        )
        low, high = reliability_ends(scores)
        assert low is not None
        assert high is not None
        assert low < reliability(scores) < high
        held += low <= true <= high
        if played == 1:
            apart.append(np.subtract((low, high), exact_ends(scores[0])))
    print(held / fields, np.mean(apart, axis=0) if apart else "")
    assert held / fields == pytest.approx(0.95, abs=0.02)
    if apart:
        assert np.abs(np.mean(apart, axis=0)).max() < 0.02


def test_tournament_reliability_interval_bounds() -> None:
    """Three entrants tell none; luck alone holds 0; more entrants narrow it."""
    rng = np.random.default_rng(7)
    assert reliability_ends(rng.normal(size=(3, 4))) == (None, None)
    widths = []
    for n in (16, 256):
        low, high = reliability_ends(rng.normal(size=(n, 4)))
        assert low is not None
        assert high is not None
        assert low < 0.0 < high
        widths.append(high - low)
    assert widths[1] < 0.4 * widths[0]
