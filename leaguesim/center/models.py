"""The files of a center as pydantic models: keys, types and limits.

Every limit is checked here, in ``models_play`` or in ``checks``; what passes becomes the frozen
values of the rooms below (``convert``).  Does not look across files.  GB = United States Bowling
Congress, Equipment Specifications and Certifications Manual.
"""

from typing import Annotated, Literal

from pydantic import Field

from leaguesim.center.keys import (
    VOLUME_MAX_ML,
    Board,
    File,
    FromFeet,
    Note,
    Share,
    Shares,
    num,
    text,
)
from leaguesim.center.models_play import BallFile, StyleFile
from leaguesim.center.populations import PopulationFile
from leaguesim.center.tournament_models import GoalFile, TournamentFile


class SurfaceFile(File):
    """A lane surface: the [surface] table of center.toml, or a file in surfaces/."""

    name: Annotated[str, text()] = "synthetic"
    """What the lane is called in reports."""
    roughness_uin: Annotated[float, num(1, 60, "microinch")] = 15.0
    """Roughness Ra of the lane [microinch]."""
    tilt_in: Annotated[float, num(-0.040, 0.040, "in (left edge higher is positive)")] = 0.0
    """How much higher the left edge is than the right one [in]; GB allows 0.040."""
    residue_units: Annotated[float, num(0, 20, "units")] = 0.0
    """Oil that cleaning leaves evenly on the whole lane, under the fresh oil [units]."""
    note: Note = ""
    """Anything worth remembering."""


class LaneTable(File):
    """One lane that differs from the others; what is absent is as the surface."""

    number: Annotated[int, num(1, 200, whole=True)]
    """The lane's number; lanes 1 and 2 are the first pair."""
    roughness_uin: Annotated[float, num(1, 60, "microinch")] | None = None
    """Roughness Ra of this lane [microinch]."""
    tilt_in: Annotated[float, num(-0.040, 0.040, "in (left edge higher is positive)")] | None = None
    """How much higher its left edge is than the right one [in]; GB allows 0.040."""
    film_factor: Annotated[float, num(0.5, 2)] = 1.0
    """Film the machine lays on this lane over the film asked for."""
    residue_units: Annotated[float, num(0, 20, "units")] | None = None
    """Oil that cleaning leaves evenly on this lane, under the fresh oil [units]."""
    note: Note = ""
    """Anything worth remembering."""


class DoubtsTable(File):
    """How well lanes, machine and friction constants are known; forecasts carry it."""

    temperature_sd_c: Annotated[float, num(0, 10, "degrees C")] = 1.0
    """Standard deviation of the temperature of lane and oil [degrees C]."""
    roughness_log_sd: Annotated[float, num(0, 1)] = 0.20
    """Of the lanes' roughness, as a share (0.2: give or take 20 %)."""
    application_log_sd: Annotated[float, num(0, 0.5)] = 0.03
    """Of the film the machine lays against the film asked for, as a share."""
    c_a_log_sd: Annotated[float, num(0, 1)] = 0.12
    """Of the friction constant c_a, as a share."""
    drag_c_log_sd: Annotated[float, num(0, 1)] = 0.25
    """Of the friction constant drag_c, as a share."""


class FrictionTable(File):
    """Constants of the friction law that belong to no product; what is absent is as calibrated."""

    c_a: Annotated[float, num(0.5, 6)] | None = None
    """Film, in combined roughness heights, at which asperities lose touch."""
    drag_c: Annotated[float, num(0, 10)] | None = None
    """Weight of the viscous drag."""
    h_f0_um: Annotated[float, num(0, 100, "micrometre", above_low=True)] | None = None
    """Film at which the ball floods, for 30 mPa.s [micrometre]."""
    pressure_mpa: Annotated[float, num(1, 50, "MPa")] | None = None
    """Mean contact pressure [MPa]; Hertz gives 7.2 for 15 lb."""
    load_sharing: Literal["supply", "contact"] = "supply"
    """Which film shares the load: the one supplied or the one in the contact."""


class AfterTable(File):
    """Play on the lane between oiling and the league."""

    games_per_lane: Annotated[int, num(0, 100, "games", whole=True)]
    """Games bowled on each lane."""
    styles: Shares
    """Shares by style of the people who bowled them, adding up to 1."""


