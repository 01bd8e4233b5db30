"""What a terminal shows of tournaments, searches and fairness: 80 columns, the same with and without colour."""

import io
import json
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest
from rich.console import Console

from leaguesim.play.aims import Goal, Tournament
from leaguesim.report.terminal_aims import tournament_text, tune_text
from leaguesim.study.tournaments import TournamentResult

REPORTS = Path(__file__).parents[2] / "reports"


def summary(name: str) -> dict:
    return json.loads((REPORTS / name / "summary.json").read_text(encoding="utf-8"))


def printed(write, result) -> str:
    out = io.StringIO()
    write(result, Console(file=out, width=80, color_system=None))
    assert max(map(len, out.getvalue().splitlines())) <= 80
    return out.getvalue()


@pytest.fixture(scope="module")
def played() -> TournamentResult:
    s = summary("sample-tournament")
    return TournamentResult(
        "Long Hall", True, Tournament(**s["tournament"]), s["seed"], s["played"], s["figures"],
        pd.DataFrame(s["entrants"]), pd.DataFrame(s["groups"]), [],
    )  # fmt: skip


def test_a_tournament_tells_whether_the_best_win_and_who_makes_the_cut(played):
    said = printed(tournament_text, played)
    words = " ".join(said.split())
    leads = played.figures["best_leads"]["value"]
    assert f"The best entrant leads the block in {100 * leads:.0f} % of tournaments" in words
    assert "Reliability: 0 is luck alone, 1 is skill alone." in words
    rows = played.entrants.sort_values("makes_cut", ascending=False)
    assert said.index(rows["bowler"].iloc[0]) < said.index("Reliability: 0")
    assert rows["bowler"].iloc[-1] not in said
    assert f"of {len(rows)}" in said


def test_a_small_field_is_shown_whole(played):
    few = TournamentResult(
        "Hall", False, played.tournament, 1, 64, played.figures, played.entrants.head(6),
        played.groups, [],
    )  # fmt: skip
    said = printed(tournament_text, few)
    assert all(name in said for name in few.entrants["bowler"])
    assert "the likeliest" not in said
    assert "invented" not in said


def test_a_search_shows_the_best_beside_today():
    s = summary("sample-tune")
    result = SimpleNamespace(
        **{k: s[k] for k in ("answer", "best", "today", "differences")}, invented=True, center="Long Hall",
        currency="EUR",
            goal=Goal("quick_look", "kept-happy"),
    )  # fmt: skip
    said = printed(tune_text, result)
    assert "Verdict: " in said
    assert "people like these, 95 %" in " ".join(said.split())
    for b in s["best"]:
        row = next(line for line in said.splitlines() if line.strip().startswith(b["name"]))
        assert f"{b['volume_ml']:.1f}" in row
        assert f"{100 * b['kept_happy']:.0f} %" in row
    assert f"{s['today']['average']:.1f}" in said
    assert "today's" in said
