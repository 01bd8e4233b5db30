"""From a roster line to a bowler: reserved draws, cut-off laws, the roster's word before the style's."""

from dataclasses import fields, replace

import numpy as np
import pytest
from scipy.stats import kstest, truncnorm

from leaguesim.bowlers.draw import cut_normal, draw_bowler, middle_bowler
from leaguesim.bowlers.release import spare_intent, strike_intent
from leaguesim.bowlers.values import CONTROL_POWER, RosterLine, Spread
from leaguesim.center import demo_center, read
from leaguesim.errors import InputError


def test_cut_normals_follow_scipys_truncated_normal():
    """1,000 even uniforms through both inverses."""
    spread = Spread(17.0, 2.0, 14.5, 18.0)
    u = (np.arange(1000) + 0.5) / 1000
    a, b = (np.array([14.5, 18.0]) - 17.0) / 2.0
    ours = np.array([cut_normal(float(x), spread) for x in u])
    assert ours == pytest.approx(truncnorm.ppf(u, a, b, 17.0, 2.0), abs=1e-9)
    assert ours.min() >= 14.5
    assert ours.max() <= 18.0


@pytest.mark.parametrize("u", [2.0**-54, 0.5, 1.0 - 2.0**-53])
def test_a_law_without_spread_is_its_mean_held_in_range(u):
    assert cut_normal(u, Spread(5.0, 0.0, 0.0, 9.0)) == 5.0
    assert cut_normal(u, Spread(5.0, 0.0, 6.0, 9.0)) == 6.0
    assert cut_normal(u, Spread(5.0, 1.0, 7.0, 7.0)) == 7.0
    assert 40.0 <= cut_normal(u, Spread(5.0, 1.0, 40.0, 41.0)) <= 41.0


@pytest.fixture
def person(small):
    center = small.center()

    def draw(seed=1, style="tweener", **given):
        line = RosterLine(given.pop("bowler", "Ann"), "T", "right", style, **given)
        return draw_bowler(line, center.styles[style], center.balls, seed)

    return draw


def test_a_trait_that_is_given_shifts_no_other(person):
    drawn = person()
    for name in ("speed_mph", "rev_rate_rpm", "axis_rotation_deg", "axis_tilt_deg"):
        given = person(**{name: 15.25})
        assert getattr(given, name) == 15.25
        assert replace(given, **{name: getattr(drawn, name)}) == drawn


def test_a_person_is_the_same_wherever_they_stand(person):
    assert person() == person()
    assert person(seed=2).accuracy_deg != person().accuracy_deg
    assert person(bowler="Bea").accuracy_deg != person().accuracy_deg


def test_traits_follow_the_style(small, person):
    """600 people: every trait against its cut-off law (false alarm 5e-4 in all), speed and revs coupled."""
    style = small.center().styles["tweener"]
    crowd = [person(bowler=f"b{k}") for k in range(600)]
    for name in ("speed_mph", "axis_rotation_deg", "axis_tilt_deg", "accuracy_deg"):
        s = getattr(style, name)
        law = truncnorm((s.low - s.mean) / s.sd, (s.high - s.mean) / s.sd, s.mean, s.sd)
        assert kstest([getattr(b, name) for b in crowd], law.cdf).pvalue > 1e-4, name
    r = np.corrcoef([b.speed_mph for b in crowd], [b.rev_rate_rpm for b in crowd])[0, 1]
    assert r == pytest.approx(style.speed_rev_correlation, abs=4.0 / np.sqrt(600))


def test_a_ball_nobody_has_is_refused(small):
    center = small.center()
    style = replace(center.styles["tweener"], bag=("nothing",))
    with pytest.raises(InputError, match="no such ball: nothing"):
        draw_bowler(RosterLine("Ann", "T", "right", "tweener"), style, center.balls, 1)
    with pytest.raises(InputError, match="empty bag"):
        draw_bowler(
            RosterLine("Ann", "T", "right", "tweener"), replace(style, bag=()), center.balls, 1
        )


def test_spares_are_thrown_flatter_and_with_the_spare_ball(person):
    b = person()
    strike = strike_intent(b, b.spare_ball)
    spare, ball = spare_intent(b)
    assert ball is b.spare_ball
    assert spare.rotation == pytest.approx(0.25 * strike.rotation)
    assert spare.rim == pytest.approx(0.8 * strike.rim)
    assert spare.angle_sd == pytest.approx(b.spare_accuracy * strike.angle_sd)
    without, ball = spare_intent(replace(b, spare_ball=None))
    assert ball is b.bag[0]
    assert without.rotation == strike_intent(b, ball).rotation


def test_the_middle_of_a_style_has_its_means_and_whole_bag(small):
    center = small.center()
    style = replace(center.styles["tweener"], farthest_move_board=3.0)
    middle = middle_bowler(style, "left", center.balls)
    assert (middle.hand, middle.style) == ("left", "tweener")
    assert middle.speed_mph == style.speed_mph.mean
    assert tuple(b.name for b in middle.bag) == tuple(center.balls[b].name for b in style.bag)
    assert middle.farthest_move_board == 3.0
    with pytest.raises(InputError, match="no such ball: nothing"):
        middle_bowler(replace(style, bag=("nothing",)), "left", center.balls)


def test_how_far_people_move_is_their_styles(small, person):
    center = small.center()
    style = replace(center.styles["tweener"], farthest_move_board=3.0)
    line = RosterLine("Ann", "T", "right", "tweener")
    near = draw_bowler(line, style, center.balls, 1)
    assert near.farthest_move_board == 3.0
    assert replace(near, farthest_move_board=person().farthest_move_board) == person()


def test_another_accuracy_takes_the_whole_release_along():
    center = read(demo_center())
    person = middle_bowler(center.styles["tweener"], "right", center.balls)
    assert person.with_accuracy(person.accuracy_deg) is person
    finer = person.with_accuracy(0.5 * person.accuracy_deg)
    share = 0.5**CONTROL_POWER
    assert finer.accuracy_deg == 0.5 * person.accuracy_deg
    for name in ("laydown_sd_board", "speed_sd_mph", "rev_sd_rpm", "rotation_sd_deg"):
        assert getattr(finer, name) == pytest.approx(share * getattr(person, name))
    same = {"accuracy_deg", "laydown_sd_board", "speed_sd_mph", "rev_sd_rpm", "rotation_sd_deg"}
    kept = {f.name for f in fields(person)} - same
    assert all(getattr(finer, k) == getattr(person, k) for k in kept)
    # As many of its own standard deviations as accuracy, on the mean of the styles' laws.
    laws = [
        s.control_spread * s.accuracy_deg.mean / s.accuracy_deg.sd for s in center.styles.values()
    ]
    assert np.mean(laws) == pytest.approx(CONTROL_POWER, abs=0.02)
