"""The league and the till in words and tables, for the page of a comparison and the terminal.

Does not compute and does not draw.
"""

from typing import TYPE_CHECKING, Any

from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.texts import known, number, people, percent, signed
from leaguesim.tables import TOLD_WEEKS

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.tillresult import TillResult

TITLE = "The league and the till"
EVEN_PINS = 0.05  # an edge that rounds to 0.0
MOVED_PLACES = 0.5  # ours: a team whose expected place moves so much is counted


def _rule(told: "TillResult") -> str:
    return f"{told.percent} % of what an average lacks to {told.base}"


def _when(told: "TillResult") -> str:
    return (
        "before the season's first night"
        if told.switch_week == 1
        else f"before week {told.switch_week} of {told.weeks}"
    )


def handicap_sentence(told: "TillResult") -> str:
    """Who gains before averages catch up."""
    league = told.groups.iloc[0]
    extra = float(league["extra_week_1"])
    if abs(extra) < EVEN_PINS and told.bowlers["edge_week_1"].abs().max() < EVEN_PINS:
        return "Handicap: no average moves, so nobody's handicap is out of date."
    level = (
        "the league as a whole gets what settled averages would give"
        if abs(extra) < EVEN_PINS
        else f"the league gets {number(abs(extra))} pins a game too {'much' if extra > 0 else 'little'}"
    )
    styles = told.groups[told.groups["kind"] == "style"].sort_values("edge_week_1", kind="stable")
    text = f"Handicap ({_rule(told)}): with averages earned on the old condition {level} in week 1"
    if len(styles) > 1:
        worst, best = styles.iloc[0], styles.iloc[-1]
        text += (
            f"; against the league {best['group']} gain most ({signed(best['edge_week_1'])} pins a game), "
            f"{worst['group']} lose most ({signed(worst['edge_week_1'])})"
        )
    return f"{text}. {catching_up(told)}"


def catching_up(told: "TillResult") -> str:
    """When averages begin to follow."""
    if told.caught_up is None:
        return "The season ends before any handicap rests on games of the new condition."
    return f"Handicaps begin to follow in week {told.caught_up} after the switch."


def teams_sentence(told: "TillResult") -> str:
    """Whose place in the league moves."""
    teams = told.teams
    if teams is None:
        return "One team: no standings to shift."
    moved = teams[teams["place_change"].abs() >= MOVED_PLACES]
    if len(moved) == 0:
        return f"Standings: no team's expected place moves by {MOVED_PLACES:g} or more."
    order = teams.sort_values(["points_change", "team"], kind="stable")
    parts = [_team(order.iloc[-1]), _team(order.iloc[0])]
    return (
        f"Standings: {len(moved)} of {people(len(teams), 'team')} move by half a place or more; "
        f"{parts[0]}, {parts[1]}."
    )


def _team(row: Any) -> str:
    return (
        f"{row['team']} from place {number(row['place_stay'])} to {number(row['place_switch'])} "
        f"({signed(row['points_change'])} points a season; nine seasons in ten "
        f"{signed(row['points_change_low'])} to {signed(row['points_change_high'])})"
    )


def _whole(told: "TillResult") -> "list[dict[Any, Any]]":
    return told.oil[told.oil["conditioner"] == "all"].to_dict("records")


def oil_sentence(told: "TillResult") -> str:
    """Conditioner a lane, night and season, with its cost where prices are known."""
    now, then = _whole(told)
    text = (
        f"Conditioner: {number(now['ml_per_lane'])} mL a lane now, {number(then['ml_per_lane'])} next; "
        f"{number(now['litres_per_night'], 2)} and {number(then['litres_per_night'], 2)} L a league night, "
        f"{number(now['litres_per_season'])} and {number(then['litres_per_season'])} L in the season's weeks"
    )
    costs = [r["cost_per_season"] for r in (now, then)]
    if not all(known(c) for c in costs):
        return f"{text}; what it costs is not told: a price per litre is missing."
    unit = f" {told.currency}" if told.currency else ""
    return (
        f"{text}, which costs {number(costs[0], 0)} and {number(costs[1], 0)}{unit} "
        f"({signed(costs[1] - costs[0], 0)})."
    )


