"""Film laid down by bands and rebuilt from readings: amounts, places, refusals."""

import numpy as np
import pytest

from leaguesim.errors import InputError
from leaguesim.lane.film import ROWS, band_units, bands_film, interpolate, readings_units, volume_ml
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition, Conditioner, Readings
from leaguesim.units import BOARDS, CELLS_FT, UNIT_ML_PER_CELL

AMBER = (("amber", 1.0),)
HALVES = (("amber", 0.5), ("slate", 0.5))


def test_one_board_one_foot_is_one_cell():
    film = band_units(Band(7, 8, 12, 12, 3 * UNIT_ML_PER_CELL, AMBER))
    assert film.shape == (ROWS, BOARDS)
    assert film[7, 11] == pytest.approx(3.0, rel=1e-14)
    assert np.count_nonzero(film) == 1


def test_fractional_ends_spread_over_the_cells_they_cut():
    film = band_units(Band(1.25, 3.5, 4.5, 6, 2.25 * 2.5 * UNIT_ML_PER_CELL, AMBER))
    expected_feet = [0.0, 0.75, 1.0, 0.5, 0.0]
    expected_boards = [0.0, 0.5, 1.0, 1.0, 0.0]  # edges 4.0 and 6.5: half of board 4, 5, 6
    np.testing.assert_allclose(
        film[:5, 2:7], np.outer(expected_feet, expected_boards), rtol=1e-14, atol=0
    )


def test_shares_split_the_volume_by_conditioner():
    film = bands_film(
        [Band(0, 40, 1, 39, 20.0, (("slate", 0.25), ("amber", 0.75)))], ["amber", "slate"]
    )
    assert volume_ml(film[0]) == pytest.approx(15.0, rel=1e-12)
    assert volume_ml(film[1]) == pytest.approx(5.0, rel=1e-12)


@pytest.mark.parametrize(
    ("band", "words"),
    [
        (Band(-1, 40, 1, 39, 5, AMBER), "0 <= from < to <= 60"),
        (Band(0, 61, 1, 39, 5, AMBER), "0 <= from < to <= 60"),
        (Band(10, 10, 1, 39, 5, AMBER), "0 <= from < to <= 60"),
        (Band(0, 40, 0, 39, 5, AMBER), "1 <= from <= to <= 39"),
        (Band(0, 40, 20, 10, 5, AMBER), "1 <= from <= to <= 39"),
        (Band(0, 40, 1, 39, 0, AMBER), "above 0 mL"),
        (Band(0, 40, 1, 39, -2, AMBER), "above 0 mL"),
        (Band(0, float("nan"), 1, 39, 5, AMBER), "finite"),
        (Band(0, 40, 1, 39, 5, (("umber", 1.0),)), "unknown conditioner 'umber'"),
        (Band(0, 40, 1, 39, 5, (("amber", 0.9),)), "add up to 1"),
        (Band(0, 40, 1, 39, 5, (("amber", 1.5), ("slate", -0.5))), "from 0 to 1"),
    ],
)
def test_bad_bands_are_refused_and_named(band, words):
    with pytest.raises(InputError, match=words) as caught:
        bands_film([Band(0, 40, 1, 39, 5, AMBER), band], ["amber", "slate"], owner="dry run")
    assert str(caught.value).startswith("dry run: band 2")


def _readings(rows):
    distance, board, units = zip(*rows, strict=True)
    return Readings(distance, board, units, AMBER)


def test_readings_are_interpolated_both_ways_and_held_across():
    grid, notes = readings_units(
        _readings([(0, 10, 10), (0, 20, 30), (40, 10, 20), (40, 20, 40), (45, 20, 0)])
    )
    assert notes == ()
    middle = 0.5 / 40.0  # cell 0 is read at 0.5 ft
    assert grid[0, 9] == pytest.approx(10 + 10 * middle)
    assert grid[0, 14] == pytest.approx(20 + 10 * middle)
    assert grid[0, 0] == grid[0, 9]
    assert grid[0, 38] == grid[0, 19]
    assert grid[42, 19] == pytest.approx(40 * 2.5 / 5)
    assert not grid[45:].any()


def test_readings_that_end_with_oil_are_held_to_the_head_pin_and_say_so():
    grid, notes = readings_units(_readings([(2, 20, 30), (38, 20, 12)]))
    assert (grid[38:CELLS_FT] == 12).all()
    assert (grid[:2] == 30).all()
    assert not grid[CELLS_FT:].any()
    assert "end at 38 ft" in notes[0]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([(10, 5, 3), (10, 20, 3)], "two distances"),
        ([(10, 5, 3), (10, 5, 4), (30, 5, 1)], "same board"),
        ([(10, 5, -3), (30, 5, 1)], "negative"),
        ([(10, 0, 3), (30, 5, 1)], "board must be"),
        ([(10, 5, 3), (70, 5, 1)], "distance_ft must be"),
        ([(10, 5, 0), (30, 5, 0)], "some oil"),
        ([(10, 5, float("inf")), (30, 5, 1)], "finite"),
    ],
)
def test_bad_readings_are_refused(rows, words):
    with pytest.raises(InputError, match=words):
        readings_units(_readings(rows))


def test_interpolate_agrees_with_numpy():
    known = np.array([1.0, 4.0, 11.0, 39.0])
    values = np.array([3.0, 9.0, 0.5, 2.0])
    x = np.linspace(0, 45, 181)
    np.testing.assert_allclose(
        interpolate(x, known, values), np.interp(x, known, values), rtol=1e-13
    )


def test_bands_and_readings_together_are_refused():
    both = Condition(
        "both", bands=(Band(0, 40, 1, 39, 5, AMBER),), readings=_readings([(0, 1, 1), (9, 1, 1)])
    )
    for condition, words in ((both, "not both"), (Condition("none"), "no application band")):
        with pytest.raises(InputError, match=words):
            Lane.from_condition(condition, [Conditioner("amber")])


def test_readings_reproduce_their_film_and_shares():
    rows = [(d, b, 20.0 - 0.5 * abs(b - 20)) for d in (0, 40) for b in (1, 20, 39)] + [(60, 20, 0)]
    lane = Lane.from_condition(
        Condition("read", readings=Readings(*zip(*rows, strict=True), HALVES)),
        [Conditioner("amber"), Conditioner("slate", viscosity_mpas=60)],
    )
    assert lane.film_units[10, 9] == pytest.approx(15.0)
    assert len(lane.mixtures) == 1
    assert 35 < lane.mixtures[0].viscosity_pas(21.1) * 1e3 < 60
