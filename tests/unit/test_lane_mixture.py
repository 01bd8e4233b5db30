"""Blends, the grid of mixes, and viscosity laws at their edges."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.lane.mixture import QUANTUM, blend, mix_grid, mixture_of, quantise
from leaguesim.lane.values import Conditioner
from leaguesim.lane.viscosity import (
    TEN_F_K,
    blend_double_log,
    blend_uncertainty,
    law_from_change,
    law_from_two_points,
    thinning,
)

AMBER = Conditioner("amber", viscosity_mpas=28.0)
SLATE = Conditioner(
    "slate", viscosity_mpas=60.0, base_share=0.4, critical_rate_per_s=2e6, density_g_per_ml=0.87
)


def test_a_pure_mixture_keeps_the_data_sheet():
    oil = mixture_of(AMBER)
    assert oil.viscosity_pas(21.1) == pytest.approx(0.028, rel=1e-12)
    assert oil.viscosity_pas(21.1 + TEN_F_K) == pytest.approx(0.028 * 0.78, rel=1e-12)
    assert oil.viscosity_error == 0.0


def test_blending_the_laws_is_blending_at_each_temperature():
    pure = [mixture_of(AMBER), mixture_of(SLATE)]
    mixed = blend(pure, [0.25, 0.75])
    for temperature in (10.0, 21.0, 35.0):
        parts = [
            (s, m.law.kinematic_mm2ps(temperature)) for s, m in zip((0.25, 0.75), pure, strict=True)
        ]
        assert mixed.law.kinematic_mm2ps(temperature) == pytest.approx(
            blend_double_log(parts), rel=1e-12
        )
    assert mixed.base_share == pytest.approx(0.25 + 0.75 * 0.4)
    assert mixed.critical_rate_per_s == pytest.approx(2e6)  # only slate is thickened
    assert mixed.viscosity_error == 0.15


def test_blend_uncertainty_is_plain_polymer_or_none():
    assert blend_uncertainty([0.5, 0.5], [1.0, 1.0]) == 0.05
    assert blend_uncertainty([0.5, 0.5], [1.0, 0.4]) == 0.15
    assert blend_uncertainty([1.0, 0.0], [1.0, 0.4]) == 0.0


def test_quantised_shares_add_up():
    rng = np.random.default_rng(3)
    shares = rng.dirichlet([1, 1, 1], 500)
    parts = quantise(shares)
    assert (parts.sum(axis=1) == QUANTUM).all()
    assert (parts >= 0).all()
    assert np.abs(parts / QUANTUM - shares).max() < 1.0 / QUANTUM


def test_dry_cells_take_the_mix_from_up_the_lane():
    film = np.zeros((2, 6, 3))
    film[0, 1, 0] = 4.0  # amber alone on the first board
    film[:, 2, 1] = 1.0, 3.0
    index, mixes = mix_grid(film, [0.5, 0.5])
    names = [[mixes[k] for k in row] for row in index]
    overall, amber, quarter = (16, 16), (32, 0), (8, 24)
    assert [row[0] for row in names] == [overall] + [amber] * 5
    assert [row[1] for row in names] == [overall] * 2 + [quarter] * 4
    assert [row[2] for row in names] == [overall] * 6


@pytest.mark.parametrize(
    "change",
    [
        {"viscosity_mpas": 0.0},
        {"viscosity_mpas": float("nan")},
        {"density_g_per_ml": 2.0},
        {"base_share": 1.2},
        {"left_behind": -0.1},
        {"viscosity_change_per_10f": 0.1},
    ],
)
def test_impossible_conditioners_are_refused(change):
    with pytest.raises(InputError):
        mixture_of(Conditioner("x", **change))


def test_laws_refuse_a_viscosity_that_does_not_fall():
    with pytest.raises(InputError, match="fall"):
        law_from_two_points(20, 30, 40, 31)
    with pytest.raises(InputError, match="change per"):
        law_from_change(20, 30, 0.0)
    with pytest.raises(InputError, match="adding up to 1"):
        blend([mixture_of(AMBER), mixture_of(SLATE)], [0.5, 0.6])


def test_thinning_has_its_limits_and_stress_rises():
    rate = np.geomspace(1.0, 1e12, 400)
    factor = thinning(rate, 0.3, 1e6)
    assert factor[0] == pytest.approx(1.0, abs=1e-4)
    assert factor[-1] == pytest.approx(0.3, abs=1e-4)
    assert thinning(np.array(1e6), 0.3, 1e6) == pytest.approx(0.65)
    assert (np.diff(factor) < 0).all()
    assert (np.diff(rate * factor) > 0).all()
