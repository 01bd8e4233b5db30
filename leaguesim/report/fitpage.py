"""The page of a fit: how far to trust it, predicted against actual, residuals, who was left out and why.

Does not compute any of it; it arranges what ``study.fit`` returned.
"""

import math
from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim import __version__
from leaguesim.report.charts import chosen_colour, shape
from leaguesim.report.csvfiles import csv_text
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.figures import Figure, Rows, draw, gallery, specification, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import spelled
from leaguesim.report.texts import CAUTIONS, number, percent, signed
from leaguesim.report.theme import ALL, INK, GroupLook, group_looks
from leaguesim.report.turning import FIT_TURNS
from leaguesim.report.turning import TITLE as TURN_TITLE

if TYPE_CHECKING:
    from leaguesim.study.fitting import FitResult

SECTIONS = {
    "match": "Predicted against actual",
    "residuals": "Residuals by style and hand",
    "held": "The last third of the season, forecast",
    "people": "The fitted roster",
    "left": "Who and what was left out",
    "oils": "What a trial and film readings say of conditioners",
    "method": "How this was worked out",
    "unknown": "What scores cannot tell",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}
LEVELS = (50, 80, 95)
UNMET_PINS = 5.0  # a smaller gap is not worth a line; our own choice
MOST_UNMET = 6
METHOD = (
    "Variance components of bowler, night and game by restricted maximum likelihood; where one lies at "
    "zero it is said so.",
    "Replica leagues of this roster are played at points spread over what each style may be, then over "
    "what the scores leave possible. A quadratic in the traits stands in for the simulation; its error, "
    "from points left out one at a time, is added to the scores' own.",
    "Each bowler's posterior weighs 2,048 points of style, speed, revs, rotation, tilt, accuracy and spare "
    "skill by all their scores. Averages are not shrunk first: the prior of the style is the only pull.",
    "Forecasts take draws of these posteriors (fitted.json), never one best guess. The spread of a bowler's "
    "games is a check and is not fitted.",
)


def told(result: "FitResult") -> tuple[str, str]:
    """The answer and its verdict, a sentence each."""
    fitted = result.bowlers[result.bowlers["fitted"]]
    head = (
        f"{len(fitted)} of {len(result.bowlers)} bowlers are fitted to {result.games:,} games; the "
        f"average of half of them is known to {number(fitted['predicted_se'].median())} pins or better (one "
        "standard deviation, in the simulation)."
    )
    b = result.backtest
    if not b.get("bowlers"):
        return head, f"No back-test: {b.get('why_not', 'too little play')}."
    skill = b["skill_shrunken"]
    word = "better than" if skill > 0.02 else "about as good as" if skill > -0.02 else "worse than"
    return head, (
        f"Fitted on the first two thirds of the nights, it misses the averages of the rest by "
        f"{number(b['rms_error'])} pins (luck alone: {number(b['luck_error'])}), {word} the shrunken average "
        f"({number(b['rms_shrunken'])}) and the plain one ({number(b['rms_last'])}); "
        f"{percent(b['coverage_50'])}, {percent(b['coverage_80'])} and {percent(b['coverage_95'])} of bowlers "
        "lie within their 50, 80 and 95 % intervals."
    )


def unmet(result: "FitResult") -> list[str]:
    """Who scores what the fitted bowler does not, and what to do about it: one sentence or none.

    Met is our own word: within twice what luck and the fit leave open, or within 5 pins.
    """
    rows = result.bowlers[result.bowlers["fitted"]]
    luck = rows["game_sd"] / rows["games"].clip(lower=1) ** 0.5
    open_ = 2.0 * (rows["predicted_se"] ** 2 + luck**2) ** 0.5
    gap = rows["residual"].abs()
    rows = rows[(gap > open_) & (gap > UNMET_PINS)]
    if rows.empty:
        return []
    rows = rows.sort_values("residual", key=lambda v: -v.abs(), kind="stable")
    names = ", ".join(
        f"{r['bowler']} ({number(r['average'])}, simulated {number(r['predicted'])})"
        for r in rows.head(MOST_UNMET).to_dict("records")
    )
    more = len(rows) - MOST_UNMET
    return [
        f"Not met, {len(rows)} of {int(result.bowlers['fitted'].sum())}: {names}"
        + (f" and {more} more" if more > 0 else "")
        + ". Their scores lie further from the simulation than luck explains, and a forecast takes them as "
        "simulated: check their style, speed and revs in the roster, or the accuracy in the style's file."
    ]