class LeagueTable(File):
    """The league's format."""

    name: Annotated[str, text()] = "league"
    """What the league is called in reports."""
    games: Annotated[int, num(1, 8, whole=True)] = 3
    """Games a night."""
    practice_balls: Annotated[int, num(0, 30, "balls", whole=True)] = 4
    """Practice balls of each bowler before the first game."""
    weeks: Annotated[int, num(1, 60, whole=True)] = 32
    """Weeks of the season."""
    nights_per_week: Annotated[int, num(1, 7, whole=True)] = 1
    """League nights a week on these lanes."""
    handicap_percent: Annotated[int, num(0, 150, "%", whole=True)] = 90
    """The handicap is this percentage of what a bowler lacks to the base."""
    handicap_base: Annotated[int, num(0, 300, "pins", whole=True)] | None = None
    """The base; as in [fairness] if it is left out."""
    switch_week: Annotated[int, num(1, 60, whole=True)] = 1
    """Week of the season from which a next condition would lie; 1: before its first night."""
    after: AfterTable | None = None
    """Earlier play before every night; a condition's own ``after`` wins (0 games: fresh)."""
    population: Annotated[str, text()] | None = None
    """People of populations/ who fill the league up behind roster.csv, which may then be missing."""
    people: Annotated[int, num(1, 2000, "bowlers", whole=True)] | None = None
    """Bowlers in the league, those of roster.csv among them; for a population only."""


class KeptHappyTable(File):
    """Thresholds of our own measure, kept happy."""

    average_drop_pins: Annotated[float, num(0, 50, "pins")] = 3.0
    """Part 1: the average may lie this far below the reference."""
    miss_cost_ratio: Annotated[float, num(1, 10)] = 1.3
    """Part 2: pins lost per degree of miss, against the usual of the average band."""
    side_ratio: Annotated[float, num(1, 20)] = 2.0
    """Part 3: the costs of missing left and right stay within this factor."""
    corner_ratio: Annotated[float, num(1, 10)] = 1.3
    """Part 4: corner pins left per pocket hit, against the usual of the average band."""
    corner_min_pocket_hits: Annotated[int, num(1, 100000, whole=True)] = 100
    """Part 4 is told only from this many pocket hits on."""
    fade_pins: Annotated[float, num(0, 100, "pins")] = 8.0
    """Part 5: most pins that may be lost from game 1 to the last."""


class FairnessTable(File):
    """What the fairness report is judged by, set before anybody looks at its figures."""

    margin_pins: Annotated[float, num(0, 50, "pins", above_low=True)] = 3.0
    """Groups whose changes differ by less than this are treated alike."""
    handicap_base: Annotated[int, num(0, 300, "pins", whole=True)] = 210
    """The league's handicap is a percentage of what a bowler lacks to this average."""
    reading_tolerance_units: Annotated[float, num(0, 100, "units")] = 3.0
    """A reading may miss what was meant by so many units or by the share below, if that is more."""
    reading_tolerance_share: Annotated[float, num(0, 1, "(a share)")] = 0.15
    """See above."""


class PricesTable(File):
    """What a game brings, in the center's own currency."""

    currency: Annotated[str, Field(max_length=12)] = ""
    """Printed beside amounts."""
    game: Annotated[float, num(0, 1e6)] | None = None
    """Price of one game."""
    lanes_oiled_per_week: Annotated[int, num(0, 10000, "lanes", whole=True)] | None = None
    """Lanes oiled in a week, counting every time."""


class CenterFile(File):
    """center.toml: the house, its league and which condition is on the lanes today."""

    name: Annotated[str, text()]
    """The center's name."""
    invented: bool = False
    """True for demo material: reports then say that the center is invented."""
    lanes: Annotated[int, num(2, 200, whole=True)]
    """Number of lanes."""
    temperature_c: Annotated[float, num(5, 40, "degrees C")] = 21.1
    """Temperature of lane and oil while people bowl [degrees C]."""
    today: Annotated[str, text()]
    """The condition (file name without .toml) that averages belong to."""
    surface: SurfaceFile = Field(default_factory=SurfaceFile)
    single_lane: list[LaneTable] = Field(default_factory=list)
    """Lanes that differ from the others, one [[single_lane]] each."""
    friction: FrictionTable = Field(default_factory=FrictionTable)
    doubts: DoubtsTable = Field(default_factory=DoubtsTable)
    league: LeagueTable = Field(default_factory=LeagueTable)
    kept_happy: KeptHappyTable = Field(default_factory=KeptHappyTable)
    fairness: FairnessTable = Field(default_factory=FairnessTable)
    prices: PricesTable = Field(default_factory=PricesTable)


