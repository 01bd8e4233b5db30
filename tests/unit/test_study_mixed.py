"""Variance components and shrunken averages against a published example and statsmodels."""

import warnings

import numpy as np
import pandas as pd
import pytest

from leaguesim.errors import InputError
from leaguesim.outside.figures import figures
from leaguesim.study.mixed import components, moments, reml, shrunken


def _dyestuff():
    told = figures("statistics_mixed")["dyestuff"]
    y = np.array(told["yields"], float)
    return told, y.ravel(), np.repeat(np.arange(6), 5), np.arange(30)


def test_dyestuff_by_moments_and_reml():
    told, y, batch, each = _dyestuff()
    found = reml(y, batch, each)
    assert found.bowler == pytest.approx(told["reml_between_var"], rel=1e-4)
    assert found.night + found.game == pytest.approx(told["reml_residual_var"], rel=1e-4)
    assert found.mean == pytest.approx(told["mean"], abs=1e-9)
    level, _, _ = shrunken(found, y, batch, each)
    assert level[4] - found.mean == pytest.approx(told["blup_fifth"], abs=0.01)
    by_moments = moments(y, batch, each)  # a balanced design: moments are REML
    assert by_moments.bowler == pytest.approx(told["reml_between_var"], rel=1e-9)
    assert by_moments.night == pytest.approx(told["reml_residual_var"], rel=1e-9) or (
        by_moments.game + by_moments.night == pytest.approx(told["reml_residual_var"], rel=1e-9)
    )


def _nested(seed: int, night_sd: float, balanced: bool = True):
    rng = np.random.default_rng(seed)
    score, who, night = [], [], []
    for b in range(12):
        level = 170 + 20 * rng.standard_normal()
        for _ in range(10 if balanced else rng.integers(4, 12)):
            own = night_sd * rng.standard_normal()
            label = night[-1] + 1 if night else 0
            for _ in range(3 if balanced else rng.integers(1, 4)):
                score.append(level + own + 22 * rng.standard_normal())
                who.append(b)
                night.append(label)
    return np.array(score), np.array(who), np.array(night)


def _mixedlm(score, who, night):
    from statsmodels.regression.mixed_linear_model import MixedLM

    table = pd.DataFrame({"y": score, "b": who, "n": night})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = MixedLM.from_formula(
            "y ~ 1", table, groups="b", re_formula="1", vc_formula={"n": "0 + C(n)"}
        ).fit(reml=True)
    return float(fit.cov_re.iloc[0, 0]), float(fit.vcomp[0]), float(fit.scale)


def test_reml_is_statsmodels_reml_on_unbalanced_nights():
    data = _nested(3, 25.0, balanced=False)
    found, other = reml(*data), _mixedlm(*data)
    assert (found.bowler, found.night, found.game) == pytest.approx(other, rel=0.01)


def test_a_component_at_zero_is_zero_and_said():
    score, who, night = _nested(5, 0.0)
    per_night = score.reshape(-1, 3)  # nights of a bowler all alike: less than luck would make them
    level = score.reshape(12, 30).mean(axis=1).repeat(10)
    score = (per_night - per_night.mean(axis=1, keepdims=True) + level[:, None]).ravel()
    data = (score, who, night)
    assert moments(*data).night == 0.0
    found = reml(*data)
    assert found.night == 0.0
    assert found.method == "reml, at zero"
    whole = moments(data[0], data[1], np.arange(data[0].size))  # the night's share left out
    assert found.bowler == pytest.approx(whole.bowler, rel=1e-3)
    assert found.game == pytest.approx(whole.night, rel=1e-3)


def test_one_bowler_and_equal_scores_are_refused():
    with pytest.raises(InputError, match="two bowlers"):
        components(np.array([1.0, 2.0]), np.zeros(2, int), np.arange(2))
    with pytest.raises(InputError, match="equal"):
        components(np.full(4, 150.0), np.array([0, 0, 1, 1]), np.arange(4))