def fit_csv(result: "FitResult", *, fitted: bool = True) -> dict[str, str]:
    """The files of a fit by name; ``fitted`` False: without the fitted roster, which names bowlers."""
    return {
        "fitted.csv": csv_text(result.bowlers),
        "styles.csv": csv_text(result.styles),
        "hands.csv": csv_text(result.hands),
        "held-out.csv": csv_text(result.held_out),
        "not-used.txt": "".join(f"{p}\n" for p in result.problems),
        **({"fitted.json": result.fitted.to_json()} if fitted else {}),
        **({"conditioners.csv": csv_text(result.conditioners)} if len(result.conditioners) else {}),
    }


def fit_page(result: "FitResult") -> str:
    """One offline HTML file about a fit."""
    warm_up()
    result = spelled(result, bowlers="style", styles="style", held_out="style")
    looks = group_looks(sorted(result.bowlers["style"].unique()))
    fitted = result.bowlers[result.bowlers["fitted"]]
    charts = [
        _against("match", SECTIONS["match"], "average", "predicted", fitted, looks,
                 "Each mark is one bowler: the average of the scores, and the average that the fitted "
                 "bowler has in the simulation. On the line they agree.")
    ]  # fmt: skip
    late = []
    if len(result.held_out):
        late = [
            _against("held", "Forecast against what came", "actual", "forecast", result.held_out, looks,
                     "The last third of the nights, forecast from the first two thirds.")
        ]  # fmt: skip
    with unchecked():
        drawn, drawn_late = draw(charts), draw(late)
    head, verdict = told(result)
    oils = result.fitted.learnt is not None
    invented = "This center is invented; so are its scores." if result.invented else None
    answer = tag(
        "section",
        tag("p", invented, class_="invented") if invented else None,
        tag("p", head, class_="headline"),
        tag("p", verdict, class_="verdict"),
        paragraphs(unmet(result)),
        class_="answer",
        aria_label="The answer",
    )
    main = join(
        [
            answer,
            contents({k: v for k, v in SECTIONS.items() if k != "oils" or oils}),
            picker(looks),
            section("match", SECTIONS["match"], gallery(drawn)),
            section("residuals", SECTIONS["residuals"], _residuals(result)),
            section("held", SECTIONS["held"], _held(result), gallery(drawn_late)),
            section("people", SECTIONS["people"], _people(result)),
            section("left", SECTIONS["left"], _left(result)),
            *([section("oils", SECTIONS["oils"], _oils(result))] if oils else []),
            section("method", SECTIONS["method"], paragraphs(METHOD), _parts(result)),
            section("unknown", SECTIONS["unknown"], bullets(result.notes)),
            section("turn", TURN_TITLE, bullets(FIT_TURNS)),
            section("cautions", SECTIONS["cautions"], bullets(CAUTIONS)),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )
    return document(
        title=f"{result.center}: a roster fitted to scores",
        header=tag("h1", f"{result.center}: who these bowlers are, by their scores"),
        main=main,
        figures=[d.figure for d in (*drawn, *drawn_late)],
        version=__version__,
    )


def _against(
    key: str, title: str, x: str, y: str, people: Any, looks: list[GroupLook], about: str
) -> Figure:
    rows: Rows = [
        {"bowler": r["bowler"], "style": r["style"], "x": round(r[x], 1), "y": round(r[y], 1)}
        for r in people.to_dict("records")
        if math.isfinite(r[x]) and math.isfinite(r[y])
    ]
    ends = [v for r in rows for v in (r["x"], r["y"])]
    reach = [min(ends) - 3, max(ends) + 3] if ends else [100, 200]
    line = (
        alt.Chart(alt.NamedData(f"{key}-line"))
        .mark_line(color=INK, opacity=0.5, strokeWidth=1, aria=False)
        .encode(
            x=alt.X("x:Q", scale=alt.Scale(domain=reach, nice=False)),
            y=alt.Y("y:Q", scale=alt.Scale(domain=reach, nice=False)),
        )
    )
    marks = (
        alt.Chart(alt.NamedData(key))
        .transform_filter(f"picked == '{ALL}' || datum.style == picked")
        .mark_point(size=50, filled=True, opacity=0.9, aria=False)
        .encode(
            x=alt.X("x:Q", title=f"{x}, pins", scale=alt.Scale(domain=reach, nice=False)),
            y=alt.Y("y:Q", title=f"{y}, pins", scale=alt.Scale(domain=reach, nice=False)),
            color=chosen_colour(looks),
            shape=shape(looks),
            tooltip=[
                alt.Tooltip("bowler:N", title="bowler"),
                alt.Tooltip("style:N", title="style"),
                alt.Tooltip("x:Q", title=f"{x}, pins", format=".1f"),
                alt.Tooltip("y:Q", title=f"{y}, pins", format=".1f"),
            ],
        )
    )
    spec = specification(alt.layer(line, marks), about, width=560, height=420)
    ends_rows: Rows = [{"x": v, "y": v} for v in reach]
    return Figure(key, title, about, spec, {key: rows, f"{key}-line": ends_rows})


def _residuals(result: "FitResult") -> Markup:
    styles = [
        [r["style"], str(int(r["points_played"])), number(r["stand_in_error"]),
         number(r["bowlers"], 0), signed(r["residual"]), number(r["residual_se"])]
        for r in result.styles.to_dict("records")
    ]  # fmt: skip
    hands = [
        [r["hand"], str(r["bowlers"]), signed(r["residual"]), number(r["residual_se"])]
        for r in result.hands.to_dict("records")
    ]
    words = "residual, pins (actual minus predicted)"
    return join(
        [
            table("By style", ["style", "points played", "stand-in error, pins", "bowlers", words,
                               "standard error"], styles),
            table("By hand", ["hand", "bowlers", words, "standard error"], hands),
        ]
    )  # fmt: skip


def _held(result: "FitResult") -> Markup:
    b = result.backtest
    if not b.get("bowlers"):
        return tag("p", f"No back-test: {b.get('why_not', '')}.")
    rows = [
        ["bowlers", str(b["bowlers"]), ""],
        ["root mean square miss, pins", number(b["rms_error"], 2), f"luck alone {number(b['luck_error'], 2)}"],
        ["mean miss, pins", signed(b["mean_error"], 2), ""],
        *([f"within the {k} % interval", percent(b[f"coverage_{k}"]), _range(b, k)] for k in LEVELS),
        ["skill against the last average", signed(b["skill_last"], 3), f"misses by {number(b['rms_last'], 2)}"],
        ["skill against the shrunken average", signed(b["skill_shrunken"], 3),
         f"misses by {number(b['rms_shrunken'], 2)}"],
    ]  # fmt: skip
    return join(
        [table("Back-test", ["figure", "value", "beside it"], rows), tag("p", calibrated(b))]
    )


def _range(b: dict[str, Any], level: int) -> str:
    low, high = b[f"coverage_{level}_low"], b[f"coverage_{level}_high"]
    return f"{level} % wanted; {percent(low)} to {percent(high)} by luck"


def calibrated(b: dict[str, Any]) -> str:
    """Whether the intervals cover as they should, as far as so many bowlers can tell."""
    off = {
        k: b[f"coverage_{k}"] < b[f"coverage_{k}_low"]
        for k in LEVELS
        if not b[f"coverage_{k}_low"] <= b[f"coverage_{k}"] <= b[f"coverage_{k}_high"]
    }
    if not off:
        return (
            f"The three intervals cover as often as they should, as far as {b['bowlers']} bowlers can tell: "
            "every share lies where right intervals land 19 times in 20."
        )
    told = ", ".join(f"{k} % too {'narrow' if narrow else 'wide'}" for k, narrow in off.items())
    return (
        f"Intervals are not right, beyond luck: {told}. Trust the standard deviations accordingly."
    )


def _people(result: "FitResult") -> Markup:
    head = ["bowler", "style", "hand", "games", "average", "shrunken", "predicted", "standard deviation",
            "sd of games, actual", "predicted", "release error, degrees", "sd", "spare ratio", "sd",
            "correlation"]  # fmt: skip
    rows, data = [], []
    for r in result.bowlers.to_dict("records"):
        style = r["style"] + (
            "" if r["style_weight"] > 0.995 else f" ({percent(r['style_weight'])})"
        )
        rows.append(
            [r["bowler"], style, r["hand"], str(r["games"]), number(r["average"]), number(r["shrunken"]),
             number(r["predicted"]), number(r["predicted_se"]), number(r["game_sd"]),
             number(r["game_sd_predicted"]), number(r["accuracy_deg"], 2), number(r["accuracy_se"], 2),
             number(r["spare_accuracy"], 2), number(r["spare_accuracy_se"], 2), number(r["correlation"], 2)]
        )  # fmt: skip
        data.append({"style": str(r["style"])})
    return table("Posterior of each bowler", head, rows, numeric_from=3, row_data=data)


def _left(result: "FitResult") -> Markup:
    out = result.bowlers[~result.bowlers["fitted"]]
    parts: list[Markup] = [
        bullets([f"{r['bowler']}: {r['why_not']}" for r in out.to_dict("records")])
        if len(out)
        else tag("p", "Every bowler has scores enough.")
    ]
    aside = [f"{n} rows {name}" for name, n in result.set_aside.items() if n]
    if aside:
        parts.append(tag("p", f"Set aside: {', '.join(aside)}."))
    shown = result.problems[:50]
    more = len(result.problems) - len(shown)
    parts.append(bullets(shown) if shown else tag("p", "Every row could be used."))
    if more > 0:
        parts.append(tag("p", f"And {more} more in not-used.txt."))
    return join(parts)


def _oils(result: "FitResult") -> Markup:
    """What was measured, and every property before and after it."""
    learnt = result.fitted.learnt
    lines = [] if learnt is None else [measured(row) for row in learnt.told]
    rows = [
        [r["conditioner"], r["property"].replace("_", " "), f"{r['prior']:.3g}",
         f"{r['prior_low']:.3g} to {r['prior_high']:.3g}", f"{r['posterior']:.3g}",
         f"{r['posterior_low']:.3g} to {r['posterior_high']:.3g}", percent(r["narrowed"])]
        for r in result.conditioners.to_dict("records")
    ]  # fmt: skip
    head = ["conditioner", "property", "before", "90 %", "after", "90 %", "narrower by"]
    shown = table("Conditioners before and after", head, rows, numeric_from=2) if rows else None
    return join([bullets(lines), *([shown] if shown is not None else [])])


def measured(row: dict[str, Any]) -> str:
    """One source of knowledge about conditioners in a sentence."""
    names = ", ".join(row["conditions"])
    if row["source"] == "film readings":
        return (
            f"{row['readings']} film readings on {names}: {percent(row['left_seen'])} of the film was left, "
            f"{percent(row['left_model'])} by the model at what is known now (geometric means)."
        )
    start = (
        f"Trial of {names}: {row['bowlers']} people, {row['games']} games in {row['nights']} nights; "
        f"{signed(row['pins'])} pins against other pairs of the same weeks (standard error "
        f"{number(row['pins_se'])})."
    )
    if not row["shared_pairs"]:
        start += " No pair of lanes had both conditions, so the pair's own lanes are in its error."
    if not row["conditioners"]:
        return start + " Its conditioners are today's: nothing was learnt about them."
    return start + (
        f" The model expected {signed(row['expected'])}. Doubt of the change from "
        f"{', '.join(row['conditioners'])}: standard deviation {number(row['prior_sd'], 2)} pins before, "
        f"{number(row['posterior_sd'], 2)} after; lanes, machine and friction constants count as error."
    )


def _parts(result: "FitResult") -> Markup:
    p = result.components
    rows = [
        [name, number(math.sqrt(v), 2)]
        for name, v in (("bowler", p.bowler), ("night", p.night), ("game", p.game))
    ]
    return table(f"Standard deviations, pins ({p.method})", ["between", "pins"], rows)
