"""Charts of a switch: boards to move, and the first weeks against settled play.

Does not know about pages; follows the page-wide choice of style like every chart.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim.report.charts import FOLLOWS, HALF, WIDE, colour, rounded, shape, zero_line
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.switchpage import WAYS
from leaguesim.report.theme import ALL, INK, NEXT_COLOUR, OKABE_ITO, GroupLook, scale

if TYPE_CHECKING:
    from leaguesim.study.results import SwitchResult


def switch_figures(switch: "SwitchResult", looks: Sequence[GroupLook]) -> Iterator[Figure]:
    """Every chart of the first weeks."""
    yield moves_chart(switch, looks)
    yield weeks_chart(switch)
    yield learnt_chart(switch)
    if switch.sequence is not None:
        yield ways_chart(switch)


def moves_chart(switch: "SwitchResult", looks: Sequence[GroupLook]) -> Figure:
    """Boards to move, one mark a bowler, by style."""
    seen: dict[tuple[str, float], int] = {}
    rows: Rows = [
        {
            "bowler": r["bowler"],
            "style": r["style"],
            "hand": r["hand"],
            "aside": _aside(seen, (str(r["style"]), float(r["move"]))),
            "move": rounded(r["move"], 2),
            "breakpoint": rounded(r["breakpoint_shift"], 2),
            "ball": f"{r['ball_from']} → {r['ball_to']}" if r["ball_change"] else "same ball",
            "other": bool(r["ball_change"]),
        }
        for r in switch.bowlers.to_dict("records")
    ]
    about = (
        "Each mark is one bowler: boards from the old line to the new one, at the feet or at the "
        "arrows, whichever is more. Right of the line: towards the far side of the lane. A hollow "
        "mark asks for another ball."
    )
    base = alt.Chart(alt.NamedData("moves")).encode(
        y=alt.Y(
            "style:N", sort=[g.name for g in looks], title=None,
            axis=alt.Axis(grid=True, ticks=False),
        ),
        yOffset=alt.YOffset("aside:Q", scale=alt.Scale(domain=[-2.2, 2.2])),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.2)),
    )  # fmt: skip
    marks = base.mark_point(size=75, strokeWidth=2, aria=False).encode(
        x=alt.X(
            "move:Q",
            title="boards to move",
            scale=alt.Scale(padding=14, nice=False),
            axis=alt.Axis(tickMinStep=1),
        ),
        color=colour(looks),
        shape=shape(looks),
        fillOpacity=alt.condition("datum.other", alt.value(0), alt.value(0.85)),
        fill=alt.Fill(
            "style:N", scale=alt.Scale(**scale(looks, "colour")), title="style", legend=None
        ),
        tooltip=[
            alt.Tooltip("bowler:N", title="bowler"),
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("hand:N", title="hand"),
            alt.Tooltip("move:Q", title="boards to move", format="+.1f"),
            alt.Tooltip("breakpoint:Q", title="breakpoint, boards", format="+.1f"),
            alt.Tooltip("ball:N", title="ball"),
        ],
    )
    chart = alt.layer(zero_line("stand"), marks)
    spec = specification(chart, about, width=WIDE, height={"step": 34})
    return Figure("moves", "Boards to move", about, spec, {"moves": rows, "stand": [{"z": 0}]})


def _aside(seen: dict[tuple[str, float], int], place: tuple[str, float]) -> int:
    """0, 1, -1, 2, -2, ... for marks that would lie on each other."""
    count = seen[place] = seen.get(place, -1) + 1
    return (count + 1) // 2 * (1 if count % 2 else -1)


def _way_rows(switch: "SwitchResult") -> Rows:
    """One row a way, group and week."""
    return [
        {
            "way": WAYS[r["way"]],
            "style": ALL if r["group"] == "league" else r["group"],
            "week": int(r["week"]),
            "date": r["date"],
            "condition": r["condition"],
            "average": rounded(r["average"], 2),
            "change": rounded(r["change"], 2),
            "low": rounded(r["change"] - r["change_se"], 2),
            "high": rounded(r["change"] + r["change_se"], 2),
            "learnt": rounded(r["learnt"], 4),
        }
        for r in switch.groups.to_dict("records")
    ]


def _way(channel: str, switch: "SwitchResult") -> Any:
    ranges: dict[str, list[Any]] = {
        "colour": [NEXT_COLOUR, OKABE_ITO[1]],
        "dash": [[1, 0], [5, 3]],
        "shape": ["circle", "square"],
    }
    count = 1 if switch.sequence is None else 2
    return alt.Scale(domain=list(WAYS.values())[:count], range=ranges[channel][:count])


def _by_week(switch: "SwitchResult") -> Any:
    """The base of a chart by week: the style picked, colour by way where there are two."""
    legend = alt.Legend(symbolStrokeWidth=0) if switch.sequence is not None else None
    return (
        alt.Chart(alt.NamedData("weeks"))
        .transform_filter("datum.style == picked")
        .encode(
            x=alt.X("week:O", title="week after the switch", axis=alt.Axis(labelAngle=0)),
            color=alt.Color("way:N", title=None, scale=_way("colour", switch), legend=legend),
        )
    )


def _joined(base: Any, y: Any, tips: Sequence[Any], switch: "SwitchResult") -> tuple[Any, Any]:
    """Lines and marks of a chart by week."""
    legend = alt.Legend() if switch.sequence is not None else None
    lines = base.mark_line(strokeWidth=2, aria=False).encode(
        y=y,
        strokeDash=alt.StrokeDash("way:N", title=None, scale=_way("dash", switch), legend=legend),
    )
    marks = base.mark_point(size=70, filled=True, opacity=1, aria=False).encode(
        y=y,
        shape=alt.Shape("way:N", title=None, scale=_way("shape", switch), legend=legend),
        tooltip=[
            alt.Tooltip("way:N", title="going over"),
            alt.Tooltip("week:O", title="week"),
            *tips,
        ],
    )
    return lines, marks


def weeks_chart(switch: "SwitchResult") -> Figure:
    """What old habits cost, week by week."""
    about = (
        "Pins a game between people who start from their old line and ball and the same people "
        "settled, for everybody or the style picked above. Bars: one standard error either way."
    )
    base = _by_week(switch)
    y = alt.Y("change:Q", title="first weeks minus settled, pins")
    tips = [
        alt.Tooltip("condition:N", title="condition"),
        alt.Tooltip("change:Q", title="from settled, pins", format="+.1f"),
        alt.Tooltip("low:Q", title="less one standard error", format="+.1f"),
        alt.Tooltip("high:Q", title="more one standard error", format="+.1f"),
    ]
    lines, marks = _joined(base, y, tips, switch)
    bars = base.mark_rule(strokeWidth=1.5, aria=False).encode(y=alt.Y("low:Q"), y2=alt.Y2("high:Q"))
    level = (
        alt.Chart(alt.NamedData("stand"))
        .mark_rule(color=INK, strokeWidth=1, opacity=0.7, aria=False)
        .encode(y=alt.Y("z:Q"))
    )
    spec = specification(alt.layer(level, bars, lines, marks), about, width=HALF, height=190)
    data = {"weeks": _way_rows(switch), "stand": [{"z": 0}]}
    return Figure("first-weeks", "What old habits cost", about, spec, data, wide=False)


def learnt_chart(switch: "SwitchResult") -> Figure:
    """Share of bowlers on the line of the week's condition."""
    about = "Share of bowlers who stand on the line and ball of that week's condition."
    base = _by_week(switch)
    y = alt.Y(
        "learnt:Q", title="share on the new line", scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%", tickCount=5),
    )  # fmt: skip
    tips = [
        alt.Tooltip("condition:N", title="condition"),
        alt.Tooltip("learnt:Q", title="on the new line", format=".0%"),
    ]
    spec = specification(alt.layer(*_joined(base, y, tips, switch)), about, width=HALF, height=190)
    return Figure(
        "learnt",
        "Who has found the new line",
        about,
        spec,
        {"weeks": _way_rows(switch)},
        wide=False,
    )


def ways_chart(switch: "SwitchResult") -> Figure:
    """Averages by week of both ways over."""
    about = "Average of each week, going over at once and step by step, on the same luck."
    base = _by_week(switch)
    y = alt.Y("average:Q", title="average, pins", scale=alt.Scale(zero=False, nice=True))
    tips = [
        alt.Tooltip("date:N", title="week of"),
        alt.Tooltip("condition:N", title="condition"),
        alt.Tooltip("average:Q", title="average, pins", format=".1f"),
    ]
    spec = specification(alt.layer(*_joined(base, y, tips, switch)), about, width=WIDE, height=200)
    return Figure("ways", "At once or step by step", about, spec, {"weeks": _way_rows(switch)})
