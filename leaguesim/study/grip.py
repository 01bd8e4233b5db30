"""Friction of every conditioner of a center against the slip of a ball, and the slip that styles have.

Pure conditioners under even films, one reference ball; does not roll it and does not know a condition.
"""

from itertools import product
from typing import Any, Final

import numpy as np
from scipy.special import ndtri

from leaguesim.ball.path import rim_speed
from leaguesim.ball.values import Ball
from leaguesim.bowlers.values import Spread, Style
from leaguesim.center.values import Center
from leaguesim.lane.friction import friction
from leaguesim.lane.mixture import mixture_of
from leaguesim.units import DEG_RAD, MPH_MPS, UNIT_M

FILMS_UNITS: Final = (3.0, 6.0, 20.0)  # where a pattern thins out, its flanks and its middle
SLIPS_MPS: Final = tuple(float(s) for s in np.linspace(0.25, 9.0, 36))
SPEED_MPH: Final = 17.0
REV_RATE_RPM: Final = 300.0
ROTATION_DEG: Final = 45.0
_SHARES: Final = (0.1, 0.3, 0.5, 0.7, 0.9)


def friction_curves(center: Center, ball: Ball) -> list[dict[str, Any]]:
    """Rows of conditioner, film_units, slip_mps and friction, by name, film and slip.

    On the center's own surface at its temperature, for a ball at 17 mph with 300 rpm and 45 degrees
    of rotation, whose rim moves with the travel as fast as that.
    """
    rim = rim_speed(REV_RATE_RPM, 0.0, ball) * np.cos(ROTATION_DEG * DEG_RAD)
    slips = np.array(SLIPS_MPS)
    rows = []
    for name in sorted(center.conditioners):
        mixture = mixture_of(center.conditioners[name])
        for film in FILMS_UNITS:
            mu = friction(
                np.full(slips.size, film * UNIT_M), slips, speed_mps=SPEED_MPH * MPH_MPS, rim_mps=rim,
                mixture=mixture, mu_dry=ball.mu_dry, ball_roughness_uin=ball.roughness_uin,
                lane_roughness_uin=center.surface.roughness_uin,
                temperature_c=center.temperature_c, constants=center.friction,
            )  # fmt: skip
            rows += [
                {"conditioner": name, "film_units": film, "slip_mps": s, "friction": m}
                for s, m in zip(SLIPS_MPS, mu.tolist(), strict=True)
            ]
    return rows


def slip_ranges(center: Center, ball: Ball) -> list[dict[str, Any]]:
    """Slip at release of the styles on the roster: low and high (a tenth and nine tenths), middle.

    Speed, revs and rotation of the style taken as independent; slip = |V - u| with u the rim's
    velocity. It falls as the ball goes down the lane and is 0 once it rolls.
    """
    rows = []
    for name in sorted({r.style for r in center.roster if r.style in center.styles}):
        style = center.styles[name]
        slips = np.sort([_slip(ball, *traits) for traits in product(*_traits(style))])
        low, middle, high = np.quantile(slips, [0.1, 0.5, 0.9]).tolist()
        rows.append(
            {
                "style": name, "low_mps": low, "middle_mps": middle, "high_mps": high,
                "speed_mph": style.speed_mph.mean, "rev_rate_rpm": style.rev_rate_rpm.mean,
            }
        )  # fmt: skip
    return rows


def _traits(style: Style) -> list[list[float]]:
    return [_spread(s) for s in (style.speed_mph, style.rev_rate_rpm, style.axis_rotation_deg)]


def _spread(of: Spread) -> list[float]:
    """Five equally likely values of a trait, held within its ends."""
    values = of.mean + of.sd * ndtri(np.array(_SHARES))
    return [float(v) for v in np.clip(values, of.low, of.high)]


def _slip(ball: Ball, speed_mph: float, rev_rate_rpm: float, rotation_deg: float) -> float:
    speed, rim = speed_mph * MPH_MPS, rim_speed(rev_rate_rpm, 0.0, ball)
    turn = rotation_deg * DEG_RAD
    return float(np.hypot(speed - rim * np.cos(turn), rim * np.sin(turn)))
