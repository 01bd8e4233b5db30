"""The page of a tuning: the condition found, its recipe and readings, what was tried, the trade-off.

Does not compute any of it; it arranges what ``study.tune`` returned.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim import __version__
from leaguesim.report.charts import FOLLOWS, zero_line
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.figures import Figure, draw, gallery, specification, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import spellings
from leaguesim.report.spans import TOO_FEW, span
from leaguesim.report.texts import CAUTIONS, known, number, percent, signed
from leaguesim.report.theme import NEXT_COLOUR, GroupLook, group_looks, scale
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import TUNE_TURNS
from leaguesim.study.tuneresult import HIT_PINS

if TYPE_CHECKING:
    from leaguesim.study.tuneresult import TuneResult

MOST_OILS = 7  # in a legend
NOT_TOLD = "how it does against today's condition can't be told"
OTHER_OILS = "other oils"
EVERYBODY = "everybody"
SEARCHED = {  # the column that a goal is about
    "average": "average", "kept-happy": "kept happy", "least-spread": "spread of styles, pins",
    "discrimination": "reliability of a game",
}  # fmt: skip
SECTIONS = {
    "again": "Measured again on fresh nights",
    "recipe": "Recipe for the mechanic",
    "tradeoff": "Trade-off and what was tried",
    "method": "How it was searched",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}
PICKED = "Show one style: what it gains; conditions are measured on everybody and stay as they are"
MACHINE_CAUTION = (
    "The limits of the lane machine are generic figures unless the goal's file says your machine's own. "
    "Lay the recipe only within what the maker of the machine and of the conditioner allow."
)


def tune_page(result: "TuneResult") -> str:
    """One offline HTML file about a search."""
    warm_up()
    result = for_people(result)
    styles = styles_of(result)
    with unchecked():
        moved = draw([who_gains(result)] if styles else [])
        drawn = draw([tradeoff(result)])
    note = (
        "This center is invented: its lanes, conditioners and bowlers only show what is possible."
    )
    answer = tag(
        "section",
        tag("p", note, class_="invented") if result.invented else None,
        tag("p", result.answer[0], class_="headline"),
        tag("p", verdict(result), class_="verdict"),
        paragraphs(result.answer[1:]),
        class_="answer",
        aria_label="The answer",
    )
    main = join(
        [
            answer,
            contents(SECTIONS),
            picker([GroupLook(name, "", "") for name in styles], PICKED) if styles else None,
            section(
                "again", SECTIONS["again"], best_table(result), gallery(moved) if moved else None,
                *_differences(result),
            ),
            section("recipe", SECTIONS["recipe"], recipe_table(result), readings_table(result)),
            section("tradeoff", SECTIONS["tradeoff"], gallery(drawn), tried_table(result)),
            section("method", SECTIONS["method"], bullets(_method(result))),
            section("unknown", SECTIONS["unknown"], bullets(result.notes)),
            section("turn", TURN_TITLE, bullets(TUNE_TURNS)),
            section("cautions", SECTIONS["cautions"], bullets((MACHINE_CAUTION, *CAUTIONS))),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )  # fmt: skip
    title = result.goal.title or result.goal.kind
    return document(
        title=f"{result.center}: {title}",
        header=tag("h1", f"{result.center}: a condition for “{title}”"),
        main=main,
        figures=[d.figure for d in (*moved, *drawn)],
        version=__version__,
    )


def for_people(result: "TuneResult") -> "TuneResult":
    """The result with styles spelled for people."""
    told = [*result.differences, *result.blending]
    words = spellings(d["who"] for d in told)
    spelled = [
        [{**d, "who": words[d["who"]]} for d in part]
        for part in (result.differences, result.blending)
    ]
    return replace(result, differences=spelled[0], blending=spelled[1])


def styles_of(result: "TuneResult") -> list[str]:
    """Styles that differences are told by, where there is a choice."""
    found = dict.fromkeys(d["who"] for d in result.differences if d["who"] != EVERYBODY)
    return list(found) if len(found) > 1 else []


def verdict(result: "TuneResult") -> str:
    """Whether the goal is met, and how the winner does against today's condition, with the intervals."""
    rows = [d for d in result.differences if d["other"] == "today" and d["who"] == "everybody"]
    goal, win = result.goal, result.best[0]
    reached = ""
    if goal.kind == "average" and goal.target is not None:
        miss = abs(win["average"] - goal.target)
        word = "reached" if miss <= HIT_PINS else "not reached"
        reached = f"the target is {word}, {number(miss)} pins off ({HIT_PINS:g} allowed)"
    if not rows:
        return f"Verdict: {reached or NOT_TOLD}."
    d = rows[0]
    low, high = d["kept_happy_low"], d["kept_happy_high"]
    if not (known(low) and known(high)):
        word = "whether it keeps more people happy can't be told, too few pairs of lanes"
    elif low > 0.0 or high < 0.0:
        word = "it keeps more people happy" if low > 0.0 else "it keeps fewer people happy"
    else:
        word = "that it keeps more or fewer people happy is not shown"
    return (
        f"Verdict: {f'{reached}; ' if reached else ''}{word}. Against today's condition kept happy "
        f"{_points(d['kept_happy'])} points (people like these, 95 %: {span(low, high, _points)}), average "
        f"{signed(d['average'])} pins ({span(d['average_low'], d['average_high'], signed)})."
    )