def _index(row: Any, side: str) -> str:
    if not known(row[f"index_{side}"]):
        return "no index, today has none"
    value = number(row[f"index_{side}"], 0)
    low, high = row[f"index_{side}_low"], row[f"index_{side}_high"]
    return value if low == high else f"{value} ({number(low, 0)} to {number(high, 0)})"


def machine_sentence(told: "TillResult") -> str:
    """What upsets machines next, today's condition being 100."""
    parts = [f"{r['cause']} {_index(r, 'next')}" for r in told.machine.to_dict("records")]
    return f"Machine, today = 100: {', '.join(parts)}."


def till_lines(told: "TillResult") -> list[str]:
    """The terminal's lines."""
    return [
        handicap_sentence(told),
        teams_sentence(told),
        f"{oil_sentence(told)} {machine_sentence(told)}",
    ]


def till_words(told: "TillResult") -> Markup:
    """The section's opening and what it takes for granted."""
    return paragraphs(
        [handicap_sentence(told), teams_sentence(told), oil_sentence(told), machine_sentence(told)]
    )


def till_tables(told: "TillResult") -> Markup:
    """Handicaps by group and bowler, standings, conditioner, machine; then the assumptions."""
    return join(
        [
            _groups(told.groups),
            None if told.teams is None else _teams(told.teams),
            _oil(told),
            _machine(told.machine),
            _bowlers(told.bowlers),
            tag("h3", "What this takes for granted"),
            bullets(assumptions(told)),
        ]
    )


def assumptions(told: "TillResult") -> list[str]:
    """How the section was worked out."""
    lines = [
        f"Handicap = {_rule(told)}, fraction dropped, never below 0; averages drop their fraction; the "
        "entering average stands until 21 games are bowled, the season's running one from then on. "
        f"Everybody goes over {_when(told)}, with the averages of first-weeks play; what is still "
        "missing from settled play in the last of those weeks is held to the season's end.",
        "Extra handicap: how much the handicap moves less than its settled value, on the same luck; below 0 "
        "somebody gets too little. Against the league: less the mean of all bowlers, which is what decides "
        "points.",
    ]
    if told.teams is not None:
        lines.append(
            f"{told.seasons} seasons of {told.weeks} weeks: teams meet in a round robin for a point a game "
            "and one for the series, ties in the table by lot. Points with and without the switch are of "
            "the same luck. Intervals hold nine seasons in ten; a bowler's change is drawn from its Monte "
            "Carlo error, what is not known about conditioner and lanes is not in them."
        )
    lines.append(
        f"Conditioner: what the machine is asked to lay, times the film factor of the lanes, on "
        f"{told.lanes_per_night} lanes a league night; a season counts the lanes oiled a week of center.toml, "
        "or league nights only without it. Cleaner is not counted."
    )
    lines += [
        f"{cause[0].upper()}{cause[1:]}: {assumed}."
        for cause, assumed in zip(told.machine["cause"], told.machine["assumption"], strict=True)
    ]
    lines.append("An index is not a number of stops: count today's stops and multiply.")
    return lines


def _weeks(row: Any, name: str) -> list[str]:
    return [signed(row[f"{name}_week_{w}"]) for w in TOLD_WEEKS]


_WEEK_HEAD = [f"week {w}" for w in TOLD_WEEKS]


