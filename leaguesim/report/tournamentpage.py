"""The page of a tournament: field, cut, how well it tells skill, squads, styles and hands.

Does not compute any of it; it arranges what ``study.tournament`` returned.
"""

from typing import TYPE_CHECKING, Any

import altair as alt

from leaguesim import __version__
from leaguesim.report.charts import FOLLOWS, chosen_colour, shape
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.fairnesswords import selection_words
from leaguesim.report.figures import Figure, draw, gallery, specification, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import spelled
from leaguesim.report.spans import span
from leaguesim.report.texts import CAUTIONS, number, people, percent, signed
from leaguesim.report.theme import group_looks
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import TOURNAMENT_TURNS
from leaguesim.study.tournaments import HOW

if TYPE_CHECKING:
    from leaguesim.study.tournaments import TournamentResult

OILING_CAUTION = (
    "Oil between squads only with people off the lanes and approaches, by somebody trained on the lane "
    "machine, within what the makers of machine and conditioner allow; then look for oil on the approaches "
    "before anybody bowls."
)
PICKED = "Show one style: its entrants and its row; hands and the whole tournament stay as they are"
SECTIONS = {
    "figures": "The tournament in figures",
    "chance": "Who makes the cut",
    "groups": "By style and hand",
    "entrants": "Entrants",
    "method": "How this was worked out",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}
ROWS = (
    ("field_average", "field average, pins", 1, 1.0),
    ("field_sd", "standard deviation between entrants' averages, pins", 1, 1.0),
    ("cut_score", "cut score, pins over the block", 1, 1.0),
    ("best_all_make_cut", "all of the truly best make the cut, %", 1, 100.0),
    ("best_share_making_cut", "share of the truly best in the cut, %", 1, 100.0),
    ("rank_correlation", "rank correlation of skill and finish", 3, 1.0),
    ("late_less_early_squad", "last squad less first, skill levelled, pins a game", 1, 1.0),
    (
        "start_pair_sd",
        "what the pair one begins on is worth (standard deviation), pins a game",
        2,
        1.0,
    ),
    ("best_leads", "the best entrant leads the block, %", 1, 100.0),
    ("best_wins_ladder", "the best entrant wins the ladder, %", 1, 100.0),
)


def by_lot(result: "TournamentResult") -> float:
    """The share of the best that would make the cut if lots were drawn."""
    return result.tournament.cut / len(result.entrants)


def _differs(told: dict[str, float]) -> bool:
    """Whether an interval leaves out zero."""
    return not told["low"] <= 0.0 <= told["high"]


def sentences(result: "TournamentResult") -> list[str]:
    """The answer in words."""
    f, form = result.figures, result.tournament
    best, lot = f["best_share_making_cut"], by_lot(result)
    out = [
        f"Of the truly best {form.cut}, {percent(best['value'])} make the cut ({percent(best['low'])} to "
        f"{percent(best['high'])}); by lot it would be {percent(lot)}. The field averages "
        f"{number(f['field_average']['value'])}, and the cut at {form.cut} takes "
        f"{number(f['cut_score']['value'], 0)} over {form.games} games."
    ]
    late = f["late_less_early_squad"]
    if late is not None:
        word = "no difference is shown" if not _differs(late) else "it gets a different tournament"
        out.append(
            f"The last squad averages {signed(late['value'])} pins a game against the first, entrants' skill levelled "
            f"({signed(late['low'])} to {signed(late['high'])}): {word}."
        )
    if f.get("start_pair_sd") is not None:
        out.append(draw_words(f["start_pair_sd"], form.oil_sd_share, form.tilt_sd_in))
    if f["reliability"] is not None:
        block = f["reliability"][str(form.games)]
        out.append(
            f"A block of {form.games} games tells entrants apart with reliability {number(block, 2)}"
            f"{_ends_words(f, form.games)}."
        )
    return out


def _squad_words(late: dict[str, float] | None) -> str:
    """What the last squad loses or gains against the first, skill levelled."""
    if late is None:
        return ""
    word = "loses" if late["value"] < 0.0 else "gains"
    return f"the last squad {word} {number(abs(late['value']))} pins a game against the first"


