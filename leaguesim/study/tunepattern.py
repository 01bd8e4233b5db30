"""A family of oil patterns by length, volume, ratio, taper and tank shares, as a lane machine lays them.

Two flat bands carry the outside, one of them only in the heads; nested bands narrow to the centre and
shorten toward the heads.  Does not know how people bowl on it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.lane.film import bands_film, volume_ml
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition, Conditioner
from leaguesim.play.aims import Limits, Machine

Array = NDArray[np.float64]

NESTED = 9  # centre bands, from boards 8..32 in to 16..24
FLAT_BOARDS = (2.0, 38.0)
FLAT_FRONT = (
    0.3  # of the flat oil ends in the heads, as forward loads do (common practice, no source)
)
RATIO_AT_FT = 22.0  # the family's own ratio is set at the middle distance
LIMIT_FT = tuple(range(10, 31))  # the limits look at the largest ratio of every foot of these
READ_FT = (8.0, 18.0, 28.0)  # where the mechanic reads a tape, about; and near the end of the oil
BEFORE_END_FT = 3.0  # the last tape
CLEAR_FT = 1.0  # of any end of a band, where half a foot would be another reading
TOLERANCE = 0.10  # of a reading, with a floor; from machine and tape together (assumed)
TOLERANCE_FLOOR_UNITS = 1.0


@dataclass(frozen=True)
class Recipe:
    """One member of the family.  ``shares`` of the second oil in heads, middle and back."""

    length_ft: float
    volume_ml: float
    ratio: float
    taper: float
    oils: tuple[str, ...]
    shares: tuple[float, float, float] = (0.0, 0.0, 0.0)


def _to_step(value: float, step: float) -> float:
    return round(round(value / step) * step, 6)


def bands_of(recipe: Recipe, machine: Machine) -> tuple[Band, ...]:
    """The bands of a recipe in whole doses and steps of the machine.

    The flat bands' share of the oil follows in closed form from the ratio at 22 ft:
    V_flat = c V / (f (R - 1) + c), with f and c the film a millilitre of either makes there.
    """
    dose = machine.smallest_dose_ml
    flat_ends, ends = _ends(recipe, machine)
    parts = (1.0 - FLAT_FRONT, FLAT_FRONT)
    # Film of one millilitre on a board: 1 / (feet * boards), up to one constant.
    flat = sum(p / (e * 37.0) for p, e in zip(parts, flat_ends, strict=True) if e > RATIO_AT_FT)
    centre = (
        sum(1.0 / (e * (25.0 - 2.0 * k)) for k, e in enumerate(ends) if e > RATIO_AT_FT) / NESTED
    )
    share = centre / (flat * (recipe.ratio - 1.0) + centre) if centre > 0.0 else 1.0
    flat_ml = max(dose, _to_step(share * recipe.volume_ml, dose))
    front_ml = _to_step(FLAT_FRONT * flat_ml, dose)
    each = (recipe.volume_ml - flat_ml) / NESTED
    shares = [_to_step(s, machine.share_step) for s in recipe.shares]

    def oil(end: float) -> tuple[tuple[str, float], ...]:
        if len(recipe.oils) == 1:
            return ((recipe.oils[0], 1.0),)
        second = shares[0] if end <= 15.0 else shares[1] if end <= 30.0 else shares[2]
        pair = ((recipe.oils[0], 1.0 - second), (recipe.oils[1], second))
        return tuple((name, part) for name, part in pair if part > 0.0)

    out = [
        Band(0.0, end, *FLAT_BOARDS, round(amount, 6), oil(end))
        for end, amount in zip(flat_ends, (flat_ml - front_ml, front_ml), strict=True)
        if amount >= dose - 1e-9
    ]
    carried = 0.0
    for k, end in enumerate(ends):
        carried += each
        amount = _to_step(carried, dose)
        if amount < dose:
            continue  # the machine can't meter it: it goes into the next band
        carried -= amount
        out.append(Band(0.0, end, 8.0 + k, 32.0 - k, amount, oil(end)))
    return tuple(out)


def _ends(recipe: Recipe, machine: Machine) -> tuple[tuple[float, float], list[float]]:
    """Where bands end: the two flat bands, the nested ones, on whole steps.  [ft]"""
    step = machine.length_step_ft
    shortest = round(ceil(machine.shortest_band_ft / step - 1e-9) * step, 6)
    longest = round(floor(machine.longest_ft / step + 1e-9) * step, 6)
    length = max(shortest, min(longest, _to_step(recipe.length_ft, step)))
    cut = 0.15 * min(1.0, max(0.0, (recipe.ratio - 3.0) / 5.0))
    last = max(shortest, length * (1.0 - 0.93 * recipe.taper))
    ends = [
        max(shortest, _to_step(length + (last - length) * k / (NESTED - 1), step))
        for k in range(NESTED)
    ]
    flat_end, front = length * (1.0 - cut), length * (1.0 - 0.6 * recipe.taper)
    return (max(shortest, _to_step(flat_end, step)), max(shortest, _to_step(front, step))), ends


def condition_of(name: str, title: str, recipe: Recipe, machine: Machine) -> Condition:
    """The recipe as a condition on fresh oil."""
    return Condition(name=name, title=title, bands=bands_of(recipe, machine))


def facts(bands: Sequence[Band], conditioners: Mapping[str, Conditioner]) -> dict[str, Any]:
    """What limits look at: length, volume, largest ratio of each side from 10 to 30 ft, cost a lane."""
    names = list(conditioners)
    film = bands_film(bands, names)
    total = film.sum(axis=0)
    right: list[float] = []
    left: list[float] = []
    for feet in LIMIT_FT:
        row = total[feet]
        centre = row[17:22].mean()
        for side, outer in ((right, row[2:7].mean()), (left, row[32:37].mean())):
            side.append(float(centre / outer) if outer > 0.0 else float("inf"))
    prices = [conditioners[n].price_per_litre for n in names]
    used = [volume_ml(f) for f in film]
    known = all(p is not None for p, v in zip(prices, used, strict=True) if v > 0.0)
    cost = sum((p or 0.0) * v / 1000.0 for p, v in zip(prices, used, strict=True))
    return {
        "length_ft": max(b.to_ft for b in bands),
        "volume_ml": float(sum(b.volume_ml for b in bands)),
        "ratio_right": max(right),
        "ratio_left": max(left),
        "cost": float(cost) if known else None,
    }


def broken(found: Mapping[str, Any], limits: Limits, machine: Machine) -> list[str]:
    """Names of the limits that a condition does not keep to."""
    out = []
    spans = (
        ("length_ft", limits.length_low_ft, limits.length_high_ft, "length"),
        ("volume_ml", limits.volume_low_ml, limits.volume_high_ml, "volume"),
        ("ratio_right", limits.ratio_right_low, limits.ratio_right_high, "ratio on the right"),
        ("ratio_left", limits.ratio_left_low, limits.ratio_left_high, "ratio on the left"),
    )
    for key, low, high, name in spans:
        if not low - 1e-6 <= found[key] <= high + 1e-6:
            out.append(name)
    if found["length_ft"] > machine.longest_ft + 1e-6:
        out.append("the machine's longest pattern")
    if limits.cost_high is not None and (
        found["cost"] is None or found["cost"] > limits.cost_high + 1e-9
    ):
        out.append("cost" if found["cost"] is not None else "cost (a price per litre is missing)")
    return out


def tapes_ft(bands: Sequence[Band]) -> list[float]:
    """Where to read a tape: about ``READ_FT`` and before the end, as clear of every band's ends as can be."""
    ends = np.array([x for b in bands for x in (b.from_ft, b.to_ft)])
    length = float(ends.max())
    places: list[float] = []
    for about in (*READ_FT, length - BEFORE_END_FT):
        near = [x + 0.5 for x in range(int(about) - 2, int(about) + 3) if 1 <= x < length - 1.0]
        near = [x for x in near if not places or x > places[-1] + 1.0]
        if near:
            # farthest from an end of a band, but no farther than is worth it; then the nearest asked for
            places.append(
                min(
                    near,
                    key=lambda x: (-min(float(np.abs(ends - x).min()), CLEAR_FT), abs(x - about)),
                )
            )
    return places


