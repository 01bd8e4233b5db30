"""The change with its two uncertainties: luck left in the nights, and what is not known.

Does not compute either.
"""

from typing import TYPE_CHECKING

import altair as alt

from leaguesim.report.charts import FOLLOWS, WIDE, Z95, rounded, zero_line
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.texts import people
from leaguesim.report.theme import INK, NEXT_COLOUR, NOW_COLOUR

if TYPE_CHECKING:
    from leaguesim.study.forecastresult import ForecastResult


def forecast_rows(told: "ForecastResult") -> Rows:
    """League and groups: change, both intervals, chance to fall."""
    rows: Rows = []
    for k, r in enumerate(told.groups.to_dict("records")):
        league = r["kind"] == "league"
        change, se = float(r["change"]), float(r["luck_se"])
        rows.append(
            {
                "label": f"{'whole league' if league else r['group']} ({r['bowlers']})",
                "style": r["group"] if r["kind"] == "style" else "all",
                "change": rounded(change, 2), "order": k, "bowlers": people(int(r["bowlers"])),
                "low": rounded(r["low"], 2), "high": rounded(r["high"], 2),
                "luck_low": rounded(change - Z95 * se, 2),
                "luck_high": rounded(change + Z95 * se, 2),
                "doubt": rounded(r["unknown_sd"], 2), "se": rounded(se, 2),
            }
        )  # fmt: skip
    return rows


def forecast_figure(told: "ForecastResult") -> Figure:
    """Change of the league and of each group with both intervals."""
    about = (
        "Change of average for the league and each style, number of bowlers in brackets. Thick grey: "
        f"the luck of {told.nights} nights each time (95 %); more nights shrink it. Thin blue: what "
        "is not known of conditioners, lanes and people drawn too (90 %); only measuring shrinks it."
    )
    base = alt.Chart(alt.NamedData("forecast")).encode(
        y=alt.Y(
            "label:N", sort=alt.EncodingSortField("order", op="min"), title=None,
            axis=alt.Axis(grid=False, ticks=False, domain=False),
        ),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.3)),
        tooltip=[
            alt.Tooltip("label:N", title="group (bowlers)"),
            alt.Tooltip("change:Q", title="change, pins", format="+.1f"),
            alt.Tooltip("low:Q", title="90 % with what is not known, from", format="+.1f"),
            alt.Tooltip("high:Q", title="to, pins", format="+.1f"),
            alt.Tooltip("doubt:Q", title="sd, not known, pins", format=".1f"),
            alt.Tooltip("se:Q", title="standard error, luck, pins", format=".2f"),
        ],
    )  # fmt: skip
    title = "change of average, pins"
    unknown = base.mark_rule(strokeWidth=2, color=NEXT_COLOUR, aria=False).encode(
        x=alt.X("low:Q", title=title), x2="high:Q"
    )
    luck = base.mark_rule(strokeWidth=9, color=NOW_COLOUR, aria=False).encode(
        x=alt.X("luck_low:Q", title=title), x2="luck_high:Q"
    )
    marks = base.mark_point(size=50, filled=True, color=INK, aria=False).encode(
        x=alt.X("change:Q", title=title)
    )
    spec = specification(
        alt.layer(zero_line(), luck, unknown, marks), about, width=WIDE, height={"step": 24}
    )
    data: dict[str, Rows] = {"forecast": forecast_rows(told), "zero": [{"z": 0}]}
    return Figure("forecast", "The change with its two uncertainties", about, spec, data)
