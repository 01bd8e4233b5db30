"""A small league on several lanes at once, the same people with the same luck on each.

Plays for the rows that hold directions against the model; judges nothing.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Surface
from leaguesim.outside import bowlers_checks as people_of
from leaguesim.outside.figures import figures
from leaguesim.play.setting import Pair, Setting, Start, make_setting, pairs_of
from leaguesim.play.values import LeagueFormat
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE, Totals

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

NIGHTS: Final = 64
# People of each style: more of those whom the rows on coverage set against each other.
EACH: Final = {
    "straight": 7, "senior": 7, "casual": 7, "power": 7, "two_handed": 7, "stroker": 4, "tweener": 4,
    "youth": 4,
}  # fmt: skip
LEAGUE: Final = LeagueFormat("check", games=3, practice_balls=4)
NARROWEST, WIDEST = 2.0, 38.0  # boards that oil of a moved band stays between


class League(NamedTuple):
    """People in the order of every array, and the pairs they play on."""

    people: tuple[Bowler, ...]
    pairs: tuple[Pair, ...]

    def of(self, styles: Sequence[str]) -> Mask:
        """Who bowls in one of some styles."""
        return np.array([b.style in styles for b in self.people])


class Played(NamedTuple):
    """Averages by condition and bowler, and the totals they come from, conditions as named."""

    average: dict[str, Array]
    totals: Totals
    names: tuple[str, ...]

    def change(self, now: str, after: str) -> Array:
        """Paired change of everybody's average. [pins]"""
        return self.average[after] - self.average[now]


@cache
def league() -> League:
    """League bowlers of the demo styles, two teams a pair of lanes."""
    people = [
        people_of._person(s, k, f"{s} {k // 4}") for s, many in EACH.items() for k in range(many)
    ]
    pairs = pairs_of(people)
    return League(tuple(b for p in pairs for b in p.bowlers), tuple(pairs))


def laid(bands: Sequence[Band]) -> Lane:
    """A lane like the house pattern's with other bands."""
    center = people_of._center()
    house = center.conditions[people_of.HOUSE]
    return Lane.from_condition(
        replace(house, bands=tuple(bands)), center.conditioners, surface=Surface(), temperature_c=21.1
    )  # fmt: skip


def _bands() -> tuple[Band, ...]:
    return people_of._center().conditions[people_of.HOUSE].bands


def with_oil(name: str) -> Lane:
    """The house pattern laid in another conditioner."""
    return laid([replace(b, shares=((name, 1.0),)) for b in _bands()])


def widened(boards: float) -> Lane:
    """The house pattern with every band so many boards wider on either side, same volume."""

    def moved(b: Band) -> Band:
        low, high = b.from_board - boards, b.to_board + boards
        return replace(b, from_board=max(low, NARROWEST), to_board=min(high, WIDEST))

    return laid([moved(b) for b in _bands()])


def stepped(inner: Sequence[float], ratio: float) -> Lane:
    """The house volume and taper down the lane in two levels across it, ratio : 1."""
    width = inner[1] - inner[0] + 1.0
    bands = []
    for b in _bands():
        whole = b.volume_ml / (1.0 + (ratio - 1.0) * width / 39.0)
        bands += [
            replace(b, from_board=1.0, to_board=39.0, volume_ml=whole),
            replace(b, from_board=inner[0], to_board=inner[1], volume_ml=b.volume_ml - whole),
        ]
    return laid(bands)


def longer(reach: float, more: float) -> Lane:
    """The house pattern with every band so much longer and so much more oil in it."""
    return laid([replace(b, to_ft=b.to_ft * reach, volume_ml=b.volume_ml * more) for b in _bands()])


def _lanes() -> dict[str, Callable[[], Lane]]:
    d = figures("directions")
    c, a, m = d["coverage"], d["abrupt"], d["mechanics"]
    return {
        "house": people_of._house,
        "grip": lambda: with_oil(d["earlier"]["conditioner"]),
        "wide": lambda: widened(c["wider_boards"]),
        "narrow": lambda: widened(-c["narrower_boards"]),
        "abrupt": lambda: stepped(a["inner_boards"], a["ratio"]),
        "long": lambda: longer(m["longer"], m["more"]),
    }


@cache
def setting_on(name: str, pairs: int | None = None) -> Setting:
    """The league, or its first so many pairs, lined up on one of the lanes."""
    lane = _lanes()[name]()
    film, mix = kernel_film(lane)
    some = league().pairs[:pairs]
    return make_setting(name, lane, Start(film[None], mix), some, people_of._pins())


@cache
def played(names: tuple[str, ...], nights: int = NIGHTS) -> Played:
    """Nights on some of the lanes, paired."""
    who = league()
    everybody = np.ones((1, len(who.people)), np.bool_)
    settings = [setting_on(name) for name in names]
    plan = Plan(settings, who.pairs, people_of._pins(), LEAGUE, everybody, people_of.SEED)
    totals = play_nights(plan, 0, nights, 1)
    means = totals.average / SCALE / totals.nights
    return Played(dict(zip(names, means, strict=True)), totals, names)


def mean_of(values: Any) -> tuple[float, float]:
    """Mean over bowlers and its standard error; NaN left out."""
    x = np.asarray(values, np.float64)
    x = x[np.isfinite(x)]
    if x.size < 2:
        return math.nan, math.nan
    return float(x.mean()), float(x.std(ddof=1) / math.sqrt(x.size))


def gap(values: Array, one: Mask, other: Mask) -> tuple[float, float]:
    """Mean of one group less that of another, and its standard error over bowlers."""
    (a, sa), (b, sb) = mean_of(values[one]), mean_of(values[other])
    return a - b, math.hypot(sa, sb)


def slope_of(x: Array, y: Array) -> tuple[float, float]:
    """Least-squares slope of y on x and its standard error."""
    dx, dy = x - x.mean(), y - y.mean()
    slope = float((dx @ dy) / (dx @ dx))
    left = dy - slope * dx
    return slope, float(math.sqrt((left @ left) / (x.size - 2) / (dx @ dx)))
