"""What no single key can tell: ends in order, shares adding up, names that stand for something.

Works on what the TOML says, so that one wrong key hides no other; values of a wrong type or out of
their limits are passed over, because ``validate`` has said so already.
"""

import math
from collections.abc import Collection, Iterable
from typing import Any

from leaguesim.center.faults import Faults, key_text, unknown, wrote
from leaguesim.center.keys import VOLUME_MAX_ML
from leaguesim.center.models import ConditionerFile
from leaguesim.center.models_play import StyleFile
from leaguesim.center.positions import KeyPath
from leaguesim.center.validate import Source
from leaguesim.errors import InputError
from leaguesim.lane.viscosity import dynamic_mpas, kinematic_mm2ps, law_from_change

# GB release 2007: dynamic viscosity of a legal conditioner at 70 F.
VISCOSITY_LOW_MPAS, VISCOSITY_HIGH_MPAS, VISCOSITY_TEST_C = 12.0, 81.0, 21.1
SHARE_TOLERANCE = 1e-6
SPREADS = ("speed_mph", "rev_rate_rpm", "axis_rotation_deg", "axis_tilt_deg", "accuracy_deg")


def number(table: Any, key: str) -> float | None:
    """The finite number under a key, or None."""
    value = table.get(key) if isinstance(table, dict) else None
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        return float(value) if math.isfinite(value) else None
    except OverflowError:
        return None


def _say(source: Source, path: KeyPath, text: str, faults: Faults) -> None:
    faults.add(source.file, source.line(path), key_text(path), text)


def _shares(
    source: Source, path: KeyPath, table: Any, what: str, names: Collection[str], faults: Faults
) -> None:
    if not isinstance(table, dict):
        return
    for name in table:
        if name not in names:
            _say(source, (*path, name), unknown(what, name, names), faults)
    parts = [number(table, name) for name in table]
    if any(part is None for part in parts):
        return
    total = math.fsum(part for part in parts if part is not None)
    if abs(total - 1.0) > SHARE_TOLERANCE:
        text = f"shares must add up to 1, you wrote shares that add up to {total:g}"
        _say(source, path, text, faults)


def _ordered(
    source: Source,
    path: KeyPath,
    table: Any,
    ends: tuple[str, str],
    faults: Faults,
    *,
    equal: bool,
) -> None:
    low, high = number(table, ends[0]), number(table, ends[1])
    if low is None or high is None or low < high or (equal and low == high):
        return
    rule = "not be below" if equal else "be above"
    _say(
        source,
        (*path, ends[1]),
        f"wrong order: it must {rule} {ends[0]} ({low:g}), you wrote {high:g}",
        faults,
    )


def _tables(value: Any) -> Iterable[tuple[int, dict[str, Any]]]:
    items = value if isinstance(value, list) else []
    return ((i, item) for i, item in enumerate(items) if isinstance(item, dict))


def check_condition(
    source: Source, conditioners: Collection[str], styles: Collection[str], faults: Faults
) -> None:
    """Bands in order, oil in total, shares, and bands or readings but not both."""
    data = source.data
    total = 0.0
    for i, band in _tables(data.get("bands")):
        path: KeyPath = ("bands", i)
        _ordered(source, path, band, ("from_ft", "to_ft"), faults, equal=False)
        _ordered(source, path, band, ("from_board", "to_board"), faults, equal=True)
        _shares(source, (*path, "shares"), band.get("shares"), "conditioner", conditioners, faults)
        total += max(number(band, "volume_ml") or 0.0, 0.0)
    if total > VOLUME_MAX_ML:
        text = (
            f"too much oil: allowed are up to {VOLUME_MAX_ML:g} mL on one lane, "
            f"you wrote {total:g} mL in all bands together"
        )
        _say(source, ("bands",), text, faults)
    _shares(source, ("shares",), data.get("shares"), "conditioner", conditioners, faults)
    _bands_or_readings(source, faults)
    after = data.get("after")
    if isinstance(after, dict):
        _shares(source, ("after", "styles"), after.get("styles"), "style", styles, faults)


