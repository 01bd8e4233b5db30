"""The files of a center as pydantic models: keys, types, limits and the words for them.

Every limit is checked here or in ``checks``; what passes both becomes the frozen values of the
rooms below (``convert``).  Does not look across files.  GB = United States Bowling Congress,
Equipment Specifications and Certifications Manual.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field
from pydantic.config import JsonDict

from leaguesim import units

VOLUME_MAX_ML = 60.0  # plausible for one lane; published events use 7 to 32 mL (assumed limit)


class File(BaseModel):
    """Strict: no unknown keys, no text for numbers, no booleans for numbers, no NaN."""

    model_config = ConfigDict(
        strict=True, extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True
    )


def num(
    low: float,
    high: float,
    unit: str = "",
    *,
    above_low: bool = False,
    whole: bool = False,
    if_below: str = "",
    if_above: str = "",
) -> Any:
    """Limits of a number, with the sentence that says them."""
    kind = "a whole number" if whole else "a number"
    span = f"above {low:g} and up to {high:g}" if above_low else f"from {low:g} to {high:g}"
    words: JsonDict = {
        "allowed": f"{kind} {span} {unit}".rstrip(),
        "below": if_below,
        "above": if_above,
    }
    if above_low:
        return Field(gt=low, le=high, json_schema_extra={"words": words})
    return Field(ge=low, le=high, json_schema_extra={"words": words})


def text(longest: int = 200) -> Any:
    """A text of at least one sign."""
    words: JsonDict = {"allowed": f"a text of 1 to {longest} signs", "below": "", "above": ""}
    return Field(min_length=1, max_length=longest, json_schema_extra={"words": words})


Share = Annotated[float, num(0, 1, "(a share)")]
Shares = dict[str, Share]
Note = Annotated[str, Field(max_length=2000)]
Speed = Annotated[float, num(5, 30, "mph")]
Revs = Annotated[float, num(0, 700, "rpm")]
Rotation = Annotated[float, num(-120, 120, "degrees")]
Tilt = Annotated[float, num(-45, 60, "degrees")]
Angle = Annotated[float, num(0, 5, "degrees", above_low=True)]
Board = Annotated[float, num(1, units.BOARDS, "(counted from the right edge)")]
FromFeet = Annotated[
    float,
    num(
        0,
        units.LANE_LENGTH_FT,
        "ft",
        if_below="the band would overlap the foul line",
        if_above="that is oil beyond the pins",
    ),
]


class SurfaceFile(File):
    """A lane surface: the [surface] table of center.toml, or a file in surfaces/."""

    name: Annotated[str, text()] = "synthetic"
    """What the lane is called in reports."""
    roughness_uin: Annotated[float, num(1, 60, "microinch")] = 15.0
    """Roughness Ra of the lane [microinch]."""
    tilt_in: Annotated[float, num(-0.040, 0.040, "in (left edge higher is positive)")] = 0.0
    """How much higher the left edge is than the right one [in]; GB allows 0.040."""
    note: Note = ""
    """Anything worth remembering."""


class FrictionTable(File):
    """Constants of the friction law that belong to no product."""

    c_a: Annotated[float, num(0.5, 6)] = 2.0
    """Film, in combined roughness heights, at which asperities lose touch."""
    drag_c: Annotated[float, num(0, 10)] = 2.0
    """Weight of the viscous drag."""
    h_f0_um: Annotated[float, num(0, 100, "micrometre", above_low=True)] = 8.0
    """Film at which the ball floods, for 30 mPa.s [micrometre]."""
    pressure_mpa: Annotated[float, num(1, 50, "MPa")] = 7.2
    """Mean contact pressure [MPa]; 7.2 is Hertz for 15 lb."""
    load_sharing: Literal["supply", "contact"] = "supply"
    """Which film shares the load: the one supplied or the one in the contact."""


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
    friction: FrictionTable = Field(default_factory=FrictionTable)
    league: LeagueTable = Field(default_factory=LeagueTable)
    kept_happy: KeptHappyTable = Field(default_factory=KeptHappyTable)
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


class AfterTable(File):
    """Play on the lane between oiling and the league."""

    games_per_lane: Annotated[int, num(0, 100, "games", whole=True)]
    """Games bowled on each lane."""
    styles: Shares
    """Shares by style of the people who bowled them, adding up to 1."""


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
    """conditioners/NAME.toml: a lane conditioner."""

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
    left_behind: Share = 0.85
    """Share of the film that a passing ball leaves on its track (durability)."""
    ball_affinity: Share = 0.5
    """Share of the oil picked up that stays on the ball."""
    price_per_litre: Annotated[float, num(0, 1e6)] | None = None
    """Price of a litre, in the center's currency."""
    note: Note = ""
    """Anything worth remembering."""


