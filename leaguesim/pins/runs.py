"""Rigid-body runs beside the library: other parameter values, and leaves the discs were not tuned on.

Runs and gathers them only; ``doubt`` says what follows for strikes.  Not a fit: no parameter is
chosen here.

Parameter runs are a fractional factorial: eight parameters at two ends of their range in sixteen
settings (resolution IV: no effect of one is mixed with those of two), and the library's own setting,
all at the same seeded shots, so a parameter's effect uses every shot.
"""

from dataclasses import asdict, replace
from itertools import product
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.pins import second
from leaguesim.pins.rigid import RigidDeck, RigidSettings
from leaguesim.pins.spec import FULL_RACK
from leaguesim.streams import Purpose, stream

BLOCK: Final = 10  # shots of a part, each at every setting
LEAVES: Final = 200
POINTS: Final = 6  # of a leave, two racks each
# Where parameter shots go: offset, angle, speed, mass, low and high ends. [boards, deg, m/s, kg]
BOX: Final = ((-1.0, 5.5), (0.5, 7.5), (5.8, 8.6), (5.4, 7.26))
SPREADS: Final = ("spotting_sd_m", "mass_sd_kg", "cg_sd_in", "friction_sd", "restitution_sd")
# Low and high ends of what is not known. Restitutions stay inside the published 0.65-0.78 when
# measured in a straight collision (settings read about 0.02 higher); friction of plastic-coated
# maple, kickback bounce and the spread from pin to pin: plausible, no source. The library's value
# is the middle, on a log scale for friction and spread.
RANGES: Final[dict[str, tuple[float, float]]] = {
    "restitution_ball": (0.67, 0.77),
    "restitution_pin": (0.67, 0.77),
    "friction_ball": (0.09, 0.25),
    "friction_pin": (0.09, 0.25),
    "friction_deck": (0.20, 0.45),
    "restitution_kickback": (0.35, 0.65),
    "friction_kickback": (0.20, 0.6125),
    "variation": (0.5, 2.0),
}


def design() -> NDArray[np.int8]:
    """(17, 8) levels -1 or 1 of each parameter; the first row, all 0, is the library's setting."""
    rows = [[0] * 8]
    for a, b, c, d in product((-1, 1), repeat=4):
        rows.append([a, b, c, d, a * b * c, a * b * d, a * c * d, b * c * d])
    return np.array(rows, np.int8)


def setting(levels: NDArray[Any], base: RigidSettings | None = None) -> RigidSettings:
    """Settings at levels between -1 (low end) and 1 (high end) of ``RANGES``, 0 the base."""
    start = base or RigidSettings()
    changes: dict[str, float] = {}
    for (name, (low, high)), level in zip(RANGES.items(), levels, strict=True):
        if name == "variation":
            factor = float((high if level > 0 else 1.0 / low) ** float(level))
            changes |= {spread: getattr(start, spread) * factor for spread in SPREADS}
            continue
        value = float(getattr(start, name))
        end = high if level > 0 else low
        changes[name] = float(value * (end / value) ** abs(float(level)))
    return replace(start, **changes)


def shot_point(k: int, seed: int) -> tuple[NDArray[np.float64], np.random.Generator]:
    """Offset, angle, speed and mass of shot ``k`` and the generator of its rack."""
    rng = stream(seed, Purpose.LIBRARY_BUILD, replicate=k, identity="parameters")
    low, high = np.array(BOX).T
    return low + rng.random(4) * (high - low), rng


def write_block(path: Path, block: int, seed: int) -> None:
    """Simulate one part of the parameter runs: ``BLOCK`` shots at each of the 17 settings."""
    levels = design()
    masks = np.zeros((BLOCK, len(levels)), np.uint16)
    for s, level in enumerate(levels):
        deck = RigidDeck(setting(level))
        for i in range(BLOCK):
            point, rng = shot_point(block * BLOCK + i, seed)
            b, a, v, m = (float(x) for x in point)
            masks[i, s] = deck.shoot(b, a, v, m, rng).down
    points = np.array([shot_point(block * BLOCK + i, seed)[0] for i in range(BLOCK)])
    _save(path, {"points": points.astype(np.float32), "masks": masks})


