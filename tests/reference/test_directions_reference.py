"""Directions without numbers from outside, and the sweep over rotation: structure, and that a row can miss.

No verdict on a whole league is asserted here: what misses is told by ``validate``.
"""

import numpy as np
import pytest

from leaguesim.ball.values import Ball
from leaguesim.outside import direction_checks as league_rows
from leaguesim.outside import direction_physics as physics
from leaguesim.outside import league_play, rotation_checks
from leaguesim.outside.check import Check
from leaguesim.outside.figures import figures, unsourced
from leaguesim.outside.reasons import REASONS, reason_for, with_reasons

DATA = figures("directions")
# One row, or more, for each direction that is expected, by words of its name.
EXPECTED = (
    "rolls earlier", "boards to move", "has to be relearned", "goodwill can fall",
    "wide coverage", "narrow coverage", "lower averages suffer",
    "band of arrival speed", "band of arrival angle", "pins off their spots", "oil carried off",
    "a mixture made by hand", "slip at release of six", "shear rate under six", "a thinned oil",
    "durability and friction",
)  # fmt: skip


@pytest.fixture(scope="module")
def physical():
    return physics.physics_checks()


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


def test_rows_that_need_no_league(physical):
    names = [row.name for row in physical]
    assert len(set(names)) == len(names) == 7
    assert all(row.use == "check" for row in physical)
    by = {row.name: row for row in physical}
    for words in EXPECTED[11:]:
        (row,) = (by[n] for n in names if words in n)
        assert row.verdict == "pass", row


@pytest.mark.slow
def test_every_direction_has_its_row_with_its_size(physical):
    rows = [*league_rows.direction_checks(), *physical]
    for words in EXPECTED:
        assert sum(words in row.name for row in rows) == 1, words
    assert len(rows) == len(EXPECTED)
    for row in rows:
        assert row.name.startswith("direction: ")
        assert row.use == "check"
        assert any(c.isdigit() for c in row.model), row.name


@pytest.mark.slow
def test_the_sweep_over_rotation():
    rows = rotation_checks.rotation_checks()
    assert len(rows) == 8
    assert all(row.name.startswith("rotation: ") and row.use == "check" for row in rows)
    swept = [row.model for row in rows if "10, 20, 30, 40, 50, 60, 70 deg" in row.model]
    assert len(swept) == 6


def test_slips_in_plain_arithmetic():
    """19 mph, 520 rpm, 45 deg: two right-angled parts of the velocity at the lane."""
    ball = Ball()
    v = 19 * 0.44704
    u = 520 / 60 * np.pi * ball.diameter_in * 0.0254
    wanted = np.hypot(v - u * np.sqrt(0.5), u * np.sqrt(0.5))
    assert physics.slip_mps(19.0, 520.0, 45.0, ball) == pytest.approx(wanted, rel=1e-12)


def test_a_direction_needs_two_standard_errors():
    assert league_rows.above(2.1, 1.0)
    assert not league_rows.above(1.9, 1.0)
    assert not league_rows.above(-3.0, 1.0)
    assert not league_rows.above(0.0, 0.0)


def test_rows_can_miss(monkeypatch):
    """A ball that slips otherwise, an oil whose wear follows its friction, oil that thickens by shear."""
    monkeypatch.setattr(physics, "rim_speed", lambda rpm, tilt, ball: 1.0)
    assert physics._slip_row(DATA["slip"]).verdict == "miss"
    monkeypatch.undo()
    own = physics.wear_shares

    def tied(ball, oils):
        take, kept, lay = own(ball, oils)
        return take * oils[0].viscosity_pas(21.0), kept, lay

    monkeypatch.setattr(physics, "wear_shares", tied)
    assert physics._separate_row(DATA["separate"]).verdict == "miss"
    thick = {**DATA["shear"], "base_share": 1.0}
    assert physics._shear_rows(thick, DATA["slip"]["shots"])[1].verdict == "miss"


def test_figures_over_bowlers():
    x = np.array([1.0, 2.0, 3.0, np.nan])
    mean, se = league_play.mean_of(x)
    assert (mean, se) == pytest.approx((2.0, 1.0 / np.sqrt(3.0)))
    values = np.array([1.0, 3.0, 10.0, 14.0])
    first = np.array([True, True, False, False])
    assert league_play.gap(values, first, ~first) == pytest.approx((-10.0, np.hypot(1.0, 2.0)))
    slope, se = league_play.slope_of(np.arange(5.0), 2.0 * np.arange(5.0) + 1.0)
    assert slope == pytest.approx(2.0)
    assert se == pytest.approx(0.0, abs=1e-12)


def test_lanes_are_what_their_names_say():
    house = league_play._lanes()["house"]()
    made = {name: make() for name, make in league_play._lanes().items()}
    for name in ("grip", "wide", "narrow", "abrupt"):
        assert made[name].volume_ml() == pytest.approx(house.volume_ml(), rel=1e-9), name
    assert made["long"].volume_ml() == pytest.approx(1.25 * house.volume_ml(), rel=1e-9)
    at = {name: lane.crosswise_ratio(20.0)[1] for name, lane in made.items()}
    assert at["wide"] < at["house"] < at["narrow"]
    assert at["abrupt"] == pytest.approx(DATA["abrupt"]["ratio"], rel=1e-9)
    row = made["abrupt"].film[20]
    assert row[9] / row[8] == pytest.approx(DATA["abrupt"]["ratio"], rel=1e-9)  # boards 10 and 9


def test_reasons_are_told_only_of_misses():
    name = next(iter(REASONS))
    for verdict, told in (("pass", False), ("miss", True)):
        (row,) = with_reasons([Check(name, "s", "1", "2", verdict)])
        assert (". Why: " in row.model) is told
    (row,) = with_reasons([Check("path: no such row", "s", "1", "2", "miss")])
    assert row.model == "2"
    assert reason_for("no such row") is None
