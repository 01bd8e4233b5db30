"""What not knowing the pins' physical parameters does to strikes: doubt of a rate, perturbed libraries.

An emulator of the parameter runs: log-odds of four kinds of outcome (strike, 10 alone, 7 alone, all
else) move in proportion to each parameter's level, by a smooth function of offset and angle.  Does
not know how parameters act together or bend, nor how second balls change; every parameter is taken
as evenly spread over its range, whatever the published strike shares say of it, so the doubt is an
upper estimate.  Fitted at league speeds and masses; elsewhere the same shifts are used.
"""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from leaguesim.errors import InputError
from leaguesim.pins import _kernel, runs
from leaguesim.pins.carry import CarryLibrary, _checked, read_library
from leaguesim.pins.maps import neighbours
from leaguesim.pins.spec import FULL_RACK, mask_of

Floats = NDArray[np.float64]
SHIPPED: Final = Path(__file__).with_name("runs.npz")
KNOTS: Final = np.array([0.0, 2.2, 4.5])  # high, pocket, light [boards]
BASES: Final = 2 * len(KNOTS)
CLASSES: Final = 4  # strike, 10 alone, 7 alone, all else
PRIOR_SD: Final = 0.3  # of a coefficient, in log-odds from the middle to an end of a range
FLOOR: Final = 0.004  # added to class shares, so that what no neighbour did stays possible


@dataclass(frozen=True)
class Emulator:
    """Fitted shifts: ``mean`` (k,) coefficients, ``root`` (k, k) root of their covariance, k = 9 x 6 x 3.

    The first of the nine is what every setting off the middle has in common (bending); it is
    reported and not used.
    """

    mean: Floats
    root: Floats
    shots: int

    def coefficients(self, z: Floats | None = None) -> Floats:
        """(9, 6, 3) coefficients, the best ones or a draw of them from standard normals (k,)."""
        flat = self.mean if z is None else self.mean + self.root @ z
        return flat.reshape(1 + len(runs.RANGES), BASES, CLASSES - 1)


def kinds(down: NDArray[Any]) -> NDArray[np.int64]:
    """Kind of each outcome: 0 strike, 1 only the 10 stands, 2 only the 7, 3 all else."""
    standing = FULL_RACK - np.asarray(down, np.int64)
    out = np.full(standing.shape, 3, np.int64)
    for kind, mask in enumerate((0, mask_of(10), mask_of(7))):
        out[standing == mask] = kind
    return out


def basis(offset: Floats, entry: Floats) -> Floats:
    """(n, 6): three hats over the offset, each alone and times the angle. Right side only."""
    b = np.clip(offset, KNOTS[0], KNOTS[-1])
    hats = np.column_stack([np.interp(b, KNOTS, row) for row in np.eye(len(KNOTS))])
    slope = (np.clip(entry, *runs.BOX[1]) - 4.0) / 3.5
    return np.column_stack([hats, hats * slope[:, None]])


def fit(library: CarryLibrary, points: Floats, masks: NDArray[Any]) -> Emulator:
    """Multinomial regression of the runs on parameter levels, the library's shares as offset.

    Penalised by a normal prior of ``PRIOR_SD`` a coefficient; Newton's method, Laplace covariance.

    Parameters
    ----------
    points : (n, 4) offset, angle, speed, mass; masks : (n, 17) pins down at each setting
    """
    levels = runs.design().astype(float)
    n, s = masks.shape
    base = np.log(_right_shares(library, points))
    flat = np.abs(points[:, 0]), np.where(points[:, 0] < 0, -points[:, 1], points[:, 1])
    place = basis(*flat)
    away = np.column_stack([np.abs(levels).max(1), levels])
    table = np.einsum("sj,nb->nsjb", away, place).reshape(n * s, -1)
    kind = kinds(masks)
    mirrored = points[:, 0] < 0
    kind[mirrored] = np.array([0, 2, 1, 3])[kind[mirrored]]
    target = np.eye(CLASSES)[kind.reshape(-1)][:, : CLASSES - 1]
    offset = np.repeat(base[:, : CLASSES - 1] - base[:, CLASSES - 1 :], s, axis=0)
    k = table.shape[1]
    beta = np.zeros((k, CLASSES - 1))
    for _ in range(12):
        score = np.exp(offset + table @ beta)
        share = score / (1.0 + score.sum(1, keepdims=True))
        slope = table.T @ (target - share) - beta / PRIOR_SD**2
        hessian = np.zeros((k, CLASSES - 1, k, CLASSES - 1))
        for c in range(CLASSES - 1):
            for d in range(CLASSES - 1):
                w = share[:, c] * ((c == d) - share[:, d])
                hessian[:, c, :, d] = table.T @ (table * w[:, None])
        size = k * (CLASSES - 1)
        square = hessian.reshape(size, size) + np.eye(size) / PRIOR_SD**2
        beta += np.linalg.solve(square, slope.reshape(-1)).reshape(k, CLASSES - 1)
    root = np.linalg.cholesky(np.linalg.inv(square))
    return Emulator(beta.reshape(-1), root, n * s)


