"""Numbers: NaN stops with a named cause; legal extremes give finite and plausible results."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.bowlers.values import RosterLine
from leaguesim.errors import NumberError
from leaguesim.lane.values import Band, Condition, Surface
from leaguesim.run.rounds import Plan
from leaguesim.run.totals import fixed


def plan_of(small, floor_and_pins, setting):
    made, _ = floor_and_pins
    groups = np.ones((1, len(made.order)), np.bool_)
    return Plan([setting], made.pairs, made.pins, small.center().league, groups, 11)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize(("field", "told"), [("films", "the oil film"), ("pulls", "the tilt")])
def test_a_lane_that_is_not_a_number_is_named(small, floor_and_pins, bad, field, told):
    setting = floor_and_pins[1]
    values = np.array(getattr(setting, field), np.float64)
    values.flat[values.size // 2] = bad
    broken = replace(setting, **{field: values})
    with pytest.raises(NumberError, match=f"house: {told}.* is not a finite number"):
        plan_of(small, floor_and_pins, broken)
    with pytest.raises(NumberError, match=told):  # one pair's own lanes, the rest are fine
        plan_of(small, floor_and_pins, replace(setting, apart=(setting, broken)))


@pytest.mark.parametrize("field", ["board", "gain", "leave_chance", "clear"])
def test_a_bowler_that_is_not_a_number_is_named(small, floor_and_pins, field):
    made, setting = floor_and_pins
    values = np.array(getattr(setting.crews[1].crew, field))
    values[2, ...] = np.nan
    crew = setting.crews[1].crew._replace(**{field: values})
    broken = replace(setting, crews=(setting.crews[0], replace(setting.crews[1], crew=crew)))
    name = made.pairs[1].bowlers[2].bowler
    what = field.replace("_", " ")
    with pytest.raises(NumberError, match=f"^house: {name}: {what} is not a finite number$"):
        plan_of(small, floor_and_pins, broken)


def test_a_friction_that_is_not_a_number_is_named(small, floor_and_pins):
    setting = floor_and_pins[1]
    covers = setting.crews[0].covers
    name = next(n for n, v in covers._asdict().items() if np.asarray(v).dtype.kind == "f")
    values = np.array(getattr(covers, name))
    values.flat[0] = np.nan
    bad = replace(setting.crews[0], covers=covers._replace(**{name: values}))
    with pytest.raises(NumberError, match="house: friction: "):
        plan_of(small, floor_and_pins, replace(setting, crews=(bad, *setting.crews[1:])))


def test_a_score_that_is_not_a_number_stops_the_sum():
    with pytest.raises(NumberError, match="mean score of a night"):
        fixed(np.array([1.0, np.nan]), "mean score of a night")


def oil(total_ml: float) -> tuple[Band, ...]:
    """So much oil on one lane, in the proportions of the small center's house condition."""
    shares = (
        (0, 36, 2, 38, 0.2),
        (0, 40, 8, 32, 0.36),
        (0, 24, 11, 29, 0.28),
        (0, 9, 14, 26, 0.16),
    )
    blend = (("amber", 1.0),)
    return tuple(Band(a, b, r, s, total_ml * share, blend) for a, b, r, s, share in shares)


def line(name, style="stroker", hand="right", speed=None, revs=None):
    return RosterLine(name, "A", hand, style, speed_mph=speed, rev_rate_rpm=revs)


PEOPLE = {
    "plain": [line("Ann"), line("Bob", "power")],
    "slow": [line("Ann", speed=5.0), line("Bob", "power", speed=5.0)],
    "600 rpm": [line("Ann", revs=600.0), line("Bob", "power", revs=600.0)],
    "5 mph and 600 rpm": [line("Ann", "two_handed", speed=5.0, revs=600.0), line("Bob")],
    "twelve years old": [line(n, "youth", speed=s, revs=r) for n, s, r in (("Ann", 9.5, 90.0), ("Bob", 11.0, 120.0))],
    "all left-handed": [line(n, s, "left") for n, s in (("Ann", "stroker"), ("Bob", "power"))],
}  # fmt: skip


def extreme(small, people, *, plastic=False, surface=None, volumes=None):
    center = small.center()
    named = {"house": Condition("house", "House", oil(25.0))}
    for name, ml in (volumes or {}).items():
        named[name] = Condition(name, name, oil(ml))
    styles = center.styles
    if plastic:
        spare = center.balls["spare"]
        styles = {k: replace(s, bag=("spare",)) for k, s in styles.items()}
        assert spare.dry_friction < 0.15
    return replace(
        center, roster=tuple(people), conditions=named, styles=styles,
        surface=surface or center.surface, league=replace(center.league, games=2),
    )  # fmt: skip


def plausible(result) -> None:
    """Every figure of play is finite; scores, rates, boards and angles are those of bowling.

    At 5 mph, or 600 rpm at ordinary speed, no line of the search reaches the pins on 3 mL: the model
    then has a gutter ball and a spare ball at ten pins (82 to 86 a game), where people would throw
    straighter.  Finite and legal, but a floor rather than a forecast.
    """
    table = result.bowlers
    for when in ("now", "next"):
        assert table[f"average_{when}"].between(20.0, 290.0).all(), table[f"average_{when}"]
        for rate in ("strike_rate", "spare_rate", "pocket_rate"):
            assert table[f"{rate}_{when}"].between(0.0, 1.0).all(), rate
        assert table[f"game_sd_{when}"].between(1.0, 60.0).all()
        assert table[f"line_board_{when}"].between(0.5, 39.5).all()
        assert table[f"breakpoint_board_{when}"].between(0.0, 40.0).all()
        assert table[f"entry_angle_{when}"].between(-12.0, 12.0).all()
    assert np.isfinite(table[["change", "change_se"]].to_numpy()).all()
    assert "NaN" not in result.to_json()
    assert "Infinity" not in result.to_json()


@pytest.mark.parametrize("who", PEOPLE)
def test_extreme_people_on_little_and_much_oil(small, who):
    center = extreme(small, PEOPLE[who], volumes={"3 mL": 3.0, "45 mL": 45.0})
    plausible(small.compare(center, "3 mL", "45 mL", nights=4))


def test_a_plastic_ball_on_a_dry_lane(small):
    rough = Surface("wood", 30.0, 0.0)
    center = extreme(
        small, [*PEOPLE["plain"], line("Cat", "two_handed", revs=600.0)], plastic=True,
        surface=rough, volumes={"dry": 0.05},
    )  # fmt: skip
    result = small.compare(center, "house", "dry", nights=4)
    plausible(result)
    assert (result.bowlers["ball_next"] == "spare").all()
