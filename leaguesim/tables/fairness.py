"""Fairness: rule, readings, effects, handicap, exchange.

Declares columns only.
"""

from leaguesim.tables.column import Column
from leaguesim.tables.compare import BOWLERS

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
        "float64",
        "pins",
        "smallest true effect that would have been called unfair with chance 80 %",
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
