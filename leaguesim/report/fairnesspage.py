"""The page and the terminal's text for the association's rep: a verdict for every group, then why.

Does not compute results; it arranges what ``study.fairness`` returned.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from leaguesim import __version__
from leaguesim.report.csvfiles import csv_text
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.fairnesscharts import VERDICTS, effect_chart, short, twin_chart
from leaguesim.report.fairnesswords import base_words, handicap_answer, method, smallest_words
from leaguesim.report.figures import draw, gallery, unchecked, warm_up
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import spellings
from leaguesim.report.spans import span
from leaguesim.report.texts import (
    ALWAYS_UNKNOWN,
    CAUTIONS,
    known,
    number,
    people,
    percent,
    signed,
)
from leaguesim.report.theme import GroupLook
from leaguesim.report.turning import FAIRNESS_TURNS
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.study.intervals import FEWEST_PAIRS

if TYPE_CHECKING:
    import pandas as pd
    from rich.console import Console

    from leaguesim.study.fairness_result import FairnessResult

SECTIONS = {
    "groups": "How each group fares",
    "hands": "The same people with either hand",
    "rules": "The rules and the oil",
    "handicap": "Is the handicap still fair?",
    "exchange": "What an average is worth elsewhere",
    "method": "How this was worked out",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}

PICKED = (
    "Show one style: its effect, its losers and its people. Hands and averages as groups, rules, "
    "handicap and exchange are of everybody and stay as they are"
)


def spelled(result: "FairnessResult") -> "FairnessResult":
    """The result with styles spelled for people."""
    effects, losers = result.effects.copy(), result.losers.copy()
    words = spellings([*effects.loc[effects["kind"] == "style", "group"], *result.twins["style"]])
    for t in (effects, losers):
        t["group"] = [
            words.get(str(g), g) if k == "style" else g
            for k, g in zip(t["kind"], t["group"], strict=True)
        ]
    effects["words"] = [
        w.replace(f"{key}:", f"{shown}:", 1).replace(f"toward {key} (", f"toward {shown} (")
        if k == "style"
        else w
        for w, k, key, shown in zip(
            effects["words"],
            effects["kind"],
            result.effects["group"],
            effects["group"],
            strict=True,
        )
    ]
    twins = result.twins.assign(style=[words.get(str(s), s) for s in result.twins["style"]])
    return replace(result, effects=effects, losers=losers, twins=twins)


def headline(result: "FairnessResult") -> str:
    """The whole answer in a sentence."""
    e = result.effects
    margin = f"{result.limits.margin_pins:g} pins"
    counts = {k: int((e["verdict"] == k).sum()) for k in VERDICTS}
    if counts["unfair"]:
        hurt = dict.fromkeys(_hurt(r) for r in e[e["verdict"] == "unfair"].to_dict("records"))
        return (
            f"{result.title} is unfair toward {' and '.join(hurt)}: {counts['unfair']} of {len(e)} "
            f"questions show a difference, with a best guess of {margin} or more."
        )
    if counts["fair"] == len(e) and not result.compared:
        return (
            f"Only the hands could be compared, since {result.title} is today's condition and no other was named: "
            f"it is fair within {margin} to either hand."
        )
    if counts["fair"] == len(e):
        return f"{result.title} is fair within {margin} to every group asked about."
    if counts["too few"] == len(e):
        return (
            f"Whether {result.title} is fair can't be told: no question has enough pairs of lanes, of "
            f"{len(e)}."
        )
    return (
        f"Nothing unfair is shown about {result.title}; fair within {margin} is shown for "
        f"{counts['fair']} of {len(e)} questions."
    )


def _hurt(row: dict[Any, Any]) -> str:
    group, others = str(row["group"]).removesuffix(", as it changes"), str(row["others"])
    if row["kind"] == "average band":
        group = f"averages {group}"
    if others == "the others":
        others = f"everybody but {group}"
    named = group if row["effect"] < 0.0 else others
    return f"{named} of the same people" if row["kind"] == "same person, other hand" else named


def compared_words(result: "FairnessResult") -> str:
    """What was held against what."""
    if not result.compared:
        return (
            f"{result.title} is today's condition and no other was named, so changes can't be told: "
            "only the hands of the same people are compared. Name another with --against."
        )
    return (
        f"Held against {result.against_title}: the league average goes from "
        f"{number(result.average_against)} to {number(result.average)}. A group's effect is its "
        "change less the others'; that groups average differently is no unfairness of a condition."
    )


def _by_weight(effects: "pd.DataFrame") -> list[dict[Any, Any]]:
    order = ["unfair", "not shown", "fair", "too few"]
    rows = effects.to_dict("records")
    return sorted(rows, key=lambda r: order.index(r["verdict"]))


def fairness_page(result: "FairnessResult") -> str:
    """One offline HTML file for the rep.

    Parameters
    ----------
    result : what ``study.fairness`` returned
    """
    warm_up()
    result = spelled(result)
    with unchecked():
        effects = draw([effect_chart(result)])
        hands = draw([twin_chart(result)])
    main = join(
        [
            _answer(result),
            contents(SECTIONS),
            picker(_styles(result), PICKED),
            section(
                "groups",
                SECTIONS["groups"],
                gallery(effects),
                tag("p", smallest_words(result)),
                _effects(result),
            ),
            section("hands", SECTIONS["hands"], gallery(hands), _hands(result)),
            section("rules", SECTIONS["rules"], _rules(result)),
            section("handicap", SECTIONS["handicap"], _handicap(result)),
            section("exchange", SECTIONS["exchange"], _exchange(result)),
            section("method", SECTIONS["method"], method(result)),
            section("unknown", SECTIONS["unknown"], bullets([*result.notes, *ALWAYS_UNKNOWN])),
            section("turn", TURN_TITLE, bullets(FAIRNESS_TURNS)),
            section("cautions", SECTIONS["cautions"], bullets(CAUTIONS)),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )
    return document(
        title=f"{result.center}: is {result.title} fair?",
        header=tag("h1", f"{result.center}: is “{result.title}” fair?"),
        main=main,
        figures=[d.figure for d in (*effects, *hands)],
        version=__version__,
    )


def _answer(result: "FairnessResult") -> Markup:
    invented = (
        "This center is invented: its lanes, conditioners and bowlers only show what is possible."
    )
    rows = _by_weight(result.effects)
    told = [r["words"] for r in rows if r["verdict"] != "too few"]
    few = [short(r) for r in rows if r["verdict"] == "too few"]
    if few:
        told.append(f"Too few to tell: {', '.join(few)}.")
    return tag(
        "section",
        tag("p", invented, class_="invented") if result.invented else None,
        tag("p", headline(result), class_="headline"),
        bullets(told),
        paragraphs([compared_words(result), *rule_lines(result)][:2]),
        class_="answer",
        aria_label="The answer",
    )


def _styles(result: "FairnessResult") -> list[GroupLook]:
    """The styles to choose from; colours on this page tell verdicts and hands, so none is shown."""
    return [GroupLook(name, "", "") for name in dict.fromkeys(sorted(result.twins["style"]))]


def titles(result: "FairnessResult") -> dict[str, str]:
    """What people call the two conditions."""
    return {result.against: result.against_title, result.condition: result.title}


def rule_lines(result: "FairnessResult") -> list[str]:
    """Each condition's designation, by its name."""
    named = titles(result)
    return [
        f"{named.get(k, k)}: {v[:1].lower()}{v[1:]}" for k, v in result.designation_words.items()
    ]


