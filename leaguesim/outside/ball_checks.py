"""The ball's path against its outside figures, as rows of the validation table.

Check lanes have given friction and no gutters, so only differences of boards mean anything there.
Friction along the reference film and the robot's misses are ``calibration_checks``.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from leaguesim.ball.calibrate import (
    HOOK_SHOT,
    REFERENCE_BALL,
    REFERENCE_OIL,
    REFERENCE_SURFACE,
    TEMPERATURE_C,
    line_angle,
    reference_lane,
)
from leaguesim.ball.path import BallPath, roll
from leaguesim.ball.values import Ball, Release
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Band, Condition, FrictionConstants, Surface
from leaguesim.outside.check import Check, near, verdict
from leaguesim.outside.figures import figures
from leaguesim.units import (
    BALL_DIAMETER_IN,
    BALL_DIAMETER_MAX_IN,
    BALL_DIAMETER_MIN_IN,
    DEG_RAD,
    FT_M,
    IN_M,
    LANE_LENGTH_M,
    MPH_MPS,
)

if TYPE_CHECKING:
    from leaguesim.bowlers.lineup import Line

_SHOT: Final = ("speed_mph", "rev_rate_rpm", "axis_rotation_deg")
_EVEN_OIL: Final = (0.01, 0.05, 0.2, 0.3)  # friction of lanes whose rolled-out ball must agree
_FLAT_ML: Final = 25.0
_STAIRS: Final = (5, 7, 9, 11, 13)  # boards
_FLAT_LENGTHS: Final = ((0.35, 0.4), (0.30, 0.7), (0.35, 1.0))  # share of the oil, of the length
# Typical hook bowlers: speed, revs, rotation; rotations assumed.
TYPICAL: Final = ((16.0, 220.0, 45.0), (17.3, 325.0, 47.0), (18.0, 400.0, 50.0))


def ball_checks() -> list[Check]:
    """All outside checks of the path: slide, rolling velocity, zones, angles, loss, tilt, hook, line."""
    data = figures("ball")
    return [
        *_sphere_checks(data["sphere"]),
        *_plain_checks(data["plain_ball"]),
        *_rolling_checks(data["rolling"]),
        *_zone_checks(data["two_zones"]),
        *_simulation_checks(data["published_simulation"]),
        *_loss_checks(data["speed_loss"]),
        *_rolled_out_checks(data["rolled_out"]),
        _tilt_check(data["cross_tilt"]),
        _line_check(data["straight_line"]),
        _cause_check(data["hook_causes"]),
        *_exit_checks(data["exit_board"]),
        _repeat_check(data["robot_repeat"]),
    ]


def shot_of(row: dict[str, Any], **more: float) -> Release:
    """The release in a row of figures, straight down board 20 unless told otherwise."""
    return Release(**{key: row[key] for key in _SHOT}, **more)


def slide_of(release: Release, ball: Ball, mu: float) -> BallPath:
    """A ball on a lane of one friction."""
    return roll(release, ball, Lane.uniform(mu))


def _slide_s(path: BallPath) -> float:
    """Time until rolling: at the pins or where slip ended, the rest at constant speed."""
    end = path.at_pins
    rolled_m = LANE_LENGTH_M - path.roll_start_ft * FT_M
    return end.time_s - rolled_m / (end.speed_mph * MPH_MPS * math.cos(end.angle_deg * DEG_RAD))


def _beyond(path: BallPath, factor: float) -> tuple[float, float]:
    """Slide time [s] and distance [m] of a spinless ball, carried on past the pins if it still slides.

    Beyond the pins the measured slip loss and speed go on unchanged in time.
    """
    end = path.at_pins
    if end.slip_mps <= 0.0:
        return _slide_s(path), path.roll_start_ft * FT_M
    lost = (path.slip_mps[0] - end.slip_mps) / end.time_s
    more = end.slip_mps / lost
    speed = end.speed_mph * MPH_MPS
    return end.time_s + more, LANE_LENGTH_M + speed * more - 0.5 * (lost / factor) * more**2


def _sphere() -> Ball:
    """A uniform sphere as far as the path knows: k2 = 2/5 R2, of the smallest legal ball."""
    return Ball(rg_in=math.sqrt(0.4) * 0.5 * BALL_DIAMETER_MIN_IN, diameter_in=BALL_DIAMETER_MIN_IN)


def _sphere_checks(row: dict[str, Any]) -> list[Check]:
    checks = []
    release = Release(speed_mph=row["speed_mps"] / MPH_MPS, rev_rate_rpm=0.0, axis_rotation_deg=0.0)
    for mu, seconds, metres in zip(row["mu"], row["slide_s"], row["slide_m"], strict=True):
        path = slide_of(release, _sphere(), mu)
        time, distance = _beyond(path, 3.5)
        name = f"path: uniform sphere at {row['speed_mps']:g} m/s on friction {mu:g}, "
        checks.append(near(name + "slide time", row["source"], seconds, time, 5e-4, "s"))
        checks.append(near(name + "slide distance", row["source"], metres, distance, 5e-4, "m"))
    final = slide_of(release, _sphere(), 0.2).at_pins.speed_mph * MPH_MPS
    name = "path: uniform sphere, speed once rolling"
    return [*checks, near(name, row["source"], row["final_mps"], final, 5e-5, "m/s")]


def _plain_checks(row: dict[str, Any]) -> list[Check]:
    ball = Ball(rg_in=row["rg_in"])
    factor = 1.0 + (0.5 * BALL_DIAMETER_IN / row["rg_in"]) ** 2
    release = Release(speed_mph=row["speed_mph"], rev_rate_rpm=0.0, axis_rotation_deg=0.0)
    checks = []
    for mu, feet in zip(row["mu"], row["slide_ft"], strict=True):
        _, metres = _beyond(slide_of(release, ball, mu), factor)
        name = f"path: RG {row['rg_in']:.2f} in without spin on friction {mu:g}, slide distance"
        checks.append(near(name, row["source"], feet, metres / FT_M, 0.005, "ft"))
    share = slide_of(release, ball, 0.2).at_pins.speed_mph / row["speed_mph"]
    name = f"path: RG {row['rg_in']:.2f} in without spin, share of speed kept once rolling"
    return [*checks, near(name, row["source"], row["final_over_initial"], share, 5e-6)]


def _rolling_checks(row: dict[str, Any]) -> list[Check]:
    ball = Ball(rg_in=row["rg_in"])
    ends = [slide_of(shot_of(row), ball, mu).at_pins for mu in _EVEN_OIL]
    ends = [end for end in ends if end.slip_mps <= 0.0]
    lanes = [Lane.zones([(a, 0.03), (62.0, b)]) for a in (20.0, 35.0) for b in (0.15, 0.3)]
    ends += [roll(shot_of(row), ball, lane).at_pins for lane in lanes]
    spread = max(e.speed_mph for e in ends) - min(e.speed_mph for e in ends)
    turn = max(e.angle_deg for e in ends) - min(e.angle_deg for e in ends)
    return [
        near(
            "path: speed once rolling, 18 mph, 300 rpm, 45 deg",
            row["source"],
            row["final_mph"],
            ends[0].speed_mph,
            5e-4,
            "mph",
        ),
        near(
            "path: angle once rolling, 18 mph, 300 rpm, 45 deg",
            row["source"],
            row["final_deg"],
            ends[0].angle_deg,
            5e-4,
            "deg",
        ),
        Check(
            f"path: rolling velocity does not depend on the oil, {len(ends)} lanes",
            row["source"],
            "no difference (within 1e-9)",
            f"{spread:.1g} mph, {turn:.1g} deg",
            verdict(len(ends) >= 6 and spread <= 1e-9 and turn <= 1e-9),
        ),
    ]


def _zone_checks(table: dict[str, Any]) -> list[Check]:
    lane = Lane.zones([tuple(zone) for zone in table["zones"]])
    checks = []
    for row in table["shots"]:
        path = roll(shot_of(row, board=8.0), Ball(rg_in=table["rg_in"]), lane)
        end = path.at_pins
        title = "/".join(f"{row[key]:g}" for key in _SHOT)
        got = (end.time_s, end.board - 8.0, end.speed_mph, end.angle_deg, path.roll_start_ft)
        keys = ("time_s", "boards", "final_mph", "final_deg", "roll_start_ft")
        half_digit = (5e-4, 5e-3, 5e-4, 5e-4, 5e-3)
        pairs = zip(got, keys, half_digit, strict=True)
        checks.append(
            Check(
                f"path: two zones, {title}: s, boards, mph, deg, roll start in ft",
                table["source"],
                ", ".join(f"{row[key]:g}" for key in keys),
                ", ".join(f"{value:.6g}" for value in got),
                verdict(all(abs(value - row[key]) <= tol for value, key, tol in pairs)),
            )
        )
    return checks


def _simulation_checks(row: dict[str, Any]) -> list[Check]:
    release = shot_of(row, angle_deg=row["launch_deg"])
    sizes = (BALL_DIAMETER_MIN_IN, BALL_DIAMETER_IN, BALL_DIAMETER_MAX_IN)
    angles = [
        [slide_of(release, Ball(rg_in=k, diameter_in=d), 0.2).at_pins.angle_deg for d in sizes]
        for k in row["rg_in"]
    ]
    low, high = min(angles[0]), max(angles[1])
    return [
        Check(
            "path: published simulation, rolled-out entry angle over legal balls",
            row["source"],
            f"{row['entry_deg'][0]:g} to {row['entry_deg'][1]:g} deg (within 0.05)",
            f"{low:.2f} to {high:.2f} deg ({angles[0][1]:.2f} to {angles[1][1]:.2f} at "
            f"{BALL_DIAMETER_IN:g} in)",
            verdict(
                abs(low - row["entry_deg"][0]) <= 0.05 and abs(high - row["entry_deg"][1]) <= 0.05
            ),
        ),
        Check(
            "path: published simulation, the angle it found best is reached by legal balls",
            row["source"],
            f"brackets {row['best_entry_deg']:g} deg",
            f"{low:.2f} to {high:.2f} deg",
            verdict(low < row["best_entry_deg"] < high),
        ),
    ]


def _loss_checks(row: dict[str, Any]) -> list[Check]:
    checks = []
    for shot in row["shots"]:
        end = slide_of(shot_of(shot), Ball(), 0.2).at_pins
        along = end.speed_mph * math.cos(end.angle_deg * DEG_RAD)
        name = f"path: speed lost along the lane once rolling, {shot['name']}"
        lost = shot["speed_mph"] - along
        checks.append(near(name, row["source"], shot["loss_mph"], lost, 0.05, "mph"))
    shot = dict(zip(_SHOT, TYPICAL[1], strict=True))
    end = slide_of(shot_of(shot), Ball(), 0.2).at_pins
    radius = 0.5 * BALL_DIAMETER_IN * IN_M
    rim = shot["rev_rate_rpm"] * 2.0 * math.pi / 60.0 * radius / MPH_MPS
    turned = math.cos(shot["axis_rotation_deg"] * DEG_RAD)
    formula = row["share"] * (shot["speed_mph"] - rim * turned)
    lost = shot["speed_mph"] - end.speed_mph * math.cos(end.angle_deg * DEG_RAD)
    low, high = row["quoted_low_mph"], row["quoted_high_mph"]
    return [
        *checks,
        near("path: speed loss by the formula", row["source"], formula, lost, 0.005, "mph"),
        Check(
            "path: speed lost by a typical hook shot, release to pins",
            row["source"],
            f"{low:g} to {high:g} mph",
            f"{shot['speed_mph'] - end.speed_mph:.2f} mph",
            verdict(low <= shot["speed_mph"] - end.speed_mph <= high),
        ),
    ]


def _rolled_out_checks(table: dict[str, Any]) -> list[Check]:
    checks = []
    for row in table["shots"]:
        end = slide_of(shot_of(row), Ball(), 0.25).at_pins
        name = f"path: rolled-out entry angle, straight launch, {row['name']}"
        checks.append(near(name, table["source"], row["entry_deg"], end.angle_deg, 0.05, "deg"))
    out = slide_of(shot_of(table["shots"][2], angle_deg=-2.0), Ball(), 0.25).at_pins.angle_deg
    straight = slide_of(shot_of(table["shots"][2]), Ball(), 0.25).at_pins.angle_deg
    return [
        *checks,
        Check(
            "path: an outward launch lowers the rolled-out entry angle",
            table["source"],
            "lower",
            f"{out:.2f} deg at 2 deg outward, {straight:.2f} straight",
            verdict(out < straight),
        ),
    ]


def _tilt_check(row: dict[str, Any]) -> Check:
    lane = replace(Lane.uniform(0.0), surface=Surface(tilt_in=row["tilt_in"]))
    speed = LANE_LENGTH_M / row["time_s"] / MPH_MPS
    path = roll(Release(speed_mph=speed, rev_rate_rpm=0.0, axis_rotation_deg=0.0), Ball(), lane)
    name = f"path: legal cross tilt, sliding for {row['time_s']:g} s"
    moved = 20.0 - path.at_pins.board  # the left edge is higher: to the right
    return near(name, row["source"], row["boards"], moved, 0.005, "boards")


def _line_check(row: dict[str, Any]) -> Check:
    turned = Release(
        speed_mph=18.0, rev_rate_rpm=0.0, axis_rotation_deg=0.0, angle_deg=row["degrees"]
    )
    boards = roll(turned, Ball(), Lane.uniform(0.0)).at_pins.board - turned.board
    name = "path: boards at the pins for each degree of launch, no friction"
    return near(name, row["source"], row["boards"], boards, 0.005, "boards")


def _cause_check(row: dict[str, Any]) -> Check:
    lane = reference_lane(FrictionConstants())
    angle = line_angle(HOOK_SHOT, lane, REFERENCE_BALL)

    def board(ball: Ball) -> float:
        return roll(shot_of(HOOK_SHOT, board=19.0, angle_deg=angle), ball, lane).at_pins.board

    surface = [
        board(replace(REFERENCE_BALL, roughness_uin=r, dry_friction=None))
        for r in row["roughness_uin"]
    ]
    gyration = [board(replace(REFERENCE_BALL, rg_in=k)) for k in row["rg_in"]]
    by_surface, by_rg = (abs(b - a) for a, b in (surface, gyration))
    return Check(
        "path: causes of hook, the cover's surface before the radius of gyration (legal ranges)",
        row["source"],
        "surface moves the ball more",
        f"{by_surface:.1f} boards by surface, {by_rg:.1f} by radius of gyration",
        verdict(by_surface > by_rg),
    )


def flat_condition(length_ft: float, ratio: float, *, step: bool = True) -> Condition:
    """An invented flat pattern: 25 mL, three lengths of oil, the same crosswise ratio all along.

    Across the lane one step of oil at boards 10 and 30, or five small ones from board 5 to 13 on either side.
    """
    starts = (10,) if step else _STAIRS
    widths = [41 - 2 * start for start in starts]
    outer = (
        sum(min(max(8 - start, 0), 5) for start in starts) / 5.0
    )  # stairs on boards 3 to 7, their mean
    high = (ratio - 1.0) / (len(starts) - ratio * outer)  # of a stair over what lies everywhere
    bands = []
    oil = ((REFERENCE_OIL.name, 1.0),)
    for share, reach in _FLAT_LENGTHS:
        whole = _FLAT_ML * share / (1.0 + high * sum(widths) / 39.0)
        bands.append(Band(0.0, length_ft * reach, 1, 39, whole, oil))
        bands += [
            Band(0.0, length_ft * reach, start, 40 - start, whole * high * width / 39.0, oil)
            for start, width in zip(starts, widths, strict=True)
        ]
    return Condition("flat", bands=tuple(bands))


def _typical(speed: float, revs: float, rotation: float) -> Bowler:
    return Bowler(
        bowler="typical", team="", hand="right", style="", speed_mph=speed, rev_rate_rpm=revs,
        axis_rotation_deg=rotation, axis_tilt_deg=10.0, accuracy_deg=0.3, laydown_sd_board=0.5,
        speed_sd_mph=0.3, rev_sd_rpm=10.0, rotation_sd_deg=3.0, spare_accuracy=0.85,
        bag=(REFERENCE_BALL,), spare_ball=None, laydown_low_board=8.0, laydown_high_board=36.0,
        move_gain=0.5, move_after_balls=2,
    )  # fmt: skip


def path_of(bowler: Bowler, line: "Line", lane: Lane) -> BallPath:
    """The path of a bowler's line without an error."""
    release = Release(
        speed_mph=bowler.speed_mph,
        rev_rate_rpm=bowler.rev_rate_rpm,
        axis_rotation_deg=bowler.axis_rotation_deg,
        axis_tilt_deg=bowler.axis_tilt_deg,
        board=line.board,
        angle_deg=line.angle / DEG_RAD,
    )
    return roll(release, bowler.bag[line.ball], lane)


