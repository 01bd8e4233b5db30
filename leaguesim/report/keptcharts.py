"""Charts of kept happy: who is kept, lost and won back, and how firm the thresholds are.

Does not judge anybody; ``study`` did.
"""

from typing import TYPE_CHECKING

import altair as alt

from leaguesim.report.charts import FOLLOWS, WIDE, rounded, when_scale
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.texts import known
from leaguesim.report.theme import KEPT_COLOURS

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult


def kept_chart(result: "CompareResult") -> Figure:
    """Bowlers kept, lost, won back, in neither, by style."""
    rows: Rows = []
    for r in result.groups["style"].to_dict("records"):
        part = result.bowlers[result.bowlers["style"] == r["group"]]
        unknown = int((part["kept_happy_now"].isna() | part["kept_happy_next"].isna()).sum())
        rest = int(r["bowlers"]) - int(r["kept"]) - int(r["lost"]) - int(r["won_back"]) - unknown
        counts = (int(r["kept"]), int(r["lost"]), int(r["won_back"]), rest, unknown)
        rows += [
            {"style": r["group"], "what": what, "bowlers": count, "order": k}
            for k, (what, count) in enumerate(zip(KEPT_COLOURS, counts, strict=True))
            if count > 0
        ]
    about = "How many bowlers of each style are kept happy in both, lost, won back, or in neither."
    base = alt.Chart(alt.NamedData("kept")).encode(
        y=alt.Y("style:N", sort=None, title=None, axis=alt.Axis(grid=False, ticks=False)),
        x=alt.X("bowlers:Q", stack="zero", title="bowlers", axis=alt.Axis(tickMinStep=1)),
        order=alt.Order("order:Q"),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.25)),
    )
    there = {
        what: colour
        for what, colour in KEPT_COLOURS.items()
        if any(r["what"] == what for r in rows)
    }
    colours = alt.Scale(domain=list(there), range=list(there.values()))
    bars = base.mark_bar(stroke="white", strokeWidth=1, aria=False).encode(
        color=alt.Color(
            "what:N",
            title=None,
            scale=colours,
            legend=alt.Legend(symbolType="square", columns=len(KEPT_COLOURS)),
        ),
        tooltip=[
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("what:N", title="what happens"),
            alt.Tooltip("bowlers:Q", title="bowlers"),
        ],
    )
    figures = base.mark_text(color="black", fontWeight="bold", aria=False).encode(
        x=alt.X("bowlers:Q", stack="zero", bandPosition=0.5), text=alt.Text("bowlers:Q")
    )
    chart = alt.layer(bars, figures)
    spec = specification(chart, about, width=WIDE, height={"step": 28})
    return Figure("kept", "Who is kept, lost and won back", about, spec, {"kept": rows})


def _stability_rows(result: "CompareResult") -> Rows:
    rows: Rows = []
    for part in dict.fromkeys(str(r["part"]) for r in result.stability):
        mine = [r for r in result.stability if r["part"] == part]
        for when in ("now", "next"):
            as_set = result.league.get(f"kept_happy_{when}")
            shares = [r.get(f"kept_happy_{when}") for r in mine]
            told = [float(v) for v in [as_set, *shares] if v is not None and known(v)]
            if known(as_set) and told:
                row = {"part": part, "when": when, "share": rounded(as_set, 4)}
                rows.append({**row, "low": rounded(min(told), 4), "high": rounded(max(told), 4)})
    return rows


def stability_chart(result: "CompareResult") -> Figure | None:
    """How the share kept happy moves when one threshold moves by a quarter."""
    rows = _stability_rows(result)
    if not rows:
        return None
    about = (
        "Marks are the shares kept happy as the thresholds are set; bars show how far they move when "
        "that one threshold is made a quarter stricter or looser. Where the bars of now and next "
        "overlap, the ranking of the conditions hangs on the threshold."
    )
    base = alt.Chart(alt.NamedData("stability")).encode(
        y=alt.Y("part:N", sort=None, title=None, axis=alt.Axis(grid=True, ticks=False)),
        yOffset=alt.YOffset("when:N", sort=["now", "next"]),
        color=alt.Color("when:N", title=None, scale=when_scale("colour")),
    )
    x = alt.X(
        "low:Q", title="share kept happy", scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%"),
    )  # fmt: skip
    bars = base.mark_rule(strokeWidth=3, aria=False).encode(x=x, x2=alt.X2("high:Q"))
    marks = base.mark_point(size=80, filled=True, opacity=1, aria=False).encode(
        x=alt.X("share:Q"),
        shape=alt.Shape("when:N", title=None, scale=when_scale("shape")),
        tooltip=[
            alt.Tooltip("part:N", title="threshold"),
            alt.Tooltip("when:N", title="condition"),
            alt.Tooltip("share:Q", title="kept happy as set", format=".0%"),
            alt.Tooltip("low:Q", title="at least", format=".0%"),
            alt.Tooltip("high:Q", title="at most", format=".0%"),
        ],
    )
    chart = alt.layer(bars, marks)
    spec = specification(chart, about, width=WIDE, height={"step": 14})
    return Figure("stability", "How firm the thresholds are", about, spec, {"stability": rows})
