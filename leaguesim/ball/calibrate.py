"""Fit of the friction law's two free constants to facts about one named ball, film and conditioner.

Physics and calibration are kept apart: nothing here changes the law, and the constants it finds say
nothing about a center's own lanes.  The reference film and conditioner are invented; the targets
and their sources come from the caller (``outside``).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Final

import numpy as np

from leaguesim.ball.path import BallPath, inertia_factor, roll
from leaguesim.ball.values import Ball, Release
from leaguesim.errors import InputError
from leaguesim.lane.friction import drag_share, entrainment_factor
from leaguesim.lane.lane import Lane
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Band, Condition, Conditioner, FrictionConstants, Surface
from leaguesim.units import G_MPS2, UNIT_M

_OIL = (("reference", 1.0),)
REFERENCE_OIL: Final = Conditioner("reference", viscosity_mpas=35.0, viscosity_at_c=21.1)
REFERENCE_SURFACE: Final = Surface("reference", roughness_uin=15.0)
REFERENCE_BALL: Final = Ball(
    mass_lb=15.0, rg_in=2.50, roughness_uin=30.0, dry_friction=0.20, name="reference"
)
TEMPERATURE_C: Final = 21.1

# A house film: 25 mL over 40 ft, 8.4 : 1 at 20 ft, 73 units at the heads; invented.
REFERENCE_FILM: Final = Condition(
    "reference",
    bands=(
        Band(0, 34, 2, 38, 3.8, _OIL),
        Band(0, 37, 6, 34, 0.6, _OIL),
        Band(0, 40, 8, 32, 2.5, _OIL),
        Band(0, 36, 9, 31, 3.1, _OIL),
        Band(0, 32, 10, 30, 3.0, _OIL),
        Band(0, 27, 11, 29, 3.1, _OIL),
        Band(0, 21, 12, 28, 2.5, _OIL),
        Band(0, 14, 13, 27, 2.1, _OIL),
        Band(0, 9, 14, 26, 2.1, _OIL),
        Band(0, 5, 15, 25, 1.5, _OIL),
        Band(0, 3, 16, 24, 0.7, _OIL),
    ),
)
OIL_ENDS_FT: Final = 40.0
EXIT_BOARD: Final = 9.0  # length less 31, the coaching rule
LAY_DOWN_BOARD: Final = 19.0

# The two shots.  The robot's revs and rotation are not published: taken so that its entry angle
# falls in the published range.
HOOK_SHOT: Final = {"speed_mph": 18.0, "rev_rate_rpm": 300.0, "axis_rotation_deg": 45.0}
ROBOT_SHOT: Final = {"speed_mph": 18.5, "rev_rate_rpm": 350.0, "axis_rotation_deg": 55.0}

ROBOT_SHARES: Final = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)  # 8.4:1 to 1.9:1 at 20 ft
_BISECTIONS: Final = 26
_NO_ARRIVAL: Final = 12.0  # boards a lost ball counts as missed: what a straight line would miss


@dataclass(frozen=True)
class PathFacts:
    """What the reference set does under given constants; the names are the targets'."""

    friction_oiled: float
    friction_dry: float
    roll_start_ft: float
    outside_miss_boards: float
    inside_miss_boards: float
    entry_deg: float
    arrival_board: float
    shear_drag_mu: float


@dataclass(frozen=True)
class Target:
    """A fact to fit: its value and how far off counts as one unit of misfit."""

    name: str
    value: float
    scale: float


def reference_lane(constants: FrictionConstants, *, film: Condition = REFERENCE_FILM) -> Lane:
    """The reference film, oil, surface and temperature under given constants."""
    return Lane.from_condition(
        film,
        [REFERENCE_OIL],
        surface=REFERENCE_SURFACE,
        temperature_c=TEMPERATURE_C,
        constants=constants,
    )


def _shot(shot: Mapping[str, float], angle: float, lane: Lane, ball: Ball) -> BallPath:
    release = Release(
        speed_mph=shot["speed_mph"],
        rev_rate_rpm=shot["rev_rate_rpm"],
        axis_rotation_deg=shot["axis_rotation_deg"],
        board=LAY_DOWN_BOARD,
        angle_deg=angle,
    )
    return roll(release, ball, lane)


