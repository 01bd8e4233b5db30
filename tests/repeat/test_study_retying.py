"""Bowlers of a fit keep their averages at every point of what is not known; at the fitted center nothing moves."""

from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.pins.runs import RANGES
from leaguesim.play.setting import pins_of
from leaguesim.study.forecasting import _outcomes, _shipped
from leaguesim.study.posterior import KEPT, Fitted, goal_draws, posterior_draws
from leaguesim.study.prepare import ready
from leaguesim.study.retying import averages, tie_again
from leaguesim.study.unknowns import Unknowns, draw_unknowns, traits_of

CONTROLS = (
    "laydown_sd_board",
    "speed_sd_mph",
    "rev_sd_rpm",
    "rotation_sd_deg",
)  # that go with accuracy


@pytest.fixture(scope="module")
def people(small: ModuleType) -> Any:
    """The small center's bowlers, lined up at the center itself, and their averages there."""
    with ready(small.center(), 11, workers=1, tie=False) as made:
        return made.people, averages(made)


def _at(center: Any, cube: np.ndarray) -> Unknowns:
    """A sample of the points of this cube."""
    made = draw_unknowns(center, ("house", "flat"), 4, 5, None)
    return replace(made, cube=cube)


def test_at_the_middle_of_all_that_is_not_known_nothing_moves(small: ModuleType, people: Any):
    drawn, goals = people
    center = small.center()
    axes = draw_unknowns(center, ("house", "flat"), 4, 5, None).cube.shape[1]
    cube = np.full((1, axes), 0.5)
    cube[:, -1] = 0.25  # the fitted form of friction
    sample = _at(center, cube)
    with ready(sample.center_at(0), 11, workers=1, tie=False) as made:
        made.pins = pins_of(sample.library_at(0, *_shipped()))
        made.seat(drawn)
        assert averages(made) == goals
        tie_again(made, goals)
        assert made.people == drawn


@pytest.fixture(scope="module")
def tied(small: ModuleType, people: Any) -> Any:
    """(points, bowlers) pins off goals 8 below the averages, before the tie and after it on other nights."""
    drawn, told_here = people
    goals = {name: told - 8.0 for name, told in told_here.items()}
    center, order = small.center(), sorted(goals)
    rng = np.random.default_rng(3)
    axes = draw_unknowns(center, ("house", "flat"), 4, 5, None).cube.shape[1]
    cube = np.where(rng.random((2, axes)) < 0.5, 0.1, 0.9)  # one side or the other of every axis
    cube[:, -1 - len(RANGES) : -1] = rng.random((2, len(RANGES)))
    sample = _at(center, cube)
    before, after = [], []
    for k in range(2):
        with ready(sample.center_at(k), 20 + k, workers=1, tie=False) as made:
            made.pins = pins_of(sample.library_at(k, *_shipped()))
            made.seat(drawn)
            told = averages(made)
            before.append([told[n] - goals[n] for n in order])
            tie_again(made, goals)
            made.seed = 900 + k
            told = averages(made)
            after.append([told[n] - goals[n] for n in order])
            for b, was in zip(made.people, drawn, strict=True):
                assert b.accuracy_deg > was.accuracy_deg
                back = b.with_accuracy(was.accuracy_deg)
                errors = {k: getattr(was, k) for k in CONTROLS}
                assert {k: getattr(back, k) for k in CONTROLS} == pytest.approx(errors)
                assert replace(back, **errors) == was
    return np.array(before), np.array(after)


def test_averages_are_kept_at_every_point(tied: Any) -> None:
    before, after = tied
    assert before.mean() > 4.0
    # Goals, the pilot and the nights that judge it are told by 64 nights each, some 1.5 pins apiece: 2.6 a
    # bowler and 0.65 of sixteen; four of these, 0.006 % of right ties beyond.
    assert abs(after.mean()) < 2.6
    assert np.sqrt((after**2).mean()) < 5.0


def _fitted(center: Any, goal: float) -> Fitted:
    rng = np.random.default_rng(1)
    rows = []
    for line in center.roster:
        b = draw_bowler(line, center.styles[line.style], center.balls, 2)
        at = [b.speed_mph, b.rev_rate_rpm, b.axis_rotation_deg, b.axis_tilt_deg, b.accuracy_deg,
              b.spare_accuracy]  # fmt: skip
        rows.append(np.array(at) * np.exp(0.05 * rng.standard_normal((KEPT, len(at)))))
    goals = goal + rng.standard_normal((len(rows), KEPT))
    goals[-1] = np.nan  # the last has no scores
    styles = tuple((line.style,) * KEPT for line in center.roster)
    return Fitted(center, styles, np.stack(rows), (True,) * (len(rows) - 1) + (False,), None, goals)


def test_goals_go_with_their_draws(small: ModuleType) -> None:
    center = replace(small.center(), roster=small.center().roster[:3])
    fitted = _fitted(center, 150.0)
    goals, rosters = goal_draws(fitted, 200, 7), posterior_draws(fitted, 200, 7)
    assert goals.shape == (200, 3)
    for k in (0, 130, 199):
        for i in (0, 1):
            (at,) = np.flatnonzero(fitted.points[i, :, 4] == rosters[k][i].accuracy_deg)
            assert goals[k, i] == fitted.averages[i, at]
    assert np.isnan(goals[:, 2]).all()


def test_a_forecast_holds_averages_and_what_is_not_known_of_people_stays_as_drawn(
    small: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    center = replace(small.center(), roster=small.center().roster[:3])
    fitted = _fitted(center, 171.0)
    sample = draw_unknowns(center, ("house", "flat"), 4, 5, fitted)
    seen: list[dict[str, float]] = []

    def noted(made: Any, goals: dict[str, float]) -> None:
        seen.append(goals)
        tie_again(made, goals)

    monkeypatch.setattr("leaguesim.study.forecasting.tie_again", noted)
    out = _outcomes(sample, ("house", "flat"), 4, 1, lambda *_: None)
    names = [p[0] for p in out.people]
    for k, roster in enumerate(sample.rosters):
        by_name = {b.bowler: b for b in roster}
        assert (out.traits[k] == traits_of([by_name[n] for n in names])).all()
        assert set(seen[k]) == {r.bowler for r in center.roster[:2]}
    own = [k for k, n in enumerate(names) if n in seen[0]]
    # Two people at four points, each told by a pilot of 64 nights and 4 nights of the study.
    assert out.average[:, 0, own].mean() == pytest.approx(171.0, abs=6.0)
