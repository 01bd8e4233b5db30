"""Are the standard errors and intervals honest?  Fixed seeds; each test states its false-alarm rate."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, chi2, norm

from leaguesim.play.draws import night_draws
from leaguesim.play.setting import play_block
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE
from leaguesim.study.intervals import change_se, people_interval
from leaguesim.study.prepare import PILOT_NIGHTS

pytestmark = pytest.mark.slow

REPLICATES = 40
NIGHTS = 32


@pytest.fixture(scope="module")
def changes(small, floor_and_pins):
    """Change and its standard error of the league and of each bowler, by replicate.

    The seed also draws the people, so that one seed stays and the replicate changes: same people,
    lines and lanes, other nights.
    """
    made, house = floor_and_pins
    flat = made.setting("flat")
    groups = np.ones((1, len(made.order)), np.bool_)
    plan = Plan([house, flat], made.pairs, made.pins, small.center().league, groups, made.seed)
    rows = []
    for r in range(REPLICATES):
        t = play_nights(replace(plan, replicate=100 + r), 0, NIGHTS, 2)
        own = change_se(
            t.average[0], t.average[1], t.square[0, 0], t.square[1, 1], t.square[0, 1], t.nights
        )
        g, gg = t.group, t.group_square
        league = change_se(g[0], g[1], gg[0, 0], gg[1, 1], gg[0, 1], t.nights)
        single = (t.square[[0, 1], [0, 1]] / SCALE / t.nights) - (t.average / SCALE / t.nights) ** 2
        rows.append((*np.concatenate([league, own], axis=1), single.sum(axis=0) / (t.nights - 1)))
    change, se, unpaired = zip(*rows, strict=True)
    return np.array(change), np.array(se), np.array(unpaired)


def test_the_standard_error_of_a_change_is_honest(changes):
    """Spread over 40 replicates against the mean squared error told: league and 8 bowlers.

    Ratio times 39 is chi-square with 39 degrees of freedom if honest (and a little wider, as the
    told one is an estimate of 31 degrees in each of 40 runs); false alarm 1e-3 in all.
    """
    change, se, _ = changes
    ratio = change.var(axis=0, ddof=1) / (se**2).mean(axis=0)
    alarm = 1e-3 / ratio.size
    low, high = chi2.ppf([alarm / 2, 1 - alarm / 2], REPLICATES - 1) / (REPLICATES - 1)
    print("spread of change over error told:", np.sqrt(ratio).round(2))
    assert (ratio > low).all()
    assert (ratio < high).all()


def test_the_interval_of_a_change_covers(changes):
    """95 % intervals of 40 replicates around their grand mean: league and 8 bowlers, 360 in all.

    Bowlers of a replicate share nights, so the limit is that of 40 independent ones: 33 or fewer of
    40 at a chance of 0.94 (normal interval, 32 nights) is the false alarm, 1 %.
    """
    change, se, _ = changes
    inside = np.abs(change - change.mean(axis=0)) <= 1.96 * se
    assert binom.cdf(33, REPLICATES, 0.94) < 0.011
    assert inside.mean() > 33 / 40


def test_pairing_pays(changes):
    """Paired variance against that of two runs with luck of their own, printed; never worse.

    The bowlers' mean: the variance told is itself an estimate; false alarm under 1e-3.
    """
    _, se, unpaired = changes
    factor = unpaired.mean(axis=0) / (se[:, 1:] ** 2).mean(axis=0)
    print("variance, unpaired over paired:", factor.round(1))
    assert factor.mean() > 1.0


@pytest.fixture(scope="module")
def many_nights(floor_and_pins):
    """1,600 nights of the first pair, means and games played out."""
    made, setting = floor_and_pins
    people = made.pairs[0].bowlers

    def play(crew=setting.crews[0], blocks=50):
        means, games = [], []
        for k in range(blocks):
            draws = np.stack([night_draws(77, b.bowler, block=k, games=3) for b in people], axis=1)
            block = play_block(
                setting.films, setting.mix, setting.pulls, crew, made.pins, draws, 3, 4
            )
            means.append(block.exact)
            games.append(block.sampled)
        return np.concatenate(means), np.concatenate(games)

    return setting.crews[0], play


def test_exact_means_are_the_means_of_games_played_out(many_nights):
    """Sampled minus exact over 1,600 nights within 4 standard errors, 4 bowlers and their mean
    (false alarm 3e-4); the variance it saves is printed."""
    _, play = many_nights
    means, games = play()
    gap = (games - means).mean(axis=2)
    se = gap.std(axis=0, ddof=1) / np.sqrt(len(gap))
    saved = games.mean(axis=2).var(axis=0) / means.mean(axis=2).var(axis=0)
    print("gap", gap.mean(axis=0).round(3), "se", se.round(3), "variance saved", saved.round(1))
    assert (np.abs(gap.mean(axis=0)) < 4.0 * se).all()
    both = gap.mean(axis=1)
    assert abs(both.mean()) < 4.0 * both.std(ddof=1) / np.sqrt(len(both))
    # It must save: above 1 by four standard errors of a ratio of variances over 1,600 nights (5 %).  How much
    # is for the benches: 1.9 to 3.3 since the day form strays in speed, revs and rotation, 2.4 to 3.6 before.
    assert (saved > 1.2).all()


def test_what_spare_balls_do_to_the_lane_cannot_bias_the_means_by_005_pin(many_nights):
    """The only thing a mean still takes from sampled pins is whether a spare ball wore the lane.

    Upper bound: that a ball was or was not thrown shifts later racks by its share of what all spare
    balls of the night together do; over one rack's own bonus, two racks at most.  So the whole
    effect over the number of spare balls on the pair, times the 30 racks of a bowler's night.
    """
    crew, play = many_nights
    clean = crew.crew.spare._replace(take=np.zeros_like(crew.crew.spare.take))
    with_wear, _ = play(blocks=10)
    without, _ = play(crew=replace(crew, crew=crew.crew._replace(spare=clean)), blocks=10)
    effect = (with_wear - without).mean(axis=(1, 2))
    total = abs(effect.mean()) + 3.0 * effect.std(ddof=1) / np.sqrt(len(effect))
    spare_balls = 20.0 * with_wear.shape[1]  # at least, a night on the pair
    print("all spare wear", effect.mean().round(3), "at most", round(total, 3), "pins a game")
    assert total / spare_balls * 30.0 / 3.0 < 0.05


@pytest.mark.parametrize("pairs", [2, 6, 24])
@pytest.mark.parametrize("shared", [0.0, 0.3])
def test_the_interval_for_people_like_these_covers(pairs, shared):
    """1,500 made-up leagues with a share of the variance common to a pair: 95 % within 4 standard
    errors of a proportion (false alarm 6e-5 a case), whatever the number of pairs."""
    rng = np.random.default_rng(pairs + int(10 * shared))
    runs, hits = 1500, 0
    clusters = np.repeat(np.arange(pairs), 8)
    for r in range(runs):
        common = np.sqrt(shared) * rng.normal(size=pairs)[clusters]
        values = common + np.sqrt(1.0 - shared) * rng.normal(size=clusters.size)
        low, high = people_interval(values, clusters, r)
        hits += low <= 0.0 <= high
    slack = norm.isf(3e-5) * np.sqrt(0.95 * 0.05 / runs)
    assert abs(hits / runs - 0.95) < slack


@pytest.mark.parametrize("seed", [11, 12])
def test_entering_averages_are_met_or_named(small, seed):
    """140, 170 and 200 under today: within 2 pins, or named in the notes.

    What is named is decided by a pilot of 64 nights and checked by 256 others: 4 standard errors of
    their difference are allowed beyond the 2 pins (false alarm 5e-4 over 8 bowlers).
    """
    names = [p[0] for p in small.PEOPLE]
    averages = dict(zip(names, [140, 170, 200, 140, 170, 155, 185, 200], strict=True))
    center = replace(small.center(), roster=small.roster(averages))
    result = small.compare(center, "house", "house", seed=seed, nights=256, workers=2)
    named = " ".join(n for n in result.notes if "entering averages only" in n)
    table = result.bowlers
    off = table["average_now"] - table["reference"]
    print(dict(zip(table["bowler"], off.round(1), strict=True)), named)
    noise = 7.0 * np.sqrt(
        1.0 / PILOT_NIGHTS + 1.0 / 256
    )  # a night's exact mean: sd 4 to 7 measured
    for name, gap in zip(table["bowler"], off, strict=True):
        if name not in named:
            assert abs(gap) < 2.0 + 4.0 * noise, name
    met = sum(name not in named for name in names)
    assert met >= 6
