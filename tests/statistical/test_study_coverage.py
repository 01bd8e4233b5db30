"""Intervals, p-values and devices on made-up data of known law: do they hold what they print?

Every test states the chance of a false alarm were its seed drawn anew; the seeds are fixed.
"""

import numpy as np
import pytest
from scipy.stats import binom, kstest, norm

from leaguesim.bowlers.draw import cut_normal
from leaguesim.bowlers.values import Spread
from leaguesim.play.draws import night_draws
from leaguesim.streams import Purpose, stream
from leaguesim.study.equivalence import (
    difference_p,
    holm,
    mcnemar,
    newcombe,
    people_contrast,
    people_mean,
    t_interval,
    tost_p,
)
from leaguesim.study.handicap import LeagueModel, Teams, below_median_chance
from leaguesim.study.tournament_figures import DRAW, told

pytestmark = pytest.mark.slow
RUNS = 2000
SLACK = norm.isf(5e-4 / 2.0)  # two-sided, 5e-4 a figure


def near(hits: int, runs: int, share: float) -> bool:
    """Within so many standard errors of a share (a false alarm of 5e-4)."""
    return abs(hits / runs - share) < SLACK * np.sqrt(share * (1.0 - share) / runs)


def league(rng, pairs, shared):
    """Figures of eight bowlers on each of so many pairs, with a part common to the pair."""
    clusters = np.repeat(np.arange(pairs), 8)
    common = np.sqrt(shared) * rng.normal(size=pairs)[clusters]
    return common + np.sqrt(1.0 - shared) * rng.normal(size=clusters.size), clusters


@pytest.fixture(scope="module", params=[(6, 0.0), (12, 0.3), (24, 0.0)], ids=str)
def contrasts(request):
    """Contrasts of two groups without any difference, half of every pair in each."""
    pairs, shared = request.param
    rng = np.random.default_rng(pairs)
    inside = np.tile(np.arange(8) < 4, pairs)
    return [people_contrast(*_swap(league(rng, pairs, shared), inside)) for _ in range(RUNS)]


def _swap(made, inside):
    values, clusters = made
    return values, inside, clusters


def test_the_interval_of_two_groups_covers(contrasts):
    """95 % of 2,000 made-up leagues; false alarm 5e-4 a case of three."""
    ends = [t_interval(c.estimate, c.se, c.df) for c in contrasts]
    assert near(sum(low <= 0.0 <= high for low, high in ends), RUNS, 0.95)


def test_p_values_are_uniform_under_no_change(contrasts):
    """Kolmogorov-Smirnov at 5e-4 a case of three."""
    p = [difference_p(c.estimate, c.se, c.df) for c in contrasts]
    assert kstest(p, "uniform").pvalue > 5e-4


def test_equivalence_alarms_at_five_percent_on_the_margin(contrasts):
    """A true difference of the very margin is called none in 5 % (one-sided; the other side's share
    is below 1e-3 at a margin of 1.5 and is part of the allowance); false alarm 5e-4 a case of three."""
    margin = 1.5
    calls = sum(tost_p(c.estimate + margin, c.se, c.df, margin) < 0.05 for c in contrasts)
    assert near(calls, len(contrasts), 0.05)


def test_rare_hands_are_told_apart_at_most_as_stated():
    """One left-hander on each of five pairs of twelve: the alarm is at most 5 %, beyond 3.3 errors
    (one-sided false alarm 5e-4); the degrees of freedom are the rarer side's."""
    rng = np.random.default_rng(5)
    inside = np.zeros(96, bool)
    inside[[0, 8, 16, 24, 32]] = True
    alarms = 0
    for _ in range(RUNS):
        c = people_contrast(*_swap(league(rng, 12, 0.2), inside))
        alarms += difference_p(c.estimate, c.se, c.df) < 0.05
    assert binom.sf(alarms - 1, RUNS, 0.05) > 5e-4, alarms / RUNS
    assert alarms > 0


