"""More worked examples of other people's statistics, through the functions that reports use."""

import math

import numpy as np
import pytest

from leaguesim.outside.fairness_checks import paired
from leaguesim.outside.figures import figures, unsourced
from leaguesim.play.aims import Tournament
from leaguesim.study.equivalence import (
    catch_chance,
    difference_p,
    holm,
    mcnemar,
    people_mean,
    smallest_caught,
    t_interval,
    tost_p,
)
from leaguesim.study.fairness_effects import FAIR, NOT_SHOWN, Asked, effects_table
from leaguesim.study.mixed import moments, shrunken
from leaguesim.study.tournament_figures import figures_of, reliability, spearman_brown, told

DATA, FAIRNESS = figures("statistics_worked"), figures("fairness")


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


def test_leaving_people_out_in_turn_is_the_paired_t_test():
    """The jackknife over people gives Student's mean, error, t and p; blind to pairing it would not."""
    example, data = DATA["sleep_paired"], FAIRNESS["sleep"]
    difference = np.array(data["first"]) - np.array(data["second"])
    made = people_mean(difference, np.arange(difference.size))
    near = example["tolerance"]
    assert made.estimate == pytest.approx(example["mean"], abs=near)
    assert made.se * math.sqrt(difference.size) == pytest.approx(example["sd"], abs=near)
    assert made.estimate / made.se == pytest.approx(example["t"], abs=near)
    assert made.df == example["df"]
    p = difference_p(made.estimate, made.se, made.df)
    assert p == pytest.approx(data["p_difference"], abs=near)
    own = figures("statistics_more")["sleep_interval"]
    wanted = (own["low_95"], own["high_95"])
    assert t_interval(made.estimate, made.se, made.df) == pytest.approx(wanted, abs=near)


@pytest.mark.parametrize(
    ("x", "y", "p", "word"), [("x", "y", "p", FAIR), ("x2", "y2", "p2", NOT_SHOWN)]
)
def test_the_words_of_an_accepted_and_a_refused_equivalence(x, y, p, word):
    clinic, example = FAIRNESS["clinic"], DATA["clinic_words"]
    assert (example["first"][:3], example["second"][:3]) == ("equ", "not")
    difference = np.array(clinic[x]) - np.array(clinic[y])
    mean = clinic["mean_difference"] if x == "x" else example["mean_difference_2"]
    made = people_mean(difference, np.arange(difference.size))
    assert made.estimate == pytest.approx(mean, abs=example["tolerance"])
    asked = Asked("clinic", "these", "those", made, difference.size, mean, math.nan)
    row = effects_table([asked], clinic["margin"]).iloc[0]
    assert tost_p(*paired(clinic[x], clinic[y]), clinic["margin"]) == pytest.approx(
        clinic[p], abs=example["tolerance"]
    )
    assert row["verdict"] == word


def test_mean_squares_and_shrinkage_of_a_balanced_design():
    example, data = DATA["dyestuff_shares"], figures("statistics_mixed")["dyestuff"]
    y = np.array(data["yields"], float)
    score, batch = y.ravel(), np.repeat(np.arange(6), 5)
    parts = moments(score, batch, np.arange(30))
    within = parts.night + parts.game
    between = 5.0 * parts.bowler + within
    assert within == pytest.approx(example["ms_within"], rel=example["tolerance"])
    assert between == pytest.approx(example["ms_between"], rel=example["tolerance"])
    assert between / within == pytest.approx(example["f"], rel=example["tolerance"])
    level, _, _ = shrunken(parts, score, batch, np.arange(30))
    share = (level - parts.mean) / (y.mean(axis=1) - parts.mean)
    assert share == pytest.approx(np.full(6, example["shrink_factor"]), rel=1e-9)


def test_reliability_of_one_game_and_of_four():
    example, rows = DATA["ratings_one_way"], np.array(FAIRNESS["ratings"]["rows"], float)
    one = reliability(rows)
    assert one == pytest.approx(example["one"], abs=example["tolerance"])
    assert spearman_brown(one, 4.0) == pytest.approx(
        example["mean_of_four"], abs=example["tolerance"]
    )


