"""From a roster line and a style to one bowler with every trait fixed.

Each trait takes its own reserved uniform of the bowler's stream through an inverse distribution, so a
trait that the roster gives shifts none of the others.  Does not know lanes or scores.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from scipy.special import ndtr, ndtri

from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Bowler, RosterLine, Spread, Style
from leaguesim.errors import InputError
from leaguesim.streams import Purpose, stream

RESERVED = 16  # uniforms a bowler; ten are used


LARGEST_GAIN = 1.0  # nobody moves further than a miss asks for


def cut_normal(u: float, spread: Spread) -> float:
    """Inverse distribution of a normal law cut off at low and high."""
    if spread.sd <= 0.0 or spread.high <= spread.low:
        return min(max(spread.mean, spread.low), spread.high)
    a, b = (
        ndtr((spread.low - spread.mean) / spread.sd),
        ndtr((spread.high - spread.mean) / spread.sd),
    )
    value = spread.mean + spread.sd * float(ndtri(a + u * (b - a)))
    return min(max(value, spread.low), spread.high)


def _given(value: float | None, drawn: float) -> float:
    return drawn if value is None else float(value)


def _owned(style: Style, u: float) -> int:
    """How many balls of the bag a bowler owns, every number from ``bag_least`` on alike likely."""
    most = len(style.bag)
    least = min(style.bag_least or most, most)
    return least + min(int(u * (most - least + 1)), most - least)


def middle_bowler(style: Style, hand: str, balls: Mapping[str, Ball]) -> Bowler:
    """One bowler with a style's middle traits and whole bag.

    Raises
    ------
    InputError : the style names a ball that ``balls`` does not have
    """
    missing = [b for b in (*style.bag, *filter(None, [style.spare_ball])) if b not in balls]
    if missing or not style.bag:
        raise InputError(f"style {style.name}: no such ball: {', '.join(missing) or '(empty bag)'}")

    def middle(x: Spread) -> float:
        return min(max(x.mean, x.low), x.high)

    return Bowler(
        bowler=f"middle of {style.name}",
        team="",
        hand=hand,
        style=style.name,
        speed_mph=middle(style.speed_mph),
        rev_rate_rpm=middle(style.rev_rate_rpm),
        axis_rotation_deg=middle(style.axis_rotation_deg),
        axis_tilt_deg=middle(style.axis_tilt_deg),
        accuracy_deg=middle(style.accuracy_deg),
        laydown_sd_board=style.laydown_sd_board,
        speed_sd_mph=style.speed_sd_mph,
        rev_sd_rpm=style.rev_sd_rpm,
        rotation_sd_deg=style.rotation_sd_deg,
        spare_accuracy=style.spare_accuracy,
        bag=tuple(balls[b] for b in style.bag),
        spare_ball=balls[style.spare_ball] if style.spare_ball else None,
        laydown_low_board=style.laydown_low_board,
        laydown_high_board=style.laydown_high_board,
        move_gain=style.move_gain,
        move_after_balls=style.move_after_balls,
        farthest_move_board=style.farthest_move_board,
    )


def draw_bowler(line: RosterLine, style: Style, balls: Mapping[str, Ball], seed: int) -> Bowler:
    """The synthetic bowler behind a roster line; the same for the same seed and name, wherever it stands.

    Raises
    ------
    InputError : the style names a ball that ``balls`` does not have
    """
    middle = middle_bowler(style, line.hand, balls)
    u = stream(seed, Purpose.BOWLER_TRAITS, identity=line.bowler).random(RESERVED)
    u = np.clip(u, 2.0**-54, 1.0 - 2.0**-53)
    z_speed, z_rev = ndtri(u[0]), ndtri(u[1])
    rho = style.speed_rev_correlation
    u_rev = float(ndtr(rho * z_speed + np.sqrt(1.0 - rho * rho) * z_rev))
    z = ndtri(u)
    tie = style.control_correlation
    control = float(np.exp(style.control_spread * (tie * z[4] + np.sqrt(1.0 - tie * tie) * z[5])))
    patience = style.move_after_balls * np.exp(style.patience_spread * z[8])
    return replace(
        middle,
        bowler=line.bowler,
        team=line.team,
        style=line.style,
        speed_mph=_given(line.speed_mph, cut_normal(float(u[0]), style.speed_mph)),
        rev_rate_rpm=_given(line.rev_rate_rpm, cut_normal(u_rev, style.rev_rate_rpm)),
        axis_rotation_deg=_given(
            line.axis_rotation_deg, cut_normal(float(u[2]), style.axis_rotation_deg)
        ),
        axis_tilt_deg=_given(line.axis_tilt_deg, cut_normal(float(u[3]), style.axis_tilt_deg)),
        accuracy_deg=cut_normal(float(u[4]), style.accuracy_deg),
        laydown_sd_board=style.laydown_sd_board * control,
        speed_sd_mph=style.speed_sd_mph * control,
        rev_sd_rpm=style.rev_sd_rpm * control,
        rotation_sd_deg=style.rotation_sd_deg * control,
        spare_accuracy=style.spare_accuracy * float(np.exp(style.spare_spread * z[6])),
        bag=middle.bag[: _owned(style, float(u[9]))],
        move_gain=min(style.move_gain * float(np.exp(style.gain_spread * z[7])), LARGEST_GAIN),
        move_after_balls=max(1, round(float(patience))),
        average=line.average,
    )
