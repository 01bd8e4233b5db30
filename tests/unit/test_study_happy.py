"""Kept happy: each part's logic on measures made by hand, bands, close calls, thresholds moved."""

from dataclasses import fields

import numpy as np
import pytest

from leaguesim.play.values import Thresholds
from leaguesim.run.totals import SCALE, Totals
from leaguesim.study.happy import PARTS, Measures, Norms, band_of, judge, measures, moved, norms

LIMITS = Thresholds()
NAN = float("nan")


def made(n=1, **values):
    """Measures of n bowlers that pass every part with room to spare."""
    usual = {
        "average": 180.0, "average_se": 0.2, "cost": 2.0, "cost_se": 0.01, "side": 1.2,
        "side_se": 0.01, "corner": 0.10, "corner_se": 0.001, "pocket_hits": 1000.0, "fade": 1.0,
        "fade_se": 0.1,
    }  # fmt: skip
    usual |= values
    assert set(usual) == {f.name for f in fields(Measures)}
    return Measures(**{k: np.broadcast_to(np.asarray(v, float), (n,)) for k, v in usual.items()})


def verdict(limits=LIMITS, reference=180.0, **values):
    """The verdict where 2 pins a degree and 0.10 corner pins are usual."""
    m = made(**values)
    n = m.average.size
    usual = Norms(np.full(n, 2.0), np.full(n, 0.10))
    return judge(m, np.full(n, reference), usual, limits)


def test_everything_in_order_is_happy():
    v = verdict()
    assert v.happy.tolist() == [1.0]
    assert not v.close[0]
    assert v.words() == [""]


@pytest.mark.parametrize(
    ("part", "at", "beyond"),
    [
        ("average", {"average": 177.0}, {"average": 176.99}),
        ("miss cost", {"cost": 2.6}, {"cost": 2.61}),
        ("sides", {"side": 2.0}, {"side": 2.01}),
        ("corner pins", {"corner": 0.13}, {"corner": 0.1301}),
        ("fade", {"fade": 8.0}, {"fade": 8.01}),
    ],
)
def test_each_part_holds_at_its_threshold_and_fails_beyond(part, at, beyond):
    column = PARTS.index(part)
    assert verdict(**at).parts[0, column] == 1.0
    assert verdict(**at).happy[0] == 1.0
    failed = verdict(**beyond)
    assert failed.parts[0, column] == 0.0
    assert failed.happy[0] == 0.0
    assert failed.parts[0].sum() == 4.0
    assert failed.words()[0] != ""


def test_corner_pins_are_told_only_from_enough_pocket_hits():
    few = verdict(pocket_hits=99.0, corner=0.9)
    assert np.isnan(few.parts[0, 3])
    assert few.happy[0] == 1.0
    assert few.words() == ["(corner pins: can't be told)"]
    assert verdict(pocket_hits=100.0, corner=0.9).happy[0] == 0.0


def test_an_unknown_part_neither_saves_nor_loses():
    assert verdict(cost=NAN, side=NAN).happy[0] == 1.0
    assert verdict(side=NAN, fade=9.0).happy[0] == 0.0


def test_without_the_average_or_all_the_rest_nothing_can_be_told():
    assert np.isnan(verdict(average=NAN).happy[0])
    alone = verdict(cost=NAN, side=NAN, pocket_hits=0.0, fade=NAN)
    assert np.isnan(alone.happy[0])
    # ... but a part that fails decides, whatever is unknown.
    assert verdict(average=NAN, fade=9.0).happy[0] == 0.0
    assert verdict(average=100.0, cost=NAN, side=NAN, pocket_hits=0.0, fade=NAN).happy[0] == 0.0


def test_close_calls_are_within_two_standard_errors_of_a_threshold():
    assert verdict(average=177.39).close[0]
    assert not verdict(average=177.41).close[0]
    assert verdict(average=176.61).close[0]
    assert not verdict(fade=NAN, fade_se=NAN).close[0]
    assert not verdict(average_se=NAN).close[0]


@pytest.mark.parametrize(
    ("reference", "band"),
    [
        (129.99, "under 130"), (130.0, "130 to 149"), (149.99, "130 to 149"), (150.0, "150 to 169"),
        (189.99, "170 to 189"), (209.99, "190 to 209"), (210.0, "210 and over"),
        (300.0, "210 and over"), (0.0, "under 130"),
    ],
)  # fmt: skip
def test_band_edges(reference, band):
    assert band_of(np.array([reference])) == [band]


def test_norms_are_the_bands_median_and_pooled_share():
    today = made(
        6, cost=[1.0, 2.0, 9.0, 4.0, 5.0, NAN], corner=[0.1, 0.2, 0.3, 0.0, 0.0, 0.5],
        pocket_hits=[100.0, 300.0, 99.0, 200.0, 200.0, 200.0],
    )  # fmt: skip
    usual = norms(today, ["a", "a", "a", "b", "b", "b"], LIMITS)
    assert usual.cost.tolist() == [2.0, 2.0, 2.0, 4.5, 4.5, 4.5]
    assert usual.corner[0] == pytest.approx((10.0 + 60.0) / 400.0)
    assert usual.corner[5] == pytest.approx(100.0 / 600.0)


