"""The carry library: recorded shots, and the draws that stand for the pins' answer at run time.

A draw takes one uniform through the inverse distribution over the neighbours' recorded outcomes,
sorted by pins down, then mask.  Does not simulate a rigid body: ``build`` made the rows.
The library is a right-hander's; mirror offset, angle and masks for a left-hander.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from hashlib import blake2b
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leaguesim.errors import InputError, LibraryError
from leaguesim.pins import _kernel, _kernel_rows
from leaguesim.pins._kernel import DECK_EDGE_BOARD, MAX_OUTCOMES, CarryArrays
from leaguesim.pins._kernel_rows import MAX_ROWS, RowArrays
from leaguesim.pins.planar import rack_checked
from leaguesim.pins.second import SecondBall, second_draws
from leaguesim.pins.spec import FULL_RACK, mirror_mask

__all__ = ["DECK_EDGE_BOARD", "MAX_OUTCOMES", "CarryArrays", "CarryLibrary", "mirror_mask"]

VERSION: Final = 1
SHIPPED: Final = Path(__file__).with_name("carry.npz")
BUCKETS: Final = (0.2, 0.5, 1.0, 1.0)  # board and deg, where rows are dense, then sparse
# Kernel half-widths [boards, deg, m/s, kg] where rows are dense, then where they are sparse; near
# the best on rows held out (``learning.held_out``), given that laws are also blurred between nodes.
WIDTHS: Final = (0.28, 1.8, 1.65, 1.7, 0.5, 2.8, 3.0, 2.3)
# Dense box: |offset|, speed low and high, mass low and high; ramp of the widths outside it.
DENSE: Final = (6.0, 5.5, 8.5, 5.4, 7.26, 1.0)
EDGES: Final = (-20.0, 20.0, -2.0, 8.0, 2.0, 9.5, 2.7, 7.26)
ROW_FIELDS: Final = ("offset_board", "entry_deg", "speed_mps", "ball_kg", "mask")


def digest(arrays: dict[str, NDArray[Any]], settings: str) -> str:
    """blake2b over names, types, shapes and bytes of a library's arrays and its settings."""
    h = blake2b(digest_size=16)
    h.update(settings.encode())
    for name in sorted(arrays):
        a = np.ascontiguousarray(arrays[name])
        h.update(f"{name}:{a.dtype.str}:{a.shape}".encode())
        h.update(a.tobytes())
    return h.hexdigest()


def write_library(path: Path, arrays: dict[str, NDArray[Any]], settings: dict[str, Any]) -> str:
    """Write arrays and settings with version and digest; returns the digest."""
    text = json.dumps({"version": VERSION, **settings}, sort_keys=True)
    mark = digest(arrays, text)
    whole = {**arrays, "settings": np.array(text), "digest": np.array(mark)}
    temporary = path.with_name(path.name + ".part.npz")
    np.savez_compressed(temporary, **whole)  # type: ignore[arg-type]
    temporary.replace(path)
    return mark


def read_library(path: Path) -> tuple[dict[str, NDArray[Any]], dict[str, Any]]:
    """Arrays and settings of a library file, refused unless version and digest are right.

    Raises
    ------
    LibraryError : the file is missing, damaged or of another version
    """
    try:
        with np.load(BytesIO(path.read_bytes()), allow_pickle=False) as data:
            arrays = {name: data[name] for name in data.files}
        text = str(arrays.pop("settings"))
        mark = str(arrays.pop("digest"))
        settings = json.loads(text)
        version = settings["version"]
    except FileNotFoundError:
        raise LibraryError(f"{path}: the carry library is missing; reinstall the package") from None
    except Exception as fault:
        raise LibraryError(f"{path}: the carry library is damaged ({fault})") from fault
    if version != VERSION:
        raise LibraryError(f"{path}: carry library version {version}; this package reads {VERSION}")
    if digest(arrays, text) != mark:
        raise LibraryError(f"{path}: the carry library is damaged (its digest does not match)")
    return arrays, settings


@lru_cache(maxsize=4)
def _loaded(path: Path) -> "CarryLibrary":
    arrays, settings = read_library(path)
    return CarryLibrary(arrays, settings)


