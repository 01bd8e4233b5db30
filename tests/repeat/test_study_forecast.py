"""A forecast gives the same bytes for any workers, exactly nothing for equal conditions, and clear refusals."""

from dataclasses import replace
from functools import lru_cache
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from leaguesim import study
from leaguesim.bowlers.draw import draw_bowler
from leaguesim.errors import InputError
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.doubt import perturbed, row_laws
from leaguesim.study.posterior import KEPT, Fitted
from leaguesim.study.unknowns import GROUPS, draw_unknowns


@pytest.fixture(scope="module")
def few(small: ModuleType) -> Any:
    return replace(small.center(), roster=small.center().roster[:3])


@pytest.fixture(scope="module")
def told(few: Any) -> Any:
    @lru_cache(maxsize=4)
    def of(after: str, workers: int) -> Any:
        return study.forecast(
            few, now="house", next=after, seed=5, unknowns=4, nights=4, workers=workers
        )

    return of


def test_workers_change_no_byte(told: Any) -> None:
    assert told("flat", 1).to_json() == told("flat", 2).to_json()


def test_equal_conditions_change_nothing_and_leave_no_doubt(told: Any) -> None:
    result = told("copy", 1)
    for table in (result.bowlers, result.groups):
        columns = ["change", "luck_se", "unknown_sd", "low", "high", "chance_falls"]
        assert (table[columns] == 0.0).all(axis=None)
        assert (table["average_now"] == table["average_next"]).all()
        assert not table["floored"].any()
    assert "Nothing to measure" in result.measure_first


def test_a_league_is_the_mean_of_its_bowlers(told: Any) -> None:
    result = told("flat", 1)
    assert result.league["change"] == pytest.approx(result.bowlers["change"].mean(), abs=1e-4)
    assert result.league["games_200_now"] == pytest.approx(result.bowlers["games_200_now"].sum())
    assert result.league["low"] < result.league["change"] < result.league["high"]
    assert (result.bowlers["unknown_sd"] > 0.0).any()


def _fitted(c: Any, styles: tuple[str, ...], spread: float) -> Fitted:
    rng = np.random.default_rng(1)
    rows = []
    for line, style in zip(c.roster, styles, strict=True):
        b = draw_bowler(replace(line, style=style), c.styles[style], c.balls, 2)
        at = [b.speed_mph, b.rev_rate_rpm, b.axis_rotation_deg, b.axis_tilt_deg, b.accuracy_deg,
              b.spare_accuracy]  # fmt: skip
        rows.append(np.array(at) * np.exp(spread * rng.standard_normal((KEPT, len(at)))))
    return Fitted(c, tuple((s,) * KEPT for s in styles), np.stack(rows), (True,) * len(styles))


def test_fitted_bowlers_take_the_place_of_the_rosters_and_an_unknown_style_is_weighed(
    few: Any,
) -> None:
    styles = ("stroker", "tweener", "power")
    c = few
    blank = replace(c, roster=(replace(c.roster[0], style="unknown"), *c.roster[1:]))
    fitted = replace(_fitted(few, styles, 0.05), center=blank)
    sample = draw_unknowns(c, ("house", "flat"), 6, 5, fitted)
    assert [b.style for b in sample.rosters[0]] == list(styles)
    assert len({r[0].accuracy_deg for r in sample.rosters}) == 6
    result = study.forecast(
        blank, now="house", next="flat", fitted=fitted, seed=5, unknowns=4, nights=2, workers=1
    )
    assert result.fitted
    assert set(result.bowlers["style"]) == set(styles)
    assert any("posterior" in n for n in result.notes)


def test_every_kind_of_unknown_is_in_the_sample_and_moves_the_center(few: Any) -> None:
    c = few
    sample = draw_unknowns(c, ("house", "skew"), 16, 5, None)
    assert {GROUPS[g] for g in sample.group} == set(GROUPS) - {"bowlers"}
    made = [sample.center_at(k) for k in range(16)]
    assert len({m.friction.load_sharing for m in made}) == 2
    assert len({m.film_factor for m in made}) == 16
    assert len({m.temperature_c for m in made}) == 16
    assert len({m.conditioners["amber"].viscosity_mpas for m in made}) == 16
    library = CarryLibrary.load()
    laws = row_laws(library)
    changed = sample.library_at(0, library, laws).rows["mask"] != library.rows["mask"]
    assert 0.0 < changed.mean() < 0.3
    levels = np.linspace(-1.0, 1.0, 8)
    one, many = perturbed(library, levels), perturbed(library, levels, laws=laws)
    assert (one.rows["mask"] == many.rows["mask"]).all()


@pytest.mark.parametrize(
    ("wrong", "word"),
    [({"unknowns": 3}, "unknowns"), ({"nights": 1}, "nights"), ({"next": "nowhere"}, "nowhere")],
)
def test_refusals(few: Any, wrong: dict[str, Any], word: str) -> None:
    with pytest.raises(InputError, match=word):
        study.forecast(few, **{"now": "house", "next": "flat", "seed": 1, **wrong})
