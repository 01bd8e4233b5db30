"""``film_readings.csv``: film at a point of the lane before and after a block of games.

What the readings say about a conditioner is worked out in the study room.
"""

from collections.abc import Collection
from pathlib import Path

from leaguesim.center.faults import Faults, unknown
from leaguesim.center.sheet import cell_number, read_sheet
from leaguesim.center.tables import UNITS_MAX
from leaguesim.lane.values import FilmReading
from leaguesim.units import BOARDS, LANE_LENGTH_FT

WEAR_FILE = "film_readings.csv"
NEEDED = ("condition", "distance_ft", "board", "games", "before_units", "after_units")
OTHERS = {
    "before": "before_units", "after": "after_units", "distance": "distance_ft", "feet": "distance_ft",
    "games_per_lane": "games",
}  # fmt: skip
GAMES_MAX = 100
LIMITS = {
    "distance_ft": ((0.0, LANE_LENGTH_FT), "ft"),
    "board": ((1.0, float(BOARDS)), ""),
    "games": ((1.0, float(GAMES_MAX)), "games on that lane"),
    "before_units": ((1.0, UNITS_MAX), "units"),
    "after_units": ((0.0, UNITS_MAX), "units"),
}


def read_film_readings(
    path: Path, file: str, conditions: Collection[str], faults: Faults, hashes: dict[str, bytes]
) -> tuple[FilmReading, ...]:
    """The rows of the file, in order; every fault is noted."""
    sheet = read_sheet(
        path, file, needed=NEEDED, optional=(), faults=faults, hashes=hashes, others=OTHERS
    )
    made = []
    for line, row in () if sheet is None else sheet.rows:
        name = row["condition"]
        if name not in conditions:
            faults.add(file, line, "condition", unknown("condition", name, conditions))
        values = {
            column: cell_number(sheet, line, column, row[column], span, unit, faults)
            for column, (span, unit) in LIMITS.items()
            if sheet is not None
        }
        games = values["games"]
        if games is not None and games != int(games):
            text = f"not a whole number: allowed is 1 to {GAMES_MAX}, you wrote {row['games']}"
            faults.add(file, line, "games", text)
        known = {k: v for k, v in values.items() if v is not None}
        if len(known) == len(LIMITS):
            made.append(
                FilmReading(
                    name, known["distance_ft"], known["board"], int(known["games"]),
                    known["before_units"], known["after_units"],
                )
            )  # fmt: skip
    if sheet is not None and not sheet.rows:
        faults.add(file, sheet.header_line, "", "no reading: a row a point of the lane is needed")
    return tuple(made)