def test_the_mean_over_people_covers():
    """False alarm 5e-4 a case of two."""
    for pairs, shared in ((5, 0.0), (16, 0.4)):
        rng = np.random.default_rng(100 + pairs)
        hits = 0
        for _ in range(RUNS):
            c = people_mean(*league(rng, pairs, shared))
            low, high = t_interval(c.estimate, c.se, c.df)
            hits += low <= 0.0 <= high
        assert near(hits, RUNS, 0.95), (pairs, hits / RUNS)


def test_holm_keeps_the_family_at_five_percent():
    """Twelve true nulls in 200 families: any alarm is one too many.  One real difference among them
    is always found.  False alarm 5e-4."""
    rng = np.random.default_rng(3)
    p = rng.random((200, 12))
    alarms = sum((holm(row) < 0.05).any() for row in p)
    assert near(alarms, 200, 1.0 - (1.0 - 0.05 / 12) ** 12)
    p[:20, 0] = 1e-4
    assert all((holm(row) < 0.05)[0] for row in p[:20])


@pytest.mark.parametrize(("share", "size"), [(0.5, 24), (0.8, 24), (0.9, 60), (0.97, 48)])
def test_the_interval_of_two_shares_covers(share, size):
    """At least 95 % less what discreteness takes: 93 % (Newcombe 1998 finds 0.936 to 0.97 over like
    cases, from memory), at a false alarm of 5e-4; never the whole range from -1 to 1."""
    rng = np.random.default_rng(int(100 * share))
    a, b = rng.binomial(size, share, RUNS), rng.binomial(size, share, RUNS)
    hits = 0
    for x, y in zip(a, b, strict=True):
        low, high = newcombe(int(x), size, int(y), size)
        hits += low <= 0.0 <= high
        assert high - low < 1.0
    assert binom.cdf(hits, RUNS, 0.93) > 5e-4, hits / RUNS


def test_paired_yes_and_no_alarm_at_most_as_stated():
    """The exact test of 48 people who change their mind by luck alone: below 5 %, never far below
    for many changes (false alarm 5e-4 one-sided)."""
    rng = np.random.default_rng(8)
    alarms = 0
    for n in rng.binomial(48, 0.4, RUNS):
        first = int(rng.binomial(n, 0.5))
        alarms += mcnemar(first, int(n) - first)[1] < 0.05
    assert binom.sf(alarms - 1, RUNS, 0.05) > 5e-4
    assert alarms / RUNS > 0.01


@pytest.mark.parametrize("shared", [0.0, 0.5])
def test_what_a_tournament_tells_covers(shared):
    """A figure of 24 draws with a part common to the tournaments of a draw; false alarm 5e-4 a case."""
    rng = np.random.default_rng(int(10 * shared) + 1)
    hits = 0
    for _ in range(RUNS):
        common = np.repeat(rng.normal(size=24), DRAW) * np.sqrt(shared)
        made = told(common + np.sqrt(1.0 - shared) * rng.normal(size=24 * DRAW))
        hits += made["low"] <= 0.0 <= made["high"]
    assert near(hits, RUNS, 0.95)


def test_a_share_of_tournaments_covers_at_both_ends():
    """Wilson's interval is wide enough also where it hardly ever happens; at least 93 % (false alarm
    5e-4 a case of three)."""
    rng = np.random.default_rng(4)
    for share in (0.02, 0.3, 0.98):
        hits = 0
        for _ in range(RUNS):
            made = told((rng.random(24 * DRAW) < share).astype(float))
            assert 0.0 <= made["low"] <= made["high"] <= 1.0
            hits += made["low"] <= share <= made["high"]
        assert binom.cdf(hits, RUNS, 0.93) > 5e-4, (share, hits / RUNS)


def test_the_error_of_a_leagues_chance_is_honest():
    """60 seeds of 400 seasons: spread over the error told, chi-square with 59 degrees; false alarm 1e-3."""
    from scipy.stats import chi2

    rng = np.random.default_rng(2)
    ability = 150.0 + 25.0 * rng.normal(size=(1, 8, 4))
    teams = Teams(ability, ability, np.full_like(ability, 20.0), 8.0, np.ones_like(ability, bool))
    model = LeagueModel(90, 210, 3, 12)
    found = [below_median_chance(teams, model, seed, seasons=400) for seed in range(60)]
    chance, error = np.array(found).T
    ratio = chance.var(ddof=1) / (error**2).mean()
    low, high = chi2.ppf([5e-4, 1 - 5e-4], 59) / 59
    assert low < ratio < high