def test_a_small_band_takes_everybodys_norm():
    today = made(5, cost=[1.0, 2.0, 3.0, 10.0, 20.0])
    usual = norms(today, ["a", "a", "a", "b", "b"], LIMITS)
    assert usual.cost.tolist() == [2.0, 2.0, 2.0, 3.0, 3.0]


def test_norms_nobody_can_tell_are_unknown():
    usual = norms(made(3, cost=NAN, pocket_hits=5.0), ["a"] * 3, LIMITS)
    assert np.isnan(usual.cost).all()
    assert np.isnan(usual.corner).all()
    v = judge(made(3, cost=NAN, pocket_hits=5.0), np.full(3, 180.0), usual, LIMITS)
    assert np.isnan(v.parts[:, [1, 3]]).all()
    assert (v.happy == 1.0).all()


@pytest.mark.parametrize("part", PARTS)
def test_moving_a_threshold_moves_only_that_part_and_only_one_way(part):
    tight, wide = moved(LIMITS, part, 0.75), moved(LIMITS, part, 1.25)
    changed = [
        f.name for f in fields(Thresholds) if getattr(tight, f.name) != getattr(LIMITS, f.name)
    ]
    assert len(changed) == 1
    rng = np.random.default_rng(4)
    values = {
        "average": 180.0 - rng.uniform(0, 6, 200), "cost": rng.uniform(1, 4, 200),
        "side": rng.uniform(1, 4, 200), "corner": rng.uniform(0, 0.25, 200),
        "fade": rng.uniform(0, 14, 200),
    }  # fmt: skip
    share = [
        np.nanmean(verdict(limits, n=200, **values).parts, axis=0)
        for limits in (tight, LIMITS, wide)
    ]
    column = PARTS.index(part)
    assert share[0][column] < share[1][column] < share[2][column]
    for other in set(range(5)) - {column}:
        assert share[0][other] == share[1][other] == share[2][other]


def _totals(games=3, nights=4):
    t = Totals.empty(1, 1, games, 1, 9)
    t.nights = nights
    return t


def test_one_game_a_night_has_no_fade():
    assert np.isnan(measures(_totals(games=1), 0).fade).all()
    assert np.isfinite(measures(_totals(games=2), 0).fade).all()


def test_the_cost_of_a_miss_is_the_regression_slope():
    """Against numpy's least squares on made-up balls, each side on its own."""
    rng = np.random.default_rng(8)
    t = _totals()
    slopes = []
    for side, (a, b) in enumerate(((8.0, -2.0), (9.0, -5.0))):
        e = rng.uniform(0, 1, 400)
        q = a + b * e + rng.normal(0, 0.5, 400)
        sums = [len(e), e.sum(), (e * e).sum(), q.sum(), (q * q).sum(), (e * q).sum()]
        t.misses[0, 0, side] = np.rint(np.array(sums) * SCALE).astype(np.int64)
        x = np.stack([np.ones_like(e), e], axis=1)
        beta, rest, *_ = np.linalg.lstsq(x, q, rcond=None)
        slopes.append((-beta[1], np.sqrt(rest[0] / 398 * np.linalg.inv(x.T @ x)[1, 1])))
    m = measures(t, 0)
    assert m.cost[0] == pytest.approx(0.5 * (slopes[0][0] + slopes[1][0]), abs=1e-3)
    assert m.cost_se[0] == pytest.approx(0.5 * np.hypot(slopes[0][1], slopes[1][1]), rel=1e-3)
    assert m.side[0] == pytest.approx(slopes[1][0] / slopes[0][0], rel=1e-3)


def test_fewer_than_thirty_balls_to_a_side_tell_nothing():
    t = _totals()
    t.misses[0, 0] = np.rint(np.array([29, 10, 5, 200, 1500, 60]) * SCALE).astype(np.int64)
    m = measures(t, 0)
    assert np.isnan(m.cost[0])
    assert np.isnan(m.side[0])


def test_a_side_that_costs_nothing_is_compared_at_the_floor():
    """A flat side counts as a quarter of a pin a degree, so that a ratio exists."""
    e = np.linspace(0.0, 1.0, 50)
    t = _totals()
    for side, slope in enumerate((0.0, 3.0)):
        q = 8.0 - slope * e
        sums = [len(e), e.sum(), (e * e).sum(), q.sum(), (q * q).sum(), (e * q).sum()]
        t.misses[0, 0, side] = np.rint(np.array(sums) * SCALE).astype(np.int64)
    assert measures(t, 0).side[0] == pytest.approx(12.0, rel=1e-3)
