"""Charts of a comparison: change per bowler and group, scores, rates, the night.

Does not know about pages; every chart follows one page-wide choice of style, the parameter
``picked`` ("all" at first).
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.texts import TOO_FEW, known
from leaguesim.report.theme import (
    ALL,
    INK,
    NEXT_COLOUR,
    NOW_COLOUR,
    GroupLook,
    scale,
)

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.results import CompareResult

Z95 = 1.959963984540054  # two-sided 95 % of the normal law
WIDE, HALF = 760, 360
ROOM_PX = 10  # between the outermost mark and the end of its axis, or marks lie on the labels
LINE_KEY = 400  # size of a line in a legend, px2: long enough for its dashes
RARE = 0.0005  # bins with a smaller share of every style's games are left off the score axis
FOLLOWS = f"picked == '{ALL}' || datum.style == picked"


def colour(looks: Sequence[GroupLook]) -> Any:
    """Colour by style, without a legend: charts label styles directly or follow the page's choice."""
    return alt.Color(
        "style:N",
        title="style",
        scale=alt.Scale(**scale(looks, "colour")),
        legend=None,
    )


def shape(looks: Sequence[GroupLook]) -> Any:
    """Shape by style, without a legend."""
    return alt.Shape(
        "style:N", scale=alt.Scale(**scale(looks, "shape")), title="style", legend=None
    )


def chosen_colour(looks: Sequence[GroupLook]) -> Any:
    """One ink for all styles together; the style picked takes its own colour."""
    return alt.condition(f"picked == '{ALL}'", alt.value(INK), colour(looks))


def rounded(value: Any, digits: int = 3) -> float | None:
    """A figure for a chart, None where it is not known."""
    return round(float(value), digits) if known(value) else None


def bowler_changes(result: "CompareResult", looks: Sequence[GroupLook]) -> Figure:
    """Change per bowler, worst first, with the Monte Carlo interval of this roster."""
    table = result.bowlers.sort_values(["change", "bowler"], kind="stable")
    rows: Rows = [
        {
            "bowler": r["bowler"],
            "label": f"{r['bowler']}, {r['style']}",
            "style": r["style"],
            "hand": r["hand"],
            "change": rounded(r["change"]),
            "low": rounded(r["change"] - Z95 * r["change_se"]),
            "high": rounded(r["change"] + Z95 * r["change_se"]),
            "now": rounded(r["average_now"], 1),
            "next": rounded(r["average_next"], 1),
            "order": k,
        }
        for k, r in enumerate(table.to_dict("records"))
    ]
    about = (
        "Each mark is one bowler, worst change first; the bar is the 95 % interval for this roster. "
        "Left of the line the next condition costs pins, right of it it brings some."
    )
    ends = [0.0, *(float(r[k]) for r in rows for k in ("low", "high") if r[k] is not None)]
    reach = [min(ends) - 0.5, max(ends) + 0.5]
    base = alt.Chart(alt.NamedData("bowlers")).transform_filter(FOLLOWS)
    y = alt.Y(
        "label:N",
        sort=alt.EncodingSortField("order", op="min"),
        title=None,
        axis=alt.Axis(grid=False, ticks=False, domain=False, labelLimit=190),
    )
    words = [
        alt.Tooltip("bowler:N", title="bowler"),
        alt.Tooltip("style:N", title="style"),
        alt.Tooltip("hand:N", title="hand"),
        alt.Tooltip("now:Q", title="average now, pins", format=".1f"),
        alt.Tooltip("next:Q", title="average next, pins", format=".1f"),
        alt.Tooltip("change:Q", title="change, pins", format="+.1f"),
    ]
    bars = base.mark_rule(strokeWidth=2, aria=False).encode(
        x=alt.X("low:Q", title="change of average, pins", scale=alt.Scale(domain=reach)),
        x2=alt.X2("high:Q"),
        y=y,
        color=colour(looks),
    )  # fmt: skip
    marks = base.mark_point(size=55, filled=True, opacity=1, aria=False).encode(
        x=alt.X("change:Q"),
        y=y,
        color=colour(looks),
        shape=shape(looks),
        tooltip=words,
    )
    step = 17 if len(rows) <= 80 else 12
    chart = alt.layer(zero_line(), bars, marks)
    spec = specification(chart, about, width=WIDE, height={"step": step})
    return Figure(
        "bowlers", "Change per bowler", about, spec, {"bowlers": rows, "zero": [{"z": 0}]}
    )


