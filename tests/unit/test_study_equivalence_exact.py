"""The arithmetic of equivalence, piece by piece, against scipy and statsmodels and against sums done by hand."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from leaguesim.errors import InputError
from leaguesim.outside.fairness_checks import _others, _tost
from leaguesim.outside.figures import figures
from leaguesim.study.equivalence import (
    LARGEST_EFFECT,
    catch_chance,
    difference_p,
    holm,
    icc,
    mcnemar,
    newcombe,
    people_contrast,
    people_mean,
    smallest_caught,
    t_interval,
    tost_p,
)

DRAWN = np.random.default_rng(5)
X, Y = DRAWN.normal(1.0, 2.0, 14), DRAWN.normal(0.0, 2.0, 14)
DIFFERENCE = X - Y
ESTIMATE, SE, DF = float(DIFFERENCE.mean()), float(stats.sem(DIFFERENCE)), 13.0


def test_published_examples_agree():
    data = figures("fairness")
    assert [r.name for r in (*_tost(data), *_others(data)) if r.verdict == "miss"] == []


def test_p_values_are_those_of_the_paired_t_test():
    told = stats.ttest_rel(X, Y)
    assert difference_p(ESTIMATE, SE, DF) == pytest.approx(told.pvalue, rel=1e-12)
    assert difference_p(-ESTIMATE, SE, DF) == difference_p(ESTIMATE, SE, DF)
    assert t_interval(ESTIMATE, SE, DF) == pytest.approx(told.confidence_interval(0.95))
    assert t_interval(ESTIMATE, SE, DF, 0.9) == pytest.approx(told.confidence_interval(0.90))


@pytest.mark.parametrize("margin", [0.5, 1.0, 3.0])
def test_two_one_sided_tests_are_those_of_statsmodels(margin):
    from statsmodels.stats.weightstats import ttost_paired

    assert tost_p(ESTIMATE, SE, DF, margin) == pytest.approx(ttost_paired(X, Y, -margin, margin)[0])
    assert tost_p(-ESTIMATE, SE, DF, margin) == tost_p(ESTIMATE, SE, DF, margin)


def test_what_is_exact_or_unknown_is_said():
    assert difference_p(1.0, 0.0, 5.0) == 0.0
    assert difference_p(0.0, 1.0, 5.0) == pytest.approx(1.0)
    assert tost_p(2.0, 0.0, 5.0, 3.0) == tost_p(-2.0, 0.0, 5.0, 3.0) == 0.0
    assert tost_p(-3.0, 0.0, 5.0, 3.0) == 1.0
    assert math.isnan(tost_p(1.0, math.nan, 5.0, 3.0))
    with pytest.raises(InputError):
        tost_p(0.0, 1.0, 5.0, -1.0)
    assert tost_p(0.0, 1.0, 5.0, 0.5) < 1.0
    assert t_interval(2.0, 0.0, 5.0) == (2.0, 2.0)
    assert all(map(math.isnan, t_interval(2.0, math.nan, 5.0)))
    assert math.isnan(catch_chance(1.0, math.nan, 5.0, 1.0))
    assert catch_chance(3.0, 0.0, 5.0, 3.0) == catch_chance(-3.0, 0.0, 5.0, 3.0) == 1.0
    assert catch_chance(2.9, 0.0, 5.0, 3.0) == 0.0
    assert math.isnan(smallest_caught(math.nan, 5.0, 3.0))


@pytest.mark.parametrize("tests", [1, 4])
def test_the_chance_to_catch_is_the_power_of_the_t_test(tests):
    """One-sample power of statsmodels (n = 21: 20 degrees), where the size is no obstacle."""
    from statsmodels.stats.power import TTestPower

    power = TTestPower().power(2.5 / math.sqrt(21), 21, 0.05 / tests, alternative="larger")
    two = TTestPower().power(2.5 / math.sqrt(21), 21, 0.025 / tests, alternative="larger")
    assert catch_chance(5.0, 2.0, 20.0, 0.0, tests) == pytest.approx(two, rel=1e-6)
    assert two < power
    # a margin near the effect makes the size the obstacle
    assert catch_chance(5.0, 2.0, 20.0, 4.5, tests) == pytest.approx(
        min(two, float(stats.norm.cdf(0.25)))
    )
    assert catch_chance(-5.0, 2.0, 20.0, 4.5, tests) == catch_chance(5.0, 2.0, 20.0, 4.5, tests)


@pytest.mark.parametrize(
    ("se", "margin", "tests"), [(1.0, 3.0, 1), (2.0, 3.0, 6), (0.05, 3.0, 1), (30.0, 3.0, 1)]
)
def test_the_smallest_effect_caught_is_just_caught(se, margin, tests):
    found = smallest_caught(se, 12.0, margin, tests)
    assert catch_chance(found, se, 12.0, margin, tests) >= 0.8
    assert catch_chance(found - 0.05, se, 12.0, margin, tests) < 0.8
    assert found > margin
    easier = smallest_caught(se, 12.0, margin, tests, 0.5)
    assert (
        catch_chance(easier, se, 12.0, margin, tests)
        >= 0.5
        > catch_chance(easier - 0.05, se, 12.0, margin, tests)
    )


def test_what_nothing_could_show_is_unknown():
    assert math.isnan(smallest_caught(1e6, 5.0, 3.0))
    assert 300.0 < smallest_caught(150.0, 1e6, 3.0) < 500.0


@pytest.mark.parametrize("effect", [500.0, 520.0, 700.0, 999.0])
def test_large_effects_are_told_up_to_the_largest(effect):
    """With so many degrees of freedom the effect caught in 80 % is 1.96 + 0.84 standard errors."""
    se = effect / (stats.norm.isf(0.025) + stats.norm.isf(0.2))
    assert smallest_caught(se, 1e6, 3.0) == pytest.approx(effect, abs=0.06)
    assert math.isnan(smallest_caught(1.01 * LARGEST_EFFECT / effect * se, 1e6, 3.0))
    assert math.isnan(smallest_caught(1000.5 / effect * se, 1e6, 3.0))  # pins, half a pin too many


VALUES = np.array([1.0, 4.0, 2.0, 8.0, 5.0, 7.0, math.nan])
INSIDE = np.array([True, False, True, False, False, True, True])
PAIRS = np.array([0, 0, 1, 1, 2, 2, 3])


def test_a_contrast_by_hand():
    """Means of those inside and outside with each pair gone in turn, written out."""
    made = people_contrast(VALUES, INSIDE, PAIRS)
    left = [(2 + 7) / 2 - (8 + 5) / 2, (1 + 7) / 2 - (4 + 5) / 2, (1 + 2) / 2 - (4 + 8) / 2]
    mean = sum(left) / 3
    assert made.estimate == pytest.approx(10 / 3 - 17 / 3)
    assert made.se == pytest.approx(math.sqrt(2 / 3 * sum((v - mean) ** 2 for v in left)))
    assert (made.df, made.pairs) == (2.0, 3)


def test_the_rarer_sides_pairs_count():
    inside = np.array([True, False, True, False, False, False, False])
    made = people_contrast(VALUES, inside, PAIRS)
    assert (made.df, made.pairs) == (1.0, 2)
    one = people_contrast(VALUES, np.arange(7) == 0, PAIRS)
    assert (one.estimate, one.pairs) == (pytest.approx(1.0 - 26 / 5), 1)
    assert math.isnan(one.se)
    assert math.isnan(one.df)
    none = people_contrast(VALUES, np.arange(7) == 6, PAIRS)  # the one inside has no figure
    assert math.isnan(none.estimate)
    assert math.isnan(none.df)
    assert none.pairs == 0


def test_a_mean_by_hand():
    made = people_mean(VALUES, PAIRS)
    left = [22 / 4, 17 / 4, 15 / 4]
    mean = sum(left) / 3
    assert made.estimate == 27 / 6
    assert made.se == pytest.approx(math.sqrt(2 / 3 * sum((v - mean) ** 2 for v in left)))
    assert (made.df, made.pairs) == (2.0, 3)
    one = people_mean(VALUES[:2], PAIRS[:2])
    assert (one.estimate, one.pairs) == (2.5, 1)
    assert math.isnan(one.se)
    assert math.isnan(one.df)
    two = people_mean(VALUES[:4], PAIRS[:4])
    assert two.se == pytest.approx(math.sqrt(0.5 * 2 * 1.25**2))
    none = people_mean(VALUES[6:], PAIRS[6:])
    assert math.isnan(none.estimate)
    assert math.isnan(none.df)
    assert none.pairs == 0


def test_adjusted_values_never_fall_and_stop_at_one():
    got = holm([0.5, 0.01, 0.03, 0.5])
    assert got == pytest.approx([1.0, 0.04, 0.09, 1.0])
    assert all(a <= b for a, b in pairwise(np.sort(got)))


def test_paired_yes_and_no_are_the_binomial_and_the_chi_square_test():
    assert mcnemar(3, 9)[0] == 3.0
    assert mcnemar(0, 0) == (0.0, 1.0)
    assert mcnemar(1, 1) == (1.0, 1.0)
    assert mcnemar(3, 9)[1] == pytest.approx(stats.binomtest(3, 12).pvalue)
    assert mcnemar(0, 5)[1] == pytest.approx(stats.binomtest(0, 5).pvalue)
    assert mcnemar(5, 0)[1] == pytest.approx(stats.binomtest(0, 5).pvalue)
    assert mcnemar(30, 50, exact=False) == pytest.approx((5.0, stats.chi2.sf(5.0, 1)))
    for wrong in ((-1, 2), (2, -1)):
        with pytest.raises(InputError):
            mcnemar(*wrong)


def test_a_difference_of_shares_is_newcombes():
    """Method 10 written out: distances to Wilson's limits of each share, added as squares."""

    def wilson(hits, size):
        found = stats.binomtest(hits, size).proportion_ci(method="wilson")
        return hits / size, found.low, found.high

    for a, m, b, n in ((56, 70, 48, 80), (0, 10, 10, 10), (1, 1, 0, 1), (9, 10, 3, 10)):
        (p, p_low, p_high), (q, q_low, q_high) = wilson(a, m), wilson(b, n)
        low = p - q - math.hypot(p - p_low, q_high - q)
        high = p - q + math.hypot(p_high - p, q - q_low)
        assert newcombe(a, m, b, n) == pytest.approx((low, high), abs=1e-9)
    for wrong in (
        (0, 0, 1, 2),
        (1, 2, 0, 0),
        (-1, 2, 1, 2),
        (3, 2, 1, 2),
        (1, 2, 3, 2),
        (1, 2, -1, 2),
    ):
        with pytest.raises(InputError):
            newcombe(*wrong)


