"""The columns of every table that leaves the package, declared once: name, type, unit, meaning.

Does not compute; ``frame`` builds a DataFrame in declared order and refuses anything undeclared.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from leaguesim.errors import LeaguesimError

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Column:
    """One column: pandas dtype, unit for people, one-line meaning."""

    dtype: str
    unit: str
    meaning: str


_AVG = "expected score of a game, settled play"

BOWLERS: dict[str, Column] = {
    "bowler": Column("str", "", "who"),
    "team": Column("str", "", "team on the roster"),
    "style": Column("str", "", "style on the roster"),
    "hand": Column("str", "", "right or left"),
    "pair": Column("int64", "", "pair of lanes the bowler's team plays on (0 first)"),
    "reference": Column("float64", "pins", "entering average, or the expected average under today"),
    "average_now": Column("float64", "pins", _AVG + ", condition now"),
    "average_next": Column("float64", "pins", _AVG + ", condition next"),
    "change": Column("float64", "pins", "average next minus now, same nights and luck"),
    "change_se": Column("float64", "pins", "Monte Carlo standard error of change, night as unit"),
    "game1_now": Column("float64", "pins", "average of game 1, now"),
    "game2_now": Column("float64", "pins", "average of game 2, now"),
    "game3_now": Column("float64", "pins", "average of game 3, now"),
    "game1_next": Column("float64", "pins", "average of game 1, next"),
    "game2_next": Column("float64", "pins", "average of game 2, next"),
    "game3_next": Column("float64", "pins", "average of game 3, next"),
    "game_sd_now": Column("float64", "pins", "standard deviation of a game, now"),
    "game_sd_next": Column("float64", "pins", "standard deviation of a game, next"),
    "strike_rate_now": Column("float64", "share", "strikes per fresh rack, now"),
    "strike_rate_next": Column("float64", "share", "strikes per fresh rack, next"),
    "spare_rate_now": Column("float64", "share", "spares per spare attempt, now"),
    "spare_rate_next": Column("float64", "share", "spares per spare attempt, next"),
    "corner_rate_now": Column("float64", "share", "corner pin left alone per pocket hit, now"),
    "corner_rate_next": Column("float64", "share", "corner pin left alone per pocket hit, next"),
    "pocket_rate_now": Column("float64", "share", "pocket hits per fresh rack, now"),
    "pocket_rate_next": Column("float64", "share", "pocket hits per fresh rack, next"),
    "miss_cost_now": Column("float64", "pins/deg", "first-ball pins lost per degree of miss, now"),
    "miss_cost_next": Column(
        "float64", "pins/deg", "first-ball pins lost per degree of miss, next"
    ),
    "line_board_now": Column("float64", "board", "lay-down board of the line chosen, now"),
    "line_board_next": Column("float64", "board", "lay-down board of the line chosen, next"),
    "breakpoint_board_now": Column("float64", "board", "outermost board of the path, now"),
    "breakpoint_board_next": Column("float64", "board", "outermost board of the path, next"),
    "entry_angle_now": Column("float64", "deg", "angle at the pins of the chosen line, now"),
    "entry_angle_next": Column("float64", "deg", "angle at the pins of the chosen line, next"),
    "ball_now": Column("str", "", "ball chosen, now"),
    "ball_next": Column("str", "", "ball chosen, next"),
    "kept_happy_now": Column("boolean", "", "kept happy under now; empty if it can't be told"),
    "kept_happy_next": Column("boolean", "", "kept happy under next; empty if it can't be told"),
    "why_not_now": Column("str", "", "parts that fail under now, in words"),
    "why_not_next": Column("str", "", "parts that fail under next, in words"),
    "close_call": Column("bool", "", "some part lies within 2 standard errors of its threshold"),
}

GROUPS: dict[str, Column] = {
    "group": Column("str", "", "style, hand or average band"),
    "bowlers": Column("int64", "", "how many bowlers"),
    "average_now": BOWLERS["average_now"],
    "average_next": BOWLERS["average_next"],
    "change": BOWLERS["change"],
    "change_se": BOWLERS["change_se"],
    "change_low": Column("float64", "pins", "people like these: lower end of the 95 % interval"),
    "change_high": Column("float64", "pins", "people like these: upper end of the 95 % interval"),
    "game_sd_now": BOWLERS["game_sd_now"],
    "game_sd_next": BOWLERS["game_sd_next"],
    "strike_rate_now": BOWLERS["strike_rate_now"],
    "strike_rate_next": BOWLERS["strike_rate_next"],
    "spare_rate_now": BOWLERS["spare_rate_now"],
    "spare_rate_next": BOWLERS["spare_rate_next"],
    "corner_rate_now": BOWLERS["corner_rate_now"],
    "corner_rate_next": BOWLERS["corner_rate_next"],
    "kept_happy_now": Column("float64", "share", "share kept happy, now"),
    "kept_happy_next": Column("float64", "share", "share kept happy, next"),
    "kept": Column("int64", "", "happy under both"),
    "lost": Column("int64", "", "happy now, not next"),
    "won_back": Column("int64", "", "happy next, not now"),
}

SWITCH: dict[str, Column] = {
    "bowler": BOWLERS["bowler"],
    "team": BOWLERS["team"],
    "style": BOWLERS["style"],
    "hand": BOWLERS["hand"],
    "move": Column("float64", "board", "boards to move, feet or arrows, whichever is more"),
    "feet_move": Column("float64", "board", "move of the lay-down board, toward the far side +"),
    "arrows_move": Column("float64", "board", "move at the arrows (15 ft), toward the far side +"),
    "breakpoint_shift": Column("float64", "board", "shift of the breakpoint, far side +"),
    "exit_shift": Column("float64", "board", "shift of the board where the ball leaves the oil"),
    "roll_start_shift": Column(
        "float64", "ft", "how much later the ball rolls; empty: it never does"
    ),
    "entry_angle_shift": Column("float64", "deg", "change of the angle at the pins"),
    "ball_from": Column("str", "", "ball of the old line"),
    "ball_to": Column("str", "", "ball of the new line"),
    "ball_change": Column("bool", "", "the new line asks for another ball"),
    "old_line_gap": Column(
        "float64", "pins", "what the old line and ball are worth less than the new; negative: more"
    ),
    "weeks_to_settle": Column(
        "float64", "weeks", "until they take up the new line; empty: not within a season"
    ),
    "first_weeks": Column("float64", "pins", "average of the first weeks, from the old line"),
    "settled": Column("float64", "pins", "settled average on the same nights and luck"),
    "first_weeks_change": Column("float64", "pins", "first weeks minus settled"),
    "first_weeks_change_se": Column("float64", "pins", "its standard error, the season as unit"),
}

SWITCH_WEEKS: dict[str, Column] = {
    "way": Column("str", "", "jump: at once; sequence: by the dated conditions"),
    "bowler": BOWLERS["bowler"],
    "week": Column("int64", "", "week after the switch, 1 first"),
    "date": Column("str", "", "first day of the week, if the conditions are dated"),
    "condition": Column("str", "", "condition of that week"),
    "average": Column("float64", "pins", "average of the week, from the old line"),
    "settled": Column("float64", "pins", "settled average on that condition, same nights and luck"),
    "moved": Column("float64", "board", "boards from the old line at the end of the night"),
    "learnt": Column("float64", "share", "share of seasons in which the new line is taken up"),
}

SWITCH_GROUPS: dict[str, Column] = {
    "way": SWITCH_WEEKS["way"],
    "group": Column("str", "", "league, or a style"),
    "bowlers": GROUPS["bowlers"],
    "week": SWITCH_WEEKS["week"],
    "date": SWITCH_WEEKS["date"],
    "condition": SWITCH_WEEKS["condition"],
    "average": SWITCH_WEEKS["average"],
    "settled": SWITCH_WEEKS["settled"],
    "change": Column("float64", "pins", "average minus settled"),
    "change_se": Column("float64", "pins", "its standard error, the season as unit"),
    "learnt": Column("float64", "share", "share of bowlers on the new line"),
}

GAMES: dict[str, Column] = {
    "bowler": BOWLERS["bowler"],
    "style": BOWLERS["style"],
    "condition": Column("str", "", "now or next"),
    "game": Column("int64", "", "game of the night, 1 first"),
    "average": Column("float64", "pins", "average of that game, settled play"),
    "held": Column("bool", "", "no more below the reference than kept happy allows, in that game"),
    "moved": Column(
        "float64",
        "board",
        "boards from the night's first line after the game, either way, on average",
    ),
}

SCORES: dict[str, Column] = {
    "style": Column("str", "", "style"),
    "condition": Column("str", "", "now or next"),
    "score": Column("int64", "pins", "score of a game, 0 to 300"),
    "share": Column("float64", "share", "share of sampled games with that score"),
}

LANE_CELLS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "distance_ft": Column("float64", "ft", "middle of the cell, from the foul line"),
    "board": Column("int64", "board", "board from the right edge"),
    "film_units": Column("float64", "units", "oil film"),
    "friction": Column("float64", "", "friction of the reference ball at its slip there"),
}

WORN_CELLS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "game": Column("int64", "", "after so many games of the night; 0: before practice"),
    "distance_ft": LANE_CELLS["distance_ft"],
    "board": LANE_CELLS["board"],
    "film_units": Column("float64", "units", "mean oil film"),
}

PATHS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "style": Column("str", "", "style"),
    "hand": Column("str", "", "right or left"),
    "release": Column(
        "str", "", "'line', 'board right', 'board left', or 'usual miss 1' and so on"
    ),
    "distance_ft": Column("float64", "ft", "from the foul line"),
    "board": Column("float64", "board", "ball's centre, from the lane's right edge"),
}

ARRIVALS: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "style": Column("str", "", "style"),
    "hand": Column("str", "", "right or left"),
    "ball": Column("str", "", "ball chosen"),
    "line_board": Column("float64", "board", "lay-down board, from the bowler's own edge"),
    "arrow_board": Column("float64", "board", "board at the arrows (15 ft), own edge"),
    "breakpoint_board": Column("float64", "board", "outermost board of the path, own edge"),
    "breakpoint_ft": Column("float64", "ft", "where the path is outermost"),
    "roll_start_ft": Column("float64", "ft", "where the ball rolls; beyond 60 it never does"),
    "entry_angle": Column("float64", "deg", "angle at the pins"),
    "speed_mph": Column("float64", "mph", "speed at the pins"),
    "offset_board": Column("float64", "board", "centre from head pin, toward own edge"),
    "outside_miss_board": Column(
        "float64", "board", "end of a ball a board wide at the arrows, outside, from the line's end"
    ),
    "inside_miss_board": Column(
        "float64", "board", "end of a ball a board wide at the arrows, inside, from the line's end"
    ),
}


DESIGNATION: dict[str, Column] = {
    "condition": Column("str", "", "condition's name"),
    "distance_ft": Column("float64", "ft", "from the foul line"),
    "ratio_right": Column(
        "float64", "", "crosswise ratio, right side; empty if the outside is dry"
    ),
    "ratio_left": Column("float64", "", "crosswise ratio, left side; empty if the outside is dry"),
    "least_right": Column("float64", "units", "thinnest film of boards 1 to 19"),
    "least_left": Column("float64", "units", "thinnest film of boards 21 to 39"),
    "covered_right": Column("int64", "boards", "boards 1 to 19 with at least 0.5 units"),
    "covered_left": Column("int64", "boards", "boards 21 to 39 with at least 0.5 units"),
}

READINGS: dict[str, Column] = {
    "distance_ft": Column("float64", "ft", "from the foul line"),
    "board": Column("float64", "board", "from the right edge"),
    "measured": Column("float64", "units", "what the tape read"),
    "meant": Column("float64", "units", "film of the condition that was meant"),
    "tolerance": Column("float64", "units", "how far they may lie apart"),
    "within": Column("bool", "", "within the tolerance"),
}

EFFECTS: dict[str, Column] = {
    "kind": Column("str", "", "style, hand, average band, or same person, other hand"),
    "group": Column("str", "", "whose change is held against the others'"),
    "others": Column("str", "", "whom it is held against"),
    "bowlers": Column("int64", "", "how many in the group"),
    "pairs": Column("int64", "", "pairs of lanes that the rarer side stands on"),
    "raw_gap": Column("float64", "pins", "group's average less the others', under the condition"),
    "effect": Column(
        "float64", "pins", "group's change less the others' change; below 0: it loses"
    ),
    "roster_se": Column("float64", "pins", "simulation luck left in it for this roster"),
    "people_low": Column("float64", "pins", "people like these: lower end of the 95 % interval"),
    "people_high": Column("float64", "pins", "people like these: upper end of the 95 % interval"),
    "smallest": Column(
        "float64", "pins", "smallest true effect that would have been called unfair with chance 80 %"
    ),
    "p_difference": Column("float64", "", "of no effect, Holm-adjusted within the kind"),
    "p_equivalence": Column("float64", "", "of an effect beyond the margin, Holm-adjusted"),
    "verdict": Column("str", "", "fair, unfair, not shown or too few"),
    "words": Column("str", "", "the verdict in a sentence"),
}

LOSERS: dict[str, Column] = {
    "kind": EFFECTS["kind"],
    "group": EFFECTS["group"],
    "bowlers": EFFECTS["bowlers"],
    "lose": Column("int64", "", "lose more than the margin"),
    "others_lose": Column("int64", "", "of the others, lose more than the margin"),
    "share_low": Column("float64", "share", "95 % interval of the difference of shares, lower"),
    "share_high": Column("float64", "share", "95 % interval of the difference of shares, upper"),
    "fell": Column("int64", "", "fall out of the upper half of the league"),
    "rose": Column("int64", "", "rise into it"),
    "p_moved": Column("float64", "", "exact McNemar test of fell against rose"),
}

TWINS: dict[str, Column] = {
    "bowler": BOWLERS["bowler"],
    "style": BOWLERS["style"],
    "hand": BOWLERS["hand"],
    "pair": BOWLERS["pair"],
    "gap": Column(
        "float64", "pins", "as a left-hander less as a right-hander, under the condition"
    ),
    "gap_against": Column("float64", "pins", "the same under the condition compared with"),
}

HANDICAP: dict[str, Column] = {
    "percent": Column("int64", "%", "of the base less the average"),
    "before": Column("float64", "share", "chance that a lower-half team wins: the formula alone"),
    "base_lower": Column("float64", "share", "the same with a base 10 pins lower"),
    "base_higher": Column("float64", "share", "the same with a base 10 pins higher"),
    "stale": Column("float64", "share", "new condition, entering averages from before"),
    "settled": Column("float64", "share", "new condition, entering averages made on it"),
    "se": Column("float64", "share", "largest standard error of the three"),
    "formula": Column("float64", "share", "before less the even chance: what the formula does"),
    "condition": Column("float64", "share", "settled less before: what the condition does"),
    "at_first": Column("float64", "share", "stale less settled: what old averages do"),
}

EXCHANGE: dict[str, Column] = {
    "from": Column("str", "", "house and condition the average was made on"),
    "to": Column("str", "", "house and condition it is turned into"),
    "average": Column("float64", "pins", "average made on the first"),
    "becomes": Column("float64", "pins", "expected average on the second"),
    "low": Column("float64", "pins", "95 % interval of that mean, people like these"),
    "high": Column("float64", "pins", "95 % interval of that mean, people like these"),
    "person_low": Column("float64", "pins", "where 95 % of single bowlers lie, lower"),
    "person_high": Column("float64", "pins", "where 95 % of single bowlers lie, upper"),
}


_HONOURS: dict[str, Column] = {
    f"{name}_{side}": Column("float64", "a season", f"expected {words}, condition {side}")
    for name, words in (
        ("games_300", "games of 300"),
        ("series_800", "series of 800 and more; empty unless nights have three games"),
        ("games_200", "games of 200 and more"),
    )
    for side in ("now", "next")
}
_DOUBTED: dict[str, Column] = {
    "average_now": Column("float64", "pins", _AVG + ", condition now, over what is not known"),
    "average_next": Column("float64", "pins", _AVG + ", condition next, over what is not known"),
    "change": Column("float64", "pins", "average next minus now, over what is not known"),
    "luck_se": Column("float64", "pins", "standard error of change from the luck of the nights"),
    "unknown_sd": Column("float64", "pins", "standard deviation of change from what is not known"),
    "low": Column("float64", "pins", "90 % interval of the expected change, lower end"),
    "high": Column("float64", "pins", "90 % interval of the expected change, upper end"),
    "floored": Column("bool", "", "points differ no more than by luck: unknown_sd was put at 0"),
}

FORECAST_BOWLERS: dict[str, Column] = {
    "bowler": BOWLERS["bowler"],
    "team": BOWLERS["team"],
    "style": BOWLERS["style"],
    "hand": BOWLERS["hand"],
    **_DOUBTED,
    "chance_falls": Column("float64", "share", "chance that the average falls more than 5 pins"),
    **_HONOURS,
}

FORECAST_GROUPS: dict[str, Column] = {
    "kind": Column("str", "", "league or style"),
    "group": Column("str", "", "league, or the style on the roster"),
    "bowlers": Column("int64", "", "how many"),
    **_DOUBTED,
    "chance_falls": Column("float64", "share", "chance that the average falls more than 3 pins"),
    "chance_rises": Column("float64", "share", "chance that the average rises more than 3 pins"),
    **_HONOURS,
}

SENSITIVITIES: dict[str, Column] = {
    "outcome": Column("str", "", "whose change: league, or the style on the roster"),
    "group": Column("str", "", "what is not known"),
    "first_order": Column(
        "float64", "share", "share of the doubt from it alone; empty unless ranked"
    ),
    "total": Column("float64", "share", "the same, alone or with others"),
    "ranked": Column("bool", "", "the emulator foretells enough for a ranking"),
}

_EXTRA = "handicap a game more than settled averages would give, week {} after the switch"
_EDGE = "the same against the league's mean, week {} after the switch"
_TOLD_WEEKS: dict[str, Column] = {
    f"{name}_week_{week}": Column("float64", "pins", text.format(week))
    for week in (1, 3, 6, 12)
    for name, text in (("extra", _EXTRA), ("edge", _EDGE))
}

TILL_BOWLERS: dict[str, Column] = {
    **{name: BOWLERS[name] for name in ("bowler", "team", "style", "hand")},
    "band": Column("str", "", "average band of the reference"),
    "average_now": BOWLERS["average_now"],
    "average_next": BOWLERS["average_next"],
    "handicap_now": Column("float64", "pins", "handicap a game at the settled average, now"),
    "handicap_next": Column("float64", "pins", "handicap a game at the settled average, next"),
    **_TOLD_WEEKS,
    "extra_se": Column("float64", "pins", "standard error of the first week's extra, over seasons"),
}

TILL_GROUPS: dict[str, Column] = {
    "kind": Column("str", "", "league, style, hand or average band"),
    "group": Column("str", "", "which"),
    "bowlers": Column("int64", "", "how many"),
    "average_now": BOWLERS["average_now"],
    "average_next": BOWLERS["average_next"],
    **_TOLD_WEEKS,
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

SCORE_ROWS: dict[str, Column] = {
    "session": Column("str", "", "day or week of the league night"),
    "bowler": Column("str", "", "name as in the roster"),
    "game": Column("int64", "", "which game of the night, from 1"),
    "condition": Column("str", "", "condition's name"),
    "score": Column("int64", "pins", "score of the game"),
    "line": Column("int64", "", "line of the file"),
    "row_games": Column("int64", "", "games in that row"),
    "lane_pair": Column("str", "", "pair of lanes as the file names it; empty if not given"),
    "strikes": Column("float64", "", "strikes in all games of the row; empty if not given"),
    "spares": Column("float64", "", "spares in all games of the row; empty if not given"),
    "opens": Column("float64", "", "open frames in all games of the row; empty if not given"),
}

CONDITIONERS_LEARNT: dict[str, Column] = {
    "conditioner": Column("str", "", "conditioner's name"),
    "property": Column("str", "", "property, or friction of a middling cover as a whole"),
    "prior": Column("float64", "", "middle of what was known before, in the property's own unit"),
    "prior_low": Column("float64", "", "5th hundredth of it"),
    "prior_high": Column("float64", "", "95th hundredth of it"),
    "posterior": Column("float64", "", "middle of what is known after"),
    "posterior_low": Column("float64", "", "5th hundredth of it"),
    "posterior_high": Column("float64", "", "95th hundredth of it"),
    "narrowed": Column("float64", "share", "how much narrower the 90 % interval became"),
}

FITTED: dict[str, Column] = {
    "bowler": Column("str", "", "name as in the roster"),
    "team": Column("str", "", "team"),
    "hand": Column("str", "", "right or left"),
    "style": Column("str", "", "the roster's style, or the likeliest where it says unknown"),
    "style_weight": Column("float64", "share", "posterior weight of that style"),
    "games": Column("int64", "", "games used"),
    "average": Column("float64", "pins", "average of the scores under today's condition"),
    "shrunken": Column("float64", "pins", "shrunken average (mixed model)"),
    "shrunken_se": Column("float64", "pins", "its standard error"),
    "predicted": Column("float64", "pins", "average the fitted bowler has in the simulation"),
    "predicted_se": Column("float64", "pins", "its posterior standard deviation"),
    "residual": Column("float64", "pins", "average minus predicted"),
    "game_sd": Column("float64", "pins", "standard deviation of the games, actual"),
    "game_sd_predicted": Column("float64", "pins", "the same in the simulation: a check"),
    "accuracy_deg": Column("float64", "deg", "release error, posterior mean"),
    "accuracy_se": Column("float64", "deg", "its posterior standard deviation"),
    "spare_accuracy": Column("float64", "", "release error on spares over that on strikes"),
    "spare_accuracy_se": Column("float64", "", "its posterior standard deviation"),
    "spare_narrowed": Column("float64", "share", "how much narrower than its prior it became"),
    "correlation": Column("float64", "", "posterior correlation of the two, in logarithms"),
    "fitted": Column("bool", "", "had scores enough"),
    "why_not": Column("str", "", "why not"),
}


def frame(columns: Mapping[str, Column], data: Mapping[str, Sequence[Any]]) -> "pd.DataFrame":
    """A DataFrame with exactly the declared columns, in order and of the declared types.

    Raises
    ------
    LeaguesimError : a column is missing or not declared
    """
    import pandas as pd

    if set(columns) != set(data):
        wrong = sorted(set(columns) ^ set(data))
        raise LeaguesimError(f"table columns do not match their declaration: {wrong}")
    return pd.DataFrame({k: pd.Series(list(data[k]), dtype=c.dtype) for k, c in columns.items()})