def verdict(result: "TournamentResult") -> str:
    """How near the cut is to a perfect one, and whether a squad or a lane is shown to be favoured."""
    f = result.figures
    best, lot = f["best_share_making_cut"], by_lot(result)
    late, pair = f["late_less_early_squad"], f.get("start_pair_sd")
    half = (1.0 + lot) / 2.0
    if lot >= 1.0:
        skill = "the cut leaves nobody out"
    elif best["low"] <= lot:
        skill = "that the cut tells skill from luck is not shown"
    elif best["low"] > half:
        skill = "the cut is nearer to a perfect one than to lots drawn"
    elif best["high"] < half:
        skill = "the cut is nearer to lots drawn than to a perfect one"
    else:
        skill = "the cut lies about half-way between lots drawn and a perfect one"
    favoured = [
        what
        for what, told in (
            (_squad_words(late), late is not None and _differs(late)),
            (
                f"the draw of lanes is worth {number(pair['value'])} pins a game" if pair else "",
                pair is not None and pair["low"] > 0.0,
            ),
        )
        if told
    ]
    if favoured:
        fair = " and ".join(favoured)
    else:
        looked = [w for w, told in (("squad", late), ("pair of lanes", pair)) if told is not None]
        fair = f"no {' or '.join(looked)} is shown to be favoured" if looked else ""
    return f"Verdict: {skill}{'; ' if fair else ''}{fair}."


def _ends_words(figures: dict[str, Any], games: int) -> str:
    """The interval of a block's reliability, if there is one."""
    low, high = (figures.get(f"reliability_{k}") for k in ("low", "high"))
    if low is None or high is None:
        return ""
    at = str(games)
    return f" ({number(low[at], 2)} to {number(high[at], 2)} for entrants like these)"


def _lengths(figures: dict[str, Any]) -> list[list[str]]:
    """Reliability by length of the block, with 95 %."""
    low, high = (figures.get(f"reliability_{k}") or {} for k in ("low", "high"))
    return [
        [f"{g} games", number(r, 3), span(low.get(g), high.get(g), lambda x: number(x, 3))]
        for g, r in (figures["reliability"] or {}).items()
    ]


def draw_words(worth: dict[str, float], oil: float, tilt: float) -> str:
    """Whether the draw of lanes is fair: what the pair that one begins on is worth."""
    lanes = (
        f"Lanes differ by {percent(oil)} of oil and {number(tilt, 3)} in of tilt (standard deviations): "
        if oil or tilt
        else "All lanes are alike: "
    )
    told = f"the pair one begins on is worth {number(worth['value'])} pins a game (standard deviation; "
    told += f"95 % from {number(worth['low'])} to {number(worth['high'])})"
    if worth["low"] <= 0.0:
        return f"{lanes}{told}; that the draw is unfair is not shown."
    return f"{lanes}{told}; the draw is not quite fair."


def _row(words: str, told: dict[str, float], digits: int, scale: float) -> list[str]:
    low, high = (number(scale * told[k], digits) for k in ("low", "high"))
    return [words, number(scale * told["value"], digits), f"{low} to {high}"]


