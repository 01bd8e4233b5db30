"""The page of a fit from a made-up result: its answer, its axes, names escaped, files safe."""

from dataclasses import replace
from types import SimpleNamespace

import pandas as pd

from leaguesim import tables
from leaguesim.report.fitpage import _against, calibrated, fit_csv, fit_page, unmet
from leaguesim.report.theme import group_looks
from leaguesim.study.backtest import by_chance
from leaguesim.study.fitting import FitResult
from leaguesim.study.mixed import Components


def _result():
    rows = {k: [] for k in tables.FITTED}
    for name, average in (("<b>Ann", 180.0), ("Bea", 150.0), ("=Cid", 120.0)):
        for k, c in tables.FITTED.items():
            rows[k].append("stroker" if c.dtype == "str" else average if k == "average" else 1)
        rows["bowler"][-1], rows["hand"][-1] = name, "right"
        rows["fitted"][-1] = True
    return FitResult(
        center="Made up", invented=True, today="house", seed=1, file="scores.csv", nights=3, games=27,
        components=Components(150.0, 400.0, 0.0, 500.0, "reml, at zero"),
        bowlers=tables.frame(tables.FITTED, rows),
        styles=pd.DataFrame([{"style": "stroker", "points_played": 9, "stand_in_error": 2.0, "bowlers": 3,
                              "residual": 0.5, "residual_se": float("nan")}]),
        hands=pd.DataFrame([{"hand": "right", "bowlers": 3, "residual": 0.5, "residual_se": 0.1}]),
        backtest={"bowlers": 0, "why_not": "too few nights"}, held_out=pd.DataFrame(),
        problems=["scores.csv:7: game1: over 300: \"301\""], set_aside={"absent": 2},
        notes=["Scores alone cannot separate them."], fitted=SimpleNamespace(learnt=None, to_json=lambda: "{}"),
    )  # fmt: skip


def test_the_page_answers_and_escapes():
    page = fit_page(_result())
    assert "3 of 3 bowlers are fitted to 27 games" in page
    assert "No back-test: too few nights." in page
    assert "over 300" in page
    assert "2 rows absent" in page
    assert "<b>Ann" not in page


def _backtest(within):
    out = {"bowlers": 48, "rms_error": 4.8, "mean_error": 0.1, "luck_error": 4.0, "rms_last": 4.9,
           "rms_shrunken": 4.8, "skill_last": 0.05, "skill_shrunken": 0.0}  # fmt: skip
    for level, k in zip((50, 80, 95), within, strict=True):
        low, high = by_chance(48, level / 100)
        out |= {
            f"coverage_{level}": k / 48,
            f"coverage_{level}_low": low,
            f"coverage_{level}_high": high,
        }
    return out


def test_coverage_is_told_with_what_luck_allows():
    page = fit_page(replace(_result(), backtest=_backtest((21, 42, 45)))).replace("\u00a0", " ")
    assert "44 %" in page
    assert "50 % wanted; 35 % to 65 % by luck" in page
    assert "as far as 48 bowlers can tell" in page
    told = calibrated(_backtest((16, 48, 45)))
    assert "50 % too narrow, 80 % too wide" in told
    assert "95 %" not in told


def test_both_axes_span_the_averages():
    result = _result()
    figure = _against(
        "k", "t", "average", "predicted", result.bowlers, group_looks(["stroker"]), "a"
    )
    for layer in figure.spec["layer"]:
        assert layer["encoding"]["x"]["scale"] == layer["encoding"]["y"]["scale"]


def test_files_are_safe_in_spreadsheets_and_json_is_strict():
    assert "'=Cid" in fit_csv(_result())["fitted.csv"]
    assert "NaN" not in _result().to_json()


def test_who_scores_what_the_fitted_bowler_does_not_is_named_with_the_answer():
    result = _result()
    assert unmet(result) == []  # gaps of a pin
    # 36 games of sd 24 leave 4 pins, the fit 3: twice both together are 10 pins
    table = result.bowlers.assign(games=36, game_sd=24.0, predicted_se=3.0)
    table["residual"] = [16.1, -9.9, -10.1]
    table["predicted"] = table["average"] - table["residual"]
    told = unmet(replace(result, bowlers=table))[0]
    assert told.startswith(
        "Not met, 2 of 3: <b>Ann (180.0, simulated 163.9), =Cid (120.0, simulated 130.1)."
    )
    page = fit_page(replace(result, bowlers=table)).replace("\u00a0", " ")
    assert "Not met, 2 of 3: &lt;b&gt;Ann" in page
