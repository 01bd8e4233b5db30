"""Equivalence, shares, reliability and cluster contrasts against cases with known answers."""

import math

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.outside.fairness_checks import fairness_checks
from leaguesim.outside.figures import figures
from leaguesim.study.equivalence import (
    difference_p,
    holm,
    icc,
    mcnemar,
    newcombe,
    people_contrast,
    people_mean,
    tost_p,
)
from leaguesim.study.handicap import DAY_SD


def test_published_examples_and_the_handicap_study_agree():
    rows = fairness_checks()
    assert len(rows) == 8
    assert [r.name for r in rows if r.verdict == "miss"] == []


def test_the_day_to_day_spread_is_the_outside_figure():
    assert figures("fairness")["game_spread"]["day_sd"] == DAY_SD


def test_equal_is_fair_to_the_last_bit():
    assert difference_p(0.0, 0.0, 5.0) == 1.0
    assert tost_p(0.0, 0.0, 5.0, 3.0) == 0.0
    assert tost_p(3.0, 0.0, 5.0, 3.0) == 1.0


def test_a_wider_margin_is_easier_to_show():
    p = [tost_p(1.0, 1.0, 8.0, m) for m in (0.5, 1.5, 3.0, 6.0)]
    assert p == sorted(p, reverse=True)
    assert p[0] > 0.5
    with pytest.raises(InputError, match="margin"):
        tost_p(0.0, 1.0, 5.0, 0.0)


def test_step_down_is_to_the_last_bit_that_of_statsmodels():
    from statsmodels.stats.multitest import multipletests

    rng = np.random.default_rng(1)
    for size in (1, 2, 7, 15):
        p = rng.random(size) ** 2
        p[-1] = p[0]  # a tie
        assert (holm(p) == multipletests(p, method="holm")[1]).all()
    some = holm([math.nan, 0.01, math.nan, 0.04])
    assert some[[1, 3]].tolist() == [0.02, 0.04]
    assert np.isnan(some[[0, 2]]).all()
    assert np.isnan(holm([math.nan])).all()


def test_a_contrast_of_one_bowler_a_pair_is_welch_like():
    """Leaving out single people: the jackknife variance of a mean is exactly s2/n."""
    x = np.array([1.0, 4.0, 2.0, 8.0, 5.0])
    made = people_mean(x, np.arange(5.0))
    assert made.se == pytest.approx(x.std(ddof=1) / math.sqrt(5))
    assert made.df == 4.0


def test_what_a_pair_shares_cancels_where_both_sides_share_it():
    pair = np.repeat(np.arange(6.0), 2)
    inside = np.tile([True, False], 6)
    common = np.repeat([5.0, -3.0, 8.0, 0.0, 2.0, -7.0], 2)
    made = people_contrast(common + 2.0 * inside, inside, pair)
    assert made.estimate == pytest.approx(2.0)
    assert made.se == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("inside", [np.zeros(6, bool), np.ones(6, bool)])
def test_an_empty_side_tells_nothing(inside):
    made = people_contrast(np.arange(6.0), inside, np.arange(6.0))
    assert math.isnan(made.estimate)
    assert math.isnan(made.se)


def test_bad_input_is_told():
    with pytest.raises(InputError, match="0 to n"):
        newcombe(0, 0, 1, 2)
    with pytest.raises(InputError, match="0 or more"):
        mcnemar(-1, 2)
    with pytest.raises(InputError, match="2 by 2"):
        icc([[1.0, 2.0]])
    with pytest.raises(InputError, match="differ"):
        icc([[1.0, 1.0], [1.0, 1.0]])
    assert mcnemar(0, 0) == (0.0, 1.0)
