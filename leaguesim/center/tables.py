"""The two CSV files of a center: the roster, and measured readings of the oil.

Does not draw what a roster leaves out; that is done from the style when people are made.
"""

import unicodedata
from collections.abc import Collection
from pathlib import Path

from leaguesim.bowlers.values import RosterLine
from leaguesim.center.faults import Faults, did_you_mean, listing, unknown, wrote
from leaguesim.center.sheet import Sheet, cell_number, read_sheet
from leaguesim.errors import InputError
from leaguesim.lane.film import readings_units, volume_ml
from leaguesim.lane.values import Readings
from leaguesim.units import BOARDS, LANE_LENGTH_FT

ROSTER_NEEDED = ("bowler", "team", "hand", "style")
ROSTER_OTHERS = {"name": "bowler", "player": "bowler"}  # hints for columns, never read as such
ROSTER_NUMBERS: dict[str, tuple[tuple[float, float], str]] = {
    "speed_mph": ((5.0, 30.0), "mph"),
    "rev_rate_rpm": ((0.0, 700.0), "rpm"),
    "axis_rotation_deg": ((-120.0, 120.0), "degrees"),
    "axis_tilt_deg": ((-45.0, 60.0), "degrees"),
    "average": ((30.0, 279.0), "pins (a league average; limits are common practice, no source)"),
}
HANDS = ("right", "left")
_HAND_WORDS = {"r": "right", "right_handed": "right", "l": "left", "left_handed": "left"}
UNKNOWN_STYLE = "unknown"  # allowed: a fit to scores weighs every style
NAME_LIMIT = 80
READINGS_NEEDED = ("distance_ft", "board", "units")
UNITS_MAX = 400.0  # assumed; 70 to 120 in the heads of a high-volume pattern


def read_roster(
    path: Path,
    file: str,
    styles: Collection[str],
    faults: Faults,
    hashes: dict[str, bytes],
    *,
    needed: bool = True,
) -> tuple[RosterLine, ...]:
    """The bowlers in the order of the file; every fault is noted.

    Where it is not ``needed`` the file may be missing or hold nobody.

    A style may be written with other capitals, and with spaces or hyphens for underscores, where
    that names one style.  A hand is never guessed: besides right and left only R and L, or
    right-handed and left-handed, are read, because they can mean nothing else.
    """
    if not needed and not path.exists():
        return ()
    sheet = read_sheet(
        path,
        file,
        needed=ROSTER_NEEDED,
        optional=tuple(ROSTER_NUMBERS),
        faults=faults,
        hashes=hashes,
        others=ROSTER_OTHERS,
    )
    if sheet is None:
        return ()
    if needed and not sheet.rows:
        faults.add(file, sheet.header_line, "", "empty roster: at least one bowler is needed")
    first_line: dict[str, int] = {}
    bowlers = []
    for line, row in sheet.rows:
        bowler = _name(sheet, line, "bowler", row["bowler"], faults)
        folded = bowler.casefold()
        if bowler and folded in first_line:
            text = (
                f"duplicate bowler: each name is allowed once, you wrote {wrote(bowler)} on line "
                f"{first_line[folded]} already"
            )
            faults.add(file, line, "bowler", text)
        first_line.setdefault(folded, line)
        bowlers.append(_roster_line(sheet, line, row, bowler, styles, faults))
    return tuple(bowlers)


