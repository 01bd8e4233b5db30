"""The carry library against the figures of ``outside/pins.toml``; misses are listed, not hidden."""

import pytest

from leaguesim.outside.figures import figures, unsourced
from leaguesim.pins import checks, planar, spec
from leaguesim.pins.carry import CarryLibrary
from leaguesim.units import CENTRE_BOARD, LB_KG

DATA = figures("pins")
# Comparisons that fail today, each printed by the checks as a miss. Taking one off this list when
# it passes is the only way to shorten it.
KNOWN_MISSES = {
    "pins: where a flush ball leaves the deck",
    "pins: good zone at 4 deg",
    "pins: good zone at 6 deg",
    "pins: a lighter ball leaves more corner pins",
}


@pytest.fixture(scope="module")
def rows():
    return checks.pin_checks(DATA)


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


def test_rows_are_complete_and_differently_named(rows):
    assert len({row[0] for row in rows}) == len(rows) >= 25
    for row in rows:
        assert all(isinstance(text, str) and text.strip() for text in row)
        assert row[4] in ("pass", "miss")
        assert row[5] in ("fit", "check")


def test_what_misses_is_exactly_what_is_written_down(rows):
    assert {row[0] for row in rows if row[4] == "miss"} == KNOWN_MISSES


@pytest.mark.parametrize("i", [0, 1])
def test_first_impact(i):
    fact = DATA["first_impact"]
    turn = planar.first_impact_deflection_deg(
        CENTRE_BOARD - fact["contact_board"], fact["entry_deg"],
        ball_kg=fact["ball_lb"][i] * LB_KG, restitution=fact["restitution"],
    )  # fmt: skip
    assert turn == pytest.approx(fact["deflection_deg"][i], abs=0.006)


def test_pin_limits():
    fact = DATA["pin"]
    assert list(spec.PIN_MASS_LB_RANGE) == fact["mass_lb"]
    assert list(spec.PIN_CG_IN_RANGE) == fact["cg_in"]
    assert fact["height_in"] == spec.PIN_HEIGHT_IN
    for cg in fact["cg_in"]:
        low, high = DATA["uniform_pin"]["topple_deg"]
        assert low <= spec.topple_angle_deg(cg) <= high + 0.05


def test_deflection_of_rigid_shots_falls_with_the_balls_mass():
    slope, error = checks.deflection_slope(CarryLibrary.load())
    assert slope < 0, f"{slope:.3f} +/- {error:.3f} boards per kg"
