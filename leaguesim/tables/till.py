"""The league and the till: handicaps, standings, litres and cost, machines.

Declares columns only.
"""

from leaguesim.tables.column import Column
from leaguesim.tables.compare import BOWLERS

TOLD_WEEKS = (1, 3, 6, 12)  # weeks after the switch
_EXTRA = "handicap a game more than settled averages would give, week {} after the switch"
_EDGE = "the same against the league's mean, week {} after the switch"
_BY_WEEK: dict[str, Column] = {
    f"{name}_week_{week}": Column("float64", "pins", text.format(week))
    for week in TOLD_WEEKS
    for name, text in (("extra", _EXTRA), ("edge", _EDGE))
}

TILL_BOWLERS: dict[str, Column] = {
    **{name: BOWLERS[name] for name in ("bowler", "team", "style", "hand")},
    "band": Column("str", "", "average band of the reference"),
    "average_now": BOWLERS["average_now"],
    "average_next": BOWLERS["average_next"],
    "handicap_now": Column("float64", "pins", "handicap a game at the settled average, now"),
    "handicap_next": Column("float64", "pins", "handicap a game at the settled average, next"),
    **_BY_WEEK,
    "extra_se": Column("float64", "pins", "standard error of the first week's extra, over seasons"),
}

TILL_GROUPS: dict[str, Column] = {
    "kind": Column("str", "", "league, style, hand or average band"),
    "group": Column("str", "", "which"),
    "bowlers": Column("int64", "", "how many"),
    "average_now": BOWLERS["average_now"],
    "average_next": BOWLERS["average_next"],
    **_BY_WEEK,
}

TILL_TEAMS: dict[str, Column] = {
    "team": BOWLERS["team"],
    "bowlers": Column("int64", "", "how many"),
    "points_stay": Column("float64", "points", "of the season, expected, without the switch"),
    "points_switch": Column("float64", "points", "of the season, expected, with the switch"),
    "points_change": Column("float64", "points", "with minus without, same luck"),
    "points_change_se": Column("float64", "points", "its standard error, over seasons"),
    "points_change_low": Column("float64", "points", "one season in twenty lies below"),
    "points_change_high": Column("float64", "points", "one season in twenty lies above"),
    "place_stay": Column("float64", "", "expected final place without the switch, 1 is first"),
    "place_switch": Column("float64", "", "expected final place with the switch"),
    "place_change": Column("float64", "", "with minus without: below 0 is up"),
    "place_change_se": Column("float64", "", "its standard error, over seasons"),
    "wins_stay": Column("float64", "share", "chance to win the league without the switch"),
    "wins_switch": Column("float64", "share", "chance to win the league with the switch"),
}

TILL_OIL: dict[str, Column] = {
    "side": Column("str", "", "now or next"),
    "condition": Column("str", "", "condition's name"),
    "conditioner": Column("str", "", "its name; all: the whole condition"),
    "ml_per_lane": Column("float64", "mL", "laid on one lane, once"),
    "litres_per_night": Column("float64", "L", "on the lanes that the league plays on"),
    "litres_per_season": Column("float64", "L", "on all lanes oiled in the league's weeks"),
    "price_per_litre": Column("float64", "", "in the center's currency; empty if not given"),
    "cost_per_lane": Column("float64", "", "in the center's currency; empty without prices"),
    "cost_per_night": Column("float64", "", "of the lanes that the league plays on"),
    "cost_per_season": Column("float64", "", "of all lanes oiled in the league's weeks"),
}

_INDEX = "against today's condition, which is 100"
TILL_MACHINE: dict[str, Column] = {
    "cause": Column("str", "", "what upsets a machine"),
    "unit": Column("str", "", "of the figures per 1,000 frames"),
    "per_1000_today": Column("float64", "", "per 1,000 frames, today's condition"),
    "per_1000_now": Column("float64", "", "per 1,000 frames, condition now"),
    "per_1000_next": Column("float64", "", "per 1,000 frames, condition next"),
    **{
        f"index_{side}{tail}": Column("float64", "", f"condition {side}, {text}")
        for side in ("now", "next")
        for tail, text in (
            ("", _INDEX), ("_se", "standard error over nights"), ("_low", "95 %, lower end"),
            ("_high", "95 %, upper end"),
        )
    },
    "assumption": Column("str", "", "what an index of stops assumes"),
}  # fmt: skip