def tournament_page(result: "TournamentResult") -> str:
    """One offline HTML file about a tournament."""
    warm_up()
    result = spelled(result, entrants="style", groups="group")
    with unchecked():
        drawn = draw([chances(result)])
    f = result.figures
    told = [_row(words, f[k], d, s) for k, words, d, s in ROWS if f.get(k) is not None]
    note = (
        "This center is invented: its lanes, conditioners and bowlers only show what is possible."
    )
    lines = sentences(result)
    answer = tag(
        "section",
        tag("p", note, class_="invented") if result.invented else None,
        tag("p", lines[0], class_="headline"),
        tag("p", verdict(result), class_="verdict"),
        paragraphs(lines[1:]),
        class_="answer",
        aria_label="The answer",
    )
    head = ["what", "value", "95 %"]
    main = join(
        [
            answer,
            contents(SECTIONS),
            picker(group_looks(sorted(result.entrants["style"].unique())), PICKED),
            section(
                "figures", SECTIONS["figures"],
                table("The tournament, played many times", head, told),
                table("Reliability by length of the block",
                      ["block", "reliability", "95 %, people like these"], _lengths(f)),
            ),
            section("chance", SECTIONS["chance"], gallery(drawn)),
            section("groups", SECTIONS["groups"], _groups(result)),
            section("entrants", SECTIONS["entrants"], _entrants(result)),
            section("method", SECTIONS["method"], bullets(method(result))),
            section("unknown", SECTIONS["unknown"], bullets(result.notes)),
            section("turn", TURN_TITLE, bullets(TOURNAMENT_TURNS)),
            section("cautions", SECTIONS["cautions"], bullets((OILING_CAUTION, *CAUTIONS))),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )  # fmt: skip
    title = result.tournament.title or result.tournament.name
    return document(
        title=f"{result.center}: {title}", header=tag("h1", f"{result.center}: {title}"),
        main=main, figures=[d.figure for d in drawn], version=__version__,
    )  # fmt: skip


def method(result: "TournamentResult") -> list[str]:
    """How it was played and how the figures were made."""
    form = result.tournament
    return [
        f"{result.played} tournaments of {people(form.games, 'game')} were played with this field, seed "
        f"{result.seed}, with the same releases and pins for everybody's luck whatever the lanes. The intervals "
        "(95 %) cover their luck and draws only, not other fields. Every eight share a draw of squads and "
        "pairs, and the draw is the unit.",
        HOW,
        "Skill is an entrant's own mean, squads levelled, over other tournaments than those it is held "
        "against. A tie goes to the better last game. Reliability is the intraclass correlation of one game "
        "(Shrout and Fleiss 1979, case 1), other lengths by the Spearman-Brown formula; its interval (95 %) "
        "leaves entrants out in turn (jackknife of the log of the ratio of mean squares, Miller 1968). What "
        "lasts for a block counts as told apart: form of the day, and a squad's oil where squads differ.",
        "Finalists bowl games of their own in the ladder, in the form of that day, on fresh oil and "
        "without the other's wear.",
        "A selection ratio has two intervals: the luck of tournaments with this field, and people like these, "
        f"the entrant as unit. {selection_words()} Only the second can say anything of a style or hand beyond "
        "these entrants, and it asks for four entrants on either side.",
    ]


def chances(result: "TournamentResult") -> Figure:
    """Chance to make the cut by skill, one mark an entrant."""
    rows: list[dict[str, Any]] = [
        {
            "entrant": r["bowler"], "style": r["style"], "skill": round(r["skill"], 1),
            "cut": round(100 * r["makes_cut"], 1),
        }
        for r in result.entrants.to_dict("records")
    ]  # fmt: skip
    looks = group_looks(sorted({r["style"] for r in rows}))
    about = (
        "Each mark is an entrant, shaped by style (pick one above to see it alone): the better, the "
        "further right; the oftener through the cut, the higher. "
        "The steeper the rise, the better the format tells skill from luck."
    )
    chart = (
        alt.Chart(alt.NamedData("entrants"))
        .mark_point(filled=True, size=70, aria=False)
        .encode(
            x=alt.X(
                "skill:Q",
                title="skill, pins a game",
                scale=alt.Scale(zero=False),
                axis=alt.Axis(tickCount=10),
            ),
            y=alt.Y("cut:Q", title="makes the cut, %", scale=alt.Scale(domain=[0, 100])),
            color=chosen_colour(looks),
            shape=shape(looks),
            opacity=alt.condition(FOLLOWS, alt.value(0.85), alt.value(0.12)),
            tooltip=[
                alt.Tooltip("entrant:N", title="entrant"),
                alt.Tooltip("style:N", title="style"),
                alt.Tooltip("skill:Q", title="skill, pins a game", format=".1f"),
                alt.Tooltip("cut:Q", title="makes the cut, %", format=".0f"),
            ],
        )
    )
    spec = specification(chart, about, width=640, height=300)
    return Figure("chances", "Chance to make the cut by skill", about, spec, {"entrants": rows})


def _ratio(r: Any) -> list[str]:
    if r["share_of_cut"] == 0.0:
        return ["none made it", "not told", "not told"]
    if r["share_of_cut"] == 1.0:
        return ["only they made it", "not told", "not told"]
    return [
        number(r["selection_ratio"], 2),
        span(r["ratio_low"], r["ratio_high"], lambda x: number(x, 2)),
        span(r["people_low"], r["people_high"], lambda x: number(x, 2)),
    ]


def _groups(result: "TournamentResult") -> Markup:
    rows = [
        [r["group"], str(r["entries"]), percent(r["share_of_cut"]), *_ratio(r)]
        for r in result.groups.to_dict("records")
    ]
    data = [
        {"style": str(r["group"])} if r["kind"] == "style" else {}
        for r in result.groups.to_dict("records")
    ]
    return table("Chance to make the cut over everybody else's (selection ratio)",
                 ["group", "entries", "share of the cut", "selection ratio",
                  "95 %, this field", "95 %, people like these"], rows, row_data=data)  # fmt: skip


def _entrants(result: "TournamentResult") -> Markup:
    order = result.entrants.sort_values(["skill", "bowler"], ascending=[False, True])
    rows = [
        [
            r["bowler"],
            r["style"],
            r["hand"],
            number(r["skill"]),
            number(1.96 * r["skill_se"]),
            percent(r["makes_cut"]),
        ]
        for r in order.to_dict("records")
    ]
    return table("Entrants, best first", ["entrant", "style", "hand", "skill, pins", "± (95 %)", "makes the cut"],
                 rows, numeric_from=3, row_data=[{"style": str(row[1])} for row in rows])  # fmt: skip
