"""Bowlers against published figures: structure of the rows, their arithmetic, and that they can miss."""

import math

import numpy as np
import pytest

from leaguesim.ball.values import Ball
from leaguesim.lane.mixture import mixture_of
from leaguesim.lane.values import Conditioner
from leaguesim.lane.viscosity import (
    BLEND_UNCERTAINTY_PLAIN,
    BLEND_UNCERTAINTY_POLYMER,
    thinning,
)
from leaguesim.outside import bowlers_checks as crew
from leaguesim.outside import people_checks
from leaguesim.outside.figures import figures, unsourced
from leaguesim.play.crew import wear_shares
from leaguesim.study.sight import SPORT_RATIO
from leaguesim.units import FRICTION_MAX, ROUGHNESS_MAX_UIN

DATA, LANE = figures("people"), figures("lane")


def test_every_figure_has_a_source():
    assert unsourced(DATA) == []


def test_the_range_of_ten_shots_is_that_of_a_normal_law():
    """3.08 standard deviations, by drawing; the angle counts over 15 ft."""
    row, b = DATA["arrows"], crew._person("tweener", 0, "one")
    rng = np.random.default_rng(3)
    feet = rng.normal(0.0, b.laydown_sd_board, (40_000, 10))
    turned = np.tan(np.radians(rng.normal(0.0, b.accuracy_deg, (40_000, 10))))
    at = feet + 15.0 * 12.0 / (41.5 / 39.0) * turned
    assert people_checks.range_at_arrows(b, row) == pytest.approx(
        np.ptp(at, axis=1).mean(), rel=0.01
    )


def test_rows_of_styles_can_miss():
    fast = {**DATA["styles"], "shots": [{"style": "stroker", "mph": 30.0, "rpm": 220.0}]}
    assert people_checks._style_row(fast).verdict == "miss"
    assert people_checks._style_row(DATA["styles"]).verdict == "pass"
    few = {**DATA["left_handed"], "high": 0.05}
    assert people_checks._left_row(few).verdict == "miss"


def test_straight_balls_meet_the_pins_no_steeper_than_geometry_allows():
    row = DATA["straight"]
    assert people_checks._straight_row(row).verdict == "pass"
    assert people_checks._straight_row({**row, "entry_deg": 0.1}).verdict == "miss"
    assert math.degrees(math.atan(0.5 * 41.5 / 720.0)) <= row["entry_deg"]


@pytest.mark.slow
def test_every_published_figure_has_its_row():
    rows = people_checks.people_checks()
    assert len({row.name for row in rows}) == len(rows) == 11
    assert {row.source for row in rows} == {table["source"] for table in DATA.values()}
    assert {row.use for row in rows} == {"check"}


def test_a_contact_grows_with_the_cube_root_of_the_load():
    """Hertz: what a ball takes is as wide as its contact."""
    oil = (mixture_of(Conditioner("check")),)
    light, heavy = (wear_shares(Ball(mass_lb=m), oil)[0][0] for m in (8.0, 16.0))
    assert heavy / light == pytest.approx(2.0 ** (1.0 / 3.0), rel=1e-12)


def test_thinning_between_its_limits_and_stress_that_still_rises():
    """Cross 1965, from memory: viscosity at rest and without end, and no stress that falls."""
    rate = np.geomspace(1e-3, 1e12, 400)
    share = thinning(rate, 0.4, 1e6)
    assert share[0] == pytest.approx(1.0, abs=1e-6)
    assert share[-1] == pytest.approx(0.4, abs=1e-4)
    assert (np.diff(share) < 0.0).all()
    assert (np.diff(share * rate) > 0.0).all()
    assert thinning(np.array([1e6]), 0.4, 1e6)[0] == pytest.approx(0.7)


def test_constants_that_were_read_are_those_in_force():
    assert LANE["blend_error"]["plain"] == BLEND_UNCERTAINTY_PLAIN
    assert LANE["blend_error"]["polymer"] == BLEND_UNCERTAINTY_POLYMER
    assert LANE["crosswise"]["sport_limit"] == SPORT_RATIO == figures("fairness")["sport"]["ratio"]
    assert LANE["friction"]["cap"] == FRICTION_MAX
    assert Ball(roughness_uin=ROUGHNESS_MAX_UIN).mu_dry <= LANE["friction"]["cap"]


def test_shipped_oils_are_as_thick_as_the_rules_allow():
    limits = LANE["conditioner"]
    at = (limits["viscosity_at_f"] - 32.0) / 1.8
    for name, oil in crew._center().conditioners.items():
        here = 1e3 * mixture_of(oil).viscosity_pas(at)
        assert limits["viscosity_min_mpas"] <= here <= limits["viscosity_max_mpas"], name