def zero_line(data: str = "zero") -> Any:
    """A vertical line at no change; ``data`` holds its one row, z of 0."""
    return (
        alt.Chart(alt.NamedData(data))
        .mark_rule(color=INK, strokeWidth=1, opacity=0.7, aria=False)
        .encode(x=alt.X("z:Q"))
    )


def group_changes(result: "CompareResult") -> Figure:
    """Change by style, hand and average band, with intervals for people like these."""
    rows: Rows = []
    for kind, table in result.groups.items():
        for r in table.to_dict("records"):
            rows.append(
                {
                    "label": f"{r['group']} ({r['bowlers']})",
                    "kind": kind,
                    "style": r["group"] if kind == "style" else "",
                    "change": rounded(r["change"]),
                    "low": rounded(r["change_low"]),
                    "high": rounded(r["change_high"]),
                    "note": "" if known(r["change_low"]) and known(r["change_high"]) else TOO_FEW,
                    "order": len(rows),
                }
            )
    told = [float(r[k]) for r in rows for k in ("change", "low", "high") if r[k] is not None]
    middle = 0.5 * (min([0.0, *told]) + max([0.0, *told]))
    for row in rows:
        right = row["change"] is not None and row["change"] > middle
        row["side"] = "before" if right else "after"
    about = (
        "Styles, hands and average bands, number of bowlers in brackets; bars are 95 % intervals "
        "for people like these, wider than the luck left in the simulation. A faint mark without a "
        "bar plays on too few pairs of lanes to tell."
    )
    base = alt.Chart(alt.NamedData("groups"))
    y = alt.Y(
        "label:N", sort=alt.EncodingSortField("order", op="min"), title=None,
        axis=alt.Axis(grid=False, ticks=False, domain=False),
    )  # fmt: skip
    faded = alt.condition(
        f"picked == '{ALL}' || datum.style == picked", alt.value(1), alt.value(0.3)
    )
    kinds: dict[str, Any] = {
        "domain": ["style", "hand", "average band"],
        "range": ["circle", "square", "diamond"],
    }
    bars = base.mark_rule(color=INK, strokeWidth=2, aria=False).encode(
        x=alt.X("low:Q", title="change of average, pins"), x2=alt.X2("high:Q"), y=y, opacity=faded
    )
    ways: tuple[tuple[str, Any, int], ...] = (("before", "right", -9), ("after", "left", 9))
    few = [
        base.transform_filter(f"datum.side == {side!r}")
        .mark_text(align=align, dx=dx, fontStyle="italic", aria=False)
        .encode(x=alt.X("change:Q"), y=y, text=alt.Text("note:N"))
        for side, align, dx in ways
    ]
    marks = base.mark_point(size=70, filled=True, color=NEXT_COLOUR, aria=False).encode(
        fillOpacity=alt.condition("datum.note == ''", alt.value(1), alt.value(0.2)),
        x=alt.X("change:Q"), y=y, opacity=faded,
        shape=alt.Shape("kind:N", title="by", scale=alt.Scale(**kinds)),
        tooltip=[
            alt.Tooltip("label:N", title="group (bowlers)"),
            alt.Tooltip("change:Q", title="change, pins", format="+.1f"),
            alt.Tooltip("low:Q", title="95 % from, pins", format="+.1f"),
            alt.Tooltip("high:Q", title="95 % to, pins", format="+.1f"),
            alt.Tooltip("note:N", title="interval"),
        ],
    )  # fmt: skip
    chart = alt.layer(zero_line(), bars, marks, *few)
    data = {"groups": rows, "zero": [{"z": 0}]}
    return Figure(
        "groups",
        "Change by group",
        about,
        specification(chart, about, width=WIDE, height={"step": 20}),
        data,
    )


