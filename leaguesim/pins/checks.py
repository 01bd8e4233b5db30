"""The carry library against published facts, each comparison with its number.

Does not need the rigid-body engine: what was measured with it is stored in the library. Figures and
their sources are handed in by the room that keeps them; a comparison that fails is reported as a miss.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.pins import doubt, learning, planar, spec
from leaguesim.pins.carry import CarryLibrary, read_library
from leaguesim.units import BOARD_M, CENTRE_BOARD, HEAD_PIN_TO_PIT_IN, IN_M, LB_KG

Row = tuple[str, str, str, str, str, str]
LEAGUE_MPS: Final = 7.5
LEAGUE_KG: Final = 15.0 * LB_KG
FIRST_CONTACT_BOARDS: Final = 5.75  # how far short of 60 ft a pocket ball meets the head pin
DECK_BOARDS: Final = HEAD_PIN_TO_PIT_IN * IN_M / BOARD_M  # head pin to the deck's end
OFFSETS: Final = np.arange(-1.0, 6.01, 0.05)


def pin_checks(facts: dict[str, Any], library: CarryLibrary | None = None) -> list[Row]:
    """Every comparison of the pin room: (name, source, expected, model, verdict, use).

    ``facts``: the outside figures of pins, each table with its source and use.
    ``verdict`` is "pass" or "miss"; ``use`` is "fit" where parameters were chosen with the figure in
    view, else "check".
    """
    lib = library or CarryLibrary.load()
    makers: tuple[Callable[[CarryLibrary, dict[str, Any]], list[Row]], ...] = (
        _pin, _impacts, _window, _televised, _families, _weaker, _library, _parameters,
    )  # fmt: skip
    return [row for maker in makers for row in maker(lib, facts)]


def _row(name: str, fact: dict[str, Any], expected: str, model: str, agrees: Any) -> Row:
    verdict = "pass" if bool(agrees) else "miss"
    return f"pins: {name}", fact["source"], expected, model, verdict, fact["use"]


def strike_curve(
    lib: CarryLibrary, entry_deg: float, speed_mps: float = LEAGUE_MPS, ball_kg: float = LEAGUE_KG
) -> NDArray[np.float64]:
    """Strike rate at ``OFFSETS``."""
    return np.asarray(lib.strike_rate(OFFSETS, entry_deg, speed_mps, ball_kg)[0])


def best_offset(curve: NDArray[np.float64]) -> float:
    """Middle of the window: centroid of the rates above 60 % of the highest. [boards]"""
    part = np.where(curve >= 0.6 * curve.max(), curve, 0.0)
    return float((OFFSETS * part).sum() / part.sum())


def window_boards(curve: NDArray[np.float64]) -> float:
    """Width of the strike window: boards whose rate is at least a half."""
    return float((curve >= 0.5).sum() * (OFFSETS[1] - OFFSETS[0]))


def right_side_area(curve: NDArray[np.float64]) -> float:
    """Strike rate integrated over offset 0 to 5 boards, the width of an equal perfect window."""
    inside = (OFFSETS >= 0.0) & (OFFSETS <= 5.0)
    return float(curve[inside].sum() * (OFFSETS[1] - OFFSETS[0]))


def _pin(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    fact, props = facts["uniform_pin"], spec.mass_properties_cached()
    near = fact["tolerance_in"]
    rows = []
    for key, value in (
        ("cg_in", props.cg_in),
        ("transverse_gyration_in", props.transverse_gyration_in),
        ("axial_gyration_in", props.axial_gyration_in),
    ):
        words = key.removesuffix("_in").replace("_", " ")
        expected = f"{fact[key]:.3f} +/- {near} in"
        rows.append(
            _row(
                f"{words} of the pin",
                fact,
                expected,
                f"{value:.3f} in",
                abs(value - fact[key]) <= near,
            )
        )
    low, high = fact["topple_deg"]
    tilt = spec.topple_angle_deg(props.cg_in)
    rows.append(
        _row("topple angle", fact, f"{low}-{high} deg", f"{tilt:.1f} deg", low <= tilt <= high)
    )
    fact = facts["spots"]
    corner = CENTRE_BOARD + spec.SPOTS_M[9, 1] / BOARD_M
    agrees = abs(corner - fact["corner_board"]) < 0.01
    rows.append(_row("10-pin's board", fact, f"{fact['corner_board']}", f"{corner:.2f}", agrees))
    return rows


def _impacts(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    rows = []
    fact = facts["first_impact"]
    offset = CENTRE_BOARD - fact["contact_board"]
    for pound, expected in zip(fact["ball_lb"], fact["deflection_deg"], strict=True):
        turn = planar.first_impact_deflection_deg(
            offset, fact["entry_deg"], ball_kg=pound * LB_KG, restitution=fact["restitution"]
        )
        agrees = abs(turn - expected) < 0.01
        name = f"first-impact deflection, {pound:g} lb"
        rows.append(_row(name, fact, f"{expected} deg", f"{turn:.2f} deg", agrees))
    fact = facts["restitution"]
    measured = lib.settings.get("measured", {})
    for key, words in (("ball_pin", "ball on pin"), ("pin_pin", "pin on pin")):
        if key in measured:
            e = float(measured[key])
            expected = f"{fact['low']}-{fact['high']} at 7 m/s"
            agrees = fact["low"] <= e <= fact["high"]
            rows.append(_row(f"restitution, {words}", fact, expected, f"{e:.3f}", agrees))
    fact = facts["flush"]
    at_line = _exit_board(lib, facts["best_hit"]["board"], at_contact=False)
    at_contact = _exit_board(lib, facts["best_hit"]["board"], at_contact=True)
    expected = f"board {fact['exit_board']:g} +/- {fact['tolerance_board']}"
    model = f"board {at_line:.1f} if 17.5 is read at 60 ft, {at_contact:.1f} at contact (medians)"
    agrees = abs(at_line - fact["exit_board"]) <= fact["tolerance_board"]
    rows.append(_row("where a flush ball leaves the deck", fact, expected, model, agrees))
    return rows


def _exit_board(lib: CarryLibrary, board: float, *, at_contact: bool) -> float:
    """Median board where a ball leaves the deck that crosses 60 ft, or meets the pin, on a board."""
    entry = lib.rows["entry_deg"].astype(float)
    ahead = FIRST_CONTACT_BOARDS * np.tan(np.radians(entry)) if at_contact else 0.0
    offset = lib.rows["offset_board"].astype(float) - (CENTRE_BOARD - board - ahead)
    near = _near(lib, 2.5, 3.0, (4.5, 7.5)) & (np.abs(offset) < 0.4)
    leave = lib.rows["exit_board"].astype(float)[near]
    return float(np.median(leave[np.isfinite(leave)]))


def _window(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    fact = facts["best_hit"]
    board = CENTRE_BOARD - best_offset(strike_curve(lib, fact["entry_deg"]))
    expected = f"board {fact['board']} +/- {fact['tolerance_board']}"
    agrees = abs(board - fact["board"]) <= fact["tolerance_board"]
    later = FIRST_CONTACT_BOARDS * float(np.tan(np.radians(fact["entry_deg"])))
    model = f"board {board:.2f} at 60 ft ({board + later:.2f} at contact)"
    rows = [_row("best hit at 6 deg", fact, expected, model, agrees)]
    fact = facts["good_zone"]
    for angle in fact["entry_deg"]:
        curve = strike_curve(lib, angle)
        zone = [float(np.interp(CENTRE_BOARD - b, OFFSETS, curve)) for b in fact["boards"]]
        share = min(zone) / float(curve.max())
        expected = f"at least {fact['share_of_best']:.0%} of the best rate on boards 17 and 18"
        agrees = share >= fact["share_of_best"]
        rows.append(_row(f"good zone at {angle:g} deg", fact, expected, f"{share:.1%}", agrees))
    for key, name in (("window", "window widens"), ("window_head_on", "window, 0 against 2 deg")):
        fact = facts[key]
        areas = [right_side_area(strike_curve(lib, angle)) for angle in fact["entry_deg"]]
        expected = "wider with angle: " + " < ".join(f"{a:g}" for a in fact["entry_deg"]) + " deg"
        model = ", ".join(f"{area:.2f}" for area in areas) + " boards of sure strike"
        agrees = all(x < y for x, y in pairwise(areas))
        rows.append(_row(name, fact, expected, model, agrees))
    return rows


def elite_leaves(
    lib: CarryLibrary, accuracy: dict[str, Any], shots: int = 40000
) -> dict[int, float]:
    """Shares of leaves (standing masks) of right-handers with elite accuracy aimed at the best hit."""
    rng = np.random.default_rng(7)
    best = best_offset(strike_curve(lib, accuracy["entry_deg"], accuracy["speed_mps"]))
    offset = rng.normal(best, accuracy["sd_board"], shots)
    angle = rng.normal(accuracy["entry_deg"], accuracy["entry_sd_deg"], shots)
    down = lib.draw(offset, angle, accuracy["speed_mps"], accuracy["ball_lb"] * LB_KG, rng)
    standing, count = np.unique(spec.FULL_RACK - down, return_counts=True)
    return {int(m): float(c) / shots for m, c in zip(standing, count, strict=True)}


def _televised(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    fact, accuracy = facts["televised"], facts["elite_accuracy"]
    leaves = elite_leaves(lib, accuracy)
    left = accuracy["left_handed_share"]
    ten, seven = leaves.get(spec.mask_of(10), 0.0), leaves.get(spec.mask_of(7), 0.0)
    rows = []
    for name, count, near, model in (
        ("televised strike share", "strikes", "strike_tolerance", leaves.get(0, 0.0)),
        ("televised 10-pin share", "ten_pin_tries", "corner_tolerance", (1 - left) * ten + left * seven),
        ("televised 7-pin share", "seven_pin_tries", "corner_tolerance", (1 - left) * seven + left * ten),
    ):  # fmt: skip
        share = fact[count] / fact["frames"]
        expected = f"{share:.3f} +/- {fact[near]}"
        rows.append(_row(name, fact, expected, f"{model:.3f}", abs(model - share) <= fact[near]))
    fact = facts["pocket_carry"]
    best = best_offset(strike_curve(lib, 5.0))
    rng = np.random.default_rng(8)
    offset = best + rng.uniform(-fact["reach_board"], fact["reach_board"], 20000)
    carry = float((lib.draw(offset, 5.0, LEAGUE_MPS, LEAGUE_KG, rng) == spec.FULL_RACK).mean())
    expected = f"{fact['low']:.2f}-{fact['high']:.2f}"
    agrees = fact["low"] <= carry <= fact["high"]
    rows.append(_row("carry of pocket hits at 5 deg", fact, expected, f"{carry:.3f}", agrees))
    return rows


def is_split(standing: int) -> bool:
    """Head pin down and the standing pins fall apart into groups more than one spot from each other."""
    pins = [p - 1 for p in spec.pins_in(standing)]
    if standing & 1 or len(pins) < 2:
        return False
    seen, todo = {pins[0]}, [pins[0]]
    while todo:
        here = spec.SPOTS_M[todo.pop()]
        for p in pins:
            if p not in seen and np.hypot(*(spec.SPOTS_M[p] - here)) < 0.32:
                seen.add(p)
                todo.append(p)
    return len(seen) < len(pins)


def _near(
    lib: CarryLibrary, offset: float, reach: float, angles: tuple[float, float] = (3.0, 7.0)
) -> NDArray[np.bool_]:
    """Rows near an offset at league speeds and masses, within a range of angles."""
    r = {
        k: lib.rows[k].astype(float) for k in ("offset_board", "entry_deg", "speed_mps", "ball_kg")
    }
    return np.asarray(
        (np.abs(r["offset_board"] - offset) <= reach)
        & (r["entry_deg"] >= angles[0]) & (r["entry_deg"] <= angles[1])
        & (r["speed_mps"] >= 5.5) & (r["speed_mps"] <= 9.0) & (r["ball_kg"] >= 5.4)
    )  # fmt: skip


def leaves_between(
    lib: CarryLibrary, between: Sequence[float], angles: tuple[float, float] = (3.0, 7.0)
) -> NDArray[np.int64]:
    """Standing masks of the rows between two offsets."""
    low, high = between
    rows = _near(lib, 0.5 * (low + high), 0.5 * (high - low), angles)
    return spec.FULL_RACK - lib.rows["mask"][rows].astype(np.int64)


def _share(leaves: NDArray[np.int64], wanted: Callable[[int], bool]) -> float:
    return float(np.mean([wanted(int(m)) for m in leaves])) if len(leaves) else 0.0


def _families(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    fact = facts["families"]
    light = leaves_between(lib, fact["light_offset_boards"])
    high = leaves_between(lib, fact["high_offset_boards"])
    head = leaves_between(lib, fact["head_on_offset_boards"], angles=(-1.0, 3.0))
    best = CENTRE_BOARD - 17.5
    good = leaves_between(lib, (best - 0.7, best + 0.7))
    left_middle = spec.mask_of(2, 5)
    four = spec.mask_of(4)
    rows = []
    for name, expected, a, b in (
        ("light hits leave the 2 or the 5", "more of light than of high hits",
         _share(light, lambda m: bool(m & left_middle)), _share(high, lambda m: bool(m & left_middle))),
        ("high hits leave the 4", "more of high than of light hits",
         _share(high, lambda m: bool(m & four)), _share(light, lambda m: bool(m & four))),
        ("high hits leave the 4 more than the 7 alone", "4 or 4-9 more than the 7 alone",
         _share(high, lambda m: m in (spec.mask_of(4), spec.mask_of(4, 9))),
         _share(high, lambda m: m == spec.mask_of(7))),
        ("head-on hits split", "more of head-on than of good hits",
         _share(head, is_split), _share(good, is_split)),
        ("light hits leave the 5-7, 2-8-10 or 2-4-5", "more of light than of good hits",
         _share(light, _light_family), _share(good, _light_family)),
        ("good hits leave a corner pin most", "7 or 10 alone more than all other single pins",
         _share(good, lambda m: m in (spec.mask_of(7), spec.mask_of(10))),
         _share(good, lambda m: m.bit_count() == 1 and m not in (spec.mask_of(7), spec.mask_of(10)))),
        ("good hits leave the 10 more than the 8", "10 alone more than 8 alone",
         _share(good, lambda m: m == spec.mask_of(10)), _share(good, lambda m: m == spec.mask_of(8))),
    ):  # fmt: skip
        rows.append(_row(name, fact, expected, f"{a:.3f} against {b:.3f}", a > b))
    return rows


def _light_family(standing: int) -> bool:
    """The 5-7, 2-8-10 or 2-4-5 with at most one pin more or less, the head pin down."""
    if standing & 1:
        return False
    families = (spec.mask_of(5, 7), spec.mask_of(2, 8, 10), spec.mask_of(2, 4, 5))
    return any((standing ^ family).bit_count() <= 1 for family in families)


def _weaker(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    fact = facts["weaker"]
    best = CENTRE_BOARD - 17.5
    near = _near(lib, best, 1.2)
    standing = spec.FULL_RACK - lib.rows["mask"].astype(np.int64)
    corner = (standing & spec.mask_of(7, 10)) > 0
    mass, speed = lib.rows["ball_kg"].astype(float), lib.rows["speed_mps"].astype(float)
    rows = []
    for name, weak, strong in (
        ("a lighter ball leaves more corner pins", mass < 6.0, mass > 6.66),
        ("a slower ball leaves more corner pins", speed < 6.5, speed > 7.5),
    ):
        a, b = float(corner[near & weak].mean()), float(corner[near & strong].mean())
        rows.append(
            _row(name, fact, "more than the stronger ball", f"{a:.3f} against {b:.3f}", a > b)
        )
    slope, error = deflection_slope(lib)
    model = f"{slope:.3f} +/- {error:.3f} boards per kg"
    expected = "fewer boards of deflection per kg: below 0"
    rows.append(_row("a lighter ball is deflected more", fact, expected, model, slope < 0.0))
    return rows


def deflection_slope(lib: CarryLibrary) -> tuple[float, float]:
    """Boards off the straight line at the deck's end per kg of ball, and its standard error.

    Least squares over right-side hits, with offset, its square, angle and their product.
    """
    names = ("offset_board", "entry_deg", "speed_mps", "ball_kg", "exit_board")
    r = {name: lib.rows[name].astype(float) for name in names}
    offset, entry = r["offset_board"], r["entry_deg"]
    straight = CENTRE_BOARD - offset + DECK_BOARDS * np.tan(np.radians(entry))
    turned = straight - r["exit_board"]
    use = (np.abs(offset - 3.0) < 1.5) & (entry > 1.0) & (r["speed_mps"] > 5.0)
    use &= np.isfinite(turned)
    b, a = offset[use], entry[use]
    table = np.column_stack([r["ball_kg"][use], np.ones_like(b), b, b * b, a, a * b])
    slopes, rest = np.linalg.lstsq(table, turned[use], rcond=None)[:2]
    error = np.sqrt(float(rest[0]) / len(table) * np.linalg.inv(table.T @ table)[0, 0])
    return float(slopes[0]), float(error)


def _library(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    """How the library answers rows held out, residual slip, and shots that only a child throws."""
    fact = facts["library"]
    n = len(lib.rows["mask"])
    scores = learning.learning_curve(lib.rows, [n // 16, n // 8, n // 4, n // 2, n])
    model = ", ".join(f"{s.rows}: {s.strike_brier:.4f}" for s in scores)
    last = scores[-2].strike_brier - scores[-1].strike_brier
    agrees = 0.0 <= last <= fact["last_step_brier"]
    expected = (
        f"squared error still falls, by at most {fact['last_step_brier']} at the last step (x1.6)"
    )
    rows = [_row("learning curve of strikes on rows held out", fact, expected, model, agrees)]
    slope, error = learning.slip_effect(lib.rows)
    low, high = slope - 2.0 * error, slope + 2.0 * error
    limit = fact["slip_strikes_per_mps"]
    expected = f"95 % interval within +/- {limit} strikes per m/s of sideways slip on arrival"
    model = f"{slope:+.4f} +/- {error:.4f}"
    agrees = -limit <= low and high <= limit
    rows.append(_row("residual slip hardly matters", fact, expected, model, agrees))
    mass, speed = fact["child_kg"], fact["child_mps"]
    right = OFFSETS[(OFFSETS >= 1.0) & (OFFSETS <= 4.0)]
    child = float(lib.strike_rate(right, 2.0, speed, mass)[0].mean())
    grown = float(lib.strike_rate(right, 2.0, LEAGUE_MPS, LEAGUE_KG)[0].mean())
    inside = not bool(lib.outside_range(2.0, speed, mass))
    words = "inside the sampled range" if inside else "outside the sampled range"
    name = f"a child's {mass:g} kg ball at {speed:g} m/s strikes less"
    expected = "inside the sampled range, below a league ball"
    model = f"{words}, {child:.3f} against {grown:.3f}, offsets 1 to 4"
    rows.append(_row(name, fact, expected, model, inside and child < grown))
    return rows


def _parameters(lib: CarryLibrary, facts: dict[str, Any]) -> list[Row]:
    """The discs against rigid runs they were not tuned on, and the doubt left by the parameters."""
    fact = facts["discs"]
    _, about = read_library(doubt.SHIPPED)
    gap = about["leave_gap"]
    expected = f"rms at most {fact['rms']}, bias within +/- {fact['bias']} of a leave's pins"
    model = f"rms {gap['rms']:.3f} +/- {gap['rms_se']:.3f}, bias {gap['bias']:+.3f} +/- {gap['bias_se']:.3f}"
    agrees = gap["rms"] <= fact["rms"] and abs(gap["bias"]) <= fact["bias"]
    name = f"disc model against rigid runs on {gap['leaves']:.0f} other leaves"
    rows = [_row(name, fact, expected, model, agrees)]
    fact = facts["doubt"]
    for name, offset in (("high", 1.2), ("pocket", 2.5), ("light", 4.0)):
        sd = [
            float(doubt.strike_rate_doubt(offset, a, LEAGUE_MPS, LEAGUE_KG, library=lib))
            for a in fact["entry_deg"]
        ]
        model = ", ".join(
            f"{x:.3f} at {a:g} deg" for x, a in zip(sd, fact["entry_deg"], strict=True)
        )
        expected = f"sd of the strike rate at most {fact['sd']}"
        title = f"doubt from pin parameters, {name} hits"
        rows.append(_row(title, fact, expected, model, max(sd) <= fact["sd"]))
    return rows
