"""Wear against outside figures that the model meets; misses are told by ``validate``."""

import numpy as np
import pytest

from leaguesim.outside import bowlers_checks
from leaguesim.outside.figures import figures


@pytest.fixture(scope="module")
def wear():
    rows = bowlers_checks._wear_checks(figures("bowlers")["wear"])
    return {row.name.split(",")[0]: row for row in rows}


def test_little_traffic_wears_little_and_dry_balls_carry_more(wear):
    assert wear["wear: oil lost left of board 29 against right of board 21"].verdict == "pass"
    assert wear["wear: oil carried past the pattern"].verdict == "pass"


def test_a_line_through_points_is_read_where_asked():
    x = np.array([100.0, 150.0, 200.0])
    assert bowlers_checks._at(x, 2.0 * x + 3.0, 149.0) == pytest.approx(301.0)