def _of_style(table_of: "pd.DataFrame") -> list[dict[str, str]]:
    """Data of rows that follow the choice of style; other groups always stay."""
    rows = table_of.to_dict("records")
    return [{"style": str(r["group"])} if r["kind"] == "style" else {} for r in rows]


def _p(value: Any) -> str:
    return number(value, 3) if not known(value) or value >= 0.001 else "below 0.001"


def effect_rows(result: "FairnessResult") -> list[list[str]]:
    """The table of effects as text."""
    return [
        [
            str(r["group"]), str(r["kind"]), str(r["bowlers"]), signed(r["raw_gap"]),
            signed(r["effect"]), number(r["roster_se"], 2),
            span(r["people_low"], r["people_high"], signed), number(r["smallest"]), _p(r["p_difference"]),
            _p(r["p_equivalence"]), VERDICTS[r["verdict"]],
        ]
        for r in result.effects.to_dict("records")
    ]  # fmt: skip


def _effects(result: "FairnessResult") -> Markup:
    head = [
        "group", "kind", "bowlers", "raw gap to the others, pins", "effect, pins",
        "standard error, this roster", "95 % for people like these",
        "smallest shown with chance 80 %, pins", "p, no difference",
        "p, beyond the margin", "verdict",
    ]  # fmt: skip
    parts: list[Markup] = [
        table("Effects: change of the group less change of the others", head, effect_rows(result),
              numeric_from=2, words_from=10, row_data=_of_style(result.effects))
    ]  # fmt: skip
    if result.compared:
        rows = [
            [
                str(r["group"]), str(r["kind"]), f"{r['lose']} of {r['bowlers']}",
                _shares(r["share_low"], r["share_high"]), str(r["fell"]), str(r["rose"]),
                _p(r["p_moved"]),
            ]
            for r in result.losers.to_dict("records")
        ]  # fmt: skip
        margin = f"{result.limits.margin_pins:g}"
        caption = "Who loses more than the margin, and who changes halves of the league"
        losers = [
            "group", "kind", f"lose more than {margin} pins",
            "share less the others' share, 95 %, bowlers as if independent",
            "fall out of the upper half", "rise into it", "p of fall and rise alike",
        ]  # fmt: skip
        data = _of_style(result.losers)
        parts.append(table(caption, losers, rows, numeric_from=2, row_data=data))
    return join(parts)