def _method(result: "TuneResult") -> list[str]:
    goal = result.goal
    others = f" with other people of the population {goal.population}" if goal.population else ""
    return [
        f"{len(result.tried)} conditions were tried on the same {goal.nights} nights and the same luck, "
        "of the first two fifths half are today's layout in other oils and half are spread evenly, the "
        "others are where a surrogate (radial basis functions) "
        "expected the best or nothing was known.",
        f"The best were then measured on {goal.fresh_nights} other nights{others}: what is shown of them "
        "is not what made them look best.",
        "One family of patterns was searched: two flat bands from board 2 to 38, one of them only to the "
        "front, and nine nested bands from boards 8 to 32 in to 16 to 24, both sides alike. "
        "Better ones may lie outside it.",
        *_budget_words(result),
        f"On the {goal.nights} nights of the search luck decides more parts of kept happy than on the "
        f"{goal.fresh_nights} of the last measuring: shares compare within a table, not between the two.",
        *([] if goal.population else [SAME_PEOPLE]),
        "The ratio of the limits is the largest of every foot from 10 to 30 ft, each side on its own; nearer to "
        "the foul line it may be larger.",
        _stops_words(result),
    ]


SAME_PEOPLE = (
    "The search saw these very bowlers, and what was found fits them. Intervals of people like these are of "
    "the condition as it stands and do not take that off: others may gain less. With a population in the "
    "goal's file the best are measured again with people that the search never saw."
)


def _budget_words(result: "TuneResult") -> list[str]:
    """How many conditions of each kind were tried, where there are several kinds."""
    counts = result.tried["family"].value_counts(sort=False)
    if len(counts) < 2:
        return []
    told = ", ".join(f"{n} {family}" for family, n in counts.items())
    same = (
        "The same budget for every kind" if counts.nunique() == 1 else "Budgets of the kinds differ"
    )
    lines = [f"{same}: {told}, each starting from today's layout and an even spread of its own."]
    if "blend" in counts:
        lines.append(
            "A blend has a share in heads, middle and back to be found on top of what a single oil has, with no "
            "more trials: what it lacks may be the search's."
        )
    return lines


def _stops_words(result: "TuneResult") -> str:
    high = result.goal.limits.stops_high
    if high is None:
        return "Machine stops were not limited: stops_high in the goal's limits does that."
    return (
        f"Each cause of machine stops (pins off their spots, oil carried off on balls, oil past the pins) may be "
        f"at most {high:g}, where today's condition is 100. That each is in proportion to what is counted is "
        "assumed; the winner's index is from nights that the search never saw."
    )


def best_table(result: "TuneResult") -> Markup:
    """Winner, runners-up and today's condition on the same fresh nights.

    Beside the figure that the goal is about stands what it was when searched.
    """
    stops = "stops" in result.best[0]
    head = ["condition", "oil", "ft", "mL", "ratio", "average", "± (95 %)", "kept happy",
            "spread of styles, pins", "reliability of a game",
            *(["machine stops, index"] if stops else [])]  # fmt: skip
    rows = [
        [
            f"{b['name']} ({'winner' if k == 0 else b['family']})", " + ".join(b["oils"]),
            number(b["length_ft"], 0), number(b["volume_ml"]), number(b["ratio_right"]), *_figures(b),
            *([f"{number(b['stops'], 0)} ± {number(1.96 * b['stops_se'], 0)}"] if stops else []),
        ]
        for k, b in enumerate(result.best)
    ]  # fmt: skip
    rows.append(["today's", "", "", "", "", *_figures(result.today), *(["100"] if stops else [])])
    about = SEARCHED[result.goal.kind]
    at = head.index(about) + (2 if about == "average" else 1)
    head.insert(at, "when searched")
    for row, b in zip(rows, [*result.best, None], strict=True):
        then = "" if b is None else _figures(b["searched"])[head.index(about) - 5]
        row.insert(at, then)
    return table(
        "The best and today's condition, on the same fresh nights", head, rows, numeric_from=2
    )