def readings(lane: Lane, bands: Sequence[Band]) -> list[dict[str, float]]:
    """Film to expect on a tape at four distances, outside, middle and outside, with its tolerance."""
    rows = []
    for feet in tapes_ft(bands):
        row = lane.film_units[int(feet)]
        parts = {
            "right_units": float(row[2:7].mean()),
            "centre_units": float(row[17:22].mean()),
            "left_units": float(row[32:37].mean()),
        }
        rows.append(
            {
                "distance_ft": feet,
                **parts,
                **{
                    key.replace("_units", "_tolerance_units"): max(
                        TOLERANCE_FLOOR_UNITS, TOLERANCE * value
                    )
                    for key, value in parts.items()
                },
            }
        )
    return rows


def toml_text(condition: Condition, note: str) -> str:
    """The condition as a file that the door reads again, figure for figure."""
    lines = [f"# {line}" for line in note.splitlines()]
    title = condition.title.replace("\\", "\\\\").replace('"', '\\"')
    lines += [f'title = "{title}"']
    for b in condition.bands:
        shares = ", ".join(f'"{name}" = {share!r}' for name, share in b.shares)
        lines += [
            "", "[[bands]]", f"from_ft = {b.from_ft!r}", f"to_ft = {b.to_ft!r}",
            f"from_board = {b.from_board!r}", f"to_board = {b.to_board!r}",
            f"volume_ml = {b.volume_ml!r}", f"shares = {{ {shares} }}",
        ]  # fmt: skip
    return "\n".join(lines) + "\n"
