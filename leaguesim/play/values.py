"""The league's format, the thresholds of kept happy and prices: plain frozen values."""

from dataclasses import dataclass


@dataclass(frozen=True)
class LeagueFormat:
    """A league night: teams on pairs, alternating lanes, so many games; and the handicap's rule.

    ``handicap_base`` None takes the fairness report's; ``switch_week`` is the week of the season from
    which a next condition would lie.
    """

    name: str = "league"
    games: int = 3
    practice_balls: int = 4
    weeks: int = 32
    nights_per_week: int = 1
    handicap_percent: int = 90
    handicap_base: int | None = None
    switch_week: int = 1


@dataclass(frozen=True)
class Thresholds:
    """The thresholds of kept happy, each part of the measure with its own; printed beside the figure."""

    average_drop_pins: float = 3.0
    miss_cost_ratio: float = 1.3
    side_ratio: float = 2.0
    corner_ratio: float = 1.3
    corner_min_pocket_hits: int = 100
    fade_pins: float = 8.0


@dataclass(frozen=True)
class FairnessLimits:
    """What is set before anybody looks: margin of equivalence, the league's handicap, tape tolerance."""

    margin_pins: float = 3.0
    handicap_base: int = 210
    reading_tolerance_units: float = 3.0
    reading_tolerance_share: float = 0.15


@dataclass(frozen=True)
class Prices:
    """What a game brings and what conditioner costs, if the proprietor gave them."""

    currency: str = ""
    game: float | None = None
    lanes_oiled_per_week: int | None = None