class BandTable(File):
    """One application band: a rectangle of lane and the oil laid on it."""

    from_ft: FromFeet
    """Where the band starts, from the foul line [ft]."""
    to_ft: FromFeet
    """Where it ends [ft]."""
    from_board: Board
    """First board covered, from the right edge."""
    to_board: Board
    """Last board covered."""
    volume_ml: Annotated[float, num(0, VOLUME_MAX_ML, "mL", above_low=True)]
    """Oil laid on the band on one lane [mL]."""
    shares: Shares
    """Shares by conditioner name, adding up to 1."""


class ConditionFile(File):
    """conditions/NAME.toml: bands, or the readings of a lane tape."""

    title: Annotated[str, Field(max_length=200)] = ""
    """What reports call it; the file name if empty."""
    bands: list[BandTable] = Field(default_factory=list)
    """Application bands; they add up where they overlap."""
    readings: Annotated[str, text()] | None = None
    """Name of a CSV file beside this one: distance_ft, board, units."""
    shares: Shares | None = None
    """With readings: what the oil is made of."""
    after: AfterTable | None = None
    """Earlier play; absent means fresh."""


class ConditionerFile(File):
    """conditioners/NAME.toml: a lane conditioner, in figures or in words against another one."""

    than: Annotated[str, text()] | None = None
    """The conditioner (file name) that the words below are said against; figures win."""
    friction: Literal["more", "same", "less"] | None = None
    """In words: friction on the ball, against ``than``."""
    kind: Literal["plain", "thickened"] | None = None
    """In words: a plain oil, or one thickened with a polymer that shear thins."""
    wears: Literal["longer", "same", "shorter"] | None = None
    """In words: how long it lasts, against ``than``."""

    viscosity_mpas: Annotated[float, num(0, 2000, "mPa.s", above_low=True)] = 35.0
    """Dynamic viscosity at viscosity_at_c [mPa.s]; GB allows 12 to 81 at 21.1 C."""
    viscosity_at_c: Annotated[float, num(0, 100, "degrees C")] = 21.1
    """Temperature of the figure above [degrees C]."""
    viscosity_change_per_10f: Annotated[float, num(-0.5, -0.01, "(a share)")] = -0.22
    """Change of viscosity per 10 degrees F, negative."""
    density_g_per_ml: Annotated[float, num(0.7, 1.1, "g/mL")] = 0.85
    """Density [g/mL]."""
    base_share: Annotated[float, num(0, 1, "(a share)", above_low=True)] = 1.0
    """Share of the viscosity left at a high rate of shear; 1 is a plain oil."""
    critical_rate_per_s: Annotated[float, num(1e3, 1e10, "1/s")] = 1.0e6
    """Rate of shear at which thinning is half way [1/s]."""
    boundary_factor: Annotated[float, num(0.2, 5)] = 1.0
    """Film needed to part ball and lane, against the usual; above 1 is more friction."""
    left_behind: Share = 0.65
    """Share of the film that a passing ball leaves on its track (durability)."""
    ball_affinity: Share = 0.5
    """Share of the oil picked up that stays on the ball."""
    price_per_litre: Annotated[float, num(0, 1e6)] | None = None
    """Price of a litre, in the center's currency."""
    note: Note = ""
    """Anything worth remembering."""


MODELS: dict[str, type[File]] = {
    "center": CenterFile,
    "condition": ConditionFile,
    "conditioner": ConditionerFile,
    "ball": BallFile,
    "style": StyleFile,
    "surface": SurfaceFile,
    "goal": GoalFile,
    "tournament": TournamentFile,
    "population": PopulationFile,
}