def _roster_line(
    sheet: Sheet,
    line: int,
    row: dict[str, str],
    bowler: str,
    styles: Collection[str],
    faults: Faults,
) -> RosterLine:
    team = _name(sheet, line, "team", row["team"], faults)
    hand = row["hand"].casefold()
    hand = _HAND_WORDS.get(_folded(hand), hand)
    if hand not in HANDS:
        what = "unknown hand" if hand else "missing"
        text = f"{what}: allowed are {listing(HANDS)} (or L, R), you wrote {wrote(row['hand'])}"
        text += did_you_mean(hand, HANDS)
        faults.add(sheet.file, line, "hand", text)
    style = _style(row["style"], styles)
    if style not in styles and style.casefold() == UNKNOWN_STYLE:
        style = UNKNOWN_STYLE
    elif style not in styles:
        faults.add(
            sheet.file,
            line,
            "style",
            unknown("style", row["style"], styles, hint=not faults.many()),
        )
    numbers: dict[str, float | None] = {}
    for column, (span, unit) in ROSTER_NUMBERS.items():
        text = row.get(column, "")
        numbers[column] = (
            cell_number(sheet, line, column, text, span, unit, faults) if text else None
        )
    return RosterLine(bowler, team, hand, style, **numbers)


def _folded(text: str) -> str:
    """The text without capitals, with one underscore for spaces and hyphens."""
    whole = unicodedata.normalize("NFC", text.casefold())
    return "_".join(whole.replace("-", " ").replace("_", " ").split())


def _style(text: str, styles: Collection[str]) -> str:
    """The one style that the text names, or the text where there is none or more than one."""
    alike = [name for name in styles if _folded(name) == _folded(text)]
    return alike[0] if len(alike) == 1 and text not in styles else text


def _name(sheet: Sheet, line: int, column: str, text: str, faults: Faults) -> str:
    name = unicodedata.normalize("NFC", " ".join(text.split()))
    if not name or len(name) > NAME_LIMIT or not name.isprintable():
        what = "missing" if not name else "not usable"
        allowed = f"a name of 1 to {NAME_LIMIT} printable signs"
        faults.add(
            sheet.file, line, column, f"{what}: allowed is {allowed}, you wrote {wrote(text)}"
        )
    return name


def read_readings(
    path: Path,
    file: str,
    shares: tuple[tuple[str, float], ...],
    volume_max_ml: float,
    faults: Faults,
    hashes: dict[str, bytes],
) -> Readings | None:
    """Measured film; None after noting faults."""
    before = len(faults.found)
    sheet = read_sheet(
        path, file, needed=READINGS_NEEDED, optional=(), faults=faults, hashes=hashes
    )
    if sheet is None:
        return None
    limits = {
        "distance_ft": ((0.0, LANE_LENGTH_FT), "ft"),
        "board": ((1.0, float(BOARDS)), ""),
        "units": ((0.0, UNITS_MAX), "units"),
    }
    points: list[tuple[float, float, float]] = []
    seen: dict[tuple[float, float], int] = {}
    for line, row in sheet.rows:
        values = [
            cell_number(sheet, line, column, row[column], span, unit, faults)
            for column, (span, unit) in limits.items()
        ]
        found = [value for value in values if value is not None]
        if len(found) < len(values):
            continue
        distance, board, units = found
        if (distance, board) in seen:
            text = (
                f"duplicate reading: one at {distance:g} ft, board {board:g} is on line "
                f"{seen[distance, board]} already"
            )
            faults.add(file, line, "board", text)
        seen.setdefault((distance, board), line)
        points.append((distance, board, units))
    if len(faults.found) > before:
        return None
    columns = [tuple(point[i] for point in points) for i in range(3)]
    readings = Readings(columns[0], columns[1], columns[2], shares)
    return _plausible(readings, file, sheet.header_line, volume_max_ml, faults)


def _plausible(
    readings: Readings, file: str, line: int, volume_max_ml: float, faults: Faults
) -> Readings | None:
    """The readings if they make a film of a plausible volume."""
    if not readings.units or max(readings.units) <= 0.0:
        faults.add(file, line, "units", "no oil: some reading above 0 units is needed (0 mL)")
        return None
    try:
        volume = volume_ml(readings_units(readings)[0])
    except InputError as fault:
        faults.add(file, line, "", str(fault))
        return None
    if volume > volume_max_ml:
        text = (
            f"too much oil: allowed are up to {volume_max_ml:g} mL on one lane, "
            f"you wrote readings of {volume:.3g} mL"
        )
        faults.add(file, line, "units", text)
        return None
    return readings