def _figures(row: dict[str, Any]) -> list[str]:
    return [
        number(row["average"]), number(1.96 * row["average_se"]), percent(row["kept_happy"]),
        number(row["style_spread"], 2), number(row["discrimination"], 3),
    ]  # fmt: skip


def _differences(result: "TuneResult") -> list[Markup]:
    """Blend less single oil, if asked; then the winner less today's condition and the others."""
    out = []
    for single in dict.fromkeys(d["single"] for d in result.blending):
        rows = [d for d in result.blending if d["single"] == single]
        kind = "single"  # the best of all comes first
        if single != result.blending[0]["single"]:
            kind = next(b["family"] for b in result.best if b["name"] == single)
        title = f"The best blend ({rows[0]['blend']}) less the best {kind} oil ({single})"
        out.append(difference_table(rows, title))
    others = list(dict.fromkeys(d["other"] for d in result.differences))
    for other in sorted(others, key=lambda name: name != "today"):
        rows = [d for d in result.differences if d["other"] == other]
        title = f"Winner less {'todays condition' if other == 'today' else other}"
        out.append(difference_table(rows, title.replace("todays", "today's")))
    return out


def difference_table(differences: list[dict[str, Any]], title: str) -> Markup:
    """One condition less another, by group of bowlers."""
    rows = [
        [
            d["who"], str(d["bowlers"]), signed(d["average"]),
            span(d["average_low"], d["average_high"], signed),
            _points(d["kept_happy"]), span(d["kept_happy_low"], d["kept_happy_high"], _points),
        ]
        for d in differences
    ]  # fmt: skip
    head = [
        "group",
        "bowlers",
        "pins",
        "people like these",
        "kept happy, points",
        "people like these",
    ]
    caption = f"{title}; intervals (95 %) of people like these, where four pairs of lanes can tell"
    data = [{} if d["who"] == EVERYBODY else {"style": d["who"]} for d in differences]
    return table(caption, head, rows, row_data=data)


def who_gains(result: "TuneResult") -> Figure:
    """What the winner does to each style against today's condition."""
    rows: list[dict[str, Any]] = [
        {
            "group": f"{d['who']} ({d['bowlers']})", "style": "" if d["who"] == EVERYBODY else d["who"],
            "order": k, "gain": round(d["average"], 2),
            "low": round(d["average_low"], 2) if known(d["average_low"]) else None,
            "high": round(d["average_high"], 2) if known(d["average_high"]) else None,
        }
        for k, d in enumerate(result.differences)
        if d["other"] == "today"
    ]  # fmt: skip
    about = (
        "Average under the winner less average under today's condition, on the same fresh nights; the bar is "
        "the 95 % interval for people like these, missing where four pairs of lanes are not there to tell."
    )
    ends = [0.0, *(float(r[k]) for r in rows for k in ("gain", "low", "high") if r[k] is not None)]
    reach = alt.Scale(domain=[min(ends) - 0.5, max(ends) + 0.5])
    base = alt.Chart(alt.NamedData("gains")).transform_filter(f"datum.style == '' || {FOLLOWS}")
    order = alt.EncodingSortField("order", op="min")
    y = alt.Y("group:N", sort=order, title=None, axis=alt.Axis(labelLimit=190))
    x = alt.X("gain:Q", title="change of average, pins", scale=reach, axis=alt.Axis(tickCount=10))
    bars = base.mark_rule(strokeWidth=2, aria=False).encode(
        y=y, x=alt.X("low:Q", title="change of average, pins"), x2="high:Q"
    )
    marks = base.mark_point(size=70, filled=True, opacity=1, aria=False).encode(
        y=y, x=x, color=alt.value(NEXT_COLOUR),
        tooltip=[
            alt.Tooltip("group:N", title="group"),
            alt.Tooltip("gain:Q", title="change of average, pins", format="+.1f"),
        ],
    )  # fmt: skip
    spec = specification(
        alt.layer(zero_line(), bars.transform_filter("datum.low != null"), marks), about, width=560,
        height={"step": 24},
    )  # fmt: skip
    data: dict[str, list[dict[str, Any]]] = {"gains": rows, "zero": [{"z": 0}]}
    return Figure("gains", "Who gains from the winner", about, spec, data)


def _points(share: float | None) -> str:
    """A difference of shares in points, with its sign."""
    return signed(100.0 * share, 0) if share is not None and known(share) else TOO_FEW


