"""The oil film on the lane: application bands or measured readings as a grid of feet by boards.

Does not know what the oil does to a ball, does not wear, and does not level or evaporate (both take
days: Orchard 1962; mineral oil).  Row i covers i..i+1 ft; column j covers board j+1, that is
board coordinates j+0.5..j+1.5.  Three rows past the head pin can only receive carried oil.
The arithmetic is mirror-symmetric: a mirrored band gives the flipped grid bit for bit.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError
from leaguesim.lane.values import Band, Condition, Readings
from leaguesim.units import BOARDS, CELLS_FT, UNIT_ML_PER_CELL

Array = NDArray[np.float64]

PIT_CELLS_FT: Final = 3  # head pin to pit is 34.19 in (GB): three more one-foot cells
ROWS: Final = CELLS_FT + PIT_CELLS_FT
SHARE_TOLERANCE: Final = 1e-6


def check_shares(
    owner: str, shares: tuple[tuple[str, float], ...], names: Sequence[str]
) -> list[float]:
    """Shares in the order of ``names``; InputError for an unknown name or a sum that is not 1."""
    found = [0.0] * len(names)
    for name, share in shares:
        if name not in names:
            raise InputError(f"{owner}: unknown conditioner {name!r}; known: {', '.join(names)}")
        if not (math.isfinite(share) and 0.0 <= share <= 1.0):
            raise InputError(f"{owner}: the share of {name} must be from 0 to 1, got {share!r}")
        found[list(names).index(name)] += share
    if abs(math.fsum(found) - 1.0) > SHARE_TOLERANCE:
        raise InputError(f"{owner}: shares must add up to 1, got {math.fsum(found):g}")
    return found


def _check_band(owner: str, band: Band) -> None:
    values = (band.from_ft, band.to_ft, band.from_board, band.to_board, band.volume_ml)
    if not all(math.isfinite(v) for v in values):
        raise InputError(f"{owner}: feet, boards and millilitres must be finite, got {values}")
    if not 0.0 <= band.from_ft < band.to_ft <= CELLS_FT:
        raise InputError(
            f"{owner}: feet must satisfy 0 <= from < to <= {CELLS_FT} (foul line to head pin), "
            f"got {band.from_ft:g} to {band.to_ft:g}"
        )
    if not 1.0 <= band.from_board <= band.to_board <= BOARDS:
        raise InputError(
            f"{owner}: boards must satisfy 1 <= from <= to <= {BOARDS}, "
            f"got {band.from_board:g} to {band.to_board:g}"
        )
    if band.volume_ml <= 0.0:
        raise InputError(f"{owner}: volume must be above 0 mL, got {band.volume_ml:g}")


def _overlap(start: float, end: float, first_edge: float, cells: int) -> Array:
    """Length of start..end inside each unit cell first_edge+i .. first_edge+i+1."""
    low = first_edge + np.arange(cells, dtype=np.float64)
    inside = np.minimum(end, low + 1.0) - np.maximum(start, low)
    return np.asarray(np.maximum(inside, 0.0), dtype=np.float64)


def band_units(band: Band) -> Array:
    """Film that one band lays down, spread evenly over its area; fractional ends cut cells.

    Returns
    -------
    (63, 39) film of all its conditioners together. [units]
    """
    right, left = band.from_board - 0.5, band.to_board + 0.5
    feet = _overlap(band.from_ft, band.to_ft, 0.0, ROWS)
    boards = _overlap(right, left, 0.5, BOARDS)
    area_cells = (band.to_ft - band.from_ft) * (left - right)
    units = band.volume_ml / (area_cells * UNIT_ML_PER_CELL)
    grid: Array = feet[:, None] * boards[None, :]
    return np.asarray(grid * units, dtype=np.float64)


def bands_film(bands: Sequence[Band], names: Sequence[str], *, owner: str = "condition") -> Array:
    """Film of each conditioner laid down by all bands.

    Returns
    -------
    (conditioners, 63, 39) film. [units]  Its integral is the entered millilitres to 1e-9.

    Raises
    ------
    InputError : a band leaves the lane, holds no oil, or its shares are wrong
    """
    if not bands:
        raise InputError(f"{owner}: no application band and no readings")
    film = np.zeros((len(names), ROWS, BOARDS))
    for number, band in enumerate(bands, start=1):
        where = f"{owner}: band {number}"
        _check_band(where, band)
        shares = check_shares(where, band.shares, names)
        units = band_units(band)
        for k, share in enumerate(shares):
            film[k] += share * units
    return film


def _between(x: Array, x0: Array, x1: Array, f0: Array, f1: Array) -> Array:
    """Straight line from (x0, f0) to (x1, f1), written so that swapping both ends changes no bit."""
    gap = np.where(x1 > x0, x1 - x0, 1.0)
    line = ((x1 - x) * f0 + (x - x0) * f1) / gap
    return np.asarray(np.where(x1 > x0, line, f0))


def interpolate(x: Array, known_x: Array, known_f: Array) -> Array:
    """Linear interpolation along the last axis of ``known_f``, the nearest value beyond the ends.

    Unlike ``numpy.interp`` it returns the same bits when the axis is mirrored.
    """
    last = len(known_x) - 1
    clipped = np.clip(x, known_x[0], known_x[-1])
    upper = np.searchsorted(known_x, clipped, side="left")
    lower = np.where(known_x[upper] == clipped, upper, upper - 1)
    lower = np.clip(lower, 0, last)
    return _between(
        clipped, known_x[lower], known_x[upper], known_f[..., lower], known_f[..., upper]
    )


def _check_readings(owner: str, readings: Readings) -> tuple[Array, Array, Array]:
    distance, board, units = (
        np.asarray(v, dtype=np.float64)
        for v in (readings.distance_ft, readings.board, readings.units)
    )
    if not len(distance) == len(board) == len(units):
        raise InputError(f"{owner}: distance_ft, board and units must have the same length")
    if not all(bool(np.isfinite(v).all()) for v in (distance, board, units)):
        raise InputError(f"{owner}: a reading is not a finite number")
    if len(np.unique(distance)) < 2:
        raise InputError(f"{owner}: readings at two distances or more are needed")
    if distance.min() < 0.0 or distance.max() > CELLS_FT:
        raise InputError(f"{owner}: distance_ft must be from 0 to {CELLS_FT}")
    if board.min() < 1.0 or board.max() > BOARDS:
        raise InputError(f"{owner}: board must be from 1 to {BOARDS}")
    if units.min() < 0.0:
        raise InputError(f"{owner}: units must not be negative, got {units.min():g}")
    if units.max() <= 0.0:
        raise InputError(f"{owner}: every reading is 0 units; a condition needs some oil")
    return distance, board, units


def readings_units(readings: Readings, *, owner: str = "readings") -> tuple[Array, tuple[str, ...]]:
    """Film from scattered readings: linear across boards at each distance, then along the lane.

    Across, the nearest reading holds beyond the ends; before the first distance the first holds.
    After the last distance the lane is dry if the readings end at 0; if not, the last is held to
    the head pin and a note says so.

    Returns
    -------
    (63, 39) film [units], and the notes

    Raises
    ------
    InputError : fewer than two distances, two readings at one point, or a value off the lane
    """
    distance, board, units = _check_readings(owner, readings)
    stations = np.unique(distance)
    across = np.arange(1.0, BOARDS + 1.0)
    rows = np.empty((len(stations), BOARDS))
    for i, station in enumerate(stations):
        here = distance == station
        order = np.argsort(board[here], kind="stable")
        boards_here, units_here = board[here][order], units[here][order]
        if (np.diff(boards_here) == 0.0).any():
            raise InputError(f"{owner}: two readings at {station:g} ft on the same board")
        rows[i] = interpolate(across, boards_here, units_here)
    middles = np.arange(CELLS_FT, dtype=np.float64) + 0.5
    grid = np.zeros((ROWS, BOARDS))
    grid[:CELLS_FT] = interpolate(middles, stations, np.ascontiguousarray(rows.T)).T
    if rows[-1].max() <= 0.0:
        grid[:CELLS_FT][middles > stations[-1]] = 0.0
        return grid, ()
    if stations[-1] < CELLS_FT - 0.5:
        return grid, (
            f"{owner}: the readings end at {stations[-1]:g} ft with oil still on the lane; that "
            "film is held to the head pin (add readings of 0 where the oil ends)",
        )
    return grid, ()


def condition_film(
    condition: Condition, names: Sequence[str]
) -> tuple[Array, tuple[float, ...], tuple[str, ...]]:
    """Film of a condition by conditioner (n, 63, 39) [units], its overall volume shares, its notes.

    Raises
    ------
    InputError : bands and readings both given or neither; or either is faulty
    """
    if condition.readings is not None and condition.bands:
        raise InputError(f"{condition.name}: give application bands or readings, not both")
    notes: tuple[str, ...] = ()
    if condition.readings is not None:
        shares = check_shares(condition.name, condition.readings.shares, names)
        total, notes = readings_units(condition.readings, owner=condition.name)
        film = np.stack([share * total for share in shares])
    else:
        film = bands_film(condition.bands, names, owner=condition.name)
    volumes = [lane_total(grid) for grid in film]
    whole = math.fsum(volumes)
    return film, tuple(v / whole for v in volumes), notes


def lane_total(grid: Array) -> float:
    """Sum over the lane, boards b and 40-b first in pairs, so that a mirrored lane has equal bits."""
    columns = np.ascontiguousarray(grid).sum(axis=0)
    half = BOARDS // 2
    pairs = columns[:half] + columns[:half:-1]
    return float(pairs.sum() + columns[half])


def volume_ml(grid: Array) -> float:
    """Oil on a grid of films in units. [mL]"""
    return lane_total(grid) * UNIT_ML_PER_CELL
