"""The page of one switch on several surfaces: does one product suit old lanes and new ones?

Does not compute any of it; it arranges what ``study.across_surfaces`` returned.
"""

from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim import __version__
from leaguesim.report.charts import Z95, zero_line
from leaguesim.report.document import contents, document, glossary, manifest_block, section
from leaguesim.report.figures import Figure, draw, gallery, specification, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.texts import (
    ALWAYS_UNKNOWN,
    CAUTIONS,
    INVENTED,
    NOT_A_FORECAST,
    number,
    percent,
    signed,
)
from leaguesim.report.theme import NEXT_COLOUR
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import surfaces_turns

if TYPE_CHECKING:
    from leaguesim.study.surfaces import SurfacesResult

SECTIONS = {
    "change": "The same switch on each surface",
    "tables": "Tables",
    "method": "How this was worked out",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}
METHOD = (
    "Bowlers are tied to their averages on the center's own surface, then play the same nights with "
    "the same luck on every surface, each person on the line found there.",
    "Kept happy is judged everywhere by what is usual today on the center's own surface, so that a "
    "surface on which everybody suffers is not graded by its own low standard.",
    "Intervals hold the luck of the nights alone (95 %), not what is unknown of a surface.",
)
CLEANING = (
    "Stripping, sanding and resurfacing lanes raise dust and fumes: the maker's data sheets, local "
    "codes and people licensed for it come first.",
)
HEAD = (
    "surface", "roughness, µin", "average now", "average next", "change", "95 %",
    "against own", "kept happy now", "kept happy next", "lost", "won back",
)  # fmt: skip


def surface_rows(result: "SurfacesResult") -> list[list[str]]:
    """One row of text a surface, in the order of ``HEAD``."""
    return [
        [
            r["name"], number(r["roughness_uin"], 0), number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]),
            f"{signed(r['low'])} to {signed(r['high'])}",
            f"{signed(r['other'])} ± {number(Z95 * r['other_se'])}" if "other" in r else "–",
            percent(r["kept_happy_now"]), percent(r["kept_happy_next"]), str(r["lost"]),
            str(r["won_back"]),
        ]
        for r in result.rows
    ]  # fmt: skip


def surface_lines(result: "SurfacesResult") -> list[str]:
    """The answer in sentences; the spread between surfaces second."""
    others = [r for r in result.rows if "other" in r]
    apart = max(others, key=lambda r: abs(r["other"]))
    told = abs(apart["other"]) > 2.0 * apart["other_se"]
    word = "" if told else ", which the luck of the nights could give too"
    return [
        result.answer,
        f"Farthest from the center's own surface: {apart['name']}, where the change is "
        f"{signed(apart['other'])} pins different (95 % {_around(apart['other'], apart['other_se'])})"
        f"{word}.",
    ]


def _around(value: float, se: float) -> str:
    return f"from {signed(value - Z95 * se)} to {signed(value + Z95 * se)}"


def change_figure(result: "SurfacesResult") -> Figure:
    """The change of the league's average on each surface, with its interval."""
    rows = [
        {
            "surface": r["name"], "change": round(r["change"], 2), "low": round(r["low"], 2),
            "high": round(r["high"], 2), "happy": percent(r["kept_happy_next"]),
        }
        for r in result.rows
    ]  # fmt: skip
    about = (
        f"Change of the league's average from “{result.now_title}” to “{result.next_title}” on each surface; bars "
        "are the luck left in the nights (95 %). Left of the line: scores fall."
    )
    names = [str(r["surface"]) for r in rows]
    base = alt.Chart(alt.NamedData("surfaces")).encode(
        y=alt.Y("surface:N", sort=names, title=None, axis=alt.Axis(ticks=False)),
        tooltip=[
            alt.Tooltip("surface:N", title="surface"),
            alt.Tooltip("change:Q", title="change, pins", format="+.1f"),
            alt.Tooltip("low:Q", title="from", format="+.1f"),
            alt.Tooltip("high:Q", title="to", format="+.1f"),
            alt.Tooltip("happy:N", title="kept happy next"),
        ],
    )
    title = "change of the league's average, pins"
    bars = base.mark_rule(strokeWidth=3, color=NEXT_COLOUR, aria=False).encode(
        x=alt.X("low:Q", title=title), x2="high:Q"
    )
    marks = base.mark_point(size=80, filled=True, opacity=1, color=NEXT_COLOUR, aria=False).encode(
        x=alt.X("change:Q", title=title)
    )
    chart = alt.layer(zero_line("still"), bars, marks)
    spec = specification(chart, about, width=560, height={"step": 38})
    data: dict[str, Any] = {"surfaces": rows, "still": [{"z": 0}]}
    return Figure("surfaces", "Change on each surface", about, spec, data)


def surfaces_page(result: "SurfacesResult") -> str:
    """One offline HTML file about a switch on several surfaces."""
    warm_up()
    lines = surface_lines(result)
    with unchecked():
        drawn = draw([change_figure(result)])
    answer = tag(
        "section",
        tag("p", INVENTED, class_="invented") if result.invented else None,
        tag("p", lines[0], class_="headline"),
        tag("p", lines[1], class_="verdict"),
        tag("p", NOT_A_FORECAST),
        class_="answer",
        aria_label="The answer",
    )
    unknown = [*result.notes, *ALWAYS_UNKNOWN]
    body: list[Markup] = [
        answer,
        contents(SECTIONS),
        section("change", SECTIONS["change"], gallery(drawn)),
        section("tables", SECTIONS["tables"], table("By surface, averages in pins", HEAD, surface_rows(result))),
        section("method", SECTIONS["method"], paragraphs(METHOD), tag("p", f"{result.nights} nights.")),
        section("unknown", SECTIONS["unknown"], bullets(unknown)),
        section("turn", TURN_TITLE, bullets(surfaces_turns(result))),
        section("cautions", SECTIONS["cautions"], bullets([*CAUTIONS, *CLEANING])),
        section("glossary", SECTIONS["glossary"], glossary()),
        section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
    ]  # fmt: skip
    title = f"{result.center}: from “{result.now_title}” to “{result.next_title}” on each surface"
    return document(
        title=title,
        header=tag("h1", title),
        main=join(body),
        figures=[d.figure for d in drawn],
        version=__version__,
    )