def line_angle(shot: Mapping[str, float], lane: Lane, ball: Ball) -> float:
    """Launch angle that brings the ball over the exit board where the oil ends. [deg]

    The least outward one, found by bisection from a launch that stays well inside.
    """

    def beyond(angle: float) -> bool:
        path = _shot(shot, angle, lane, ball)
        if path.distance_ft[-1] < OIL_ENDS_FT:
            return True
        return bool(np.interp(OIL_ENDS_FT, path.distance_ft, path.board) < EXIT_BOARD)

    inside = 1.0
    while not beyond(inside - 0.25) and inside > -8.0:
        inside -= 0.25
    outside = inside - 0.25
    for _ in range(_BISECTIONS):
        middle = 0.5 * (inside + outside)
        if beyond(middle):
            outside = middle
        else:
            inside = middle
    return inside


def _mean_friction(path: BallPath, ball: Ball, low_ft: float, high_ft: float) -> float:
    """Time mean of friction while sliding between two distances: slip lost over g (1 + R2/k2) t."""
    middle = 0.5 * (path.distance_ft[1:] + path.distance_ft[:-1])
    sliding = (path.slip_mps[1:] > 0.1) & (middle > low_ft) & (middle < high_ft)
    time = float(np.diff(path.time_s)[sliding].sum())
    if time <= 0.0:
        return math.nan
    lost = -float(np.diff(path.slip_mps)[sliding].sum())
    return lost / (time * G_MPS2 * inertia_factor(ball))


def _arrival(path: BallPath) -> float:
    return path.at_pins.board if path.ended == "pins" else math.nan


def shear_drag(constants: FrictionConstants, *, viscosity_mpas: float = 50.0) -> float:
    """Friction by shear alone on 40 units of an oil, slip 5.6 m/s, 8 m/s with half of it in the rim."""
    oil = mixture_of(Conditioner("shear", viscosity_mpas=viscosity_mpas, viscosity_at_c=21.0))
    effective = float(entrainment_factor(8.0, 4.0)) * 40.0 * UNIT_M
    y = drag_share(effective, 5.6, oil, mu_dry=0.20, temperature_c=21.0, constants=constants)
    return 0.20 * float(y)


def path_facts(
    constants: FrictionConstants,
    *,
    ball: Ball = REFERENCE_BALL,
    film: Condition = REFERENCE_FILM,
    robot: Mapping[str, float] = ROBOT_SHOT,
) -> PathFacts:
    """Roll the two reference shots and read the facts; misses are one degree either way, in boards."""
    lane = reference_lane(constants, film=film)
    hook = _shot(HOOK_SHOT, line_angle(HOOK_SHOT, lane, ball), lane, ball)
    angle = line_angle(robot, lane, ball)
    straight = _shot(robot, angle, lane, ball)
    centre = _arrival(straight)
    outside = centre - _arrival(_shot(robot, angle - 1.0, lane, ball))
    inside = _arrival(_shot(robot, angle + 1.0, lane, ball)) - centre
    return PathFacts(
        friction_oiled=_mean_friction(hook, ball, 0.0, OIL_ENDS_FT),
        friction_dry=_mean_friction(hook, ball, OIL_ENDS_FT, 60.0),
        roll_start_ft=min(hook.roll_start_ft, 70.0),
        outside_miss_boards=outside,
        inside_miss_boards=inside,
        entry_deg=straight.at_pins.angle_deg,
        arrival_board=centre,
        shear_drag_mu=shear_drag(constants),
    )


def flattened(share: float) -> Condition:
    """The reference film with a share of its oil spread evenly over all boards and 40 ft."""
    if not 0.0 <= share < 1.0:
        raise InputError(f"share of oil spread evenly must be from 0 to below 1, got {share!r}")
    bands = tuple(replace(b, volume_ml=b.volume_ml * (1.0 - share)) for b in REFERENCE_FILM.bands)
    if share > 0.0:
        total = math.fsum(b.volume_ml for b in REFERENCE_FILM.bands)
        bands += (Band(0.0, OIL_ENDS_FT, 1, 39, total * share, _OIL),)
    return replace(REFERENCE_FILM, name="flattened", bands=bands)


