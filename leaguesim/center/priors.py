"""A center as it might really be: conditioners, lanes, machine and friction constants drawn from doubt.

One point of the unit cube gives one complete center; a forecast runs the same study on many.  Does
not vary bowlers, rosters or luck, does not choose the points and does not weigh anything.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.lane.priors import conditioner_at, uncertain
from leaguesim.lane.values import (
    CONTACT_CONSTANTS,
    Condition,
    FrictionConstants,
    LaneState,
    Surface,
)

LANE_GROUP: Final = "lanes"
MACHINE_GROUP: Final = "machine"
MODEL_GROUP: Final = "friction constants"
BLEND: Final = "blend viscosity"
_CLIP: Final = 2.0**-40  # a deviate of at most 7
_ROUGHNESS_UIN: Final = (1.0, 60.0)
_TEMPERATURE_C: Final = (5.0, 40.0)


@dataclass(frozen=True)
class Dimension:
    """One axis of the unit cube: a name for people, the group it is reported in, and its meaning."""

    name: str
    group: str
    meaning: str


def used_conditioners(center: Center, conditions: Sequence[str]) -> list[str]:
    """Names of the conditioners that some conditions are laid with, sorted (InputError: no such)."""
    names: set[str] = set()
    for name in conditions:
        if name not in center.conditions:
            raise InputError(f"{name}: no such condition; there are {', '.join(center.conditions)}")
        names |= {c for c, share in _shares(center.conditions[name]) if share > 0.0}
    return sorted(names)


def _shares(condition: Condition) -> list[tuple[str, float]]:
    own = condition.readings.shares if condition.readings is not None else ()
    return [*own, *chain.from_iterable(band.shares for band in condition.bands)]


def dimensions(center: Center, conditions: Sequence[str] | None = None) -> tuple[Dimension, ...]:
    """The axes of the unit cube of ``perturbed``, in order; the same center gives the same axes.

    Parameters
    ----------
    conditions : those that a study asks about; their conditioners are varied. None: all of them

    Returns
    -------
    four axes a plain conditioner and six a thickened one (by name, sorted), one for the viscosity of
    blends if more than one conditioner is used, then temperature, roughness, machine, c_a, C

    Raises
    ------
    InputError : no such condition
    """
    used = used_conditioners(center, list(center.conditions) if conditions is None else conditions)
    axes = [
        Dimension(f"{name}: {part.name}", f"conditioner {name}", part.scale + " scale")
        for name in used
        for part in uncertain(center.conditioners[name])
    ]
    if len(used) > 1:
        axes.append(Dimension(BLEND, "blends", "5 % plain, 15 % thickened (published studies)"))
    return (
        *axes,
        Dimension("temperature_c", LANE_GROUP, "of lane and oil"),
        Dimension("roughness_uin", LANE_GROUP, "of all lanes together"),
        Dimension("film_factor", MACHINE_GROUP, "film laid over film asked for, all lanes"),
        Dimension("c_a", MODEL_GROUP, "film at which asperities lose touch"),
        Dimension("drag_c", MODEL_GROUP, "weight of the viscous drag"),
    )


def perturbed(center: Center, point: ArrayLike, conditions: Sequence[str] | None = None) -> Center:
    """The center at one point of the unit cube, ready for any study.

    Parameters
    ----------
    point : (len(dimensions(center, conditions)),) uniforms, for instance a row of a scrambled Sobol
        sample; 0.5 everywhere gives the center back
    conditions : as given to ``dimensions``

    Returns
    -------
    Center with other ``conditioners``, ``surface`` and ``surfaces``, ``temperature_c``,
    ``film_factor``, ``blend_z`` and ``friction``

    Raises
    ------
    InputError : a point of the wrong length or outside 0..1, or no such condition
    """
    axes = dimensions(center, conditions)
    u = np.asarray(point, dtype=np.float64)
    if u.shape != (len(axes),) or not ((u >= 0.0) & (u <= 1.0)).all():
        raise InputError(
            f"a point of the unit cube with {len(axes)} coordinates is needed, got {u.shape}"
        )
    deviates = ndtri(np.clip(u, _CLIP, 1.0 - _CLIP)).tolist()
    z = dict(zip((axis.name for axis in axes), deviates, strict=True))
    doubt = center.lane_doubt
    rough = math.exp(doubt.roughness_log_sd * z["roughness_uin"])
    friction = replace(
        center.friction,
        c_a=center.friction.c_a * math.exp(doubt.c_a_log_sd * z["c_a"]),
        drag_c=center.friction.drag_c * math.exp(doubt.drag_c_log_sd * z["drag_c"]),
    )
    conditioners = {
        name: conditioner_at(
            c, {p.name: z[f"{name}: {p.name}"] for p in uncertain(c) if f"{name}: {p.name}" in z}
        )
        for name, c in center.conditioners.items()
    }
    low, high = _TEMPERATURE_C
    return replace(
        center,
        conditioners=conditioners,
        surface=_rougher(center.surface, rough),
        surfaces={name: _rougher(s, rough) for name, s in center.surfaces.items()},
        lane_states=tuple(_rougher_lane(s, rough) for s in center.lane_states),
        temperature_c=min(
            max(center.temperature_c + doubt.temperature_sd_c * z["temperature_c"], low), high
        ),
        film_factor=center.film_factor * math.exp(doubt.application_log_sd * z["film_factor"]),
        blend_z=center.blend_z + z.get(BLEND, 0.0),
        friction=friction,
    )


def _rougher(surface: Surface, factor: float) -> Surface:
    low, high = _ROUGHNESS_UIN
    return replace(surface, roughness_uin=min(max(surface.roughness_uin * factor, low), high))


def _rougher_lane(lane: LaneState, factor: float) -> LaneState:
    if lane.roughness_uin is None:
        return lane
    low, high = _ROUGHNESS_UIN
    return replace(lane, roughness_uin=min(max(lane.roughness_uin * factor, low), high))


def other_form(center: Center) -> Center:
    """The center under the other form of load sharing, with that form's own calibration.

    What the center says about c_a and C against the calibrated values is kept as a ratio; pressure
    and the flooding film are kept.
    """
    own, other = FrictionConstants(), CONTACT_CONSTANTS
    if center.friction.load_sharing == other.load_sharing:
        own, other = other, own
    f = center.friction
    return replace(
        center,
        friction=replace(
            f,
            c_a=other.c_a * (f.c_a / own.c_a),
            drag_c=other.drag_c * (f.drag_c / own.drag_c),
            load_sharing=other.load_sharing,
        ),
    )