def leave_points(leave: int, seed: int) -> tuple[NDArray[np.float64], list[np.random.Generator]]:
    """(2 ``POINTS``, 4) balls at a leave, each place twice, and the generators of their racks."""
    from leaguesim.pins.build import touching_boards

    low, high = touching_boards(leave)
    rng = stream(seed, Purpose.LIBRARY_BUILD, replicate=leave, identity="leave check")
    angle, speed, mass = second.league_mix(POINTS, rng)
    offset = low + (high - low) * (np.arange(POINTS) + rng.random(POINTS)) / POINTS
    points = np.repeat(np.column_stack([offset, angle, speed, mass]), 2, axis=0)
    return points, rng.spawn(2 * POINTS)


def write_leave(path: Path, leave: int, seed: int) -> None:
    """Simulate the second balls of one leave that has no rigid rows in the library."""
    deck = RigidDeck()
    points, racks = leave_points(leave, seed)
    down = [
        deck.shoot(float(b), float(a), float(v), float(m), rng, rack=leave).down
        for (b, a, v, m), rng in zip(points, racks, strict=True)
    ]
    _save(
        path,
        {
            "leave": np.full(len(points), leave, np.uint16),
            "leave_points": points.astype(np.float32),
            "leave_masks": np.array(down, np.uint16),
        },
    )


def checked_leaves(rows: dict[str, NDArray[Any]], seed: int) -> list[int]:
    """Leaves for the comparison: drawn from those that the library answers with discs."""
    discs = rows["second_leaves"][rows["second_rigid"] == 0].astype(int)
    rng = stream(seed, Purpose.LIBRARY_BUILD, identity="which leaves")
    return [int(x) for x in rng.permutation(discs)[:LEAVES]]


def leave_gap(arrays: dict[str, NDArray[Any]], shots: int = 128) -> dict[str, float]:
    """Discs against rigid runs on the checked leaves: rms and bias of the expected share of pins.

    Two rigid racks at each place: the product of their gaps to the discs' mean has the squared gap of
    the means as its expectation, free of the racks' chance. ``bias`` is discs minus rigid; ``*_se``
    treat leaves as the unit.
    """
    from leaguesim.pins import planar

    leaves = np.unique(arrays["leave"])
    squares, gaps, hit = [], [], []
    for leave in leaves:
        own = arrays["leave"] == leave
        points = arrays["leave_points"][own][::2].astype(float)
        rng = np.random.default_rng(int(leave))
        many = np.repeat(points, shots, axis=0)
        down = planar.shots(many[:, 0], many[:, 1], many[:, 2], many[:, 3], rng, rack=int(leave))
        size = int(leave).bit_count()
        discs = np.bitwise_count(down).reshape(-1, shots).mean(1) / size
        rigid = np.bitwise_count(arrays["leave_masks"][own]).reshape(-1, 2) / size
        touched = (discs > 0) | (rigid > 0).any(1)
        squares.append(float(((rigid[:, 0] - discs) * (rigid[:, 1] - discs))[touched].mean()))
        gaps.append(float((discs - rigid.mean(1))[touched].mean()))
        hit.append(float(touched.mean()))
    n = len(leaves)
    square = float(np.mean(squares))
    rms = max(square, 0.0) ** 0.5
    return {
        "leaves": float(n), "shots": float(len(arrays["leave"])), "rms": rms,
        "rms_se": float(np.std(squares) / n**0.5 / (2.0 * max(rms, 1e-9))),
        "bias": float(np.mean(gaps)), "bias_se": float(np.std(gaps) / n**0.5),
        "touched": float(np.mean(hit)),
    }  # fmt: skip


def about() -> dict[str, Any]:
    """What the runs were made with, for the library's settings."""
    return {
        "ranges": {name: list(ends) for name, ends in RANGES.items()},
        "box": [list(ends) for ends in BOX],
        "design": design().tolist(),
        "base": asdict(RigidSettings()),
        "full_rack": FULL_RACK,
    }


def _save(path: Path, arrays: dict[str, NDArray[Any]]) -> None:
    temporary = path.with_name(path.name + ".part.npz")
    np.savez(temporary, **arrays)  # type: ignore[arg-type]
    temporary.replace(path)