def test_intraclass_correlations_by_sums_of_squares():
    """Six coefficients from mean squares worked out cell by cell (Shrout & Fleiss 1979, table 3)."""
    table = [[9, 2, 5], [6, 1, 3], [8, 4, 6], [7, 1, 2], [10, 5, 6]]
    n, k = 5, 3
    grand = sum(map(sum, table)) / (n * k)
    means = [sum(row) / k for row in table]
    judges = [sum(row[j] for row in table) / n for j in range(k)]
    bms = k * sum((m - grand) ** 2 for m in means) / (n - 1)
    jms = n * sum((m - grand) ** 2 for m in judges) / (k - 1)
    wms = sum((v - m) ** 2 for row, m in zip(table, means, strict=True) for v in row) / (
        n * (k - 1)
    )
    odd = [table[i][j] - means[i] - judges[j] + grand for i in range(n) for j in range(k)]
    ems = sum(v**2 for v in odd) / ((n - 1) * (k - 1))
    assert icc(table) == pytest.approx(
        {
            "icc11": (bms - wms) / (bms + (k - 1) * wms),
            "icc21": (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n),
            "icc31": (bms - ems) / (bms + (k - 1) * ems),
            "icc1k": (bms - wms) / bms,
            "icc2k": (bms - ems) / (bms + (jms - ems) / n),
            "icc3k": (bms - ems) / bms,
        }
    )
    for wrong in ([1.0, 2.0], [[1.0, 2.0]], [[1.0], [2.0]], [[1.0, math.nan], [2.0, 3.0]]):
        with pytest.raises(InputError, match="2 by 2"):
            icc(wrong)
    for equal in ([[1.0, 2.0], [2.0, 1.0]], [[2.0, 2.0], [2.0, 2.0]]):
        with pytest.raises(InputError, match="targets that differ"):
            icc(equal)
    assert icc([[1.0, 1.0], [3.0, 3.0]])["icc31"] == 1.0  # judges alike, targets not
    assert icc(np.array([[1.0, 2.0], [3.0, 5.0]]))["icc3k"] > 0.0


def test_chance_to_catch_a_difference_is_the_power_of_the_t_test():
    """One test at 5 %, unless several share it; statsmodels' power of a paired t test."""
    from statsmodels.stats.power import TTestPower

    def power(effect, alpha):
        return TTestPower().power(effect / math.sqrt(21.0), 21, alpha, alternative="larger")

    assert catch_chance(8.0, 2.0, 20.0, 3.0) == pytest.approx(power(4.0, 0.025), abs=1e-9)
    assert catch_chance(8.0, 2.0, 20.0, 3.0, 3) == pytest.approx(power(4.0, 0.025 / 3.0), abs=1e-9)
    assert catch_chance(3.0, 2.0, 20.0, 3.0) == pytest.approx(power(1.5, 0.025), abs=1e-9)
    assert catch_chance(2.0, 0.1, 20.0, 3.0) == pytest.approx(0.0, abs=1e-9)  # shown, yet too small
