"""What the governing body asks of a condition: ratios a side, coverage, and readings against intent.

Looks at the freshly oiled lane only; certifies nothing.
"""

from typing import Any

import numpy as np

from leaguesim import tables
from leaguesim.errors import InputError
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Readings
from leaguesim.play.values import FairnessLimits
from leaguesim.study.sight import FILM_EDGE_UNITS, RATIO_FT, designation, pattern_length_ft

RULE = (
    "Sport: a crosswise ratio of 3:1 or less on each side (United States Bowling Congress, rules of sport "
    "bowling). The edition of that rule could not be dated: where the figure was read no edition or year is "
    "given, so check the current one. Challenge and house conditions: no numeric limit was found; values "
    "quoted as typical, not as limits, are up to about 4:1 for challenge and 6:1 and more for house, at 38 to "
    "42 ft (secondary report). Length and volume: no limit was found. A minimum of three units of oil was "
    "dropped in 2019 (secondary report), so thin film is told here but breaks no rule that was found."
)


def designation_table(name: str, lane: Lane) -> Any:
    """Ratio, thinnest film and coverage of each side at several distances (tables.DESIGNATION)."""
    data: dict[str, list[Any]] = {k: [] for k in tables.DESIGNATION}
    for feet in RATIO_FT:
        if feet >= pattern_length_ft(lane):
            continue
        left, right = lane.crosswise_ratio(feet)
        row = lane.film_units[int(feet)]
        sides = {"right": row[:19], "left": row[20:]}
        data["condition"].append(name)
        data["distance_ft"].append(feet)
        data["ratio_right"].append(np.nan if right is None else right)
        data["ratio_left"].append(np.nan if left is None else left)
        for side, film in sides.items():
            data[f"least_{side}"].append(float(film.min()))
            data[f"covered_{side}"].append(int((film >= FILM_EDGE_UNITS).sum()))
    return tables.frame(tables.DESIGNATION, data)


def designation_words(lane: Lane) -> str:
    """The designation in words, with each side's largest ratio where one exists."""
    return designation(lane)


def reading_table(readings: Readings, meant: Lane, limits: FairnessLimits) -> Any:
    """Every reading against the film that was meant, cell by cell (tables.READINGS).

    The tolerance is the larger of so many units and a share of what was meant; both are the center's
    own (common practice, no source).

    Raises
    ------
    InputError : no reading lies on the lane
    """
    data: dict[str, list[Any]] = {k: [] for k in tables.READINGS}
    points = zip(readings.distance_ft, readings.board, readings.units, strict=True)
    for feet, board, units in sorted(points):
        row, column = int(feet), round(board) - 1
        if not (0 <= row < meant.film_units.shape[0] and 0 <= column < meant.film_units.shape[1]):
            continue
        goal = float(meant.film_units[row, column])
        slack = max(limits.reading_tolerance_units, limits.reading_tolerance_share * goal)
        values = (feet, board, units, goal, slack, bool(abs(units - goal) <= slack))
        for key, value in zip(data, values, strict=True):
            data[key].append(value)
    if not data["board"]:
        raise InputError("readings: none of them lies on the lane")
    return tables.frame(tables.READINGS, data)