def robot_film(
    constants: FrictionConstants, outside_miss_boards: float
) -> tuple[float, float, PathFacts]:
    """How flat a film must be for the robot's outside miss, which was rolled on an unknown film.

    Returns
    -------
    (share spread evenly, crosswise ratio at 20 ft, path facts on that film)
    """
    low, high = 0.0, 0.9
    for _ in range(16):
        share = 0.5 * (low + high)
        found = path_facts(constants, film=flattened(share)).outside_miss_boards
        if found < outside_miss_boards:
            low = share
        else:
            high = share
    share = round(high, 3)
    film = flattened(share)
    ratio = reference_lane(constants, film=film).crosswise_ratio(20.0)[1]
    return share, ratio or math.inf, path_facts(constants, film=film)


def robot_misses(
    constants: FrictionConstants, share: float, *, robot: Mapping[str, float] = ROBOT_SHOT
) -> tuple[float, float]:
    """The robot's outside and inside miss of a degree on a film with a share spread evenly. [boards]"""
    lane = reference_lane(constants, film=flattened(share))
    angle = line_angle(robot, lane, REFERENCE_BALL)
    out, centre, inside = (
        _arrival(_shot(robot, angle + miss, lane, REFERENCE_BALL)) for miss in (-1.0, 0.0, 1.0)
    )
    return centre - out, inside - centre


def robot_misfit(constants: FrictionConstants, misses: Sequence[Target]) -> tuple[float, float]:
    """Least misfit of the robot's misses over films from house to flat, and the share spread evenly.

    Which film the robot rolled on is not published, so its flatness is a nuisance of the fit.
    """
    best = (math.inf, 0.0)
    for share in ROBOT_SHARES:
        total = 0.0
        for target, got in zip(misses, robot_misses(constants, share), strict=True):
            far = got - target.value if math.isfinite(got) else _NO_ARRIVAL
            total += (far / target.scale) ** 2
        best = min(best, (total, share))
    return best


def misfit(facts: PathFacts, targets: Sequence[Target]) -> float:
    """Sum of squared misfits in units of each target's scale; a lost ball counts as a straight line."""
    values = asdict(facts)
    total = 0.0
    for target in targets:
        value = values[target.name]
        if not math.isfinite(value):
            value = target.value + _NO_ARRIVAL
        total += ((value - target.value) / target.scale) ** 2
    return total


def fit(
    targets: Sequence[Target], *, load_sharing: str, misses: Sequence[Target] = ()
) -> tuple[FrictionConstants, PathFacts]:
    """Fit c_a and C to the targets: a coarse grid, then finer grids around the best (not smooth).

    ``misses``: the robot's outside and inside miss, on whatever film suits them best.

    Raises
    ------
    InputError : no target, or one with a name that is not a path fact
    """
    known = set(PathFacts.__dataclass_fields__)
    if not targets or any(t.name not in known for t in targets):
        raise InputError(f"calibration targets must be some of {sorted(known)}")

    def score(c_a: float, drag_c: float) -> float:
        constants = FrictionConstants(c_a=c_a, drag_c=drag_c, load_sharing=load_sharing)
        other = robot_misfit(constants, misses)[0] if misses else 0.0
        return misfit(path_facts(constants), targets) + other

    grid = [(c_a, c) for c_a in np.linspace(0.4, 2.4, 11) for c in np.linspace(0.5, 3.0, 6)]
    best = min((score(c_a, c), c_a, c) for c_a, c in grid)
    for width in (0.1, 0.05, 0.02):
        near = [
            (best[1] + i * width, best[2] + j * width * 2.5)
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            if best[1] + i * width > 0.1 and best[2] + j * width * 2.5 > 0.1
        ]
        best = min(best, *((score(c_a, c), c_a, c) for c_a, c in near))
    constants = FrictionConstants(
        c_a=round(float(best[1]), 2), drag_c=round(float(best[2]), 2), load_sharing=load_sharing
    )
    return constants, path_facts(constants)


__all__ = [
    "PathFacts",
    "Target",
    "fit",
    "flattened",
    "path_facts",
    "reference_lane",
    "robot_film",
    "robot_misfit",
    "robot_misses",
    "shear_drag",
]
