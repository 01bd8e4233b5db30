"""The page of a comparison: answer, who it affects, pictures, tables, method, cautions, manifest.

Does not compute results; it arranges what ``study.compare`` returned.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from leaguesim import __version__
from leaguesim.report import charts, keptcharts, lanefans, lanemaps
from leaguesim.report.document import (
    contents,
    document,
    glossary,
    manifest_block,
    picker,
    section,
)
from leaguesim.report.figures import Drawn, Figure, Rows, draw, gallery, unchecked, warm_up
from leaguesim.report.forecastcharts import forecast_figure
from leaguesim.report.forecastpage import TITLE, forecast_section
from leaguesim.report.lanepage import arrivals_table, ratio_table
from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.people import for_people
from leaguesim.report.switchcharts import switch_figures
from leaguesim.report.switchpage import games_table, switch_table, switch_words, weeks_table
from leaguesim.report.texts import (
    ALWAYS_UNKNOWN,
    CAUTIONS,
    INVENTED,
    NOT_A_FORECAST,
    TWO_INTERVALS,
    answer,
    as_fitted,
    close_word,
    known,
    number,
    people,
    people_like_these,
    percent,
    signed,
    thresholds,
    yes_no,
)
from leaguesim.report.theme import GroupLook, group_looks
from leaguesim.report.tillcharts import till_figures
from leaguesim.report.tillpage import TITLE as TILL_TITLE
from leaguesim.report.tillpage import till_tables, till_words
from leaguesim.report.turning import TITLE as TURN_TITLE
from leaguesim.report.turning import compare_turns

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult

SECTIONS = {
    "change": "What changes for whom",
    "happy": "Who is kept happy, who is lost and why",
    "weeks": "The first weeks",
    "till": TILL_TITLE,
    "doubt": TITLE,
    "lanes": "The lanes, now and next",
    "tables": "Tables",
    "method": "How this was worked out",
    "unknown": "What the model does not know",
    "turn": TURN_TITLE,
    "cautions": "Cautions",
    "glossary": "Words and units",
    "manifest": "Manifest",
}


def compare_page(result: "CompareResult") -> str:
    """One offline HTML file that answers what happens to these bowlers.

    Parameters
    ----------
    result : what ``study.compare`` returned
    """
    warm_up()
    result = for_people(result)
    change, happy, weeks, till, lanes, doubt = compare_drawn(result)
    told = {"weeks": result.switch, "till": result.till, "doubt": result.forecast}
    sections = {k: v for k, v in SECTIONS.items() if told.get(k, "always") is not None}
    main = join(
        [
            _answer(result),
            contents(sections),
            picker(group_looks(result.groups["style"]["group"])),
            section("change", SECTIONS["change"], gallery(change)),
            section("happy", SECTIONS["happy"], _happy(result), gallery(happy), _lost(result)),
            _weeks(result, weeks),
            _till(result, till),
            None
            if result.forecast is None
            else section(
                "doubt", SECTIONS["doubt"], gallery(doubt), forecast_section(result.forecast)
            ),
            section("lanes", SECTIONS["lanes"], gallery(lanes), _lane_tables(result)),
            section("tables", SECTIONS["tables"], _tables(result)),
            section("method", SECTIONS["method"], _method(result)),
            section("unknown", SECTIONS["unknown"], bullets([*result.notes, *ALWAYS_UNKNOWN])),
            section("turn", TURN_TITLE, bullets(compare_turns(result))),
            section("cautions", SECTIONS["cautions"], bullets(CAUTIONS)),
            section("glossary", SECTIONS["glossary"], glossary()),
            section("manifest", SECTIONS["manifest"], manifest_block(result.manifest)),
        ]
    )
    title = f"{result.center}: {result.now_title} or {result.next_title}"
    if result.switch is not None and result.switch.sequence is not None:
        title += ", step by step"
    title += ", as fitted" if as_fitted(result) else ""
    return document(
        title=title,
        header=tag("h1", f"{result.center}: from “{_now(result)}” to “{_next(result)}”"),
        main=main,
        figures=[d.figure for d in (*change, *happy, *weeks, *till, *doubt, *lanes)],
        version=__version__,
    )


def compare_drawn(
    result: "CompareResult",
) -> tuple[list[Drawn], ...]:
    """The charts of a comparison: what changes, who is kept happy, first weeks, league and till, lanes, doubt."""
    looks = group_looks(result.groups["style"]["group"])
    with unchecked():
        return (
            draw(_change_figures(result, looks)),
            draw(_happy_figures(result)),
            draw(switch_figures(result.switch, looks) if result.switch is not None else ()),
            draw(till_figures(result.till, looks) if result.till is not None else ()),
            draw(_lane_figures(result, looks)),
            draw([] if result.forecast is None else [forecast_figure(result.forecast)]),
        )


def _change_figures(result: "CompareResult", looks: Sequence[GroupLook]) -> Iterator[Figure]:
    yield charts.group_changes(result)  # first: on paper it has room below the answer
    yield charts.bowler_changes(result, looks)
    yield from charts.score_charts(result)
    yield from charts.rate_charts(result)
    yield charts.night_chart(result)


def _happy_figures(result: "CompareResult") -> Iterator[Figure]:
    yield keptcharts.kept_chart(result)
    stability = keptcharts.stability_chart(result)
    if stability is not None:
        yield stability


def _weeks(result: "CompareResult", drawn: Sequence[Drawn]) -> Markup | None:
    switch = result.switch
    if switch is None:
        return None
    tables = [weeks_table(switch), switch_table(switch)]
    return section("weeks", SECTIONS["weeks"], switch_words(switch), gallery(drawn), *tables)


def _till(result: "CompareResult", drawn: Sequence[Drawn]) -> Markup | None:
    till = result.till
    if till is None:
        return None
    return section("till", SECTIONS["till"], till_words(till), gallery(drawn), till_tables(till))


def _now(result: "CompareResult") -> str:
    return result.now_title or result.now


def _next(result: "CompareResult") -> str:
    return result.next_title or result.next


def _fact(name: str, value: str, small: str) -> Markup:
    return tag("div", tag("dt", name), tag("dd", value, tag("small", small)))


def _answer(result: "CompareResult") -> Markup:
    told = answer(result)
    league = result.league
    low, high = league.get("people_low"), league.get("people_high")
    now, then = league.get("kept_happy_now"), league.get("kept_happy_next")
    facts = [
        _fact("League average", f"{signed(league.get('change'))} pins",
              f"{number(league.get('average_now'))} now, {number(league.get('average_next'))} next"),
        _fact("People like these", people_like_these(low, high),
              "95 %, other bowlers of the same kinds"),
        _fact("Kept happy", f"{percent(now)} → {percent(then)}", "our index of play, not a forecast"),
        _fact("Who moves", f"{league.get('lost') or 0} lost, {league.get('won_back') or 0} won back",
              f"of {people(len(result.bowlers))}"),
    ]  # fmt: skip
    return tag(
        "section",
        tag("p", INVENTED, class_="invented") if result.invented else None,
        tag("p", told.headline, class_="headline"),
        tag("p", told.verdict, class_="verdict"),
        tag("dl", facts, class_="facts"),
        paragraphs([told.happy, *told.who]),
        paragraphs([f"{told.roster_interval} {told.people_interval}"]),
        class_="answer",
        aria_label="The answer",
    )


def _happy(result: "CompareResult") -> Markup:
    league = result.league
    spans = [
        f"{percent(league.get(f'kept_happy_{w}'))} {w}"
        + (
            f" (people like these, 95 %: {percent(league.get(f'kept_happy_{w}_low'))} to "
            f"{percent(league.get(f'kept_happy_{w}_high'))})"
            if known(league.get(f"kept_happy_{w}_low"))
            else ""
        )
        for w in ("now", "next")
    ]
    close = int(league.get("close_calls") or 0)
    unknown = int(league.get("unknown") or 0)
    return join(
        [
            tag("p", f"Kept happy: {spans[0]}, {spans[1]}."),
            tag("p", tag("strong", NOT_A_FORECAST)),
            tag("p", "Somebody is kept happy when every part that can be told holds:"),
            bullets(thresholds(result)),
            tag(
                "p",
                f"{people(close)} within two standard errors of a threshold: more nights could move "
                "them either way." + (f" {people(unknown)} can't be told." if unknown else ""),
            ),
        ]
    )


def _lost(result: "CompareResult") -> Markup:
    now, then = result.bowlers["kept_happy_now"], result.bowlers["kept_happy_next"]
    lost = result.bowlers[(now & ~then).fillna(False).astype(bool)].sort_values("change")
    back = result.bowlers[(~now & then).fillna(False).astype(bool)].sort_values("change")
    head = ["bowler", "change, pins", "why", "close to a threshold", "style", "hand"]
    parts = []
    for caption, part, why in (
        ("Lost: happy now, not next", lost, "why_not_next"),
        ("Won back: happy next, not now", back, "why_not_now"),
    ):
        if len(part) == 0:
            parts.append(tag("p", f"{caption.split(':')[0]}: nobody."))
            continue
        rows = part.to_dict("records")
        cells = [
            [r["bowler"], signed(r["change"]), r[why] or "–", close_word(r["close_call"]), r["style"],
             r["hand"]]
            for r in rows
        ]  # fmt: skip
        data = [{"style": str(r["style"])} for r in rows]
        parts.append(table(caption, head, cells, words_from=2, row_data=data))
    return join(parts)


def _lane_figures(result: "CompareResult", looks: Sequence[GroupLook]) -> list[Figure]:
    pair = [result.looks["now"], result.looks["next"]]
    grip = lanemaps.top_of(pair, "friction")
    drawn: list[Figure] = []
    friction: list[Figure] = []
    worn: list[Figure] = []
    every: dict[str, Rows] = {}
    for when, look in zip(("now", "next"), pair, strict=True):
        cells, paths = lanemaps.lane_cells(look), lanemaps.lane_paths(look)
        drawn.append(lanemaps.film_map(look, when, looks, cells, paths))
        friction.append(lanemaps.friction_map(look, when, looks, cells, paths, grip))
        worn += lanefans.worn_figures(look, when, last_only=True)
        every[when] = paths
    fans = lanefans.fan_figures(every, looks)
    room = lanefans.miss_figure(result.looks)
    return [*drawn, lanemaps.change_map(*pair), *friction, *worn, *fans, room]


def _lane_tables(result: "CompareResult") -> Markup:
    parts = []
    for when in ("now", "next"):
        look = result.looks[when]
        parts.append(tag("h3", f"{when.capitalize()}: {look.title or look.condition}"))
        words = f"{number(look.volume_ml)} mL of conditioner, {number(look.length_ft, 0)} ft long."
        parts.append(tag("p", f"{words} {look.designation}"))
        parts.append(ratio_table(look, when))
        parts.append(arrivals_table(look, when))
    return join(parts)


def _tables(result: "CompareResult") -> Markup:
    group_head = [
        "bowlers", "average now", "next", "change, pins", "standard error, this roster",
        "95 % for people like these", "strikes now", "next", "spares now", "next",
        "spread now, pins", "next", "kept happy now", "next",
    ]  # fmt: skip
    parts = []
    for kind, frame in result.groups.items():
        rows = [
            [
                str(r["group"]), str(r["bowlers"]), number(r["average_now"]),
                number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
                people_like_these(r['change_low'], r['change_high']),
                percent(r["strike_rate_now"], 1), percent(r["strike_rate_next"], 1),
                percent(r["spare_rate_now"], 1), percent(r["spare_rate_next"], 1),
                number(r["game_sd_now"]), number(r["game_sd_next"]),
                percent(r["kept_happy_now"]), percent(r["kept_happy_next"]),
            ]
            for r in frame.to_dict("records")
        ]  # fmt: skip
        data = [{"style": row[0]} for row in rows] if kind == "style" else None
        parts.append(table(f"By {kind}", [kind, *group_head], rows, row_data=data))
    return join([*parts, games_table(result), _bowler_table(result)])


def _bowler_table(result: "CompareResult") -> Markup:
    head = [
        "bowler", "style", "hand", "average now", "next", "change, pins",
        "standard error", "strikes now", "next", "spares now", "next", "kept happy now", "next", "close to a threshold",
    ]  # fmt: skip
    order = result.bowlers.sort_values(["change", "bowler"], kind="stable").to_dict("records")
    rows = [
        [
            r["bowler"], r["style"], r["hand"], number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
            percent(r["strike_rate_now"], 1), percent(r["strike_rate_next"], 1),
            percent(r["spare_rate_now"], 1), percent(r["spare_rate_next"], 1),
            yes_no(r["kept_happy_now"]), yes_no(r["kept_happy_next"]),
            close_word(r["close_call"]),
        ]
        for r in order
    ]  # fmt: skip
    data = [{"style": str(r["style"])} for r in order]
    return table("Every bowler", head, rows, numeric_from=3, row_data=data)


def _method(result: "CompareResult") -> Markup:
    return paragraphs(
        [
            f"The same {people(len(result.bowlers))} bowl the same nights under both conditions, with the "
            "same luck in every release and at the pins, so that what differs is the lane. "
            f"{people(result.nights, 'night')} of {people(result.games, 'game')} were played under "
            f"each, from seed {result.seed}. It stopped because {result.stopped_because}.",
            f"Averages are tied to the condition “{result.today}”, which the center calls today's. "
            "A ball is rolled over the film by the equations of a sliding ball, and the pins it "
            "takes are drawn from a library of rigid-body collisions near that offset, angle and "
            "speed.",
            TWO_INTERVALS,
        ]
    )
