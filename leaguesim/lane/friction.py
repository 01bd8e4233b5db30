"""Friction of a ball on an oiled lane: starved mixed lubrication, as an exact law and as tables.

Does not know the contact's inner structure: film, load sharing and shear drag are lumped over the
contact, and the constants are calibrated to path facts, not measured (``outside/calibration.toml``).
The film on the lane, not viscosity, carries the load; viscosity adds shear drag::

    mu  = mu_d (phi + x) / (1 + x)
    phi = (1 + h/h_a)^-2,  h_a = c_a * 1.2533 * sqrt(Ra_ball^2 + Ra_lane^2)
    x   = C eta v_slip / (p_m h_v mu_d),  eta = eta0(T) * thinning(v_slip / h_v)
    h_v = k_s h / sqrt(1 + (k_s h / h_f)^2), no less than 1 unit;  h_f = h_f0 (eta0/30 mPa.s)^0.64
    k_s = 2V / (V + u_ball)

With y = x/(1+x), mu = mu_d (1 - (1 - phi)(1 - y)): y depends on (k_s h, slip), phi on h alone
(``load_sharing = "supply"``) or on h_v (``"contact"``).  sqrt(pi/2) = 1.2533 turns Ra into rms.
The asperities' share phi is the rule that mixed lubrication is told by (Olver & Spikes 1998, Proc. IMechE
J 212, 321-332, from memory): covers are sanded, their few high peaks still touch through a film of
several rms.  A Gaussian cut-off, exp(-(h/h_a)^2), turned a miss to the outside of a house film past the
pocket (-2.7 boards a degree where a robot has +4.2) and held no miss to the inside at all.
Friction never exceeds mu_d, falls with film and rises with slip; it rises with viscosity under
"supply" only: under "contact" a thicker oil also lifts a rough ball further off.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leaguesim.errors import InputError
from leaguesim.lane._kernel import BARE_FINER
from leaguesim.lane.mixture import Mixture
from leaguesim.lane.values import FrictionConstants
from leaguesim.lane.viscosity import thinning
from leaguesim.units import UIN_M, UNIT_M

Array = NDArray[np.float64]
Table = NDArray[np.float32]

RMS_OVER_RA: Final = 1.2533141373155001  # sqrt(pi / 2), a Gaussian surface
FILM_CAP_EXPONENT: Final = 0.64  # isoviscous-elastic film ~ viscosity^0.64 (Johnson, from memory)
FILM_CAP_VISCOSITY_PAS: Final = 0.030
LOAD_SHARING: Final = ("supply", "contact")
# Oil between touching rough surfaces fills their valleys: it is sheared over no less than this gap,
# one unit, a fifth of the rms of a usual cover on a usual lane (assumed; matters below 3 units only).
LEAST_GAP_M: Final = 1.0 * UNIT_M

DRAG_FILM_MAX: Final = 256.0  # effective film k_s h [units]
FILM_STEP: Final = 0.25  # of the drag table; the bare table has BARE_FINER nodes for each [units]
SLIP_MAX: Final = 12.0  # [m/s]
SLIP_STEP: Final = 0.2
BARE_FILM_MAX: Final = 128.0


def boundary_film_m(ball_uin: float, lane_uin: float, mixture: Mixture, c_a: float) -> float:
    """h_a, the film at which the asperities of ball and lane (Ra in microinch) lose touch. [m]"""
    rms = RMS_OVER_RA * math.hypot(ball_uin, lane_uin) * UIN_M
    return c_a * mixture.boundary_factor * rms


def entrainment_factor(speed_mps: ArrayLike, rim_mps: ArrayLike) -> Array:
    """k_s = 2V/(V + u_ball): u_ball is the rim's velocity along the ball's travel, floored at 0."""
    speed = np.asarray(speed_mps, dtype=np.float64)
    rim = np.maximum(np.asarray(rim_mps, dtype=np.float64), 0.0)
    return np.asarray(2.0 * speed / (speed + rim))


def contact_film_m(effective_m: ArrayLike, viscosity_pas: float, h_f0_m: float) -> Array:
    """h_v: the film in the contact, k_s h when starved, capped at h_f by the flow. [m]"""
    film = np.asarray(effective_m, dtype=np.float64)
    cap = h_f0_m * (viscosity_pas / FILM_CAP_VISCOSITY_PAS) ** FILM_CAP_EXPONENT
    return np.asarray(film / np.sqrt(1.0 + (film / cap) ** 2))


def drag_share(
    effective_m: ArrayLike,
    slip_mps: ArrayLike,
    mixture: Mixture,
    *,
    mu_dry: float,
    temperature_c: float,
    constants: FrictionConstants,
) -> Array:
    """y = x/(1+x) at an effective film k_s h [m] and a slip [m/s]; 0 at no slip."""
    eta0 = mixture.viscosity_pas(temperature_c)
    film = contact_film_m(effective_m, eta0, constants.h_f0_m)
    slip = np.asarray(slip_mps, dtype=np.float64)
    gap = np.hypot(film, LEAST_GAP_M)
    eta = eta0 * thinning(slip / gap, mixture.base_share, mixture.critical_rate_per_s)
    shear = constants.drag_c * eta * slip
    load = constants.pressure_pa * mu_dry * gap
    return np.asarray(shear / (shear + load))


def bare_share(film_m: ArrayLike, boundary_m: float) -> Array:
    """phi = (1 + h/h_a)^-2, the share of the load on asperities. [m, m]"""
    return np.asarray((1.0 + np.asarray(film_m, dtype=np.float64) / boundary_m) ** -2.0)


def _in_contact(constants: FrictionConstants) -> bool:
    if constants.load_sharing not in LOAD_SHARING:
        got = constants.load_sharing
        raise InputError(f"load_sharing must be one of {', '.join(LOAD_SHARING)}; got {got!r}")
    return constants.load_sharing == "contact"


def friction(
    film_m: ArrayLike,
    slip_mps: ArrayLike,
    *,
    speed_mps: ArrayLike,
    rim_mps: ArrayLike,
    mixture: Mixture,
    mu_dry: float,
    ball_roughness_uin: float,
    lane_roughness_uin: float,
    temperature_c: float = 21.0,
    constants: FrictionConstants | None = None,
) -> Array:
    """Friction coefficient by the exact law (module docstring), broadcast over its arrays.

    Parameters
    ----------
    film_m : film on the lane. [m]
    slip_mps : slip of the contact point over the lane. [m/s]
    speed_mps : speed of the ball's centre, above 0. [m/s]
    rim_mps : the rim's velocity component along the ball's travel. [m/s]
    """
    c = constants or FrictionConstants()
    film = np.asarray(film_m, dtype=np.float64)
    effective = entrainment_factor(speed_mps, rim_mps) * film
    eta0 = mixture.viscosity_pas(temperature_c)
    edge = boundary_film_m(ball_roughness_uin, lane_roughness_uin, mixture, c.c_a)
    carrying = contact_film_m(effective, eta0, c.h_f0_m) if _in_contact(c) else film
    phi = bare_share(carrying, edge)
    y = drag_share(
        effective, slip_mps, mixture, mu_dry=mu_dry, temperature_c=temperature_c, constants=c
    )
    return np.asarray(mu_dry * (1.0 - (1.0 - phi) * (1.0 - y)))


@dataclass(frozen=True, eq=False)
class FrictionTable:
    """The law on uniform grids, for one ball cover on one lane; what the path kernel reads.

    ``drag[mix, i, j]`` is y at effective film k_s h = i * film_step and slip = j * slip_step;
    ``bare[mix, i]`` is phi at film h = i * film_step / BARE_FINER, or at k_s h if ``bare_effective``;
    mu = mu_dry (phi (1 - y) + y), both linear between nodes, the last node holding beyond.
    """

    mu_dry: float
    drag: Table  # (mixes, films, slips)
    bare: Table  # (mixes, films)
    film_step: float  # [units]
    slip_step: float  # [m/s]
    bare_effective: bool

    def mu(
        self, film_units: ArrayLike, slip_mps: ArrayLike, k_s: ArrayLike, mix: ArrayLike = 0
    ) -> Array:
        """Friction by table lookup, the numpy twin of the kernel's. [units, m/s]"""
        film = np.asarray(film_units, dtype=np.float64)
        effective = film * np.asarray(k_s, dtype=np.float64)
        which = np.asarray(mix, dtype=np.int64)
        d = self.drag
        i, a = _place(effective, self.film_step, d.shape[1])
        j, b = _place(np.asarray(slip_mps, dtype=np.float64), self.slip_step, d.shape[2])
        low = d[which, i, j] * (1.0 - b) + d[which, i, j + 1] * b
        high = d[which, i + 1, j] * (1.0 - b) + d[which, i + 1, j + 1] * b
        y = low * (1.0 - a) + high * a
        carrying = effective if self.bare_effective else film
        n, c = _place(carrying, self.film_step / BARE_FINER, self.bare.shape[1])
        phi = self.bare[which, n] * (1.0 - c) + self.bare[which, n + 1] * c
        return np.asarray(self.mu_dry * (phi * (1.0 - y) + y))