@lru_cache(maxsize=1)
def emulator() -> Emulator:
    """The shipped one.

    Raises
    ------
    LibraryError : the file is missing, damaged or of another version
    """
    arrays, settings = read_library(SHIPPED)
    mean, root = arrays["mean"].astype(float), arrays["root"].astype(float)
    return Emulator(mean, root, int(settings["shots"]) * len(runs.design()))


def draw_levels(n: int, rng: np.random.Generator) -> Floats:
    """(n, 8) levels of the parameters in ``runs.RANGES``, evenly over each range, low -1, high 1."""
    return np.asarray(2.0 * rng.random((n, len(runs.RANGES))) - 1.0)


def class_shares(library: CarryLibrary, points: Floats) -> Floats:
    """(n, 4) shares of the kinds of outcome at (n, 4) places, never quite 0."""
    out = np.zeros((len(points), CLASSES))
    kind = kinds(library.rows["mask"])
    for i, (b, a, v, m) in enumerate(np.asarray(points, dtype=float)):
        weight = neighbours(library, b, a, v, m)
        if weight.any():
            out[i] = np.bincount(kind, weight, minlength=CLASSES) / weight.sum()
        else:
            out[i, 3] = 1.0
    return (out + FLOOR) / (1.0 + CLASSES * FLOOR)


def _right_shares(library: CarryLibrary, points: Floats) -> Floats:
    """As ``class_shares`` with the corner pins of left-side hits changed over."""
    out = class_shares(library, points)
    left = points[:, 0] < 0
    out[left] = out[left][:, [0, 2, 1, 3]]
    return out


def shifts(
    offset: Floats, entry: Floats, levels: ArrayLike, coefficients: Floats | None = None
) -> Floats:
    """(n, 4) log weights added to the kinds of outcome at parameter levels; the last is 0.

    Hits left of the head pin take the mirrored shot's shifts, corner pins changed over.
    """
    theta = np.asarray(levels, dtype=float)
    if theta.shape != (len(runs.RANGES),) or not np.all(np.abs(theta) <= 1.0):
        raise InputError(f"levels: {len(runs.RANGES)} numbers from -1 to 1 are needed")
    beta = emulator().coefficients() if coefficients is None else coefficients
    left = offset < 0
    place = basis(np.abs(offset), np.where(left, -entry, entry))
    out = np.zeros((len(offset), CLASSES))
    out[:, : CLASSES - 1] = place @ np.tensordot(theta, beta[1:], 1)
    out[left] = out[left][:, [0, 2, 1, 3]]
    return out


def strike_rate_doubt(
    offset_boards: ArrayLike,
    entry_deg: ArrayLike,
    speed_mps: ArrayLike,
    ball_kg: ArrayLike,
    *,
    library: CarryLibrary | None = None,
    draws: int = 200,
) -> Any:
    """Sd of the strike rate from what is not known of the pins' parameters, broadcast shape.

    Over ``draws`` parameter draws, the emulator's own sampling error in it; add the library's
    standard error (``CarryLibrary.strike_rate``) in quadrature.

    Raises
    ------
    InputError : as ``CarryLibrary.strike_rate``
    """
    b, a, v, m, shape = _checked(offset_boards, entry_deg, speed_mps, ball_kg)
    shares = class_shares(library or CarryLibrary.load(), np.column_stack([b, a, v, m]))
    rng = np.random.default_rng(20261125)
    known = emulator()
    rates = np.empty((draws, len(b)))
    for i, levels in enumerate(draw_levels(draws, rng)):
        beta = known.coefficients(rng.standard_normal(len(known.mean)))
        tilted = shares * np.exp(shifts(b, a, levels, beta))
        rates[i] = tilted[:, 0] / tilted.sum(1)
    sd = rates.std(0)
    return np.where(np.abs(b) <= _kernel.DECK_EDGE_BOARD, sd, 0.0).reshape(shape)[()]


