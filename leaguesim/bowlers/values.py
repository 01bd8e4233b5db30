"""What a bowler is described by: traits, bag, style, and the roster line that overrides them.

Plain frozen values; the draws are made in ``bowlers.draw``.
"""

from dataclasses import dataclass, replace

from leaguesim.ball.values import Ball

# Release errors other than the launch angle's go with it to this power.  In the styles' own laws the
# logarithm of accuracy has an sd of 0.20 and that of control 0.15, so both move by as many of their sds; and
# that is what a better average says on its own: its likeliest cause lies along the prior covariance times the
# effects (0.20, 0.15, r 0.5; 24 and 45 pins per unit of the logarithm), a ratio of 0.84 (assumed).
CONTROL_POWER = 0.75
FARTHEST_MOVE_BOARD = 8.0  # boards of a night, where a style does not say (assumed)


@dataclass(frozen=True)
class Spread:
    """How a trait varies between people of one style: a normal law cut off at low and high."""

    mean: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True)
class Style:
    """A style of bowling as a joint distribution over people.

    ``accuracy_deg`` is the standard deviation of the launch angle from ball to ball; the other
    ``*_sd_*`` are the same for lay-down board, speed, revs and rotation.  ``spare_accuracy`` is
    the ratio of the release error on spares to that on strikes.  ``speed_rev_correlation``
    couples speed and revs between people.  ``control_spread`` is the standard deviation, between
    people, of the logarithm of the lay-down, speed, rev and rotation errors, drawn together with the
    launch angle's to ``control_correlation``; ``spare_spread`` the same of ``spare_accuracy``,
    ``gain_spread`` of ``move_gain``, ``patience_spread`` of ``move_after_balls``.  People own from
    ``bag_least`` balls, in the order of the bag, up to all of it (0: all).  Over a night nobody moves
    their feet, or where they cross the arrows, further than ``farthest_move_board``.
    """

    name: str
    speed_mph: Spread
    rev_rate_rpm: Spread
    axis_rotation_deg: Spread
    axis_tilt_deg: Spread
    accuracy_deg: Spread
    speed_rev_correlation: float = 0.0
    laydown_sd_board: float = 0.5
    speed_sd_mph: float = 0.3
    rev_sd_rpm: float = 10.0
    rotation_sd_deg: float = 2.0
    spare_accuracy: float = 0.9
    bag: tuple[str, ...] = ()
    spare_ball: str | None = None
    left_handed_share: float = 0.12
    laydown_low_board: float = 8.0
    laydown_high_board: float = 36.0
    move_gain: float = 0.5
    move_after_balls: int = 2
    note: str = ""
    control_spread: float = 0.0
    control_correlation: float = 0.0
    spare_spread: float = 0.0
    gain_spread: float = 0.0
    patience_spread: float = 0.0
    bag_least: int = 0
    farthest_move_board: float = FARTHEST_MOVE_BOARD


@dataclass(frozen=True)
class Population:
    """People without a roster: shares of styles, who is left-handed, averages if they are known.

    ``left_handed_share`` None takes each style's own; ``average`` None leaves averages to the play.
    """

    name: str
    styles: tuple[tuple[str, float], ...]
    left_handed_share: float | None = None
    average: Spread | None = None
    note: str = ""


@dataclass(frozen=True)
class RosterLine:
    """One bowler as the user's roster names them; what is None is drawn from the style."""

    bowler: str
    team: str
    hand: str  # "right" or "left"
    style: str
    speed_mph: float | None = None
    rev_rate_rpm: float | None = None
    axis_rotation_deg: float | None = None
    axis_tilt_deg: float | None = None
    average: float | None = None


@dataclass(frozen=True)
class Bowler:
    """One synthetic bowler with every trait fixed; balls are values, the first of the bag comes first."""

    bowler: str
    team: str
    hand: str
    style: str
    speed_mph: float
    rev_rate_rpm: float
    axis_rotation_deg: float
    axis_tilt_deg: float
    accuracy_deg: float
    laydown_sd_board: float
    speed_sd_mph: float
    rev_sd_rpm: float
    rotation_sd_deg: float
    spare_accuracy: float
    bag: tuple[Ball, ...]
    spare_ball: Ball | None
    laydown_low_board: float
    laydown_high_board: float
    move_gain: float
    move_after_balls: int
    average: float | None = None
    farthest_move_board: float = FARTHEST_MOVE_BOARD

    def with_accuracy(self, accuracy_deg: float) -> "Bowler":
        """The same bowler with another accuracy [deg] and what usually comes with it.

        Lay-down, speed, revs and rotation are controlled better by whoever aims better:
        ``CONTROL_POWER``.  Their own accuracy gives the same bowler to the bit.
        """
        if accuracy_deg == self.accuracy_deg:
            return self
        scale = (accuracy_deg / self.accuracy_deg) ** CONTROL_POWER
        return replace(
            self,
            accuracy_deg=accuracy_deg,
            laydown_sd_board=scale * self.laydown_sd_board,
            speed_sd_mph=scale * self.speed_sd_mph,
            rev_sd_rpm=scale * self.rev_sd_rpm,
            rotation_sd_deg=scale * self.rotation_sd_deg,
        )
