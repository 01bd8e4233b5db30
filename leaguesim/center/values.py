"""A center as read from its folder: everything checked, nothing left to look up."""

from dataclasses import dataclass, field
from pathlib import Path

from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Population, RosterLine, Style
from leaguesim.lane.values import (
    Condition,
    Conditioner,
    FilmReading,
    FrictionConstants,
    LaneDoubt,
    LaneState,
    Surface,
)
from leaguesim.play.values import FairnessLimits, LeagueFormat, Prices, Thresholds


@dataclass(frozen=True)
class Center:
    """One bowling center: what ``center.read`` returns and every study starts from.

    Dictionaries are keyed by file stem (conditions, conditioners, balls, styles).  ``today`` names
    the condition that averages are tied to.  ``file_hashes`` maps each file read to its SHA-256.
    """

    name: str
    folder: Path
    invented: bool
    lanes: int
    temperature_c: float
    surface: Surface
    surfaces: dict[str, Surface]
    friction: FrictionConstants
    league: LeagueFormat
    thresholds: Thresholds
    prices: Prices
    today: str
    conditions: dict[str, Condition]
    conditioners: dict[str, Conditioner]
    balls: dict[str, Ball]
    styles: dict[str, Style]
    roster: tuple[RosterLine, ...]
    file_hashes: dict[str, str] = field(default_factory=dict)
    fairness: FairnessLimits = field(default_factory=FairnessLimits)
    lane_doubt: LaneDoubt = field(default_factory=LaneDoubt)
    film_factor: float = 1.0  # film laid over film asked for, on every lane
    blend_z: float = 0.0  # error of blends' viscosity, in standard errors
    populations: dict[str, Population] = field(default_factory=dict)
    lane_states: tuple[LaneState, ...] = ()  # the lanes that differ, by number
    played_on: str = ""  # another surface that a comparison is asked for; empty: the center's own
    film_readings: tuple[FilmReading, ...] = ()  # film before and after blocks of games
