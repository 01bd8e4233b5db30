"""Held-out scores of library rows."""

import numpy as np
import pytest

from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.learning import held_out, learning_curve, slip_effect
from leaguesim.pins.spec import FULL_RACK


@pytest.fixture(scope="module")
def rows():
    return CarryLibrary.load().rows


def test_more_rows_foretell_better(rows):
    n = len(rows["mask"])
    few, some, many = learning_curve(rows, [n // 16, n // 4, n])
    assert few.rows < some.rows < many.rows == n - int(0.2 * n)
    assert few.strike_brier > some.strike_brier > many.strike_brier
    assert few.pins_rms > many.pins_rms


def test_a_forecast_beats_the_mean_strike_rate(rows):
    order = np.random.default_rng(0).permutation(len(rows["mask"]))
    half = len(order) // 2
    score = held_out(rows, order[:half], order[half:])
    struck = rows["mask"][order[half:]] == FULL_RACK
    assert score.strike_brier < 0.75 * struck.mean() * (1 - struck.mean())


def test_slip_on_arrival_hardly_matters(rows):
    slope, se = slip_effect(rows)
    assert se < 0.05
    assert abs(slope) < 0.05 + 3 * se
