"""The charts of the fairness page: every group's effect with its interval, every person either way.

Does not compute effects or verdicts.
"""

from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim.report.charts import FOLLOWS, zero_line
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.texts import known

if TYPE_CHECKING:
    from leaguesim.study.fairness_result import FairnessResult

VERDICTS = {
    "fair": "fair within the margin",
    "unfair": "unfair",
    "not shown": "not shown either way",
    "too few": "too few to tell",
}
VERDICT_LOOKS = {  # colour and shape: both tell them apart
    "fair within the margin": ("#009E73", "circle"),
    "unfair": ("#D55E00", "square"),
    "not shown either way": ("#7F7F7F", "diamond"),
}


def short(row: dict[Any, Any]) -> str:
    """A group as a chart names it."""
    return f"averages {row['group']}" if row["kind"] == "average band" else str(row["group"])


def _on_chart(row: dict[Any, Any]) -> str:
    if row["kind"] == "same person, other hand":
        return "same people: change" if "changes" in str(row["group"]) else "same people: left"
    return short(row)


def effect_chart(result: "FairnessResult") -> Figure:
    """Every effect with its interval for people like these and the margin."""
    margin = result.limits.margin_pins
    rows: Rows = [
        {
            "group": _on_chart(r),
            "style": str(r["group"]) if r["kind"] == "style" else "",
            "effect": round(float(r["effect"]), 3),
            "low": round(float(r["people_low"]), 3),
            "high": round(float(r["people_high"]), 3),
            "verdict": VERDICTS[r["verdict"]],
        }
        for r in result.effects.to_dict("records")
        if known(r["people_low"])
    ]
    about = (
        f"Pins by which a group's change differs from the others', 95 % for people like these; between the "
        f"dashed lines lies the margin of {margin:g} pins set beforehand. Left of zero the "
        "group loses. Same people: everybody's left hand less their right one, and how that changes."
    )
    base = alt.Chart(alt.NamedData("effects")).transform_filter(f"datum.style == '' || {FOLLOWS}")
    y = alt.Y("group:N", sort=None, title=None)
    looks: dict[str, Any] = {
        "domain": list(VERDICT_LOOKS), "range": [c for c, _ in VERDICT_LOOKS.values()],
    }  # fmt: skip
    shapes: dict[str, Any] = {**looks, "range": [s for _, s in VERDICT_LOOKS.values()]}
    ends = [-margin, margin, *(float(r[k]) for r in rows for k in ("low", "high"))]
    reach = alt.Scale(domain=[min(ends) - 0.5, max(ends) + 0.5])
    colour = alt.Color("verdict:N", title=None, scale=alt.Scale(**looks))
    bars = base.mark_rule(strokeWidth=2).encode(
        y=y,
        x=alt.X("low:Q", title="effect, pins", axis=alt.Axis(tickCount=10), scale=reach),
        x2="high:Q",
        color=colour,
    )
    marks = base.mark_point(size=80, filled=True, opacity=1).encode(
        y=y, x="effect:Q", color=colour,
        shape=alt.Shape("verdict:N", title=None, scale=alt.Scale(**shapes)),
        tooltip=["group:N", alt.Tooltip("effect:Q", format="+.1f"), "verdict:N"],
    )  # fmt: skip
    edges = (
        alt.Chart(alt.NamedData("margin"))
        .mark_rule(strokeDash=[5, 4], opacity=0.7)
        .encode(x="at:Q")
    )
    data: dict[str, Rows] = {"effects": rows, "margin": [{"at": -margin}, {"at": margin}]}
    spec = specification(alt.layer(edges, bars, marks), about, width=560, height={"step": 26})
    return Figure("effects", "Who gains and who loses, against the others", about, spec, data)


def twin_chart(result: "FairnessResult") -> Figure:
    """Each person's left less right."""
    rows: Rows = [
        {
            "bowler": r["bowler"], "style": r["style"], "gap": round(float(r["gap"]), 3),
            "hand": r["hand"], "order": k,
        }
        for k, r in enumerate(result.twins.sort_values("gap", kind="stable").to_dict("records"))
    ]  # fmt: skip
    about = (
        "Each mark is one person thrown with either hand, everybody else as they are: average as a "
        "left-hander less average as a right-hander. Left of the line the left hand scores less; a style "
        "picked above stands out."
    )
    marks = alt.Chart(alt.NamedData("twins")).mark_point(size=60, filled=True).encode(
        x=alt.X("gap:Q", title="left hand less right hand, pins", axis=alt.Axis(tickCount=10)),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.12)),
        y=alt.Y("order:O", title="people, from lowest to highest", axis=alt.Axis(labels=False, ticks=False)),
        color=alt.Color(
            "hand:N", title="own hand",
            scale=alt.Scale(domain=["left", "right"], range=["#D55E00", "#0072B2"]),
        ),
        shape=alt.Shape(
            "hand:N", title="own hand",
            scale=alt.Scale(domain=["left", "right"], range=["square", "circle"]),
        ),
        tooltip=[
            alt.Tooltip("bowler:N", title="bowler"), alt.Tooltip("style:N", title="style"),
            alt.Tooltip("gap:Q", title="left hand less right hand, pins", format="+.1f"),
        ],
    )  # fmt: skip
    chart = alt.layer(zero_line(), marks)
    spec = specification(chart, about, width=560, height={"step": 7})
    return Figure(
        "twins", "The same people, left and right", about, spec, {"twins": rows, "zero": [{"z": 0}]}
    )
