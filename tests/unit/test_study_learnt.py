"""What measurements teach about conditioners: updates against brute force, trials against a known answer."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr, ndtri

from leaguesim.center.priors import dimensions, perturbed
from leaguesim.errors import InputError
from leaguesim.lane.values import Doubt, FilmReading
from leaguesim.study.durability import blocks_of, learn_durability
from leaguesim.study.learnt import FRICTION, axes_of, from_plain, likeliest, prior, widths
from leaguesim.study.mixed import Components
from leaguesim.study.trialcontrast import contrast, trials_of
from leaguesim.study.trialpair import Response, _signs, learn_friction, new_conditioners

PARTS = Components(170.0, 400.0, 30.0, 450.0, "given")


def test_an_update_is_that_of_draws_weighed_by_their_likelihood(small):
    known = prior(small.center(), ["slate"])
    line = np.zeros((1, len(known.axes)))
    line[0, :2] = [1.5, -0.8]
    told = known.updated(line, np.array([2.0]), np.array([[1.2]]))
    z = np.random.default_rng(3).standard_normal((400_000, len(known.axes)))
    w = np.exp(-0.5 * (2.0 - z @ line[0]) ** 2 / 1.2)
    w /= w.sum()
    mean = w @ z
    assert told.mean == pytest.approx(mean, abs=0.02)
    assert told.covariance == pytest.approx((z - mean).T @ ((z - mean) * w[:, None]), abs=0.02)


def test_a_sample_is_moved_to_what_is_known_and_the_rest_stays(small):
    center = small.center()
    axes = [d.name for d in dimensions(center, ("house", "flat"))]
    known = prior(center, ["slate"])
    line = np.zeros((1, len(known.axes)))
    line[0, :2] = [1.5, -0.8]
    told = known.updated(line, np.array([2.0]), np.array([[0.3]]))
    cube = np.random.default_rng(5).random((20_000, len(axes)))
    z = ndtri(told.moved(axes, cube))
    at = [axes.index(a) for a in told.axes]
    assert z[:, at].mean(axis=0) == pytest.approx(told.mean, abs=0.03)
    assert np.cov(z[:, at], rowvar=False) == pytest.approx(told.covariance, abs=0.04)
    rest = [k for k in range(len(axes)) if k not in at]
    assert (told.moved(axes, cube)[:, rest] == cube[:, rest]).all()
    middle = told.moved(axes, np.full((1, len(axes)), 0.5))[0]
    assert middle[at] == pytest.approx(ndtr(told.mean))
    one = perturbed(center, middle, ("house", "flat")).conditioners["slate"]
    two = likeliest(center, told).conditioners["slate"]
    assert one.viscosity_mpas == pytest.approx(two.viscosity_mpas)
    assert one.boundary_factor == pytest.approx(two.boundary_factor)


def test_what_is_known_survives_the_file_and_strange_ones_are_refused(small):
    center = small.center()
    known = prior(center, ["slate"]).with_row({"source": "trial pair"})
    back = from_plain(known.to_plain(), center)
    assert back.axes == known.axes
    assert (back.covariance == known.covariance).all()
    assert back.told == known.told
    other = replace(center, conditioners={"amber": center.conditioners["amber"]})
    with pytest.raises(InputError, match="slate: viscosity_mpas"):
        from_plain(known.to_plain(), other)
    with pytest.raises(ValueError, match="covariance"):
        from_plain({**known.to_plain(), "covariance": (-np.eye(len(known.axes))).tolist()}, center)


def test_widths_tell_prior_and_posterior_of_friction_and_every_property(small):
    center = small.center()
    known = prior(center, ["slate"])
    same = {r["property"]: r for r in widths(center, known)}
    assert same[FRICTION]["narrowed"] == pytest.approx(0.0, abs=1e-9)
    line = np.zeros((1, len(known.axes)))
    line[0, known.axes.index("slate: boundary_factor")] = 1.0
    told = {r["property"]: r for r in widths(center, known.updated(line, np.ones(1), np.eye(1)))}
    assert told["boundary_factor"]["narrowed"] == pytest.approx(1.0 - 0.5**0.5, abs=0.03)
    assert told["boundary_factor"]["posterior"] > told["boundary_factor"]["prior"]
    assert told[FRICTION]["posterior"] > told[FRICTION]["prior"]
    assert 0.02 < told[FRICTION]["prior"] < 0.2


def _games(rng, *, weeks=12, people=24, change=-6.0, pair_sd=0.0, label=True):
    """Every week four people of twenty-four bowl on pair 1, which has the trial's condition."""
    level = 170 + 20 * rng.standard_normal(people)
    pairs = pair_sd * rng.standard_normal(6)
    rows = []
    for w in range(weeks):
        week = 4.0 * rng.standard_normal()
        for k in range(people):
            pair = (k // 4 + w) % 6
            trial = pair == 0 and w >= 4
            night = 30**0.5 * rng.standard_normal()
            for g in range(3):
                score = level[k] + week + pairs[pair] + change * trial + night
                rows.append(
                    (f"week {w + 1:03d}", f"P{k}", g + 1, "flat" if trial else "house",
                     score + 450**0.5 * rng.standard_normal(), f"{pair + 1}" if label else "")
                )  # fmt: skip
    return pd.DataFrame(
        rows, columns=["session", "bowler", "game", "condition", "score", "lane_pair"]
    )


def test_a_trials_difference_covers_the_truth_with_its_error():
    off = []
    for k in range(120):
        seen = contrast(_games(np.random.default_rng(k), pair_sd=1.5), "house", "flat", PARTS)
        off.append((seen.pins + 6.0) / seen.se)
    z = np.array(off)
    assert abs(z.mean()) < 3.0 / 120**0.5
    assert 0.7 < z.std() < 1.05  # own responses are allowed for and not in these games
    assert seen.pairs == ("1",)
    assert seen.shared_pairs
    assert seen.games == 8 * 4 * 3


def test_weeks_that_differ_and_pairs_not_named_are_not_taken_for_the_trial():
    named = contrast(_games(np.random.default_rng(1)), "house", "flat", PARTS)
    blind = contrast(_games(np.random.default_rng(1), label=False), "house", "flat", PARTS)
    assert blind.se > named.se  # the pair itself may be another lane
    assert blind.pairs == ()
    assert not blind.shared_pairs


def test_what_was_expected_is_taken_off():
    games = _games(np.random.default_rng(1))
    plain = contrast(games, "house", "flat", PARTS)
    beyond = contrast(games, "house", "flat", PARTS, {"P0": -5.0, "P1": -5.0})
    assert beyond.pins == pytest.approx(plain.pins)
    assert beyond.beyond == pytest.approx(plain.pins + 5.0)


def test_which_conditions_were_tried_beside_todays():
    games = _games(np.random.default_rng(1))
    assert trials_of(games, "house") == (["flat"], [])
    over = games.assign(condition=np.where(games["session"] > "week 006", "flat", "house"))
    assert trials_of(over, "house") == ([], [])  # everybody went over: no pair beside it
    few = games[(games["condition"] == "house") | (games["session"] == "week 005")]
    few = few[(few["condition"] == "house") | (few["game"] < 3)]
    found, why = trials_of(few, "house")
    assert found == []
    assert "8 games" in why[0]


def test_a_trial_narrows_friction_by_the_models_own_slope(small):
    center = small.center()
    assert new_conditioners(center, "flat") == ["slate"]
    assert new_conditioners(center, "copy") == []
    axes = tuple(d.name for d in dimensions(center, ("house", "flat")))
    slopes = np.zeros(len(axes))
    slopes[axes.index("slate: viscosity_mpas")] = -3.0
    slopes[axes.index("slate: boundary_factor")] = -2.0
    slopes[axes.index("c_a")] = 1.0
    told, seen = learn_friction(
        _games(np.random.default_rng(1), change=-8.0), center, "flat", PARTS,
        Response(axes, {"P0": -2.0}, slopes, 0.4, 0.1), prior(center, ["slate"]),
    )  # fmt: skip
    size, error = 13.0, seen.se**2 + 1.0 + 0.04 + 0.01
    thick = told.axes.index("slate: viscosity_mpas")
    assert told.mean[thick] == pytest.approx(-3.0 * seen.beyond / (size + error))
    assert told.mean[thick] > 0.0  # lower than expected: more friction than thought
    row = told.told[0]
    assert row["prior_sd"] == pytest.approx(size**0.5)
    assert row["posterior_sd"] == pytest.approx((size * error / (size + error)) ** 0.5)


def test_a_folded_design_keeps_main_effects_clear_of_pairs_of_them():
    for n in (9, 16, 17):
        s = _signs(n)
        assert (s.T @ s == len(s) * np.eye(n)).all()
        pairs = np.stack([s[:, i] * s[:, j] for i in range(n) for j in range(i)], axis=1)
        assert (s.T @ pairs == 0.0).all()


def test_readings_of_a_film_that_lasts_say_that_it_lasts(small):
    """Readings made by the model with an oil that lasts give back more than its prior, and narrower."""
    center = small.center()
    coarse = replace(center.conditioners["slate"], doubt=Doubt(left_behind_logit_sd=0.45))
    center = replace(center, conditioners={**center.conditioners, "slate": coarse})
    own = [k for k, a in enumerate(axes_of(center, ["slate"])) if a == "slate: left_behind"]
    known = prior(center, ["slate"])
    points = [(12.0, b) for b in (14.0, 20.0, 24.0)] + [(30.0, b) for b in (12.0, 16.0, 22.0)]

    def read(share):
        rows = tuple(FilmReading("flat", x, b, 8, 40.0, 40.0 * share) for x, b in points)
        told = learn_durability(replace(center, film_readings=rows), known, 3)
        return told.mean[own[0]], told.covariance[own[0], own[0]], told.told[0]

    lasting, wide, row = read(0.97)
    gone, _, _ = read(0.35)
    assert row["readings"] == 6
    assert gone < 0.0 < lasting
    assert gone < lasting - 0.5
    assert wide < 0.9


def test_readings_are_gathered_by_condition_and_games():
    rows = [FilmReading("a", 10, 20, 6, 40, 30), FilmReading("a", 10, 20, 12, 40, 20),
            FilmReading("b", 10, 20, 6, 40, 30), FilmReading("a", 30, 20, 6, 40, 30)]  # fmt: skip
    assert [(b.condition, b.games, len(b.readings)) for b in blocks_of(tuple(rows))] == [
        ("a", 6, 2), ("a", 12, 1), ("b", 6, 1),
    ]  # fmt: skip
