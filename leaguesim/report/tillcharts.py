"""Charts of the league and the till: handicaps before averages catch up, and standings.

Does not know about pages; follows the page-wide choice of style.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import altair as alt

from leaguesim.report.charts import FOLLOWS, ROOM_PX, WIDE, rounded, zero_line
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.texts import known
from leaguesim.report.theme import NEXT_COLOUR, NOW_COLOUR, OKABE_ITO, SHAPES, GroupLook
from leaguesim.tables import TOLD_WEEKS

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.tillresult import TillResult


def till_figures(told: "TillResult", looks: Sequence[GroupLook]) -> Iterator[Figure]:
    """Every chart of the section."""
    yield edge_chart(told, looks)
    if told.teams is not None:
        yield teams_chart(told.teams)


def edge_chart(told: "TillResult", looks: Sequence[GroupLook]) -> Figure:
    """Extra handicap against the league's mean by weeks after the switch, a row a style."""
    styles = told.groups[told.groups["kind"] == "style"]
    rows: Rows = [
        {"style": r["group"], "week": f"week {w}", "edge": rounded(r[f"edge_week_{w}"], 3)}
        for r in styles.to_dict("records")
        for w in TOLD_WEEKS
        if known(r[f"edge_week_{w}"])
    ]
    about = (
        "Handicap that a style gets beyond what settled averages would give, less the league's mean, pins "
        "a game, so many weeks after the switch. Right of the line a style gains from averages of the old "
        "condition, left of it it loses."
    )
    weeks = [f"week {w}" for w in TOLD_WEEKS]
    base = alt.Chart(alt.NamedData("handicap-edges")).encode(
        y=alt.Y(
            "style:N", sort=[g.name for g in looks], title=None,
            axis=alt.Axis(grid=True, ticks=False),
        ),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.2)),
    )  # fmt: skip
    marks = base.mark_point(size=75, filled=True, aria=False).encode(
        x=alt.X("edge:Q", title="pins a game against the league", scale=alt.Scale(padding=ROOM_PX)),
        yOffset=alt.YOffset("week:N", sort=weeks),
        color=alt.Color(
            "week:N", title=None, scale=alt.Scale(domain=weeks, range=list(OKABE_ITO[: len(weeks)]))
        ),
        shape=alt.Shape(
            "week:N", title=None, scale=alt.Scale(domain=weeks, range=list(SHAPES[: len(weeks)]))
        ),
        tooltip=[
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("week:N", title="after the switch"),
            alt.Tooltip("edge:Q", title="pins a game", format="+.1f"),
        ],
    )
    spec = specification(alt.layer(zero_line(), marks), about, width=WIDE, height={"step": 10})
    return Figure(
        "handicap-edge", "Who gains before averages catch up", about, spec,
        {"handicap-edges": rows, "zero": [{"z": 0}]},
    )  # fmt: skip


def teams_chart(teams: "pd.DataFrame") -> Figure:
    """Points a season that the switch gives or takes, nine seasons in ten, best gain first."""
    order = teams.sort_values(["points_change", "team"], ascending=[False, True], kind="stable")
    rows: Rows = [
        {
            "team": r["team"],
            "change": rounded(r["points_change"], 3),
            "low": rounded(r["points_change_low"], 3),
            "high": rounded(r["points_change_high"], 3),
            "before": rounded(r["place_stay"], 2),
            "after": rounded(r["place_switch"], 2),
        }
        for r in order.to_dict("records")
    ]
    about = (
        "Points a season that the switch gives or takes from each team, with handicap; a mark is the mean, "
        "a bar holds nine seasons in ten."
    )
    base = alt.Chart(alt.NamedData("standings")).encode(
        y=alt.Y("team:N", sort=None, title=None, axis=alt.Axis(grid=True, ticks=False))
    )
    bars = base.mark_rule(strokeWidth=3, color=NOW_COLOUR, aria=False).encode(
        x=alt.X("low:Q", title="points a season, won or lost"),
        x2=alt.X2("high:Q"),
    )
    marks = base.mark_point(size=80, filled=True, opacity=1, color=NEXT_COLOUR, aria=False).encode(
        x=alt.X("change:Q"),
        tooltip=[
            alt.Tooltip("team:N", title="team"),
            alt.Tooltip("change:Q", title="points", format="+.1f"),
            alt.Tooltip("low:Q", title="one season in twenty below", format="+.1f"),
            alt.Tooltip("high:Q", title="one season in twenty above", format="+.1f"),
            alt.Tooltip("before:Q", title="expected place without", format=".1f"),
            alt.Tooltip("after:Q", title="expected place with it", format=".1f"),
        ],
    )
    spec = specification(
        alt.layer(zero_line(), bars, marks), about, width=WIDE, height={"step": 22}
    )
    return Figure(
        "standings", "How standings shift", about, spec, {"standings": rows, "zero": [{"z": 0}]}
    )
