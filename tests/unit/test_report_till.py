"""The league and the till as people read it: page, terminal, files, without names."""

import json
from dataclasses import replace
from io import StringIO

import numpy as np
import pandas as pd
import pytest
from rich.console import Console

from leaguesim import tables
from leaguesim.report import compare_csv, compare_page, compare_text
from leaguesim.report.pseudonyms import without_names
from leaguesim.report.tillpage import (
    _groups,
    handicap_sentence,
    machine_sentence,
    oil_sentence,
    teams_sentence,
    till_lines,
)
from leaguesim.study import till
from leaguesim.study.handicap import LeagueModel
from leaguesim.study.happy import band_place
from leaguesim.study.tillmachine import ASSUMED, CAUSES, UNITS
from leaguesim.study.tillresult import TillResult
from leaguesim.study.tillseasons import Switch, carry


def oil(price: float | None = 9.0) -> pd.DataFrame:
    rows = []
    for side, names in (("now", ["amber"]), ("next", ["amber", "slate"])):
        for name in [*names, "all"]:
            ml = 10.0 if name != "all" else 10.0 * len(names)
            each = float("nan") if price is None else price * ml / 1000.0
            rows.append(
                (side, side, name, ml, ml * 0.012, ml * 2.0, price if name != "all" else None, each,
                 12 * each, 2000 * each)
            )  # fmt: skip
    return tables.frame(
        tables.TILL_OIL, dict(zip(tables.TILL_OIL, zip(*rows, strict=True), strict=True))
    )


def machine() -> pd.DataFrame:
    data = {name: [1.0, 2.0, 0.0] for name in tables.TILL_MACHINE}
    data |= {"cause": list(CAUSES), "unit": list(UNITS), "assumption": [ASSUMED[c] for c in CAUSES]}
    nan = float("nan")
    data |= {
        f"index_now{t}": [v, v, nan] for t, v in (("", 100.0), ("_low", 100.0), ("_high", 100.0))
    }
    data |= {
        f"index_next{t}": [v, v, nan] for t, v in (("", 98.0), ("_low", 95.0), ("_high", 101.0))
    }
    return tables.frame(tables.TILL_MACHINE, data)


def made_till(bowlers: pd.DataFrame, scale: float = 1.0) -> TillResult:
    teams = sorted(set(bowlers["team"]))
    n = len(bowlers)
    switch = Switch(
        now=bowlers["average_now"].to_numpy(), change=scale * bowlers["change"].to_numpy(),
        change_se=np.zeros(n), sd_now=np.full(n, 24.0), sd_next=np.full(n, 24.0),
        gap=np.zeros((1, n)), team=np.array([teams.index(t) for t in bowlers["team"]]), week=1,
    )  # fmt: skip
    model = LeagueModel(90, 210, weeks=14)
    carried = carry(switch, model, tables.TOLD_WEEKS, 1, seasons=40)
    people = till._people(bowlers, carried, model)
    return TillResult(
        percent=90, base=210, weeks=14, switch_week=1, caught_up=8, seasons=40, currency="EUR",
        lanes_per_night=12, bowlers=people, groups=till._groups(people),
        teams=till._teams(teams, bowlers, carried), oil=oil(), machine=machine(),
    )  # fmt: skip


@pytest.fixture(scope="module")
def result(made_up):
    plain = made_up.compare()
    return replace(plain, till=made_till(plain.bowlers))


def test_the_page_has_the_section_and_its_charts(result):
    page = compare_page(result)
    assert 'id="till"' in page
    for title in ("Who gains before averages catch up", "How standings shift"):
        assert title in page
    for words in ASSUMED.values():
        assert words in page
    assert "An index is not a number of stops" in page
    assert "</script><b>Bo</b>" not in page
    assert 'id="till"' not in compare_page(replace(result, till=None))


def test_average_bands_stand_from_the_lowest_up(result):
    groups = result.till.groups
    band = groups["kind"] == "average band"
    turned = pd.concat(
        [groups[~band], groups[band][::-1]], ignore_index=True
    )  # as by name: "under" last
    page = str(_groups(turned))
    at = [page.index(f">{name}<") for name in sorted(groups[band]["group"], key=band_place)]
    assert len(at) > 2
    assert at == sorted(at)
    assert page.index(">league<") < at[0]


def test_the_terminal_says_it_in_three_lines(result):
    assert len(till_lines(result.till)) == 3
    out = StringIO()
    compare_text(result, Console(file=out, width=80))
    text = " ".join(out.getvalue().split())
    assert "Handicap (90 % of what an average lacks to 210)" in text
    assert "Machine, today = 100: pins off their spots 98 (95 to 101)" in text


def test_files_and_json(result):
    files = compare_csv(result)
    wanted = {
        "handicap.csv",
        "handicap-groups.csv",
        "standings.csv",
        "conditioner.csv",
        "machine.csv",
    }
    assert wanted <= set(files)
    assert files["handicap.csv"].splitlines()[0] == ",".join(tables.TILL_BOWLERS)
    told = json.loads(result.to_json())["till"]
    assert set(told["bowlers"][0]) == set(tables.TILL_BOWLERS)
    assert told["machine"][2]["index_next"] is None


def test_who_gains_is_the_style_with_the_largest_edge(result):
    styles = result.till.groups[result.till.groups["kind"] == "style"].set_index("group")
    best, worst = styles["edge_week_1"].idxmax(), styles["edge_week_1"].idxmin()
    text = handicap_sentence(result.till)
    assert f"against the league {best} gain most" in text
    assert f"{worst} lose most" in text
    assert "too little in week 1" in text  # averages fall, old ones give too little
    assert "week 8 after the switch" in text


def test_nothing_moves_without_a_change(result):
    still = made_till(result.bowlers, scale=0.0)
    assert "nobody's handicap is out of date" in handicap_sentence(still)
    assert "no team's expected place moves" in teams_sentence(still)


def test_without_prices_there_are_litres_only(result):
    bare = replace(result.till, oil=oil(None))
    text = oil_sentence(bare)
    assert "10.0 mL a lane now, 20.0 next" in text
    assert "a price per litre is missing" in text
    assert "EUR" not in text
    assert "which costs 180 and 360 EUR (+180)" in oil_sentence(result.till)


def test_one_team_and_a_cause_that_today_lacks(result):
    alone = replace(result.till, teams=None, caught_up=None)
    assert "One team" in teams_sentence(alone)
    assert "season ends before" in handicap_sentence(alone)
    assert "oil past the pins no index, today has none" in machine_sentence(alone)
    assert "standings.csv" not in compare_csv(replace(result, till=alone))


def test_teams_and_bowlers_lose_their_names_everywhere(result):
    hidden = without_names(result)
    shown = set(hidden.till.teams["team"])
    assert shown <= {f"Team {k}" for k in range(1, len(shown) + 1)}
    assert set(hidden.till.bowlers["bowler"]) == set(hidden.bowlers["bowler"])
    assert all(b.startswith("Bowler ") for b in hidden.till.bowlers["bowler"])
