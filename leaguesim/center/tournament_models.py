"""Files of goals/ and tournaments/ as pydantic models, keys, types and limits.

Does not search and does not play.  Starting values are those of ``play.aims``.
"""

from typing import Annotated, Literal

from pydantic import Field

from leaguesim.center.keys import VOLUME_MAX_ML, File, num

Feet = Annotated[float, num(10, 60, "ft")]
Millilitres = Annotated[float, num(1, VOLUME_MAX_ML, "mL")]
Ratio = Annotated[float, num(1, 50)]
Title = Annotated[str, Field(max_length=200)]


class LimitsTable(File):
    """What a condition must keep to."""

    length_low_ft: Feet = 34.0
    """Shortest pattern [ft]."""
    length_high_ft: Feet = 46.0
    """Longest pattern [ft]."""
    volume_low_ml: Millilitres = 15.0
    """Least oil on a lane [mL]."""
    volume_high_ml: Millilitres = 32.0
    """Most oil on a lane [mL]."""
    ratio_right_low: Ratio = 1.0
    """Least crosswise ratio on the right, the largest from 10 to 30 ft."""
    ratio_right_high: Ratio = 12.0
    """Most on the right."""
    ratio_left_low: Ratio = 1.0
    """Least on the left."""
    ratio_left_high: Ratio = 12.0
    """Most on the left."""
    cost_high: Annotated[float, num(0, 1e6, above_low=True)] | None = None
    """Most a lane may cost in conditioner, in the center's currency."""
    stops_high: Annotated[float, num(0, 1000, above_low=True)] | None = None
    """Most that any cause of machine stops may be, as an index: 100 is today's condition."""


class MachineTable(File):
    """What the lane machine can lay."""

    smallest_dose_ml: Annotated[float, num(0.01, 2, "mL")] = 0.1
    """Smallest amount the machine meters; every band is a multiple of it [mL]."""
    shortest_band_ft: Annotated[float, num(0.5, 20, "ft")] = 2.0
    """Shortest band [ft]."""
    length_step_ft: Annotated[float, num(0.25, 5, "ft")] = 1.0
    """Bands end on multiples of this [ft]."""
    share_step: Annotated[float, num(0.03125, 0.5, "(a share)")] = 0.125
    """Tank shares are multiples of this."""
    longest_ft: Annotated[float, num(20, 60, "ft")] = 50.0
    """Longest pattern the machine lays [ft]."""


class GoalFile(File):
    """goals/NAME.toml: what ``tune`` looks for."""

    title: Title = ""
    """What reports call it."""
    goal: Literal["average", "kept-happy", "least-spread", "discrimination"]
    """Field average, share kept happy, least spread of styles, or best telling of bowlers apart."""
    target: Annotated[float, num(60, 290, "pins")] | None = None
    """The average wanted, with goal = "average" [pins]."""
    conditioners: list[str] = Field(default_factory=list, max_length=12)
    """Conditioners that may be laid; absent: all of the center."""
    tanks: Annotated[int, num(1, 2, whole=True)] = 1
    """Tanks of the machine that may be used; 2 searches blends."""
    candidates: Annotated[int, num(8, 1000, "conditions", whole=True)] = 48
    """Conditions tried."""
    nights: Annotated[int, num(8, 512, whole=True)] = 32
    """Nights played on each."""
    fresh_nights: Annotated[int, num(32, 2000, whole=True)] = 256
    """Fresh nights on which the winner is measured again."""
    population: Title = ""
    """Whom it is for: a file of populations/; absent: the roster.  Other people are drawn to measure again."""
    people: Annotated[int, num(8, 400, whole=True)] = 48
    """How many people of the population bowl."""
    limits: LimitsTable = Field(default_factory=LimitsTable)
    machine: MachineTable = Field(default_factory=MachineTable)


class TournamentFile(File):
    """tournaments/NAME.toml: a tournament's format."""

    title: Title = ""
    """What reports call it."""
    field: Literal["roster", "styles", "population"] = "roster"
    """Who enters: the roster, or people drawn from its shares of styles, or from a population."""
    population: Title = ""
    """With field = "population": a file of populations/."""
    entrants: Annotated[int, num(4, 400, whole=True)] = 48
    """How many enter, when they are drawn."""
    squads: Annotated[int, num(1, 8, whole=True)] = 2
    """Squads, one after the other."""
    games: Annotated[int, num(1, 16, whole=True)] = 6
    """Games of the qualifying block."""
    per_lane: Annotated[int, num(1, 4, "bowlers", whole=True)] = 2
    """Bowlers on a lane."""
    practice_balls: Annotated[int, num(0, 30, "balls", whole=True)] = 4
    """Practice balls before the first game."""
    move_pairs: Annotated[int, num(0, 10, "pairs", whole=True)] = 1
    """Pairs that everybody moves after each game; 0 stays."""
    reoil: bool = True
    """Lanes are oiled again between squads; false: later squads bowl on the burn."""
    conditions: list[str] = Field(default_factory=list, max_length=2)
    """One condition, or two: half of the games on each; absent: today's."""
    oil_sd_share: Annotated[float, num(0, 0.3, "(a share)")] = 0.0
    """How much the oil laid differs from pair to pair, standard deviation."""
    tilt_sd_in: Annotated[float, num(0, 0.02, "in")] = 0.0
    """How much crosswise tilt differs from lane to lane, standard deviation [in]."""
    cut: Annotated[int, num(1, 400, whole=True)] = 12
    """Places that make the cut."""
    finalists: Annotated[int, num(0, 16, whole=True)] = 0
    """Best of the cut who bowl a ladder of single games; 0: no match play."""
