"""Standard errors against scipy on whole-number data, and exact mirrors of every interval."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.stats import norm, sem, t, ttest_rel

from leaguesim.run.totals import SCALE, fixed, product
from leaguesim.study.intervals import Z95, change_se, mean_se, people_interval, told_interval

NIGHTS = st.integers(2, 40)
SCORES = st.integers(0, 300)


def _paired(draw, n):
    scores = arrays(np.int64, (2, n, 3), elements=SCORES)
    return draw(scores)


def _sums(nights):
    """Accumulators of (n, bowlers) whole-number scores."""
    f = [fixed(x.astype(float), "x") for x in nights]
    total = [x.sum(axis=0) for x in f]
    square = [product(x, x).sum(axis=0) for x in f]
    return total, square, product(f[0], f[1]).sum(axis=0)


@st.composite
def paired(draw):
    return _paired(draw, draw(NIGHTS))


@given(paired())
@settings(deadline=None, max_examples=60)
def test_change_and_its_error_are_those_of_a_paired_test(nights):
    n = nights.shape[1]
    total, square, cross = _sums(nights)
    change, se = change_se(total[0], total[1], square[0], square[1], cross, n)
    d = (nights[1] - nights[0]).astype(float)
    assert change == pytest.approx(d.mean(axis=0), abs=1e-9)
    assert se == pytest.approx(sem(d, axis=0), abs=1e-6)
    for k in range(3):
        if d[:, k].std() > 0.0:
            told = ttest_rel(nights[1, :, k], nights[0, :, k]).statistic
            assert change[k] / se[k] == pytest.approx(told, rel=1e-6)


@given(paired())
@settings(deadline=None, max_examples=60)
def test_swapping_flips_the_sign_and_nothing_else(nights):
    n = nights.shape[1]
    total, square, cross = _sums(nights)
    a = change_se(total[0], total[1], square[0], square[1], cross, n)
    b = change_se(total[1], total[0], square[1], square[0], cross, n)
    assert (a[0] == -b[0]).all()
    assert (a[1] == b[1]).all()


@given(paired())
@settings(deadline=None, max_examples=30)
def test_equal_nights_have_exactly_no_change(nights):
    n = nights.shape[1]
    total, square, cross = _sums(np.stack([nights[0], nights[0]]))
    change, se = change_se(total[0], total[1], square[0], square[1], cross, n)
    assert (change == 0.0).all()
    assert (se == 0.0).all()


@pytest.mark.parametrize("nights", [((1, 1), (0, 2)), ((0, 2), (5, 2))])
def test_what_is_alike_in_part_is_no_equal_night(nights):
    """Equal totals and an equal product of other nights; an equal product under another total."""
    both = np.array(nights, np.int64)[:, :, None]
    total, square, cross = _sums(both)
    change, se = change_se(total[0], total[1], square[0], square[1], cross, 2)
    d = (both[1] - both[0]).astype(float)
    assert square[0] == cross
    assert change == pytest.approx(d.mean(axis=0))
    assert se == pytest.approx(sem(d, axis=0))


@given(paired())
@settings(deadline=None, max_examples=30)
def test_the_mean_and_its_error(nights):
    n = nights.shape[1]
    total, square, _ = _sums(nights)
    mean, se = mean_se(total[0], square[0], n)
    assert mean == pytest.approx(nights[0].mean(axis=0), abs=1e-9)
    assert se == pytest.approx(sem(nights[0], axis=0), abs=1e-6)


def test_equal_sums_of_unlike_nights_are_not_certain():
    """No change on the whole, but not the same nights: only identical nights are exactly nothing."""
    total, square, cross = _sums(np.array([[[150], [170]], [[170], [150]]]))
    change, se = change_se(total[0], total[1], square[0], square[1], cross, 2)
    assert change[0] == 0.0
    assert se[0] == pytest.approx(20.0)


def test_the_95_percent_deviate_is_the_normal_laws():
    assert norm.ppf(0.975) == pytest.approx(Z95, abs=1e-15)


def test_one_night_tells_no_standard_error():
    one = np.array([int(180 * SCALE)]), np.array([int(180**2 * SCALE)])
    other = np.array([int(170 * SCALE)]), np.array([int(170**2 * SCALE)])
    cross = np.array([int(170 * 180 * SCALE)])
    assert np.isnan(mean_se(*one, 1)[1]).all()
    change, se = change_se(one[0], other[0], one[1], other[1], cross, 1)
    assert change[0] == -10.0
    assert np.isnan(se[0])
    assert change_se(one[0], one[0], one[1], one[1], one[1], 1)[1][0] == 0.0


clustered = st.integers(2, 30).flatmap(
    lambda n: st.tuples(
        arrays(np.float64, n, elements=st.floats(-50, 50, allow_nan=False)),
        arrays(np.int64, n, elements=st.integers(0, 5)),
        st.integers(0, 2**64 - 1),
    )
)


@given(clustered)
@settings(deadline=None, max_examples=40)
def test_the_interval_of_minus_the_values_is_the_mirror_image(data):
    values, clusters, seed = data
    low, high = people_interval(values, clusters, seed)
    back = people_interval(-values, clusters, seed)
    if np.unique(clusters).size < 2:
        assert np.isnan([low, high, *back]).all()
        return
    assert (low, high) == (-back[1], -back[0])
    assert low <= high
    assert 0.5 * (low + high) == pytest.approx(values.mean(), abs=1e-9)


@given(clustered)
@settings(deadline=None, max_examples=20)
def test_unknown_values_are_left_out(data):
    values, clusters, seed = data
    with_gaps = np.append(values, [np.nan, np.inf])
    more = np.append(clusters, [0, 9])
    assert np.array_equal(
        people_interval(with_gaps, more, seed),
        people_interval(values, clusters, seed),
        equal_nan=True,
    )


def test_the_width_is_student_t_over_clusters():
    """Even clusters: mean plus and minus t times the standard error of the clusters' means."""
    rng = np.random.default_rng(2)
    clusters = np.repeat(np.arange(6), 8)
    values = rng.normal(size=6)[clusters] + rng.normal(size=48)
    means = values.reshape(6, 8).mean(axis=1)
    half = t.ppf(0.975, 5) * sem(means)
    low, high = people_interval(values, clusters, 1)
    assert 0.5 * (high - low) == pytest.approx(half, rel=0.08)  # 1,999 resamples: se 1.6 %


def test_a_share_stays_a_share():
    values = np.array([1.0, 1.0, 0.0, 1.0])
    low, high = people_interval(values, np.array([0, 0, 1, 1]), 3, share=True)
    assert (low, high) == (0.0, 1.0)
    wide = people_interval(values, np.array([0, 0, 1, 1]), 3)
    assert wide[0] < 0.0 < 1.0 < wide[1]


@given(clustered)
@settings(deadline=None, max_examples=40)
def test_an_interval_is_told_from_four_pairs_on_and_mirrors(data):
    values, clusters, seed = data
    told = told_interval(values, clusters, seed)
    if np.unique(clusters).size < 4:
        assert np.isnan(told).all()
    else:
        assert told == people_interval(values, clusters, seed)
        back = told_interval(-values, clusters, seed)
        assert told == (-back[1], -back[0])