class BallFile(File):
    """balls/NAME.toml: a ball; limits are GB's."""

    mass_lb: Annotated[float, num(5, units.BALL_MASS_MAX_LB, "lb")] = 15.0
    """Mass [lb]."""
    rg_in: Annotated[float, num(units.RG_MIN_IN, units.RG_MAX_IN, "in")] = 2.50
    """Radius of gyration [in]."""
    roughness_uin: Annotated[float, num(0.5, units.ROUGHNESS_MAX_UIN, "microinch")] = 25.0
    """Roughness Ra of the cover [microinch]."""
    differential_in: Annotated[float, num(0, units.DIFFERENTIAL_MAX_IN, "in")] = 0.0
    """Differential RG [in]: track flare."""
    dry_friction: Annotated[float, num(0.02, units.FRICTION_MAX)] | None = None
    """Friction on a dry lane; absent takes it from the roughness."""
    absorption: Share = 0.5
    """Share of the oil picked up that soaks into the cover."""
    diameter_in: Annotated[
        float, num(units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN, "in")
    ] = units.BALL_DIAMETER_IN
    """Diameter [in]."""


class SpeedSpread(File):
    """How ball speed at release varies between people of a style."""

    mean: Speed
    sd: Annotated[float, num(0, 10, "mph")]
    low: Speed
    high: Speed


class RevSpread(File):
    """How rev rate varies between people of a style."""

    mean: Revs
    sd: Annotated[float, num(0, 300, "rpm")]
    low: Revs
    high: Revs


class RotationSpread(File):
    """How axis rotation varies between people of a style."""

    mean: Rotation
    sd: Annotated[float, num(0, 60, "degrees")]
    low: Rotation
    high: Rotation


class TiltSpread(File):
    """How axis tilt varies between people of a style."""

    mean: Tilt
    sd: Annotated[float, num(0, 30, "degrees")]
    low: Tilt
    high: Tilt


class AccuracySpread(File):
    """How the launch angle's standard deviation varies between people of a style."""

    mean: Angle
    sd: Annotated[float, num(0, 3, "degrees")]
    low: Angle
    high: Angle


class StyleFile(File):
    """styles/NAME.toml: a style of bowling; absent figures of a roster are drawn from it."""

    speed_mph: SpeedSpread
    rev_rate_rpm: RevSpread
    axis_rotation_deg: RotationSpread
    axis_tilt_deg: TiltSpread
    accuracy_deg: AccuracySpread
    speed_rev_correlation: Annotated[float, num(-0.95, 0.95)] = 0.0
    """Correlation of speed and revs between people."""
    laydown_sd_board: Annotated[float, num(0, 5, "boards")] = 0.5
    """Ball-to-ball standard deviation of the lay-down board."""
    speed_sd_mph: Annotated[float, num(0, 5, "mph")] = 0.3
    """Ball-to-ball standard deviation of speed."""
    rev_sd_rpm: Annotated[float, num(0, 100, "rpm")] = 10.0
    """Ball-to-ball standard deviation of revs."""
    rotation_sd_deg: Annotated[float, num(0, 30, "degrees")] = 2.0
    """Ball-to-ball standard deviation of axis rotation."""
    spare_accuracy: Annotated[float, num(0.1, 5)] = 0.9
    """Release error on spares against that on strikes."""
    bag: Annotated[list[str], Field(min_length=1, max_length=12)]
    """Strike balls by name, the usual first one first."""
    spare_ball: Annotated[str, text()] | None = None
    """Ball for spares; absent uses the strike ball."""
    left_handed_share: Share = 0.12
    """Share of left-handers when people are drawn without a roster."""
    laydown_low_board: Board = 8.0
    """Outermost lay-down board a bowler of this style would use, from their own edge."""
    laydown_high_board: Board = 36.0
    """Innermost one."""
    move_gain: Annotated[float, num(0, 2)] = 0.5
    """Share of a seen miss that the bowler corrects by moving."""
    move_after_balls: Annotated[int, num(1, 50, "balls", whole=True)] = 2
    """Balls seen before moving."""
    note: Note = ""
    """Anything worth remembering."""


MODELS: dict[str, type[File]] = {
    "center": CenterFile,
    "condition": ConditionFile,
    "conditioner": ConditionerFile,
    "ball": BallFile,
    "style": StyleFile,
    "surface": SurfaceFile,
}
