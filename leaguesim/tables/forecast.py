"""A forecast and the fit behind it: chances, what matters, rows of scores, fitted bowlers.

Declares columns only.
"""

from leaguesim.tables.column import Column
from leaguesim.tables.compare import BOWLERS, SETTLED

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
    "average_now": Column("float64", "pins", SETTLED + ", condition now, over what is not known"),
    "average_next": Column("float64", "pins", SETTLED + ", condition next, over what is not known"),
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