def _shares(low: Any, high: Any) -> str:
    if not known(low):
        return "–"
    return f"{percent(low)} to {percent(high)}".replace("-", "−")


def _hands(result: "FairnessResult") -> Markup:
    twins, c = result.twins, result.control
    raw = result.effects[result.effects["kind"] == "hand"]
    lines = [
        f"The raw roster result: {w}" for w in raw["words"]
    ] + [
        f"The same {people(len(twins))} with either hand: left less right is "
        f"{signed(twins['gap'].mean())} pins on average under {result.title}"
        + (
            f", {signed(twins['gap_against'].mean())} under {result.against_title}."
            if result.compared
            else "."
        ),
        f"{people(result.twin_nights, 'night')} each, one person turned at a time: partners keep their hands, "
        "so a gap is the lane's own and what the roster's traffic does to it.",
        f"Control: the condition mirrored and everybody's hand turned, {c['nights']} nights: largest gap "
        f"{c['largest_gap']:g} pins, {c['bowlers_off']} bowlers off. It must be exactly zero"
        + (", and is." if c["bowlers_off"] == 0 else ": IT IS NOT, trust no hand result here."),
    ]  # fmt: skip
    return paragraphs(lines)


def _rules(result: "FairnessResult") -> Markup:
    named = titles(result)
    rows = [
        [
            named.get(r["condition"], str(r["condition"])), f"{number(r['distance_ft'], 0)} ft",
            _ratio(r["ratio_right"]), _ratio(r["ratio_left"]), number(r["least_right"]), number(r["least_left"]),
            f"{r['covered_right']} of 19", f"{r['covered_left']} of 19",
        ]
        for r in result.designation.to_dict("records")
    ]  # fmt: skip
    head = [
        "condition", "distance", "ratio, right", "ratio, left", "thinnest film right, units",
        "left, units", "boards oiled right", "left",
    ]  # fmt: skip
    parts: list[Markup] = [
        paragraphs([*rule_lines(result), result.rule]),
        table("Ratio, thinnest film and coverage, each side alone", head, rows),
        tag("p", result.readings_words),
    ]
    if result.readings is not None:
        off = result.readings[~result.readings["within"]]
        cells = [
            [f"{number(r['distance_ft'], 0)} ft", number(r["board"], 0), number(r["measured"]),
             number(r["meant"]), number(r["tolerance"])]
            for r in off.to_dict("records")
        ]  # fmt: skip
        if cells:
            names = ["distance", "board", "read, units", "meant, units", "tolerance, units"]
            parts.append(table("Readings outside their tolerance", names, cells))
    return join(parts)


