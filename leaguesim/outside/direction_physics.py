"""Directions that need no league: oil, slip, shear and corner pins, as rows of the validation table.

Signs and sizes stand in ``directions.toml``, written down before the model was asked.
"""

import math
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import rim_speed
from leaguesim.ball.values import Ball
from leaguesim.center import demo_center, read
from leaguesim.lane.friction import contact_film_m, entrainment_factor, friction
from leaguesim.lane.lane import Lane
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Conditioner, FrictionConstants
from leaguesim.lane.viscosity import PREMIX_CAUTION
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.maps import LEAGUE_KG
from leaguesim.pins.spec import FULL_RACK, mask_of
from leaguesim.play.crew import wear_shares
from leaguesim.units import (
    BALL_DIAMETER_IN,
    BALL_DIAMETER_MAX_IN,
    BALL_DIAMETER_MIN_IN,
    DEG_RAD,
    MPH_MPS,
    UNIT_M,
)

Array = NDArray[np.float64]

SEED: Final = 11
SHOTS: Final = 4000  # at each speed and angle
BLENDED, PLAIN = "tuesday_40_blend", "tuesday_40"


def physics_checks() -> list[Check]:
    """Corner pins, premixing, slip, shear, and what no law ties together."""
    d = figures("directions")
    return [
        *_corner_rows(d["corner"]),
        _premix_row(d["premix"]),
        _slip_row(d["slip"]),
        *_shear_rows(d["shear"], d["slip"]["shots"]),
        _separate_row(d["separate"]),
    ]


def slip_mps(mph: float, rpm: float, rotation_deg: float, ball: Ball) -> float:
    """Slip at release: the ball's velocity less the rim's. [m/s]"""
    rim, turn = rim_speed(rpm, 0.0, ball), rotation_deg * DEG_RAD
    return math.hypot(mph * MPH_MPS - rim * math.cos(turn), rim * math.sin(turn))


def corner_share(library: CarryLibrary, row: dict[str, Any]) -> Array:
    """(speeds, angles) share of pocket hits that leave the 7 or the 10 alone."""
    rng = np.random.default_rng(SEED)
    low, high = row["offset_boards"]
    offset = rng.uniform(low, high, SHOTS)
    corners = [mask_of(7), mask_of(10)]
    return np.array(
        [
            [
                np.isin(FULL_RACK - library.draw(offset, angle, speed, LEAGUE_KG, rng), corners).mean()
                for angle in row["entry_deg"]
            ]
            for speed in row["speed_mps"]
        ]
    )  # fmt: skip


def _corner_rows(row: dict[str, Any]) -> list[Check]:
    share = corner_share(CarryLibrary.load(), row)
    rows = []
    for axis, key, words, unit in (
        (1, "speed_mps", "speed", "m/s"),
        (0, "entry_deg", "angle", "deg"),
    ):
        mean = share.mean(axis=axis)
        best = int(mean.argmin())
        se = math.sqrt(mean[best] * (1.0 - mean[best]) / (SHOTS * share.shape[axis]))
        ends = float(min(mean[0], mean[-1]) - mean[best])
        rows.append(
            Check(
                f"direction: corner pins are carried best within a band of arrival {words}",
                row["source"],
                f"least inside {row[key][0]:g} to {row[key][-1]:g} {unit}, not at an end",
                f"{mean[0]:.3f} at {row[key][0]:g}, {mean[best]:.3f} (se {se:.3f}) at "
                f"{row[key][best]:g}, {mean[-1]:.3f} at {row[key][-1]:g} {unit}",
                verdict(ends > 2.0 * math.sqrt(2.0) * se),
            )
        )
    return rows


def _premix_row(row: dict[str, Any]) -> Check:
    center = read(demo_center())

    def cautions(name: str) -> int:
        lane = Lane.from_condition(center.conditions[name], center.conditioners)
        return sum(PREMIX_CAUTION in note for note in lane.notes)

    two, one = cautions(BLENDED), cautions(PLAIN)
    return Check(
        "direction: a mixture made by hand may separate, two metered on the lane do not",
        row["source"],
        "said once where two are blended, not where one lies alone",
        f"said {two} and {one} times",
        verdict(two == 1 and one == 0),
    )


