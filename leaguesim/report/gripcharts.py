"""Charts of friction against slip: every conditioner at several films, and the slip that styles have.

Does not compute friction; ``study.grip`` does.
"""

from typing import TYPE_CHECKING, Any, Final

import altair as alt

from leaguesim.report.charts import FOLLOWS, HALF
from leaguesim.report.figures import Figure, Rows, specification
from leaguesim.report.people import spellings
from leaguesim.report.theme import INK, group_looks, scale

if TYPE_CHECKING:
    from leaguesim.study.results import LaneResult

MOST: Final = 7  # conditioners on one chart; more could not be told apart
HEIGHT: Final = 230
TOP_MPS: Final = 9.0
INTRODUCTION: Final = (
    "Friction is force across the lane per force down on it. A ball leaves the hand with a slip that "
    "hangs on speed, revs and axis rotation, and loses it on the way: read the curves at a style's slip "
    "for the release and to the left of it for the rest of the lane. Where all curves lie "
    "together, the film decides and not the product. One scale on all charts; a clean dry lane gives the "
    "ball's own dry friction."
)


def grip_figures(result: "LaneResult") -> list[Figure]:
    """One chart a film, all on one scale, and the styles' slip; none without curves."""
    names, left_out = shown_conditioners(result)
    rows = [r for r in result.curves if r["conditioner"] in names]
    if not rows:
        return []
    top = max(float(r["friction"]) for r in rows)
    films = sorted({float(r["film_units"]) for r in rows})
    figures = [_film(film, rows, names, left_out, top) for film in films]
    return [*figures, _styles(result)] if result.slips else figures


def shown_conditioners(result: "LaneResult") -> tuple[list[str], list[str]]:
    """At most seven conditioners, those of the condition first, then by name; and the rest."""
    every = sorted({str(r["conditioner"]) for r in result.curves})
    every.sort(key=lambda name: name not in result.used)
    return sorted(every[:MOST]), sorted(every[MOST:])


def _slip(field: str) -> Any:
    return alt.X(
        field,
        title="slip of the ball on the lane, m/s",
        scale=alt.Scale(domain=[0, TOP_MPS], nice=False),
        axis=alt.Axis(values=list(range(0, 10)), grid=False, format="d"),
    )


def _film(film: float, rows: Rows, names: list[str], left_out: list[str], top: float) -> Figure:
    looks = group_looks(names)
    here: Rows = [
        {
            "c": r["conditioner"],
            "slip": round(float(r["slip_mps"]), 2),
            "mu": round(float(r["friction"]), 4),
        }
        for r in rows
        if r["film_units"] == film
    ]
    about = f"Friction of the reference ball on an even film of {film:g} units, by conditioner."
    if left_out:
        about += f" Not drawn: {', '.join(left_out)}."
    data = f"grip-{film:g}"
    base = alt.Chart(alt.NamedData(data)).encode(
        x=_slip("slip:Q"),
        y=alt.Y("mu:Q", title="friction", scale=alt.Scale(domain=[0, round(1.05 * top, 3)])),
        color=alt.Color("c:N", title="conditioner", scale=alt.Scale(**scale(looks, "colour"))),
        tooltip=[
            alt.Tooltip("c:N", title="conditioner"),
            alt.Tooltip("slip:Q", title="slip, m/s", format=".2f"),
            alt.Tooltip("mu:Q", title="friction", format=".3f"),
        ],
    )
    marks = (
        base.transform_filter("datum.slip % 1.5 < 0.01")
        .mark_point(filled=True, size=45, opacity=1, aria=False)
        .encode(
            shape=alt.Shape("c:N", title="conditioner", scale=alt.Scale(**scale(looks, "shape")))
        )
    )
    chart = alt.layer(base.mark_line(strokeWidth=2, aria=False), marks)
    spec = specification(chart, about, width=HALF, height=HEIGHT)
    return Figure(data, f"On {film:g} units of film", about, spec, {data: here}, wide=False)


def _styles(result: "LaneResult") -> Figure:
    words = spellings(r["style"] for r in result.slips)
    rows: Rows = [
        {
            "style": words[r["style"]], "low": round(float(r["low_mps"]), 2),
            "middle": round(float(r["middle_mps"]), 2), "high": round(float(r["high_mps"]), 2),
            "speed": round(float(r["speed_mph"]), 1), "revs": round(float(r["rev_rate_rpm"])),
        }
        for r in result.slips
    ]  # fmt: skip
    about = (
        "Slip at the release by style: the bar holds eight bowlers of ten, the dot is the middle one. "
        "Further down the lane it is less."
    )
    base = alt.Chart(alt.NamedData("grip-styles")).encode(
        y=alt.Y("style:N", title=None),
        opacity=alt.condition(FOLLOWS, alt.value(1), alt.value(0.25)),
        tooltip=[
            alt.Tooltip("style:N", title="style"),
            alt.Tooltip("low:Q", title="from, m/s", format=".1f"),
            alt.Tooltip("high:Q", title="to, m/s", format=".1f"),
            alt.Tooltip("speed:Q", title="speed, mph", format=".1f"),
            alt.Tooltip("revs:Q", title="rev rate, rpm", format="d"),
        ],
    )
    bars = base.mark_bar(height=9, color=INK, fillOpacity=0.3, aria=False).encode(
        x=_slip("low:Q"), x2=alt.X2("high:Q")
    )
    dots = base.mark_point(filled=True, size=50, color=INK, aria=False).encode(x=alt.X("middle:Q"))
    spec = specification(alt.layer(bars, dots), about, width=HALF, height=HEIGHT)
    return Figure("grip-styles", "Slip by style", about, spec, {"grip-styles": rows}, wide=False)
