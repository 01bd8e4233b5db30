"""Nearly dry and flooded lanes: everybody finds something to throw, and plays a possible night."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.release import delivery, spare_intent, strike_intent
from leaguesim.bowlers.values import RosterLine
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Condition
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Start, make_setting, pairs_of, pins_of, play_block

STYLES = ("stroker", "power", "senior", "two_handed", "casual", "straight")


def _lane(center, small, volume_ml):
    """The small center's house pattern with as much oil as asked for."""
    whole = sum(b.volume_ml for b in small.HOUSE)
    bands = tuple(replace(b, volume_ml=b.volume_ml * volume_ml / whole) for b in small.HOUSE)
    return Lane.from_condition(
        Condition("much or little", bands=bands), center.conditioners, surface=center.surface
    )


def _people(center):
    """Two of each style: with the first names that came to mind, nobody picked for their traits."""
    return [
        draw_bowler(
            RosterLine(f"{s} {k}", f"team {k}", "right", s), center.styles[s], center.balls, 7
        )
        for s in STYLES
        for k in range(2)
    ]


@pytest.fixture(scope="module")
def settings(small):
    center = small.center()
    pins = pins_of(CarryLibrary.load())
    people = _people(center)
    made = {}
    for volume in (0.5, 3.0, 25.0, 45.0):
        lane = _lane(center, small, volume)
        film, mix = kernel_film(lane)
        made[volume] = make_setting("extreme", lane, Start(film[None], mix), pairs_of(people), pins)
    return people, pins, made


def test_the_spare_ball_is_thrown_as_at_spares(small):
    person = next(p for p in _people(small.center()) if p.spare_ball is not None)
    assert delivery(person, len(person.bag)) == spare_intent(person)
    assert delivery(person, 0) == (strike_intent(person, person.bag[0]), person.bag[0])


def test_nobody_throws_the_spare_ball_at_a_full_rack_where_there_is_oil(settings):
    people, _, made = settings
    for volume in (25.0, 45.0):
        assert all(
            made[volume].stances[p.bowler].line.ball < len(p.bag)
            for p in people
            if p.style != "casual"
        )


def test_who_hooks_too_much_for_a_dry_lane_goes_straight(settings):
    """And does better by that than by pins of second balls alone, the score of a first ball in the gutter."""
    people, _, made = settings
    straight = []
    for p in people:
        stance = made[0.5].stances[p.bowler]
        if stance.line.ball == len(p.bag):
            straight.append(p.style)
            assert stance.strike_ball == p.spare_ball
            always_gutter = 10.0 * stance.spares.more[1023] + 100.0 * stance.spares.clear[1023]
            assert stance.line.worth > always_gutter + 10.0
    assert "two_handed" in straight or "power" in straight
    assert "straight" not in straight


@pytest.mark.parametrize("volume", [0.5, 3.0, 25.0, 45.0])
def test_everybody_plays_a_possible_night(settings, volume):
    people, pins, made = settings
    setting = made[volume]
    pair = pairs_of(people)[0]
    draws = np.stack([night_draws(7, p.bowler, block=0, games=3) for p in pair.bowlers], axis=1)
    block = play_block(
        setting.films, setting.mix, setting.pulls, setting.crews[0], pins, draws, 3, 4
    )
    assert np.isfinite(block.exact).all()
    average = block.exact.mean(axis=(0, 2))
    gutters = block.counts[..., _kernel.GUTTERS].sum(axis=0) / block.counts[..., _kernel.RACKS].sum(
        axis=0
    )
    wild = np.array([p.style == "casual" for p in pair.bowlers])
    assert (average[~wild] > 100.0).all()
    assert (average < 240.0).all()
    assert (average[wild] > 70.0).all()
    assert (gutters[~wild] < 0.15).all()
    assert (gutters[wild] < 0.35).all()