def _bands_or_readings(source: Source, faults: Faults) -> None:
    data = source.data
    bands, readings = bool(data.get("bands")), "readings" in data
    if bands and readings:
        text = "too much: allowed are bands or readings, you wrote both"
        _say(source, ("readings",), text, faults)
    if not bands and not readings:
        text = "missing: the lane would be dry (0 mL); [[bands]] or readings are needed"
        _say(source, ("bands",), text, faults)
    if readings and "shares" not in data:
        text = "missing: readings need shares = { CONDITIONER = 1.0 } that say what the oil is"
        _say(source, ("shares",), text, faults)
    if bands and "shares" in data:
        text = "out of place: with bands, shares belong in each band; here they go with readings"
        _say(source, ("shares",), text, faults)


def check_conditioner(source: Source, faults: Faults) -> None:
    """The governing body's viscosity limits, carried to their own temperature by ASTM D341."""
    data = source.data
    if "than" in data and "viscosity_mpas" not in data:
        return
    value, at_c, change, density = (
        number({key: data.get(key, ConditionerFile.model_fields[key].default)}, key)
        for key in (
            "viscosity_mpas",
            "viscosity_at_c",
            "viscosity_change_per_10f",
            "density_g_per_ml",
        )
    )
    if value is None or at_c is None or change is None or density is None:
        return
    if not (0 < value <= 2000 and 0 <= at_c <= 100 and -0.5 <= change < 0 and density > 0):
        return
    try:
        law = law_from_change(at_c, kinematic_mm2ps(value, density), change)
        there = dynamic_mpas(law.kinematic_mm2ps(VISCOSITY_TEST_C), density)
    except (InputError, OverflowError):
        there = math.nan
    if at_c == VISCOSITY_TEST_C:
        there = value
    if VISCOSITY_LOW_MPAS <= there <= VISCOSITY_HIGH_MPAS:
        return
    got = "" if at_c == VISCOSITY_TEST_C else f" at {at_c:g} C, which is {there:.3g} at 21.1 C"
    text = (
        "outside the governing body's limits: allowed is a number from 12 to 81 mPa.s at 21.1 C, "
        f"you wrote {wrote(data.get('viscosity_mpas', value))}{got}"
    )
    _say(source, ("viscosity_mpas",), text, faults)


def _spread_in_order(source: Source, key: str, faults: Faults) -> None:
    """A table with mean from low to high."""
    _ordered(source, (key,), source.data.get(key), ("low", "mean"), faults, equal=True)
    _ordered(source, (key,), source.data.get(key), ("mean", "high"), faults, equal=True)


WORD_OR_FIGURES = {
    "friction": ("boundary_factor",),
    "wears": ("left_behind",),
    "kind": ("base_share", "critical_rate_per_s"),
}


def check_words(source: Source, figured: Collection[str], faults: Faults) -> None:
    """Words are said against a conditioner given in figures, and each thing is said once."""
    data = source.data
    than = data.get("than")
    if isinstance(than, str) and than and than not in figured:
        _say(source, ("than",), unknown("conditioner given in figures", than, figured), faults)
    for word, figures in WORD_OR_FIGURES.items():
        if word not in data:
            continue
        if "than" not in data:
            text = f"out of place: than = CONDITIONER must say what {word} is said against"
            _say(source, (word,), text, faults)
        for figure in figures:
            if figure in data:
                text = f"said twice: allowed is {word} or {figure}, you wrote both"
                _say(source, (word,), text, faults)
    if "viscosity_at_c" in data and "viscosity_mpas" not in data and "than" in data:
        text = "out of place: viscosity_mpas must stand with it"
        _say(source, ("viscosity_at_c",), text, faults)


