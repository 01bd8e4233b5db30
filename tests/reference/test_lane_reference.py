"""Lane, oil and viscosity against the figures of ``outside/lane.toml`` and an outside package."""

import math

import pytest
from chemicals import utils as chemical_utils
from chemicals import viscosity as chemical_viscosity

from leaguesim.lane.friction import entrainment_factor, friction
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Conditioner
from leaguesim.lane.viscosity import blend_logarithmic, law_from_two_points
from leaguesim.outside.figures import figures, unsourced
from leaguesim.outside.lane_checks import lane_checks
from leaguesim.units import UNIT_M

DATA = figures("lane")


@pytest.mark.parametrize("check", lane_checks(), ids=lambda c: c.name)
def test_lane_check(check):
    assert check.verdict == "pass", f"{check.expected} expected, {check.model} found"


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


@pytest.mark.parametrize("oil", DATA["viscosity_index"], ids=lambda o: str(o["index"]))
def test_the_temperature_law_keeps_an_oils_viscosity_index(oil):
    """Law through 50 and 90 C of the law through 40 and 100 C: the index comes back."""
    first = law_from_two_points(40.0, oil["at_40c_mm2ps"], 100.0, oil["at_100c_mm2ps"])
    law = law_from_two_points(50.0, first.kinematic_mm2ps(50.0), 90.0, first.kinematic_mm2ps(90.0))
    index = chemical_viscosity.viscosity_index(
        law.kinematic_mm2ps(40.0) * 1e-6, law.kinematic_mm2ps(100.0) * 1e-6, rounding=True
    )
    assert index == oil["index"]


def test_logarithmic_blend_agrees_with_the_outside_package():
    shares, nu = DATA["blend"]["shares"], DATA["blend"]["mm2ps"]
    expected = chemical_utils.mixing_logarithmic(shares, nu)
    assert blend_logarithmic(list(zip(shares, nu, strict=True))) == pytest.approx(
        expected, rel=1e-12
    )


def test_friction_law_in_plain_arithmetic():
    """The law of the design written out with ``math`` alone, one oil, one ball."""
    eta0, rho, rate_c, mu_d, slip, film = 0.05, 0.4, 1e6, 0.21, 5.0, 14.0 * UNIT_M
    oil = mixture_of(
        Conditioner(
            "o", viscosity_mpas=50, viscosity_at_c=21, base_share=rho, critical_rate_per_s=rate_c
        )
    )
    k_s = 2 * 8.0 / (8.0 + 3.0)
    assert entrainment_factor(8.0, 3.0) == pytest.approx(k_s)
    h_f = 8e-6 * (eta0 / 0.030) ** 0.64
    h_v = k_s * film / math.sqrt(1 + (k_s * film / h_f) ** 2)
    h_a = 2.0 * math.sqrt(math.pi / 2) * math.hypot(30, 15) * 0.0254e-6
    gap = math.hypot(h_v, 1.0 * UNIT_M)
    eta = eta0 * (rho + (1 - rho) / (1 + (slip / gap / rate_c) ** 0.8))
    x = 2.0 * eta * slip / (7.2e6 * gap * mu_d)
    for sharing, h in (("supply", film), ("contact", h_v)):
        phi = (1 + h / h_a) ** -2
        from leaguesim.lane.values import FrictionConstants

        got = friction(
            film,
            slip,
            speed_mps=8.0,
            rim_mps=3.0,
            mixture=oil,
            mu_dry=mu_d,
            ball_roughness_uin=30,
            lane_roughness_uin=15,
            temperature_c=21.0,
            constants=FrictionConstants(2.0, 2.0, 8e-6, 7.2e6, sharing),
        )
        assert float(got) == pytest.approx(mu_d * (phi + x) / (1 + x), rel=1e-12)