def exit_boards(
    length_ft: float, ratio: float, bowlers: Sequence[Bowler], *, step: bool = True
) -> list[float]:
    """The board over which each bowler's own best line leaves the oil of a flat pattern."""
    from leaguesim.bowlers.lineup import find_line, floor_of
    from leaguesim.bowlers.spares import spare_law
    from leaguesim.lane.arrays import kernel_film
    from leaguesim.pins.carry import CarryLibrary

    library = CarryLibrary.load()
    lane = Lane.from_condition(
        flat_condition(length_ft, ratio, step=step),
        [REFERENCE_OIL],
        surface=REFERENCE_SURFACE,
        temperature_c=TEMPERATURE_C,
    )
    floor = floor_of(lane, *kernel_film(lane))
    boards = []
    for bowler in bowlers:
        law = spare_law(bowler, floor, library.arrays, library.second_ball())
        line = find_line(bowler, floor, library.arrays, law.clear, law.more)
        path = path_of(bowler, line, lane)
        boards.append(float(np.interp(length_ft, path.distance_ft, path.board)))
    return boards


def _exit_checks(row: dict[str, Any]) -> list[Check]:
    """The coaching rule for the middle line, for every line, and its slope over the length.

    No evidence: among lines of nearly equal worth the line-up takes the one nearer to the rule
    (``bowlers.lineup``, ``taste``).
    """
    bowlers = [_typical(*traits) for traits in TYPICAL]
    rows = []
    for words, step in (("one step across", True), ("no step across", False)):
        got = [
            [b for ratio in row["crosswise"] for b in exit_boards(x, ratio, bowlers, step=step)]
            for x in row["length_ft"]
        ]
        rows += _exit_rows(row, words, got)
    return rows