def when_scale(channel: str) -> Any:
    """Colour or dash that tells now from next on every chart that shows both."""
    ranges: dict[str, list[Any]] = {
        "colour": [NOW_COLOUR, NEXT_COLOUR],
        "dash": [[5, 3], [1, 0]],
        "shape": ["diamond", "circle"],
    }
    return alt.Scale(domain=["now", "next"], range=ranges[channel])


def score_charts(result: "CompareResult") -> Iterator[Figure]:
    """Score distributions now and next, one small chart a style, bins of ten pins."""
    table = result.scores.assign(bin=result.scores["score"] // 10 * 10)
    binned = table.groupby(["style", "condition", "bin"], sort=False)["share"].sum().reset_index()
    top = float(binned["share"].max()) if len(binned) else 1.0
    seen = binned[binned["share"] > RARE]["bin"]
    reach = (float(seen.min()), float(seen.max()) + 10.0) if len(seen) else (0.0, 300.0)
    for k, style in enumerate(result.groups["style"]["group"]):
        part = binned[binned["style"] == style]
        rows: Rows = [
            {
                "when": r["condition"],
                "from": int(r["bin"]),
                "to": int(r["bin"]) + 9,
                "middle": int(r["bin"]) + 4.5,
                "share": rounded(r["share"], 5),
            }
            for r in part.to_dict("records")
        ]
        yield _score_chart(f"scores-{k}", str(style), rows, (top, *reach))


def _score_chart(key: str, style: str, rows: Rows, reach: tuple[float, float, float]) -> Figure:
    top, low, high = reach
    about = f"Share of games of the {style} bowlers in each ten pins: dashed now, solid next."
    base = alt.Chart(alt.NamedData(key)).encode(
        x=alt.X(
            "middle:Q", title="score of a game, pins",
            scale=alt.Scale(domain=[low, min(high, 300.0)], nice=False),
            axis=alt.Axis(tickCount=5, labelFlush=False),
        ),
        y=alt.Y(
            "share:Q", title="share of games", scale=alt.Scale(domain=[0, top]),
            axis=alt.Axis(format="%", tickCount=4),
        ),
    )  # fmt: skip
    lines = base.mark_line(interpolate="monotone", strokeWidth=2, clip=True, aria=False).encode(
        color=alt.Color(
            "when:N", title=None, scale=when_scale("colour"), legend=alt.Legend(symbolSize=LINE_KEY)
        ),
        strokeDash=alt.StrokeDash("when:N", title=None, scale=when_scale("dash")),
    )
    spots = base.mark_point(size=60, opacity=0, filled=True, clip=True, aria=False).encode(
        tooltip=[
            alt.Tooltip("when:N", title="condition"),
            alt.Tooltip("from:Q", title="from, pins"),
            alt.Tooltip("to:Q", title="to, pins"),
            alt.Tooltip("share:Q", title="share of games", format=".1%"),
        ]
    )
    chart = alt.layer(lines, spots)
    spec = specification(chart, about, width=HALF, height=150)
    return Figure(key, f"Scores: {style}", about, spec, {key: rows}, wide=False, group=style)


RATES: tuple[tuple[str, str, str, str, bool], ...] = (
    ("strike_rate", "Strike rate", "strikes per full rack", ".1%", True),
    ("spare_rate", "Spare rate", "spares per attempt", ".1%", True),
    ("game_sd", "Spread of a game", "standard deviation of a game, pins", ".1f", False),
    ("corner_rate", "Corner pins", "corner pin left alone per pocket hit", ".1%", True),
)


def rate_charts(result: "CompareResult") -> Iterator[Figure]:
    """Strike, spare and corner-pin rates and the spread of a game, now and next, by style."""
    for rate in RATES:
        yield _rate_chart(result.groups["style"], *rate)


def _rate_chart(
    table: "pd.DataFrame", column: str, title: str, axis: str, form: str, share: bool
) -> Figure:
    rows: Rows = [
        {"style": r["group"], "when": when, "value": rounded(r[f"{column}_{when}"], 5)}
        for r in table.to_dict("records")
        for when in ("now", "next")
        if known(r[f"{column}_{when}"])
    ]
    about = f"{title} by style: {axis}; diamond now, disc next."
    key = column.replace("_", "-")
    base = alt.Chart(alt.NamedData(key)).encode(
        y=alt.Y("style:N", sort=None, title=None, axis=alt.Axis(grid=False, ticks=False)),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.25)),
    )
    x = alt.X(
        "value:Q", title=axis, scale=alt.Scale(zero=False, nice=True, padding=ROOM_PX),
        axis=alt.Axis(format="%" if share else "", tickCount=5),
    )  # fmt: skip
    link = base.mark_line(color=INK, strokeWidth=1.5, aria=False).encode(
        x=x, detail=alt.Detail("style:N")
    )
    marks = base.mark_point(size=80, filled=True, aria=False).encode(
        x=x,
        color=alt.Color("when:N", title=None, scale=when_scale("colour")),
        shape=alt.Shape("when:N", title=None, scale=when_scale("shape")),
        tooltip=[
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("when:N", title="condition"),
            alt.Tooltip("value:Q", title=axis, format=form),
        ],
    )
    chart = alt.layer(link, marks)
    spec = specification(chart, about, width=HALF, height={"step": 24})
    return Figure(key, title, about, spec, {key: rows}, wide=False)