@dataclass(frozen=True)
class RowLaws:
    """What each shot of a library knows of its neighbours' outcomes, whatever the parameters.

    ``weight`` (rows, k) in the order of pins, then mask, 0 beyond the last; ``mask`` and ``kind`` alike;
    ``rank`` (rows,) where the shot's own outcome lies, NaN where no neighbour has it.
    """

    points: Floats
    weight: Floats
    mask: NDArray[np.uint16]
    kind: NDArray[np.int8]
    rank: Floats


def row_laws(library: CarryLibrary) -> RowLaws:
    """Laws of all shots of a library; takes seconds, and serves any number of ``perturbed``."""
    names = ("offset_board", "entry_deg", "speed_mps", "ball_kg")
    points = np.column_stack([library.rows[name].astype(float) for name in names])
    own = library.rows["mask"].astype(np.int64)
    luck = np.random.default_rng(1).random(len(own))
    masks, weights = np.empty(_kernel.MAX_OUTCOMES, np.int64), np.empty(_kernel.MAX_OUTCOMES)
    rank, found = np.full(len(own), np.nan), []
    for i, (b, a, v, m) in enumerate(points):
        n = _kernel.outcome_law(library.arrays, b, a, v, m, masks, weights)
        found.append((masks[:n].copy(), weights[:n].copy()))
        at = np.flatnonzero(masks[:n] == own[i])
        if len(at):
            rank[i] = weights[: at[0]].sum() + luck[i] * weights[at[0]]
    width = max(len(w) for _, w in found)
    weight, mask = np.zeros((len(own), width)), np.zeros((len(own), width), np.uint16)
    for i, (told, w) in enumerate(found):
        weight[i, : len(w)], mask[i, : len(w)] = w, told
    return RowLaws(points, weight, mask, kinds(mask).astype(np.int8), rank)


def perturbed(
    library: CarryLibrary,
    levels: ArrayLike,
    rng: np.random.Generator | None = None,
    *,
    laws: RowLaws | None = None,
) -> CarryLibrary:
    """The library as it might be at other parameters: same shots, some outcomes changed.

    A row keeps its rank among its neighbours' outcomes (pins, then mask) and takes the outcome at
    that rank after the shifts, so few rows change and shots stay paired. With ``rng`` the
    emulator's coefficients are drawn too. ``moved_2mm`` and second balls stay as they were.

    Parameters
    ----------
    levels : (8,) levels of the parameters in ``runs.RANGES``, such as a row of ``draw_levels``
    laws : ``row_laws(library)``, for many calls on one library
    """
    known = emulator()
    beta = known.coefficients(None if rng is None else rng.standard_normal(len(known.mean)))
    laws = row_laws(library) if laws is None else laws
    moves = np.exp(shifts(laws.points[:, 0], laws.points[:, 1], levels, beta))
    tilted = np.cumsum(laws.weight * np.take_along_axis(moves, laws.kind, axis=1), axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):  # rows without neighbours stay
        place = (tilted / tilted[:, -1:] <= laws.rank[:, None]).sum(axis=1)
    last = np.maximum((laws.weight > 0.0).sum(axis=1) - 1, 0)
    there = np.take_along_axis(laws.mask, np.minimum(place, last)[:, None], axis=1)[:, 0]
    fresh = np.where(np.isnan(laws.rank), library.rows["mask"], there)
    rows = {**library.rows, "mask": fresh.astype(np.uint16)}
    return CarryLibrary(rows, {**library.settings, "levels": np.asarray(levels, float).tolist()})
