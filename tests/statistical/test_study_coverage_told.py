"""Intervals that ``fit`` and ``till`` print, over repeated made-up truths: do they hold what they say?

Every test states the chance of a false alarm were its seed drawn anew; the seeds are fixed.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom, kstest, norm

from leaguesim.study.posterior import Seen, forecast, posterior
from leaguesim.study.till import _teams
from leaguesim.study.tillmachine import against
from leaguesim.study.traits import ACCURACY, SPARE, points_of

pytestmark = pytest.mark.slow


def two_sided(hits, runs, share):
    """p-value of so many hits where each has this chance."""
    return min(1.0, 2.0 * min(binom.cdf(hits, runs, share), binom.sf(hits - 1, runs, share)))


class StandIn:
    """A smooth made-up league whose figures are off by normal errors of known covariance."""

    error = np.diag([9.0, 0.01**2, 0.015**2, 1.0])

    def __call__(self, left, points):
        a, s = np.log(points[:, ACCURACY]), np.log(points[:, SPARE])
        mean = 130.0 - 40.0 * a - 30.0 * s
        return np.stack([mean, 0.4 - 0.2 * a, 0.5 - 0.3 * s, np.full(len(a), 23.0)], axis=1)


@pytest.mark.parametrize(("tallied", "noise"), [(False, 6.0), (True, 2.5)])
def test_a_bowlers_forecast_covers_people_of_their_style(small, tallied, noise):
    """240 bowlers drawn from the prior, each seen with luck of known size: the truth's place in its forecast is
    uniform (Kolmogorov-Smirnov at 5e-4) and 90 % intervals hold it in 90 % (binomial at 5e-4); two cases,
    so a false alarm of 2e-3 in all."""
    center = small.center()
    line = center.roster[7]
    style, stand_in = center.styles[line.style], StandIn()
    rng = np.random.default_rng(31 + tallied)
    outputs = np.array([0, 1, 2]) if tallied else np.array([0])
    luck = np.diag([noise**2, 0.01**2, 0.02**2])[: outputs.size, : outputs.size]
    runs, places = 240, []
    for run in range(runs):
        at = points_of(style, line, rng.random((1, 6)))
        figures = stand_in(False, at)[0] + rng.multivariate_normal(np.zeros(4), stand_in.error)
        value = figures[outputs] + rng.multivariate_normal(np.zeros(outputs.size), luck)
        seen = Seen(outputs, value, luck)
        post = posterior(center, line, {style.name: stand_in}, seen, run)
        mean, variance, weight = forecast(post, seen)
        places.append(weight @ norm.cdf((figures[0] - mean) / np.sqrt(variance)))
    assert kstest(places, "uniform").pvalue > 5e-4
    hits = sum(0.05 < p < 0.95 for p in places)
    assert two_sided(hits, runs, 0.90) > 5e-4, hits / runs


def test_a_teams_points_cover_the_season_to_come():
    """The 5 and 95 % points of 200 seasons hold a season more in 0.9 * 199/201 of cases (mean coverage of
    interpolated order statistics); 4,000 teams, false alarm 5e-4."""
    rng = np.random.default_rng(7)
    runs, seasons = 100, 200
    teams = [f"T{k:02d}" for k in range(40)]
    bowlers = pd.DataFrame({"team": np.repeat(teams, 4)})
    hits = 0
    for _ in range(runs):
        points = 40.0 + 8.0 * rng.standard_t(5, (2, seasons + 1, 40))
        place = points.argsort(axis=2).argsort(axis=2) + 1.0
        told = _teams(teams, bowlers, SimpleNamespace(points=points[:, :-1], place=place[:, :-1]))
        after = points[1, -1] - points[0, -1]
        hits += ((told["points_change_low"] < after) & (after < told["points_change_high"])).sum()
    assert two_sided(int(hits), runs * 40, 0.9 * (seasons - 1) / (seasons + 1)) > 5e-4, hits


def test_the_machines_index_covers_the_ratio_of_its_rates():
    """Skewed counts of 64 nights, both sides of a night alike in part: at least 93 % (the normal interval of a
    ratio of 64 skewed nights misses a little more than 5 %), never beyond 97 %; false alarm 1e-3."""
    rng = np.random.default_rng(9)
    runs, causes, hits = 100, 40, 0
    for _ in range(runs):
        night = rng.gamma(4.0, 0.25, (64, causes))
        now, after = rng.poisson(5.0 * night), rng.poisson(7.0 * night)
        index, se = against(after.astype(float), now.astype(float))
        hits += (np.abs(index - 140.0) < norm.isf(0.025) * se).sum()
    assert binom.cdf(hits, runs * causes, 0.93) > 5e-4, hits
    assert binom.sf(hits - 1, runs * causes, 0.97) > 5e-4, hits