@dataclass(frozen=True)
class CarryLibrary:
    """Recorded first and second balls; ``rows`` as stored, ``settings`` of the build."""

    rows: dict[str, NDArray[Any]]
    settings: dict[str, Any]

    @classmethod
    def load(cls, path: Path | str | None = None) -> "CarryLibrary":
        """The shipped library, or the one in a file.

        Raises
        ------
        LibraryError : missing, damaged or of another version
        """
        return _loaded(Path(path) if path is not None else SHIPPED)

    @cached_property
    def arrays(self) -> CarryArrays:
        """What the kernels read: the laws at the grid's nodes."""
        return tabled(self.bucketed_rows)

    @cached_property
    def bucketed_rows(self) -> RowArrays:
        """The rows in buckets, each sorted by pins down, then mask."""
        return bucketed(self.rows)

    def draw(
        self,
        offset_boards: ArrayLike,
        entry_deg: ArrayLike,
        speed_mps: ArrayLike,
        ball_kg: ArrayLike,
        rng: np.random.Generator,
        rack: int = FULL_RACK,
    ) -> NDArray[np.int64]:
        """Masks of the pins that fall, bit 0 = pin 1, one uniform a shot.

        Parameters
        ----------
        offset_boards : ball centre right of the head pin's centre at 60 ft. [boards]
        entry_deg, speed_mps, ball_kg : angle to the left, speed, mass at the pins
        rack : standing pins. A full rack uses the four arguments; any other the offset alone
            (league speeds and angles mixed)

        Returns
        -------
        int array of the broadcast shape; 0 where the centre is beyond the deck's edge

        Raises
        ------
        InputError : (a ValueError) NaN, speed or mass not positive, rack outside 1..1023
        """
        rack = rack_checked(rack)
        b, a, v, m, shape = _checked(offset_boards, entry_deg, speed_mps, ball_kg)
        u = rng.random(b.shape)
        out = np.zeros(b.shape, np.int64)
        if rack == FULL_RACK:
            _kernel.draw_many(self.arrays, b, a, v, m, u, out)
        else:
            second_draws(self.second_ball(), rack, b, u, out)
        return out.reshape(shape)

    def strike_rate(
        self,
        offset_boards: ArrayLike,
        entry_deg: ArrayLike,
        speed_mps: ArrayLike,
        ball_kg: ArrayLike,
    ) -> tuple[Any, Any]:
        """Smoothed share of strikes and its standard error, of the broadcast shape.

        The error is binomial over the effective number of rows (sum w)^2 / sum w^2, with one
        strike and one miss added so that it is never zero; it has no part for the rigid model's
        own parameters. Beyond the deck's edge both are 0.
        """
        b, a, v, m, shape = _checked(offset_boards, entry_deg, speed_mps, ball_kg)
        rate, effective = np.empty(b.shape), np.empty(b.shape)
        _kernel.strike_many(self.arrays, b, a, v, m, rate)
        _kernel_rows.effective_many(self.bucketed_rows, b, a, v, m, effective)
        effective[np.abs(b) > DECK_EDGE_BOARD] = np.inf
        counted = np.where(np.isfinite(effective), effective, 0.0)
        middle = (rate * counted + 1.0) / (counted + 2.0)
        se = np.sqrt(middle * (1.0 - middle) / np.maximum(counted, 1.0))
        se = np.where(np.isfinite(effective), se, 0.0)
        if shape == ():
            return float(rate[0]), float(se[0])
        return rate.reshape(shape), se.reshape(shape)

    def outside_range(
        self, entry_deg: ArrayLike, speed_mps: ArrayLike, ball_kg: ArrayLike
    ) -> NDArray[np.bool_]:
        """Where a shot lies outside the sampled angles, speeds and masses (answered at the edge)."""
        a, v, m = (np.asarray(x, dtype=float) for x in (entry_deg, speed_mps, ball_kg))
        low, high = np.array(EDGES[2::2]), np.array(EDGES[3::2])
        out = [(x < lo) | (x > hi) for x, lo, hi in zip((a, v, m), low, high, strict=True)]
        return np.asarray(out[0] | out[1] | out[2])

    def second_ball(self) -> SecondBall:
        """The laws of second balls for every leave that a first ball can produce."""
        return self._second

    @cached_property
    def _second(self) -> SecondBall:
        return SecondBall.from_rows(self.rows)