def _groups(groups: "pd.DataFrame") -> Markup:
    head = [
        "group", "bowlers", "average now", "next", *(f"extra, {w}" for w in _WEEK_HEAD),
        *(f"against the league, {w}" for w in _WEEK_HEAD),
    ]  # fmt: skip
    records = groups.to_dict("records")
    # bands come last and by name; people read them from the lowest up
    records.sort(key=lambda r: r["average_now"] if r["kind"] == "average band" else 0.0)
    rows = [
        [
            f"{r['group']}-handed" if r["kind"] == "hand" else str(r["group"]), str(r["bowlers"]),
            number(r["average_now"]), number(r["average_next"]), *_weeks(r, "extra"),
            *_weeks(r, "edge"),
        ]
        for r in records
    ]  # fmt: skip
    data = [{"style": str(r["group"])} if r["kind"] == "style" else {} for r in records]
    caption = "Extra handicap, pins a game, so many weeks after the switch"
    return table(caption, head, rows, row_data=data)


def _bowlers(bowlers: "pd.DataFrame") -> Markup:
    head = [
        "bowler", "team", "average now", "next", "handicap now", "next",
        *(f"extra, {w}" for w in _WEEK_HEAD), "against the league, week 1", "standard error",
    ]  # fmt: skip
    records = bowlers.sort_values(
        ["edge_week_1", "bowler"], ascending=[False, True], kind="stable"
    ).to_dict("records")
    rows = [
        [
            r["bowler"], r["team"], number(r["average_now"]), number(r["average_next"]),
            number(r["handicap_now"], 0), number(r["handicap_next"], 0), *_weeks(r, "extra"),
            signed(r["edge_week_1"]), number(r["extra_se"], 2),
        ]
        for r in records
    ]  # fmt: skip
    data = [{"style": str(r["style"])} for r in records]
    caption = "Every bowler's handicap, who gains most first, pins a game"
    return table(caption, head, rows, numeric_from=2, row_data=data)


def _teams(teams: "pd.DataFrame") -> Markup:
    head = [
        "team", "bowlers", "points without the switch", "with it", "change", "standard error",
        "nine seasons in ten", "place without", "with it", "change", "standard error",
        "wins the league without", "with it",
    ]  # fmt: skip
    rows = [
        [
            r["team"], str(r["bowlers"]), number(r["points_stay"]), number(r["points_switch"]),
            signed(r["points_change"]), number(r["points_change_se"], 2),
            f"{signed(r['points_change_low'])} to {signed(r['points_change_high'])}",
            number(r["place_stay"]), number(r["place_switch"]), signed(r["place_change"]),
            number(r["place_change_se"], 2), percent(r["wins_stay"]), percent(r["wins_switch"]),
        ]
        for r in teams.sort_values(["place_switch", "team"], kind="stable").to_dict("records")
    ]  # fmt: skip
    return table("Standings with handicap, with the switch and without", head, rows)


def _oil(told: "TillResult") -> Markup:
    unit = f", {told.currency}" if told.currency else ""
    head = [
        "condition", "conditioner", "mL a lane", "L a league night", "L a season",
        f"price a litre{unit}", f"cost a lane{unit}", f"a league night{unit}", f"a season{unit}",
    ]  # fmt: skip
    several = told.oil.groupby("side").size() > 2  # one oil and the whole are the same row
    rows = [
        [
            f"{r['side']}: {r['condition']}", r["conditioner"], number(r["ml_per_lane"]),
            number(r["litres_per_night"], 2), number(r["litres_per_season"]),
            number(r["price_per_litre"], 2), number(r["cost_per_lane"], 2),
            number(r["cost_per_night"], 2), number(r["cost_per_season"], 0),
        ]
        for r in told.oil.to_dict("records")
        if r["conditioner"] != "all" or several[r["side"]]
    ]  # fmt: skip
    return table("Conditioner", head, rows, numeric_from=2)


def _machine(machine: "pd.DataFrame") -> Markup:
    head = [
        "what upsets a machine", "per 1,000 frames", "today", "now", "next", "index now, 95 %",
        "index next, 95 %",
    ]  # fmt: skip
    rows = [
        [
            r["cause"], r["unit"], *(number(r[f"per_1000_{s}"], 2) for s in ("today", "now", "next")),
            _index(r, "now"), _index(r, "next"),
        ]
        for r in machine.to_dict("records")
    ]  # fmt: skip
    return table("What upsets machines; today's condition is 100", head, rows, numeric_from=2)