def test_rank_correlation_of_skill_and_finish():
    """The law schools as a tournament: one's skill the test, one's total the grades."""
    example = DATA["law_school"]
    total = np.rint(100.0 * np.array(example["gpa"])).astype(np.int64)
    scores = np.repeat(np.stack([total, np.zeros_like(total)], axis=1)[None], 16, axis=0)
    form = Tournament(name="schools", games=2, squads=1, cut=5, finalists=1)
    made, _ = figures_of(
        form, scores, np.zeros((16, total.size, 0)), np.zeros((2, total.size), np.int64),
        np.array(example["lsat"], float),
    )  # fmt: skip
    got = made["rank_correlation"]
    assert got["value"] == pytest.approx(example["spearman"], abs=example["tolerance"])
    assert got["low"] == pytest.approx(got["high"], abs=1e-12)


def test_shrunken_averages_foretell_the_rest_of_a_season_better():
    """Other components than the published estimator's, so its factor is a neighbour, not a target."""
    example = DATA["batting"]
    n, hits = example["at_bats"], np.array(example["hits"])
    score = np.concatenate([np.repeat([1.0, 0.0], [h, n - h]) for h in hits])
    who = np.repeat(np.arange(hits.size), n)
    parts = moments(score, who, np.arange(score.size))
    level, _, _ = shrunken(parts, score, who, np.arange(score.size))
    raw, final = hits / n, np.array(example["final"])
    assert parts.mean == pytest.approx(example["grand_mean"], abs=example["tolerance"])
    # Efron and Morris' own estimate from the same sums, so that the data are theirs.
    c = (
        1.0
        - (hits.size - 3) * parts.mean * (1.0 - parts.mean) / n / ((raw - raw.mean()) ** 2).sum()
    )
    theirs = raw.mean() + c * (raw - raw.mean())
    assert c == pytest.approx(example["shrink_c"], abs=example["tolerance"])
    assert (theirs[0], theirs[-1]) == pytest.approx(
        (example["first"], example["last"]), abs=example["tolerance"]
    )

    def gain(told):
        return ((raw - final) ** 2).sum() / ((told - final) ** 2).sum()

    assert gain(theirs) == pytest.approx(example["sse_ratio"], abs=0.01)
    share = (level - parts.mean) / (raw - raw.mean())
    assert np.ptp(share) < 1e-9
    assert 0.0 < share[0] < 2.0 * example["shrink_c"]
    assert gain(level) > 2.0


def test_step_down_rejects_no_fewer_than_bonferroni():
    p = np.array(FAIRNESS["fifteen"]["p"])
    assert (holm(p) <= 0.05).sum() >= (p <= 0.05 / p.size).sum() == 3


def test_exact_paired_shares_against_the_binomial():
    from scipy.stats import binomtest

    a = FAIRNESS["approval"]
    statistic, p = mcnemar(a["only_first"], a["only_second"])
    assert statistic == min(a["only_first"], a["only_second"])
    wanted = binomtest(a["only_first"], a["only_first"] + a["only_second"]).pvalue
    assert p == pytest.approx(wanted, rel=1e-9)


def test_a_share_of_tournaments_is_wilsons_where_draws_agree():
    """The published interval through statsmodels, and ours on eights of the same kind."""
    from statsmodels.stats.proportion import proportion_confint

    example = DATA["wilson"]
    published = proportion_confint(example["hits"], example["of"], method="wilson")
    wanted = (example["low"], example["high"])
    assert published == pytest.approx(wanted, abs=example["tolerance"])
    x = np.tile([1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0], 33)  # every draw alike: no spread between
    got = told(x)
    low, high = proportion_confint(int(x.sum()), x.size, method="wilson")
    assert (got["low"], got["high"]) == pytest.approx((low, high), abs=1e-12)


def test_power_of_a_paired_comparison():
    example = DATA["power"]
    n = example["pairs"]
    se = 1.0 / math.sqrt(n)
    assert catch_chance(example["d"], se, n - 1.0, 0.0) == pytest.approx(
        example["power"], abs=example["tolerance"]
    )
    # In hundredths of the spread, because the search ends within 0.05.
    least = smallest_caught(100.0 * se, n - 1.0, 1.0, chance=example["power"])
    assert least == pytest.approx(100.0 * example["d"], abs=0.06)
