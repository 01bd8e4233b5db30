"""Words and tables of what is not known: both uncertainties, chances, and no ranking where none can be told."""

from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from leaguesim import tables
from leaguesim.report.csvfiles import compare_csv
from leaguesim.report.forecastcharts import forecast_rows
from leaguesim.report.forecastpage import TITLE, chance, forecast_lines, forecast_section, rate
from leaguesim.report.page import compare_page
from leaguesim.report.pseudonyms import without_names
from leaguesim.report.texts import answer, as_fitted
from leaguesim.report.turning import PEOPLE, compare_turns
from leaguesim.study.forecastresult import ForecastResult
from leaguesim.study.notes import FITTED, IN_WORDS

FIGURES = {
    "average_now": 180.0, "average_next": 174.0, "change": -6.0, "luck_se": 0.2, "unknown_sd": 2.0,
    "low": -9.5, "high": -2.5, "floored": False, "chance_falls": 0.93,
    "games_300_now": 0.5, "games_300_next": 0.25, "series_800_now": 0.02, "series_800_next": 0.0004,
    "games_200_now": 700.0, "games_200_next": 600.0,
}  # fmt: skip


def _forecast(result: Any, *, ranked: bool = True) -> ForecastResult:
    who = result.bowlers
    n = len(who)
    same = {k: [v] * n for k, v in FIGURES.items()}
    names = {k: list(who[k]) for k in ("bowler", "team", "style", "hand")}
    group = {k: [v] for k, v in FIGURES.items()} | {
        "kind": ["league"], "group": ["league"], "bowlers": [n], "chance_rises": [0.001],
    }  # fmt: skip
    shares = {
        "outcome": ["league"] * 2, "group": ["bowlers", "conditioners"], "first_order": [0.3, 0.6],
        "total": [0.35, 0.66], "ranked": [ranked] * 2,
    }  # fmt: skip
    return ForecastResult(
        center=result.center, now=result.now, next=result.next, seed=1, unknowns=128, nights=32,
        season_games=96, fitted=False, league={**FIGURES, "bowlers": n, "chance_rises": 0.001},
        bowlers=tables.frame(tables.FORECAST_BOWLERS, {**same, **names}),
        groups=tables.frame(tables.FORECAST_GROUPS, group),
        sensitivities=tables.frame(tables.SENSITIVITIES, shares), r2={"league": 0.8},
        measure_first="Measure first the conditioners.", notes=["Priors are stated."],
    )  # fmt: skip


def test_page_tells_luck_and_doubt_apart(made_up: ModuleType, made_up_page: str) -> None:
    plain = made_up.compare()
    assert TITLE not in made_up_page
    result = replace(plain, forecast=_forecast(plain))
    page = compare_page(result)
    assert f'<h2 id="doubt-title">{TITLE}</h2>' in page
    assert "standard deviation 2.0 pins from what is not known" in page
    assert "standard error 0.20 from the luck" in page
    assert "Measure first the conditioners." in page
    assert "Sobol indices" in page
    assert 'id="chart-forecast"><svg' in page
    assert {"forecast.csv", "forecast-groups.csv", "sensitivities.csv"} <= set(compare_csv(result))
    assert '"unknowns": 128' in result.to_json()
    assert '"forecast"' not in plain.to_json()


def test_no_ranking_is_shown_where_none_can_be_told(made_up: ModuleType) -> None:
    told = _forecast(made_up.compare(), ranked=False)
    section = forecast_section(told)
    assert "cannot be told from this sample" in section
    assert "Sobol indices" not in section


def test_shared_pages_name_nobody(made_up: ModuleType) -> None:
    plain = made_up.compare()
    result = without_names(replace(plain, forecast=_forecast(plain)))
    known = {b for b in plain.bowlers["bowler"] if not b.startswith("Bowler ")}
    assert known
    assert not known & set(result.forecast.bowlers["bowler"])
    assert not any(name in line for name in known for line in forecast_lines(result.forecast))


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0 %"), (0.004, "under 1 %"), (0.5, "50 %"), (0.999, "over 99 %"), (1.0, "100 %")],
)
def test_chances_in_words(value: float, words: str) -> None:
    assert chance(value) == words


def test_rare_scores_in_words() -> None:
    assert rate(0.0004) == "under 0.001"
    assert rate(0.0) == "none seen"
    assert rate(712.34) == "712.3"


def test_chart_shows_both_uncertainties_of_every_group(made_up: ModuleType) -> None:
    (row,) = forecast_rows(_forecast(made_up.compare()))
    assert row["label"].startswith("whole league (")
    assert (row["low"], row["high"]) == (-9.5, -2.5)
    assert row["luck_low"] == pytest.approx(-6.0 - 1.96 * 0.2, abs=0.01)
    assert row["luck_high"] == pytest.approx(-6.0 + 1.96 * 0.2, abs=0.01)


def test_no_table_of_doubt_has_more_columns_than_a_screen(made_up: ModuleType) -> None:
    """At most ten columns each; honour scores stand in tables of their own, none is lost."""
    plain = made_up.compare()
    told = str(forecast_section(_forecast(plain)))
    heads = [part.split("</thead>")[0] for part in told.split("<thead>")[1:]]
    assert [head.count("<th ") for head in heads] == [5, 10, 7, 8, 7]
    assert told.count("300 games now") == 2
    assert told.count('data-style="') == 2 * len(plain.bowlers)


def test_a_share_and_its_sign_stay_on_one_line_of_a_terminal() -> None:
    import io

    from rich.console import Console

    from leaguesim.report.lines import say_on

    for width in range(20, 60):
        out = io.StringIO()
        words = "the league's change is -6.0 pins, 90 % -9.5 to -2.5: 12 % of them, 3 of 4"
        say_on(Console(file=out, width=width), words)
        lines = out.getvalue().splitlines()
        assert max(map(len, lines)) <= width
        assert not [line for line in lines if line.startswith("%")]
        assert " ".join(lines) == words


def test_the_verdict_tells_the_doubt_beside_the_luck(made_up):
    """First screen and terminal: what was asked for stands beside the verdict, and where it may go either way."""
    plain = made_up.compare()
    told = _forecast(plain)
    sure = replace(told, league={**told.league, "change": -2.5, "low": -4.0, "high": -1.0})
    open_ = replace(told, league={**told.league, "change": -0.5, "low": -4.0, "high": 3.0})
    words = answer(replace(plain, forecast=sure)).verdict
    assert (
        "With what is not known drawn too the change is −2.5 pins, 90 % −4.0 to −1.0: go by that."
        in words
    )
    assert "so it may go either way: go by that." in answer(replace(plain, forecast=open_)).verdict
    assert "But people do move" not in words
    assert "not known drawn too" not in answer(plain).verdict


def test_pages_of_a_fit_and_of_words_say_so(made_up):
    """Titles tell fitted runs apart; a conditioner known by words only is told on the first screen."""
    plain = made_up.compare()
    fitted = replace(plain, notes=[*plain.notes, f"{FITTED}: so and so."])
    worded = replace(plain, notes=[*plain.notes, f"{IN_WORDS}: new stuff."])
    assert as_fitted(fitted)
    assert not as_fitted(plain)
    assert ", as fitted</title>" in compare_page(fitted)
    assert PEOPLE in compare_turns(plain)
    assert PEOPLE not in compare_turns(fitted)
    assert f"{IN_WORDS}: new stuff." in answer(worded).who
