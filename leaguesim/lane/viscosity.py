"""Viscosity of conditioners: temperature law, blending rules, density and shear thinning.

Does not model yield, elasticity or the settling of a mixture in storage.  The temperature law is
the Walther equation of ASTM D341; viscosity on a data sheet is dynamic [mPa.s = cP], the laws of
D341 and D7152 are kinematic [mm2/s = cSt]; the density joins them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError

Array = NDArray[np.float64]

KELVIN_AT_0C: Final = 273.15
TEN_F_K: Final = 10.0 / 1.8
WALTHER_OFFSET: Final = 0.7  # ASTM D341 for 2 mm2/s and above
THINNING_EXPONENT: Final = 0.8  # Cross-type law, Cross 1965 (from memory)
BLEND_UNCERTAINTY_PLAIN: Final = 0.05  # published blend studies, see outside/lane.toml
BLEND_UNCERTAINTY_POLYMER: Final = 0.15
PREMIX_CAUTION: Final = (
    "A hand-made mixture of two conditioners may separate in storage, and no maker vouches for it; "
    "two conditioners metered onto the lane one over the other do not have the time to. Follow the "
    "makers' safety data sheets."
)


def kinematic_mm2ps(dynamic_mpas: float, density_g_per_ml: float) -> float:
    """Kinematic viscosity [mm2/s] of a dynamic one [mPa.s] at a density [g/mL]."""
    return dynamic_mpas / density_g_per_ml


def dynamic_mpas(kinematic_mm2ps: float, density_g_per_ml: float) -> float:
    """Dynamic viscosity [mPa.s] of a kinematic one [mm2/s] at a density [g/mL]."""
    return kinematic_mm2ps * density_g_per_ml


def walther(kinematic_mm2ps: float) -> float:
    """Double logarithm log10(log10(nu + 0.7)) of ASTM D341; linear in log10 T, and what blends add."""
    if not (math.isfinite(kinematic_mm2ps) and kinematic_mm2ps > 1.0 - WALTHER_OFFSET):
        raise InputError(f"viscosity: above 0.3 mm2/s is needed, got {kinematic_mm2ps!r}")
    return math.log10(math.log10(kinematic_mm2ps + WALTHER_OFFSET))


def from_walther(value: float) -> float:
    """Kinematic viscosity [mm2/s] of a double logarithm; the inverse of ``walther``."""
    return float(10.0 ** (10.0**value) - WALTHER_OFFSET)


@dataclass(frozen=True)
class TemperatureLaw:
    """ASTM D341: log10 log10(nu + 0.7) = a - b log10(T), nu in mm2/s and T in K."""

    a: float
    b: float
    kelvin_at_0c: float = KELVIN_AT_0C

    def kinematic_mm2ps(self, temperature_c: float) -> float:
        """Kinematic viscosity at a temperature. [mm2/s]"""
        return from_walther(self.a - self.b * math.log10(temperature_c + self.kelvin_at_0c))


def law_from_two_points(
    first_c: float,
    first_mm2ps: float,
    second_c: float,
    second_mm2ps: float,
    *,
    kelvin_at_0c: float = KELVIN_AT_0C,
) -> TemperatureLaw:
    """The D341 law through two points. [deg C, mm2/s]

    Raises
    ------
    InputError : equal temperatures, or a viscosity that does not fall as the oil warms
    """
    if first_c == second_c or min(first_c, second_c) + kelvin_at_0c <= 0.0:
        raise InputError(f"viscosity: two temperatures are needed, got {first_c:g}, {second_c:g}")
    if (second_c - first_c) * (second_mm2ps - first_mm2ps) >= 0.0:
        raise InputError("viscosity: it must fall as the oil warms")
    low, high = math.log10(first_c + kelvin_at_0c), math.log10(second_c + kelvin_at_0c)
    b = (walther(first_mm2ps) - walther(second_mm2ps)) / (high - low)
    return TemperatureLaw(walther(first_mm2ps) + b * low, b, kelvin_at_0c)


def law_from_change(at_c: float, mm2ps: float, change_per_10f: float) -> TemperatureLaw:
    """The D341 law through one point, with the change of viscosity over the next 10 deg F.

    ``change_per_10f`` is a share: -0.22 for 22 % thinner.  The density's own change (under 0.5 %
    in 10 deg F) is left out.
    """
    if not -0.6 <= change_per_10f < 0.0:
        raise InputError(
            f"viscosity: the change per +10 F must be from -0.6 to below 0, got {change_per_10f!r}"
        )
    return law_from_two_points(at_c, mm2ps, at_c + TEN_F_K, mm2ps * (1.0 + change_per_10f))


def _fractions(parts: Sequence[tuple[float, float]]) -> None:
    total = math.fsum(share for share, _ in parts)
    if any(share < 0.0 for share, _ in parts) or abs(total - 1.0) > 1e-9:
        raise InputError(f"blend: volume shares must not be negative and add up to 1, got {total}")


def blend_double_log(parts: Sequence[tuple[float, float]]) -> float:
    """Blend of (volume share, mm2/s) pairs: shares of log10 log10(nu + 0.7), ASTM D7152 type.

    >>> round(blend_double_log([(0.5, 20.0), (0.5, 60.0)]), 2)
    33.33
    """
    _fractions(parts)
    return from_walther(math.fsum(share * walther(nu) for share, nu in parts))


def blend_refutas(parts: Sequence[tuple[float, float]]) -> float:
    """Refutas' blending index, a check on ``blend_double_log``: ln ln(nu + 0.8) by share. [mm2/s]"""
    _fractions(parts)
    index = math.fsum(
        share * (14.534 * math.log(math.log(nu + 0.8)) + 10.975) for share, nu in parts
    )
    return math.exp(math.exp((index - 10.975) / 14.534)) - 0.8


def blend_logarithmic(parts: Sequence[tuple[float, float]]) -> float:
    """Arrhenius' rule, a check on ``blend_double_log``: ln nu by share. [mm2/s]"""
    _fractions(parts)
    return math.exp(math.fsum(share * math.log(nu) for share, nu in parts))


def blend_uncertainty(shares: Sequence[float], base_shares: Sequence[float]) -> float:
    """Relative standard error of a blend's viscosity: 0 unblended, 5 % plain, 15 % with polymer."""
    used = [(s, rho) for s, rho in zip(shares, base_shares, strict=True) if s > 0.0]
    if len(used) < 2:
        return 0.0
    thickened = any(rho < 1.0 for _, rho in used)
    return BLEND_UNCERTAINTY_POLYMER if thickened else BLEND_UNCERTAINTY_PLAIN


def thinning(rate_per_s: Array, base_share: float, critical_rate_per_s: float) -> Array:
    """Viscosity over its zero-shear value: rho + (1 - rho)/(1 + (rate/rate_c)^0.8), Cross type.

    Falls from 1 at rest to the base oil's share rho; stress still rises with rate.
    """
    ratio = np.asarray(rate_per_s, dtype=np.float64) / critical_rate_per_s
    return np.asarray(base_share + (1.0 - base_share) / (1.0 + ratio**THINNING_EXPONENT))
