"""Properties of film and friction that must hold for any parameters."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from leaguesim.ball.values import dry_friction_from_roughness
from leaguesim.lane.film import band_units, readings_units, volume_ml
from leaguesim.lane.friction import build_table, entrainment_factor, friction
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import CONTACT_CONSTANTS, Band, Conditioner, FrictionConstants, Readings
from leaguesim.units import UNIT_M

AMBER = (("amber", 1.0),)
TABLE_ERROR = 5e-4


def _floats(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def laws(draw, sharing=("supply", "contact"), base_share=None):
    """Keyword arguments of ``friction`` for a random oil, cover, lane and constants."""
    rho = draw(_floats(0.05, 1.0)) if base_share is None else base_share
    oil = Conditioner(
        "oil",
        viscosity_mpas=draw(_floats(8.0, 120.0)),
        base_share=rho,
        critical_rate_per_s=10.0 ** draw(_floats(4.0, 8.0)),
        boundary_factor=draw(_floats(0.5, 2.0)),
    )
    constants = FrictionConstants(
        c_a=draw(_floats(1.0, 4.0)),
        drag_c=draw(_floats(0.5, 8.0)),
        h_f0_m=draw(_floats(2e-6, 20e-6)),
        load_sharing=draw(st.sampled_from(sharing)),
    )
    return {
        "oil": oil,
        "mu_dry": draw(_floats(0.05, 0.32)),
        "ball_roughness_uin": draw(_floats(3.0, 50.0)),
        "lane_roughness_uin": draw(_floats(5.0, 30.0)),
        "temperature_c": draw(_floats(10.0, 35.0)),
        "constants": constants,
    }


def _mu(film_units, slip, law, k_s=1.4):
    kept = {k: v for k, v in law.items() if k != "oil"}
    return friction(
        np.asarray(film_units) * UNIT_M,
        slip,
        speed_mps=8.0,
        rim_mps=8.0 * (2.0 / k_s - 1.0),
        mixture=mixture_of(law["oil"]),
        **kept,
    )


@given(laws(), _floats(0.0, 12.0))
def test_a_bare_lane_gives_dry_friction_and_oil_never_more(law, slip):
    # Friction falls linearly where oil begins, on the smoothest surfaces by more than itself in a fifth of a unit.
    film = np.concatenate([[0.0], np.geomspace(1e-12, 200.0, 300)])
    mu = _mu(film, slip, law)
    assert mu[0] == law["mu_dry"]
    assert abs(mu[1] - law["mu_dry"]) < 1e-9
    assert (mu <= law["mu_dry"]).all()
    assert (mu >= 0.0).all()
    assert (mu > 0.0).all() or slip < 1e-6


@given(laws(), _floats(0.0, 12.0))
def test_friction_falls_with_film(law, slip):
    mu = _mu(np.linspace(0.0, 150.0, 400), slip, law)
    assert (np.diff(mu) <= 1e-15).all()


@given(laws(), _floats(0.01, 120.0))
def test_friction_rises_with_slip_at_fixed_entrainment(law, film):
    mu = _mu(film, np.linspace(0.0, 12.0, 200), law)
    assert (np.diff(mu) >= -1e-15).all()


@given(laws(sharing=("supply",)), _floats(0.01, 120.0), _floats(0.01, 12.0), _floats(1.01, 3.0))
def test_friction_rises_with_viscosity(law, film, slip, factor):
    thick = replace(law["oil"], viscosity_mpas=law["oil"].viscosity_mpas * factor)
    assert _mu(film, slip, {**law, "oil": thick}) >= _mu(film, slip, law)


def test_on_contact_film_a_thicker_oil_can_lower_friction():
    """Stated, not wanted: there a thicker oil lifts a rough ball off, which outweighs its drag."""
    law = {
        "oil": Conditioner("oil", viscosity_mpas=15.0),
        "mu_dry": 0.2,
        "ball_roughness_uin": 50.0,
        "lane_roughness_uin": 15.0,
        "temperature_c": 21.0,
        "constants": CONTACT_CONSTANTS,
    }
    thick = {**law, "oil": replace(law["oil"], viscosity_mpas=30.0)}
    assert _mu(15.0, 1.0, thick) < _mu(15.0, 1.0, law)
    supply = {"constants": FrictionConstants()}
    assert _mu(15.0, 1.0, {**thick, **supply}) > _mu(15.0, 1.0, {**law, **supply})


@given(laws(base_share=1.0), _floats(0.5, 120.0), _floats(0.5, 12.0), _floats(0.05, 0.95))
def test_thinning_lowers_friction_against_a_plain_oil_of_the_same_viscosity(law, film, slip, rho):
    thinned = replace(law["oil"], base_share=rho)
    assert _mu(film, slip, {**law, "oil": thinned}) < _mu(film, slip, law)


@settings(max_examples=40)
@given(
    st.tuples(_floats(12.0, 81.0), _floats(0.05, 1.0), _floats(4.0, 8.0)),
    st.tuples(_floats(5.0, 50.0), _floats(10.0, 30.0), _floats(15.0, 30.0), _floats(0.8, 1.2)),
    st.sampled_from([FrictionConstants(), CONTACT_CONSTANTS]),
    st.integers(0, 2**32 - 1),
)
def test_the_table_is_within_its_stated_error(oil, contact, constants, seed):
    """Any oil within the legal viscosity, any cover on any lane, the shipped constants."""
    rng = np.random.default_rng(seed)
    film = np.where(rng.random(3000) < 0.5, rng.uniform(0, 6, 3000), rng.uniform(0, 110, 3000))
    slip = rng.uniform(0, 11, 3000) * rng.choice([1.0, 0.1], 3000)
    rim = 8.0 * (2.0 / rng.uniform(0.9, 2.0, 3000) - 1.0)
    mixture = mixture_of(
        Conditioner("oil", oil[0], base_share=oil[1], critical_rate_per_s=10.0 ** oil[2])
    )
    kept = {
        "ball_roughness_uin": contact[0],
        "lane_roughness_uin": contact[1],
        "temperature_c": contact[2],
        "mu_dry": contact[3] * dry_friction_from_roughness(contact[0]),
        "constants": constants,
    }
    table = build_table([mixture], **kept)
    exact = friction(film * UNIT_M, slip, speed_mps=8.0, rim_mps=rim, mixture=mixture, **kept)
    found = table.mu(film, slip, entrainment_factor(8.0, rim))
    assert np.abs(found - exact).max() < TABLE_ERROR


HALF_BOARDS = st.integers(2, 78).map(lambda n: n / 2)


@given(HALF_BOARDS, HALF_BOARDS, _floats(0.0, 59.0), _floats(0.05, 60.0), _floats(0.01, 60.0))
def test_a_band_keeps_its_volume_and_its_mirror_its_bits(one, other, start, length, volume):
    low, high = min(one, other), max(one, other)
    end = min(start + length, 60.0)
    film = band_units(Band(start, end, low, high, volume, AMBER))
    mirror = band_units(Band(start, end, 40.0 - high, 40.0 - low, volume, AMBER))
    assert np.array_equal(film[:, ::-1], mirror)
    assert abs(volume_ml(film) / volume - 1.0) < 1e-9
    assert volume_ml(film) == volume_ml(mirror)
    assert (film >= 0.0).all()


@given(
    st.lists(
        st.tuples(st.sampled_from([2.0, 15.0, 31.5, 42.0]), st.integers(1, 39), _floats(0.1, 90.0)),
        min_size=3,
        max_size=20,
        unique_by=lambda r: (r[0], r[1]),
    ).filter(lambda rows: len({r[0] for r in rows}) > 1)
)
def test_readings_stay_within_what_was_read_and_mirror_their_bits(rows):
    distance, board, units = zip(*rows, strict=True)
    grid, _ = readings_units(Readings(distance, board, units, AMBER))
    mirror, _ = readings_units(Readings(distance, tuple(40 - b for b in board), units, AMBER))
    assert np.array_equal(grid[:, ::-1], mirror)
    assert grid[:60].min() >= min(units) * (1 - 1e-12)
    assert grid[:60].max() <= max(units) * (1 + 1e-12)