def test_streams_of_bowlers_nights_and_purposes_are_independent():
    """Every pair of 30 bowlers x 2 blocks x 2 replicates and of every purpose: the sum of squared
    correlations times n is chi-square (false alarm 1e-3), so many small ones would show as well as a
    large one; normal errors and the pins' uniforms of a night likewise."""
    from scipy.stats import chi2

    n = 4096
    keys = [
        (Purpose.LEAGUE_NIGHT, r, b, f"Bowler {w:02d}")
        for w in range(30) for r in (0, 1) for b in (0, 32)
    ] + [(p, 0, 0, "Bowler 00") for p in Purpose if p != Purpose.LEAGUE_NIGHT]  # fmt: skip
    draws = np.array(
        [stream(3, p, replicate=r, night=b, identity=w).random(n) for p, r, b, w in keys]
    )
    pairs = np.corrcoef(draws)[np.triu_indices(len(keys), 1)]
    assert chi2.sf(n * (pairs**2).sum(), pairs.size) > 5e-4
    assert chi2.cdf(n * (pairs**2).sum(), pairs.size) > 5e-4
    nights = np.concatenate(
        [
            np.stack([night_draws(3, f"Bowler {w:02d}", block=k, games=3) for w in range(6)])
            for k in range(8)
        ],
        axis=1,
    )
    slot = (nights - nights.mean(axis=(0, 1))) / nights.std(
        axis=(0, 1)
    )  # errors and uniforms alike
    flat = slot.reshape(6, -1)
    between = np.corrcoef(flat)[np.triu_indices(6, 1)]
    assert chi2.sf(flat.shape[1] * (between**2).sum(), between.size) > 5e-4


def test_pairing_and_exact_means_leave_the_change_where_it_is(small, floor_and_pins):
    """Same nights on both conditions, against other nights for the second: the same change within
    3.5 standard errors (false alarm 5e-4), and a smaller error."""
    from dataclasses import replace

    from leaguesim.run.rounds import Plan, play_nights
    from leaguesim.run.totals import SCALE
    from leaguesim.study.intervals import change_se, mean_se

    made, house = floor_and_pins
    flat = made.setting("flat")
    groups = np.ones((1, len(made.order)), np.bool_)
    plan = Plan([house, flat], made.pairs, made.pins, small.center().league, groups, made.seed)
    nights = 384
    one, other = (play_nights(replace(plan, replicate=r), 0, nights, 2) for r in (901, 902))
    g, gg = one.group, one.group_square
    paired, se = change_se(g[0], g[1], gg[0, 0], gg[1, 1], gg[0, 1], nights)
    now, now_se = mean_se(one.group[0], one.group_square[0, 0], nights)
    after, after_se = mean_se(other.group[1], other.group_square[1, 1], nights)
    unpaired, wide = after - now, np.hypot(now_se, after_se)
    assert (np.abs(unpaired - paired) < SLACK * np.hypot(wide, se)).all()
    assert (se < wide).all()
    assert np.isfinite(one.average / SCALE).all()


def test_a_spread_is_drawn_without_bias():
    """The mean of drawn people is that of the truncated normal law their style states: 4 standard errors
    over 20,000 draws (false alarm 6e-5)."""
    from scipy.stats import truncnorm

    spread = Spread(16.2, 1.0, 13.5, 19.0)
    a, b = ((end - spread.mean) / spread.sd for end in (spread.low, spread.high))
    law = truncnorm(a, b, loc=spread.mean, scale=spread.sd)
    drawn = np.array([cut_normal(u, spread) for u in np.random.default_rng(6).random(20_000)])
    assert abs(drawn.mean() - law.mean()) < 4.0 * law.std() / np.sqrt(drawn.size)
    assert ((drawn >= spread.low) & (drawn <= spread.high)).all()