def grid_nodes() -> tuple[NDArray[Any], ...]:
    """Nodes of the tabled laws: offset [boards], angle [deg], speed [m/s], mass [kg]."""
    fine = np.arange(_kernel.FINE_STEPS + 1) / _kernel.FINE_PER_BOARD
    beyond = np.arange(1, _kernel.SIDE_STEPS - _kernel.FINE_STEPS + 1) / _kernel.COARSE_PER_BOARD
    side = np.concatenate([fine, _kernel.FINE_BOARD + beyond])
    return (
        np.concatenate([-side[:0:-1], side]),
        _kernel.ENTRY_LOW + _kernel.ENTRY_STEP * np.arange(_kernel.ENTRY_NODES),
        _kernel.SPEED_LOW + _kernel.SPEED_STEP * np.arange(_kernel.SPEED_NODES),
        _kernel.MASS_LOW + _kernel.MASS_STEP * np.arange(_kernel.MASS_NODES),
    )


def tabled(lib: RowArrays) -> CarryArrays:
    """The law of the rows at every node of the grid."""
    nodes = grid_nodes()
    count = int(np.prod([len(n) for n in nodes]))
    starts, known = np.zeros(count + 1, np.int64), np.empty((count, 2))
    room = 20 * count
    while True:
        key, weight = np.empty(room, np.int64), np.empty(room)
        offset, entry, speed, mass = nodes
        if _kernel_rows.table_laws(lib, offset, entry, speed, mass, starts, key, weight, known):
            break
        room *= 2
    end = int(starts[-1])
    return CarryArrays(
        starts, key[:end].copy(), weight[:end].copy(), known, np.unique(key[:end] & FULL_RACK)
    )


def bucketed(rows: dict[str, NDArray[Any]], widths: Sequence[float] = WIDTHS) -> RowArrays:
    """Sort the rows by pins down, then mask, and deal them into buckets."""
    points = np.column_stack([rows[name].astype(np.float64) for name in ROW_FIELDS[:4]])
    masks = rows["mask"].astype(np.int64)
    order = np.lexsort((masks, np.bitwise_count(masks)))
    points, masks = np.ascontiguousarray(points[order]), masks[order]
    steps = np.array(BUCKETS)
    span = np.array([EDGES[1] - EDGES[0], EDGES[3] - EDGES[2]] * 2)
    shape = np.rint(span / steps).astype(np.int64)
    buckets = int(shape[0] * shape[1] + shape[2] * shape[3])
    blank = np.empty(0, np.float32)
    lib = RowArrays(
        np.array(EDGES), steps, shape, np.array(widths), np.array(DENSE),
        np.zeros(buckets + 1, np.int64),
        blank, blank, blank, blank, np.empty(0, np.int64),
    )  # fmt: skip
    counts = np.zeros(buckets, np.int64)
    _kernel_rows.build_buckets(lib, points, masks, counts, False)
    if counts.max() > MAX_ROWS:
        raise LibraryError(f"a bucket of the carry library holds more than {MAX_ROWS} rows")
    np.cumsum(counts, out=lib.starts[1:])
    total = int(lib.starts[-1])
    columns = [np.empty(total, np.float32) for _ in range(4)]
    lib = lib._replace(
        offset=columns[0], angle=columns[1], speed=columns[2], mass=columns[3],
        mask=np.empty(total, np.int64),
    )  # fmt: skip
    counts[:] = 0
    _kernel_rows.build_buckets(lib, points, masks, counts, True)
    return lib


def _checked(
    offset: ArrayLike, entry: ArrayLike, speed: ArrayLike, mass: ArrayLike
) -> tuple[
    NDArray[np.float64],
    NDArray[np.float64],
    NDArray[np.float64],
    NDArray[np.float64],
    tuple[int, ...],
]:
    """Arguments as flat float arrays of one shape, refused by name where they make no sense."""
    names = ("offset_boards", "entry_deg", "speed_mps", "ball_kg")
    values = []
    for name, raw in zip(names, (offset, entry, speed, mass), strict=True):
        value = np.asarray(raw, dtype=np.float64)
        if not np.all(np.isfinite(value)):
            raise InputError(f"{name}: every value must be a finite number")
        if name in names[2:] and not np.all(value > 0.0):
            raise InputError(f"{name}: every value must be above 0")
        values.append(value)
    try:
        full = np.broadcast_arrays(*values)
    except ValueError as fault:
        raise InputError(f"{', '.join(names)}: shapes do not go together ({fault})") from fault
    b, a, v, m = (np.ascontiguousarray(x).reshape(-1) for x in full)
    return b, a, v, m, full[0].shape