def _ratio(value: Any) -> str:
    return f"{number(value, 2)} : 1" if known(value) else "outside dry"


def _handicap(result: "FairnessResult") -> Markup:
    parts = [tag("p", handicap_answer(result))]
    if result.handicap is not None:
        rows = [
            [
                f"{r['percent']} %", percent(r["before"], 1), percent(r["base_lower"], 1),
                percent(r["base_higher"], 1), percent(r["stale"], 1),
                percent(r["settled"], 1), percent(r["se"], 1), signed(100 * r["formula"]),
                signed(100 * r["condition"]), signed(100 * r["at_first"]),
            ]
            for r in result.handicap.to_dict("records")
        ]  # fmt: skip
        head = [
            "handicap", "before", "base 10 lower", "base 10 higher",
            "after, entering averages from before", "after, averages made on it",
            "standard error", "what the formula does, points", "what the condition does, points",
            "what old averages do, points",
        ]  # fmt: skip
        parts += [
            table("Chance that a team from the lower half of the averages wins", head, rows),
            paragraphs([result.handicap_words, base_words(result)]),
        ]
    return join(parts)


def _exchange(result: "FairnessResult") -> Markup:
    if len(result.exchange) == 0:
        return tag("p", "Only one condition was played: nothing to exchange averages with.")
    rows = [
        [
            f"{r['from']} → {r['to']}", number(r["average"], 0), number(r["becomes"]),
            span(r["low"], r["high"], number), span(r["person_low"], r["person_high"], number),
        ]
        for r in result.exchange.to_dict("records")
    ]  # fmt: skip
    head = [
        "from → to", "average", "becomes, pins", "95 % of that mean, people like these",
        "where 95 % of single bowlers lie",
    ]  # fmt: skip
    words = (
        "For an event that takes entrants from several houses. A straight line over this roster, told only "
        "within its own range; an entrant's own average has luck of its own on top."
    )
    return join([tag("p", words), table("Exchange of averages", head, rows)])


def fairness_csv(result: "FairnessResult") -> dict[str, str]:
    """The CSV files of a fairness report by name."""
    frames = {
        "effects.csv": result.effects,
        "losers.csv": result.losers,
        "twins.csv": result.twins,
        "designation.csv": result.designation,
        "readings.csv": result.readings,
        "handicap.csv": result.handicap,
        "exchange.csv": result.exchange,
    }
    return {name: csv_text(t) for name, t in frames.items() if t is not None}


def _effect_lines(result: "FairnessResult") -> list[str]:
    """A line a question that can be told; those with too few people together in one."""
    rows = _by_weight(result.effects)
    told = [f"  - {r['words']}" for r in rows if r["verdict"] != "too few"]
    few = [r for r in rows if r["verdict"] == "too few"]
    if len(few) == 1:
        return [*told, f"  - {few[0]['words']}"]
    if few:
        names = ", ".join(
            f"{short(r)} ({r['bowlers']} on {people(int(r['pairs']), 'pair')})" for r in few
        )
        told.append(
            f"  - too few to tell, bowlers on pairs of lanes ({FEWEST_PAIRS} pairs are needed): {names}."
        )
    return told


def fairness_text(result: "FairnessResult", console: "Console") -> None:
    """Print the verdicts for a terminal, broken at words, what goes on set in."""
    from textwrap import fill

    from rich.text import Text

    result = spelled(result)
    lines: Sequence[str] = [
        headline(result),
        compared_words(result),
        *_effect_lines(result),
        *rule_lines(result),
        result.readings_words if result.readings is not None else "",
        smallest_words(result),
        handicap_answer(result),
        f"Mirror control: largest gap {result.control['largest_gap']:g} pins (must be 0).",
        f"It stopped because {result.stopped_because}.",
    ]
    if result.invented:
        console.print(Text(f"{result.center} is invented: lanes, conditioners and bowlers alike."))
    for k, line in enumerate(x for x in lines if x):
        inset = "    " if line.startswith("  - ") else ""
        told = fill(line, console.width, subsequent_indent=inset, break_on_hyphens=False)
        console.print(Text(told, style="bold" if k == 0 else ""), soft_wrap=True)
