"""What tuning and tournaments are asked for: goals, limits, the lane machine, a tournament's format.

Plain frozen values, already checked by the door that made them.  Does not compute anything.
"""

from dataclasses import dataclass, field

KINDS = ("average", "kept-happy", "least-spread", "discrimination")


@dataclass(frozen=True)
class Machine:
    """What the lane machine can lay; generic starting values (common practice, no source)."""

    smallest_dose_ml: float = 0.1
    shortest_band_ft: float = 2.0
    length_step_ft: float = 1.0
    share_step: float = 0.125
    longest_ft: float = 50.0


@dataclass(frozen=True)
class Limits:
    """What a condition must keep to.  The ratio is the largest from 10 to 30 ft, each side alone."""

    length_low_ft: float = 34.0
    length_high_ft: float = 46.0
    volume_low_ml: float = 15.0
    volume_high_ml: float = 32.0
    ratio_right_low: float = 1.0
    ratio_right_high: float = 12.0
    ratio_left_low: float = 1.0
    ratio_left_high: float = 12.0
    cost_high: float | None = None  # a lane, in the center's currency
    stops_high: float | None = None  # index of machine stops, today = 100; each cause alone


@dataclass(frozen=True)
class Goal:
    """What is looked for: ``kind`` is one of KINDS; ``target`` [pins] goes with an average."""

    name: str
    kind: str = "average"
    title: str = ""
    target: float | None = None
    conditioners: tuple[str, ...] = ()  # empty: every one of the center
    tanks: int = 1
    candidates: int = 48
    nights: int = 32
    fresh_nights: int = 256
    population: str = ""  # empty: the roster; else people of it, others when measured again
    people: int = 48
    limits: Limits = field(default_factory=Limits)
    machine: Machine = field(default_factory=Machine)


@dataclass(frozen=True)
class Tournament:
    """A tournament's format; the field is the roster, or people drawn from its shares of
    styles or from a population."""

    name: str
    title: str = ""
    field: str = "roster"  # or "styles", or "population"
    population: str = ""
    entrants: int = 48
    squads: int = 2
    games: int = 6
    per_lane: int = 2
    practice_balls: int = 4
    move_pairs: int = 1
    reoil: bool = True
    conditions: tuple[str, ...] = ()  # one, or two: half of the games on each; empty: today's
    oil_sd_share: float = 0.0
    tilt_sd_in: float = 0.0
    cut: int = 12
    finalists: int = 0  # 0: no match play
