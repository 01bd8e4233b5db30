"""What a study returns: strict JSON, the promised keys, rates from 0 to 1."""

import json

import numpy as np
import pandas as pd
import pytest

import leaguesim.study
from leaguesim.errors import InputError
from leaguesim.study.results import plain

TOP = {"schema", "manifest", "league", "styles", "bowlers"}
LEAGUE = {
    "average_now", "average_next", "change", "change_se", "kept_happy_now", "kept_happy_next",
}  # fmt: skip
STYLE = {"style", "bowlers"} | LEAGUE
BOWLER = {
    "bowler", "style", "hand", "strike_rate_now", "strike_rate_next", "spare_rate_now",
    "spare_rate_next",
} | LEAGUE  # fmt: skip


def _strict(text):
    def refuse(token):
        raise AssertionError(f"not JSON: {token}")

    return json.loads(text, parse_constant=refuse)


def test_the_summary_has_the_promised_keys(played):
    told = _strict(played("house", "flat").to_json())
    assert told["schema"] == "leaguesim.compare/1"
    assert set(told) >= TOP
    assert set(told["league"]) >= LEAGUE
    for row in told["styles"]:
        assert set(row) == STYLE
    for row in told["bowlers"]:
        assert set(row) == BOWLER
    assert len(told["bowlers"]) == 8
    assert sum(row["bowlers"] for row in told["styles"]) == 8


def test_rates_are_shares_and_scores_are_scores(played):
    result = played("house", "flat")
    table = result.bowlers
    for column in [c for c in table if "_rate_" in c]:
        assert table[column].dropna().between(0.0, 1.0).all(), column
    for column in [c for c in table if c.startswith(("average_", "game1_", "game2_", "game3_"))]:
        assert table[column].between(0.0, 300.0).all(), column
    assert (table["game_sd_now"] > 0.0).all()
    for key in ("kept_happy_now", "kept_happy_next"):
        assert 0.0 <= result.league[key] <= 1.0
    shares = result.scores.groupby(["style", "condition"])["share"].sum()
    assert np.allclose(shares, 1.0)


def test_the_parts_agree_with_each_other(played):
    """Change is next minus now; games average to the average; groups average their bowlers."""
    result = played("house", "flat")
    table = result.bowlers
    step = 2.0**-19  # fixed point
    assert np.allclose(table["change"], table["average_next"] - table["average_now"], atol=step)
    for side in ("now", "next"):
        games = table[[f"game{g}_{side}" for g in (1, 2, 3)]].mean(axis=1)
        assert np.allclose(games, table[f"average_{side}"], atol=step)
        assert result.league[f"average_{side}"] == pytest.approx(
            table[f"average_{side}"].mean(), abs=step
        )
        for kind in ("style", "hand"):
            means = table.groupby(kind)[f"average_{side}"].mean()
            group = result.groups[kind].set_index("group")[f"average_{side}"]
            assert np.allclose(group.sort_index(), means.sort_index(), atol=step)
    assert result.league["change"] == pytest.approx(table["change"].mean(), abs=step)
    told = result.league
    assert told["kept"] + told["lost"] <= 8
    assert table["kept_happy_now"].fillna(False).sum() == told["kept"] + told["lost"]


def test_the_stability_rows_cover_every_part_both_ways(played):
    rows = played("house", "flat").stability
    assert len(rows) == 10
    by_part = {}
    for row in rows:
        by_part.setdefault(row["part"], {})[row["factor"]] = row["kept_happy_now"]
    for part, shares in by_part.items():
        assert shares[0.75] <= shares[1.25], part


def test_one_night_is_told_as_unknown_not_as_certain(small):
    told = _strict(small.compare(small.center(), "house", "flat", nights=1).to_json())
    assert told["league"]["change_se"] is None
    assert all(row["change_se"] is None for row in told["bowlers"])
    assert all(row["change"] is not None for row in told["bowlers"])


def test_plain_values():
    assert plain({"a": np.float64("nan"), "b": np.inf, 3: np.int64(2)}) == {
        "a": None,
        "b": None,
        "3": 2,
    }
    assert plain([np.bool_(True), pd.NA, pd.NaT, np.float32(0.5)]) == [True, None, None, 0.5]
    assert plain(("x", np.str_("y"))) == ["x", "y"]


def test_the_public_names_are_functions_even_after_their_modules_are_imported():
    """A module called ``compare`` would take the function's place once imported."""
    import leaguesim.study.paired
    import leaguesim.study.sight

    assert leaguesim.study.compare is leaguesim.study.paired.compare
    assert leaguesim.study.look is leaguesim.study.sight.look
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        leaguesim.study.nothing  # noqa: B018


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"now": "hause"}, "hause"),
        ({"next": "nowhere"}, "nowhere"),
        ({"nights": 0}, "nights: a whole number from 1 up"),
        ({"nights": -3}, "nights"),
        ({"workers": 0}, "workers: a whole number from 1 to 64"),
        ({"workers": 65}, "workers"),
        ({"seed": -1}, "seed"),
        ({"seed": 1.5}, "seed"),
    ],
)
def test_what_cannot_be_used_is_refused_by_name(small, options, said):
    asked = {"now": "house", "next": "flat", "seed": 1, "nights": 1, "workers": 1} | options
    with pytest.raises(InputError, match=said):
        leaguesim.study.compare(small.center(), **asked)


def test_an_empty_roster_is_refused(small):
    from dataclasses import replace

    with pytest.raises(InputError, match="the roster is empty"):
        leaguesim.study.compare(
            replace(small.center(), roster=()), now="house", next="flat", seed=1, nights=1
        )
