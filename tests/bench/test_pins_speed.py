"""How long the carry library takes to load and to draw from; processor time,
which a busy machine stretches: run by hand on a quiet one."""

import time

import numpy as np
import pytest

from leaguesim.pins.carry import SHIPPED, CarryLibrary, read_library

pytestmark = pytest.mark.bench


def test_the_file_loads_in_a_tenth_of_a_second(least):
    seconds = least(lambda: read_library(SHIPPED), 5, time.process_time)
    print(f"load {seconds * 1e3:.1f} ms")
    assert seconds < 0.1


def test_a_night_of_draws_costs_under_five_milliseconds(least):
    library, rng, n = CarryLibrary.load(), np.random.default_rng(0), 50_000
    shots = rng.normal(2.2, 1.2, n), rng.normal(4.5, 1.0, n), rng.normal(7.3, 0.4, n), 6.8
    library.draw(*shots, rng)
    seconds = least(lambda: library.draw(*shots, rng), 5, time.process_time) / n
    print(f"draw {seconds * 1e6:.2f} us a shot")
    # The aim is 0.3 us; a busy machine stretches it.
    assert seconds < 1e-6