def check_style(source: Source, balls: Collection[str], faults: Faults) -> None:
    """Spreads in order, lay-down boards in order, known balls."""
    data = source.data
    for key in SPREADS:
        _spread_in_order(source, key, faults)
    ends = ("laydown_low_board", "laydown_high_board")
    board = {key: data.get(key, StyleFile.model_fields[key].default) for key in ends}
    _ordered(source, (), board, ends, faults, equal=False)
    bag = data.get("bag")
    for i, name in enumerate(bag if isinstance(bag, list) else []):
        if isinstance(name, str) and name not in balls:
            _say(source, ("bag", i), unknown("ball", name, balls), faults)
    spare = data.get("spare_ball")
    if isinstance(spare, str) and spare and spare not in balls:
        _say(source, ("spare_ball",), unknown("ball", spare, balls), faults)


def check_population(source: Source, styles: Collection[str], faults: Faults) -> None:
    """Known styles whose shares add up to 1, averages in order."""
    _shares(source, ("styles",), source.data.get("styles"), "style", styles, faults)
    _spread_in_order(source, "average", faults)


def check_center(
    source: Source, conditions: Collection[str], styles: Collection[str], faults: Faults
) -> None:
    """``today`` names a condition, and earlier play before the league names styles."""
    today = source.data.get("today")
    if isinstance(today, str) and today and today not in conditions:
        _say(source, ("today",), unknown("condition", today, conditions), faults)
    league = source.data.get("league")
    after = league.get("after") if isinstance(league, dict) else None
    if isinstance(after, dict):
        path: KeyPath = ("league", "after", "styles")
        _shares(source, path, after.get("styles"), "style", styles, faults)
    weeks, switch = number(league, "weeks") or 32.0, number(league, "switch_week")
    if switch is not None and weeks < switch <= 60.0:
        text = f"after the season: it has {weeks:g} weeks, you wrote {switch:g}"
        _say(source, ("league", "switch_week"), text, faults)
    _lanes(source, faults)


def _lanes(source: Source, faults: Faults) -> None:
    """Lanes that differ: each once, and no more than there are."""
    count, seen = number(source.data, "lanes"), set()
    for i, lane in _tables(source.data.get("single_lane")):
        at = number(lane, "number")
        if at is None:
            continue
        if at in seen:
            text = f"said twice: allowed is one [[single_lane]] a lane, you wrote {at:g} again"
            _say(source, ("single_lane", i, "number"), text, faults)
        elif count is not None and 2 <= count < at <= 200:
            text = f"no such lane: there are {count:g}, you wrote {at:g}"
            _say(source, ("single_lane", i, "number"), text, faults)
        seen.add(at)


def check_people(
    source: Source, populations: Collection[str], known: int, roster_file: str, faults: Faults
) -> None:
    """The population that fills the league up: there, and with room for everybody on the roster."""
    league = source.data.get("league")
    if not isinstance(league, dict):
        return
    name, people = league.get("population"), league.get("people")
    if isinstance(name, str) and name not in populations:
        text = unknown("population", name, populations)
        _say(source, ("league", "population"), text, faults)
    if isinstance(name, str) and people is None:
        text = "missing: with a population the number of bowlers in the league is needed"
        _say(source, ("league", "people"), text, faults)
    if name is None and people is not None:
        text = f"says nothing without a population: allowed is none, you wrote {wrote(people)}"
        _say(source, ("league", "people"), text, faults)
    elif isinstance(people, int) and not isinstance(people, bool) and 0 < people < known:
        text = f"too small: {roster_file} has {known} bowlers, you wrote {people}"
        _say(source, ("league", "people"), text, faults)


def check_teams(source: Source, teams: int, roster_file: str, faults: Faults) -> None:
    """Two teams share a pair of lanes: there must be pairs enough."""
    lanes = source.data.get("lanes")
    if isinstance(lanes, bool) or not isinstance(lanes, int) or not 2 <= lanes <= 200:
        return
    if (teams + 1) // 2 > lanes // 2:
        text = (
            f"too few: the {teams} teams of {roster_file} need {(teams + 1) // 2} pairs of lanes, "
            f"you wrote {lanes}"
        )
        _say(source, ("lanes",), text, faults)
