"""The lane's kernels against their plain twins: table lookup, film under the ball, oil kept count of."""

import numpy as np
import pytest

from leaguesim.lane import CONTACT_CONSTANTS, Band, Condition, Conditioner, FrictionConstants, Lane
from leaguesim.lane._kernel import film_at, table_mu, wear_track
from leaguesim.lane.arrays import kernel_film, kernel_table
from leaguesim.lane.film import ROWS
from leaguesim.units import BOARDS, UNIT_M

OILS = [Conditioner("amber"), Conditioner("slate", viscosity_mpas=60.0, base_share=0.4)]
CONDITION = Condition(
    "slanted",
    bands=(
        Band(0, 40, 1, 39, 8.0, (("amber", 1.0),)),
        Band(0, 30, 4, 22, 9.0, (("amber", 0.5), ("slate", 0.5))),
    ),
)


def _lane(constants):
    return Lane.from_condition(CONDITION, OILS, constants=constants)


@pytest.mark.parametrize("constants", [FrictionConstants(), CONTACT_CONSTANTS])
def test_the_kernel_looks_up_what_its_twin_does(constants):
    lane = _lane(constants)
    table = lane.friction_table(30.0, 0.2)
    arrays = kernel_table(lane, 30.0, 0.2)
    rng = np.random.default_rng(11)
    film, slip, k_s = rng.uniform(0, 140, 800), rng.uniform(0, 13, 800), rng.uniform(1, 2, 800)
    mix = rng.integers(0, len(lane.mixtures), 800)
    assert len(lane.mixtures) > 1
    found = [
        table_mu(
            arrays.drag,
            arrays.bare,
            mix[i],
            0.2,
            film[i] * UNIT_M,
            film[i] * k_s[i] * UNIT_M,
            slip[i],
            arrays.per_film,
            arrays.per_slip,
            arrays.effective,
        )
        for i in range(800)
    ]
    np.testing.assert_allclose(found, table.mu(film, slip, k_s, mix), rtol=0, atol=1e-7)


def test_the_film_under_the_ball_is_linear_and_mirrors():
    lane = _lane(FrictionConstants())
    film, mix = kernel_film(lane)
    other, _ = kernel_film(lane.mirrored())
    assert film.shape == mix.shape == (ROWS, BOARDS + 2)
    for board in (0.6, 1.0, 3.75, 20.0, 38.5, 39.4):
        h, column = film_at(film, 12, board, 0, 1)
        expected = np.interp(board, np.arange(1, 40), lane.film[12]) * UNIT_M
        assert h == pytest.approx(expected, rel=1e-12)
        assert abs(column - board) <= 0.5
        assert film_at(other, 12, board, 40, -1)[0] == h


def test_worn_oil_is_on_the_lane_on_the_ball_or_in_it():
    film, mix = kernel_film(_lane(FrictionConstants()))
    before = film[:, 1:40].sum()
    rng = np.random.default_rng(4)
    take, kept = np.array([0.3, 0.2, 0.1]), np.array([0.5, 0.3, 0.9])
    ledger = np.zeros(2)
    for start, step in ((0, 1), (40, -1)) * 25:
        boards = np.clip(20 + np.cumsum(rng.normal(0, 0.6, ROWS)), 0.5, 39.49)
        wear_track(film, mix, boards, 60, start, step, take, kept, 0.1, ledger)
    assert film[:, 1:40].sum() + ledger.sum() == pytest.approx(before, rel=1e-12)
    assert (film >= 0).all()
    assert ledger.min() > 0
    assert film[45:60, 1:40].sum() > 0  # carried down the dry lane
    assert np.array_equal(film[:60, 0], film[:60, 1])