def _exit_rows(row: dict[str, Any], film: str, got: list[list[float]]) -> list[Check]:
    lengths, within = row["length_ft"], row["within_boards"]
    wanted = [x - row["less_ft"] for x in lengths]
    middle = [float(np.median(boards)) for boards in got]
    off = [abs(b - want) for boards, want in zip(got, wanted, strict=True) for b in boards]
    rule = ", ".join(f"{w:g} at {x:g} ft" for w, x in zip(wanted, lengths, strict=True))
    near = sum(o <= within for o in off)
    slope = float(np.polyfit(lengths, middle, 1)[0])
    title = f"path: board where the best line leaves a flat film, {film}, three hook bowlers, 2:1 and 3:1"
    return [
        Check(
            f"{title}: the middle line",
            row["source"],
            f"{rule} (within {within:g})",
            ", ".join(f"{m:.1f}" for m in middle),
            verdict(all(abs(m - w) <= within for m, w in zip(middle, wanted, strict=True))),
            "fit",
        ),
        Check(
            f"{title}: every line",
            row["source"],
            f"all within {within:g} boards of the rule",
            f"{near} of {len(off)}, the farthest {max(off):.1f} off",
            verdict(near == len(off)),
            "fit",
        ),
        Check(
            f"{title}: boards further in for each foot of oil",
            row["source"],
            "1 (within 0.5)",
            f"{slope:.2f}",
            verdict(abs(slope - 1.0) <= 0.5),
            "fit",
        ),
    ]


def _repeat_check(row: dict[str, Any]) -> Check:
    lane = reference_lane(FrictionConstants())
    boards = [roll(shot_of(HOOK_SHOT), REFERENCE_BALL, lane).at_pins.board for _ in range(3)]
    spread = float(np.std(boards))
    return Check(
        "path: scatter of identical releases at the pins (the lane and ball have no noise of their own)",
        row["source"],
        f"sd {row['sd_boards']:g} board",
        f"sd {spread:g} board",
        verdict(abs(spread - row["sd_boards"]) <= 0.5 * row["sd_boards"]),
    )
