"""The columns of every table that leaves the package, declared once: name, type, unit, meaning.

Does not compute; ``frame`` builds a DataFrame in declared order and refuses anything undeclared.
"""

from leaguesim.tables.column import Column, frame
from leaguesim.tables.compare import (
    BOWLERS,
    GAMES,
    GROUPS,
    SCORES,
    SWITCH,
    SWITCH_GROUPS,
    SWITCH_WEEKS,
)
from leaguesim.tables.fairness import (
    DESIGNATION,
    EFFECTS,
    EXCHANGE,
    HANDICAP,
    LOSERS,
    READINGS,
    TWINS,
)
from leaguesim.tables.forecast import (
    CONDITIONERS_LEARNT,
    FITTED,
    FORECAST_BOWLERS,
    FORECAST_GROUPS,
    SCORE_ROWS,
    SENSITIVITIES,
)
from leaguesim.tables.lane import ARRIVALS, LANE_CELLS, PATHS, WORN_CELLS
from leaguesim.tables.till import (
    TILL_BOWLERS,
    TILL_GROUPS,
    TILL_MACHINE,
    TILL_OIL,
    TILL_TEAMS,
    TOLD_WEEKS,
)

__all__ = [
    "ARRIVALS",
    "BOWLERS",
    "CONDITIONERS_LEARNT",
    "DESIGNATION",
    "EFFECTS",
    "EXCHANGE",
    "FITTED",
    "FORECAST_BOWLERS",
    "FORECAST_GROUPS",
    "GAMES",
    "GROUPS",
    "HANDICAP",
    "LANE_CELLS",
    "LOSERS",
    "PATHS",
    "READINGS",
    "SCORES",
    "SCORE_ROWS",
    "SENSITIVITIES",
    "SWITCH",
    "SWITCH_GROUPS",
    "SWITCH_WEEKS",
    "TILL_BOWLERS",
    "TILL_GROUPS",
    "TILL_MACHINE",
    "TILL_OIL",
    "TILL_TEAMS",
    "TOLD_WEEKS",
    "TWINS",
    "WORN_CELLS",
    "Column",
    "frame",
]