def night_chart(result: "CompareResult") -> Figure:
    """Averages of games 1 to 3, now and next, for everybody or the style picked."""
    columns = [c for c in result.bowlers.columns if c.startswith("game") and c[4].isdigit()]
    parts = [(ALL, result.bowlers), *result.bowlers.groupby("style", sort=False)]
    rows: Rows = [
        {
            "style": style,
            "game": int(column[4]),
            "when": column.split("_")[1],
            "average": rounded(part[column].mean(), 2),
        }
        for style, part in parts
        for column in columns
        if known(part[column].mean())
    ]
    about = (
        "Average of each game of the night, for everybody or for the style picked above: dashed now, "
        "solid next."
    )
    base = (
        alt.Chart(alt.NamedData("night"))
        .transform_filter("datum.style == picked")
        .encode(
            x=alt.X("game:O", title="game of the night", axis=alt.Axis(labelAngle=0)),
            y=alt.Y("average:Q", title="average, pins", scale=alt.Scale(zero=False, nice=True)),
            color=alt.Color(
                "when:N",
                title=None,
                scale=when_scale("colour"),
                legend=alt.Legend(symbolStrokeWidth=0),
            ),
        )
    )
    lines = base.mark_line(strokeWidth=2, aria=False).encode(
        strokeDash=alt.StrokeDash("when:N", title=None, scale=when_scale("dash"))
    )
    marks = base.mark_point(size=80, filled=True, opacity=1, aria=False).encode(
        shape=alt.Shape("when:N", title=None, scale=when_scale("shape")),
        tooltip=[
            alt.Tooltip("game:O", title="game"),
            alt.Tooltip("when:N", title="condition"),
            alt.Tooltip("average:Q", title="average, pins", format=".1f"),
        ],
    )
    chart = alt.layer(lines, marks)
    spec = specification(chart, about, width=HALF, height=170)
    return Figure("night", "How the night goes", about, spec, {"night": rows}, wide=False)
