"""Populations: shares of styles and hands, the same people however many are drawn, faults told at the door."""

import shutil
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.populate import people_of
from leaguesim.bowlers.values import Population, RosterLine, Spread
from leaguesim.center import demo_center, read
from leaguesim.errors import InputError, ProfileError


@pytest.fixture(scope="module")
def demo():
    return read(demo_center())


def test_shares_of_styles_and_hands_within_four_standard_errors(demo):
    n = 4000
    for people in demo.populations.values():
        lines = people_of(people, demo.styles, n, 3)
        counts = Counter(line.style for line in lines)
        assert len({line.bowler for line in lines}) == n
        for style, share in people.styles:
            assert abs(counts[style] / n - share) < 4 * np.sqrt(share * (1 - share) / n)
        left = sum(line.hand == "left" for line in lines) / n
        assert abs(left - 0.12) < 4 * np.sqrt(0.12 * 0.88 / n)


def test_a_longer_list_starts_with_the_same_people_and_a_roster_wins(demo):
    people = demo.populations["league"]
    short, long = (people_of(people, demo.styles, n, 3) for n in (6, 30))
    assert long[:6] == short
    known = RosterLine("league 2", "Own", "left", "power", average=190.0)
    mixed = people_of(people, demo.styles, 6, 3, roster=[known])
    assert mixed[0] == known
    assert [x.bowler for x in mixed[1:]] == [f"league {k}" for k in (1, 3, 4, 5, 6)]
    assert {x.bowler: x.style for x in mixed[1:]} == {
        x.bowler: x.style for x in long if x.bowler in {f"league {k}" for k in (1, 3, 4, 5, 6)}
    }


def test_averages_and_hands_of_the_population(demo):
    people = Population(
        "few", (("senior", 1.0),), left_handed_share=1.0, average=Spread(150.0, 10.0, 130.0, 170.0)
    )
    lines = people_of(people, demo.styles, 200, 1)
    assert all(x.hand == "left" and 130.0 <= x.average <= 170.0 for x in lines)
    assert np.mean([x.average for x in lines]) == pytest.approx(150.0, abs=3.0)


def test_what_a_population_cannot_be(demo):
    for wrong in ((("nobody", 1.0),), (("senior", 0.4),)):
        with pytest.raises(InputError, match="population odd"):
            people_of(Population("odd", wrong), demo.styles, 3, 1)
    with pytest.raises(InputError, match="at least one"):
        people_of(demo.populations["league"], demo.styles, 0, 1)


def test_the_door_tells_faults_of_a_population(tmp_path):
    folder = tmp_path / "hall"
    shutil.copytree(demo_center(), folder)
    (folder / "populations" / "league.toml").write_text(
        "[styles]\nstroker = 0.5\npowerr = 0.2\n[average]\nmean = 250\nsd = 9\nlow = 100\nhigh = 200\n"
    )
    with pytest.raises(ProfileError) as told:
        read(folder)
    text = str(told.value)
    assert "league.toml:3" in text
    assert "did you mean power" in text
    assert "average" in text


def test_traits_beyond_the_release_vary_between_people_as_the_style_says(demo):
    style = replace(demo.styles["tweener"], control_spread=0.2, control_correlation=0.6)
    drawn = [
        draw_bowler(RosterLine(f"b{i}", "t", "right", "tweener"), style, demo.balls, 1)
        for i in range(2000)
    ]
    speed = np.log([b.speed_sd_mph / style.speed_sd_mph for b in drawn])
    assert speed.std() == pytest.approx(0.2, rel=0.07)
    revs = np.log([b.rev_sd_rpm / style.rev_sd_rpm for b in drawn])
    assert revs == pytest.approx(speed)
    assert np.corrcoef(speed, [b.accuracy_deg for b in drawn])[0, 1] == pytest.approx(0.6, abs=0.06)
    spare = np.log([b.spare_accuracy / style.spare_accuracy for b in drawn])
    assert spare.std() == pytest.approx(style.spare_spread, rel=0.07)
    assert max(b.move_gain for b in drawn) <= 1.0
    assert min(b.move_after_balls for b in drawn) >= 1
    owned = Counter(len(b.bag) for b in drawn)
    assert set(owned) == {1, 2, 3}
    assert min(owned.values()) > 2000 / 3 - 4 * np.sqrt(2000 * 2 / 9)
    plain = replace(
        style,
        control_spread=0.0,
        spare_spread=0.0,
        gain_spread=0.0,
        patience_spread=0.0,
        bag_least=0,
    )
    same = draw_bowler(RosterLine("b1", "t", "right", "tweener"), plain, demo.balls, 1)
    assert (same.speed_sd_mph, same.spare_accuracy) == (style.speed_sd_mph, style.spare_accuracy)
    assert (same.move_gain, same.move_after_balls, len(same.bag)) == (0.6, 2, 3)
