"""A comparison: bowlers, groups, first weeks, games, scores.

Declares columns only.
"""

from leaguesim.tables.column import Column

SETTLED = "expected score of a game, settled play"

BOWLERS: dict[str, Column] = {
    "bowler": Column("str", "", "who"),
    "team": Column("str", "", "team on the roster"),
    "style": Column("str", "", "style on the roster"),
    "hand": Column("str", "", "right or left"),
    "pair": Column("int64", "", "pair of lanes the bowler's team plays on (0 first)"),
    "reference": Column("float64", "pins", "entering average, or the expected average under today"),
    "average_now": Column("float64", "pins", SETTLED + ", condition now"),
    "average_next": Column("float64", "pins", SETTLED + ", condition next"),
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
    "ball_changes_now": Column(
        "float64", "a night", "ball changes that the wear asks for in a night, now"
    ),
    "ball_changes_next": Column(
        "float64", "a night", "ball changes that the wear asks for in a night, next"
    ),
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