def recipe_table(result: "TuneResult") -> Markup:
    """Bands of the winner, in the machine's doses."""
    rows = [
        [
            str(k), number(b["from_ft"], 0), number(b["to_ft"], 0), number(b["from_board"], 0),
            number(b["to_board"], 0), number(b["volume_ml"], 2),
            ", ".join(f"{n} {percent(s, 1)}" for n, s in b["shares"].items()),
        ]
        for k, b in enumerate(result.best[0]["bands"], start=1)
    ]  # fmt: skip
    head = ["band", "from ft", "to ft", "from board", "to board", "mL", "oil"]
    return table("The winner, band by band", head, rows, words_from=6)


def readings_table(result: "TuneResult") -> Markup:
    """What a tape should show."""
    sides = (("right", "boards 3 to 7"), ("centre", "boards 18 to 22"), ("left", "boards 33 to 37"))
    rows = [
        [f"{number(r['distance_ft'])} ft"]
        + [f"{number(r[s + '_units'])} ± {number(r[s + '_tolerance_units'])}" for s, _ in sides]
        for r in result.best[0]["readings"]
    ]
    caption = "Readings to expect, units; tolerance 10 % or 1 unit, whichever is more (assumed)"
    return table(caption, ["distance", *(words for _, words in sides)], rows)


def tried_table(result: "TuneResult") -> Markup:
    """Every trial, folded away."""
    head = ["trial", "oil", "ft", "mL", "ratio", "average", "kept happy", "spread", "reliability"]
    rows = [
        [
            f"{r['family']} {r['trial']}", r["oils"], number(r["length_ft"], 0), number(r["volume_ml"]),
            number(r["ratio_right"]), number(r["average"]), percent(r["kept_happy"]),
            number(r["style_spread"], 2), number(r["discrimination"], 3),
        ]
        for r in result.tried.to_dict("records")
    ]  # fmt: skip
    return tag(
        "details",
        tag("summary", f"All {len(rows)} conditions tried"),
        table("What was tried, on the nights of the search", head, rows, numeric_from=2),
    )


def main_oils(every: Iterable[str]) -> list[str]:
    """At most seven oils by name; of more the six tried most, so that the legend can be read.

    >>> main_oils(["a", "b", "a"])
    ['a', 'b']
    """
    counts = Counter(every)
    if len(counts) <= MOST_OILS:
        return sorted(counts)
    return sorted(
        name for name, _ in sorted(counts.items(), key=lambda c: (-c[1], c[0]))[: MOST_OILS - 1]
    )


def tradeoff(result: "TuneResult") -> Figure:
    """Difficulty against kept happy, fairness by size, one mark a trial."""
    rows: list[dict[str, Any]] = [
        {
            "oil": r["oils"], "average": round(r["average"], 2),
            "happy": round(100 * r["kept_happy"], 1), "spread": round(r["style_spread"], 2),
            "trial": f"{r['family']} {r['trial']}",
        }
        for r in result.tried.to_dict("records")
    ]  # fmt: skip
    shown = main_oils(str(oil) for oil in result.tried["oils"])
    for r in rows:
        r["group"] = r["oil"] if r["oil"] in shown else OTHER_OILS
    looks = group_looks(
        [*shown, *([OTHER_OILS] if len({r["oil"] for r in rows}) > len(shown) else [])]
    )
    about = (
        "Each mark is a condition tried: the easier, the further right; the more kept happy, the higher; "
        "the larger, the more unevenly it moves the styles from today."
    )
    colours, shapes = scale(looks, "colour"), scale(looks, "shape")
    chart = (
        alt.Chart(alt.NamedData("tried"))
        .mark_point(filled=True, opacity=0.75, aria=False)
        .encode(
            x=alt.X(
                "average:Q",
                title="field average, pins",
                scale=alt.Scale(zero=False),
                axis=alt.Axis(tickCount=10),
            ),
            y=alt.Y("happy:Q", title="kept happy, %"),
            color=alt.Color("group:N", title="oil", scale=alt.Scale(**colours)),
            shape=alt.Shape("group:N", title="oil", scale=alt.Scale(**shapes)),
            size=alt.Size(
                "spread:Q", title="spread of styles, pins", legend=alt.Legend(tickCount=3)
            ),
            tooltip=[
                alt.Tooltip("trial:N", title="trial"),
                alt.Tooltip("oil:N", title="oil"),
                alt.Tooltip("average:Q", title="field average, pins", format=".1f"),
                alt.Tooltip("happy:Q", title="kept happy, %", format=".0f"),
                alt.Tooltip("spread:Q", title="spread of styles, pins", format=".2f"),
            ],
        )
    )
    spec = specification(chart, about, width=640, height=320)
    return Figure("tradeoff", "Difficulty, kept happy and fairness", about, spec, {"tried": rows})