def _slip_row(row: dict[str, Any]) -> Check:
    """Printed to a tenth for a ball of unknown size: some legal diameter must round to it."""
    shots = [(s["mph"], s["rpm"], s["rotation_deg"]) for s in row["shots"]]
    wide, middle, small = (
        [slip_mps(mph, rpm, turn, Ball(diameter_in=d)) for mph, rpm, turn in shots]
        for d in (BALL_DIAMETER_MAX_IN, BALL_DIAMETER_IN, BALL_DIAMETER_MIN_IN)
    )
    wanted = [s["slip_mps"] for s in row["shots"]]
    near = [
        min(a, b) - 0.05 <= w <= max(a, b) + 0.05
        for a, b, w in zip(wide, small, wanted, strict=True)
    ]
    return Check(
        "direction: slip at release of six styles, mph/rpm/deg "
        + ", ".join("/".join(f"{v:g}" for v in s) for s in shots),
        row["source"],
        ", ".join(f"{w:g}" for w in wanted) + " m/s to the tenth, some legal ball",
        ", ".join(f"{m:.2f}" for m in middle) + " m/s",
        verdict(all(near)),
    )


def _shear_rows(row: dict[str, Any], shots: list[dict[str, float]]) -> list[Check]:
    """Shear rates in the contact, and what thinning does to friction against a plain oil as thick."""
    ball, c = Ball(), FrictionConstants()
    thin = Conditioner(
        "check", viscosity_mpas=row["viscosity_mpas"], base_share=row["base_share"],
        critical_rate_per_s=row["critical_rate_per_s"],
    )  # fmt: skip
    plain, thinned = mixture_of(replace(thin, base_share=1.0)), mixture_of(thin)
    rates, moved = [], []
    for shot in shots:
        speed, slip = (
            shot["mph"] * MPH_MPS,
            slip_mps(shot["mph"], shot["rpm"], shot["rotation_deg"], ball),
        )
        rim = rim_speed(shot["rpm"], 0.0, ball) * math.cos(shot["rotation_deg"] * DEG_RAD)
        film = np.array(row["film_units"]) * UNIT_M
        eta = plain.viscosity_pas(21.0)
        rates.append(slip / contact_film_m(film * entrainment_factor(speed, rim), eta, c.h_f0_m))
        mu, less = (
            friction(
                film, slip, speed_mps=speed, rim_mps=rim, mixture=m, mu_dry=ball.mu_dry,
                ball_roughness_uin=ball.roughness_uin, lane_roughness_uin=15.0,
            )
            for m in (plain, thinned)
        )  # fmt: skip
        moved.append(less - mu)
    rate, change = np.array(rates), np.array(moved)
    films = ", ".join(f"{u:g}" for u in row["film_units"])
    factor, middle = row["within_factor"], row["rate_per_s"]
    inside = (rate >= middle / factor) & (rate <= middle * factor)
    return [
        Check(
            f"direction: shear rate under six styles on {films} units",
            row["source"],
            f"about {middle:.0e} per second (within a factor {factor:g})",
            f"{rate.min():.1e} to {rate.max():.1e} per second, {inside.sum()} of {inside.size} within",
            verdict(bool(inside.all())),
        ),
        Check(
            f"direction: friction of a thinned oil less a plain one of {row['viscosity_mpas']:g} mPa.s",
            row["source"],
            f"below 0 for all, the largest {row['least_mu']:g} to {row['most_mu']:g}",
            f"{change.min():+.4f} to {change.max():+.4f} over six styles, {films} units",
            verdict(
                bool((change < 0.0).all()) and row["least_mu"] <= -change.min() <= row["most_mu"]
            ),
        ),
    ]


def _separate_row(row: dict[str, Any]) -> Check:
    """Moves durability and looks at friction, then the other way round; both must stay to the bit."""
    ball, film = Ball(), np.array([3.0, 10.0, 30.0]) * UNIT_M

    def mu(oil: Conditioner) -> Array:
        return friction(
            film, 5.0, speed_mps=8.0, rim_mps=3.0, mixture=mixture_of(oil), mu_dry=ball.mu_dry,
            ball_roughness_uin=ball.roughness_uin, lane_roughness_uin=15.0,
        )  # fmt: skip

    def taken(oil: Conditioner) -> Array:
        take, kept, _ = wear_shares(ball, (mixture_of(oil),))
        return np.concatenate([take, kept])

    oil = Conditioner("check")
    lasting = replace(oil, left_behind=0.85, ball_affinity=0.2)
    gripping = replace(oil, viscosity_mpas=60.0, boundary_factor=1.2, base_share=0.6)
    by_wear = float(np.abs(mu(lasting) - mu(oil)).max())
    by_grip = float(np.abs(taken(gripping) - taken(oil)).max())
    own = (
        float(np.abs(mu(gripping) - mu(oil)).max()),
        float(np.abs(taken(lasting) - taken(oil)).max()),
    )
    return Check(
        "direction: durability and friction of a conditioner are separate",
        row["source"],
        "either moves nothing of the other, and something of its own",
        f"friction by durability {by_wear:g}, wear by friction {by_grip:g}; own {own[0]:.3f}, {own[1]:.3f}",
        verdict(by_wear == 0.0 and by_grip == 0.0 and min(own) > 0.0),
    )