def _place(value: Array, step: float, nodes: int) -> tuple[NDArray[np.int64], Array]:
    scaled = np.clip(value / step, 0.0, nodes - 1.0)
    index = np.minimum(scaled.astype(np.int64), nodes - 2)
    return index, scaled - index


def build_table(
    mixtures: Sequence[Mixture],
    *,
    mu_dry: float,
    ball_roughness_uin: float,
    lane_roughness_uin: float,
    temperature_c: float,
    constants: FrictionConstants,
) -> FrictionTable:
    """Tabulate the law for every mix of a lane.

    Within 5e-4 of the law in mu for legal oils and covers and the shipped constants (tested) wherever
    the ball still slides, from 0.02 m/s of slip on.
    """
    c = constants
    films = np.arange(0.0, DRAG_FILM_MAX + 0.5 * FILM_STEP, FILM_STEP) * UNIT_M
    contact = _in_contact(c)
    top = DRAG_FILM_MAX if contact else BARE_FILM_MAX
    finer = FILM_STEP / BARE_FINER
    bares = np.arange(0.0, top + 0.5 * finer, finer) * UNIT_M
    slips = np.arange(0.0, SLIP_MAX + 0.5 * SLIP_STEP, SLIP_STEP)
    # On a bare lane phi is 1 and y is not asked for: its first node is set so that half a step is exact.
    # y rises bending from no slip: that node is set so that the bend is missed alike either side.
    asked, slid = films.copy(), slips.copy()
    asked[0], slid[0] = 0.5 * films[1], 0.5 * slips[1]
    drag = np.empty((len(mixtures), len(films), len(slips)), np.float32)
    bare = np.zeros((len(mixtures), len(bares)), np.float32)
    for k, mixture in enumerate(mixtures):
        drag[k] = drag_share(
            asked[:, None],
            slid[None, :],
            mixture,
            mu_dry=mu_dry,
            temperature_c=temperature_c,
            constants=c,
        )
        drag[k, 0] = 2.0 * drag[k, 0] - drag[k, 1]
        drag[k, :, 0] -= 0.5 * drag[k, :, 1]
        edge = boundary_film_m(ball_roughness_uin, lane_roughness_uin, mixture, c.c_a)
        eta0 = mixture.viscosity_pas(temperature_c)
        bare[k] = bare_share(contact_film_m(bares, eta0, c.h_f0_m) if contact else bares, edge)
    return FrictionTable(mu_dry, drag, bare, FILM_STEP, SLIP_STEP, contact)
