"""One condition looked at: its film, its friction, and where each style's balls go on it.

A style is shown by one bowler with the style's middle traits.  Does not play games.
"""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.ball.path import BallPath, rim_speed, roll
from leaguesim.ball.values import Ball, Release
from leaguesim.bowlers.draw import middle_bowler
from leaguesim.bowlers.lineup import find_line, floor_of
from leaguesim.bowlers.release import SPARE_REV_SHARE, SPARE_ROTATION_SHARE, even_errors
from leaguesim.bowlers.spares import spare_law
from leaguesim.bowlers.values import Bowler
from leaguesim.center.values import Center
from leaguesim.lane.lane import Lane
from leaguesim.play.crew import Stance
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import Setting
from leaguesim.run.rounds import Progress, quiet
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.grip import friction_curves, slip_ranges
from leaguesim.study.notes import lane_notes
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.results import LaneLook, LaneResult
from leaguesim.study.worn import worn_films
from leaguesim.units import BOARD_M, BOARDS, CELLS_FT, DEG_RAD, FT_M, UNIT_M

Array = NDArray[np.float64]

REFERENCE_BALL = Ball(mass_lb=15.0, rg_in=2.50, roughness_uin=25.0, name="reference ball")
REFERENCE_RELEASE = Release(
    speed_mph=17.0, rev_rate_rpm=300.0, axis_rotation_deg=45.0, board=22.0, angle_deg=-2.0
)
RATIO_FT = (5.0, 10.0, 15.0, 22.0, 30.0, 36.0)
SPORT_RATIO = 3.0
USUAL_MISSES = 6
ARROWS_FT = 15.0
FILM_EDGE_UNITS = 0.5  # a pattern ends where its widest film falls below this


def look(
    center: Center, *, condition: str, seed: int | None = None, progress: Progress = quiet
) -> LaneResult:
    """Film, friction and ball paths of one condition of a center.

    Parameters
    ----------
    condition : its name; with earlier play the film shown is the mean that a night starts from

    Raises
    ------
    InputError : no such condition, or the seed out of range
    """
    from leaguesim.center import find_condition

    find_condition(center, condition)
    seed = new_seed() if seed is None else check_seed(seed)
    with ready(center, seed, workers=1, tie=False, progress=progress) as made:
        seen = look_at(made, condition, None)
        return LaneResult(
            center.name, center.invented, seen, lane_notes(made, condition),
            curves=friction_curves(center, REFERENCE_BALL), slips=slip_ranges(center, REFERENCE_BALL),
            used=_used(center, condition),
        )  # fmt: skip


def _used(center: Center, condition: str) -> tuple[str, ...]:
    """The conditioners that a condition is laid or was read of."""
    of = center.conditions[condition]
    parts = [b.shares for b in of.bands] + ([of.readings.shares] if of.readings else [])
    return tuple(sorted({name for shares in parts for name, share in shares if share > 0.0}))


def look_at(made: Ready, condition: str, setting: Setting | None) -> LaneLook:
    """The look of a condition; ``setting`` saves the earlier play if it was played already."""
    center = made.center
    lane = made.lane(condition)
    after = center.conditions[condition].after
    if setting is not None:
        films, mix = setting.films, setting.mix
    else:
        start = start_of(lane, after, center.styles, center.balls, made.pins, made.seed)
        films, mix = start.films, start.mix
    film = np.ascontiguousarray(films.mean(axis=0))
    shown = lane.with_film(film[:, 1:-1] / UNIT_M) if after is not None else lane
    hands = sorted({(r.style, r.hand) for r in center.roster})
    floor = floor_of(shown, film, mix)
    paths: dict[str, list[Any]] = {k: [] for k in tables.PATHS}
    arrivals: dict[str, list[Any]] = {k: [] for k in tables.ARRIVALS}
    stances: dict[tuple[str, str], Stance] = {}
    for style, hand in hands:
        person = middle_bowler(center.styles[style], hand, center.balls)
        spares = spare_law(person, floor, made.pins.arrays, made.pins.second)
        line = find_line(person, floor, made.pins.arrays, spares.clear, spares.more)
        stances[style, hand] = Stance(person, line, spares)
        _add_style(paths, arrivals, condition, stances[style, hand], shown)
    return LaneLook(
        condition=condition,
        title=center.conditions[condition].title or condition,
        volume_ml=float(shown.volume_ml()),
        length_ft=pattern_length_ft(shown),
        ratios=ratios(shown),
        designation=designation(shown),
        reference="a 15 lb ball, radius of gyration 2.50 in, roughness 25 microinch, thrown at 17 mph "
        "with 300 rpm and 45 degrees of axis rotation",
        cells=_cells(condition, shown),
        paths=tables.frame(tables.PATHS, paths),
        arrivals=tables.frame(tables.ARRIVALS, arrivals),
        worn=worn_films(made, condition, shown, film, mix, stances),
    )


def pattern_length_ft(lane: Lane) -> float:
    """Where the pattern ends: the far end of the last foot with film above 0.5 units. [ft]"""
    oiled = np.flatnonzero(lane.film_units.max(axis=1) >= FILM_EDGE_UNITS)
    return float(oiled[-1] + 1) if oiled.size else 0.0


def ratios(lane: Lane) -> list[dict[str, float | None]]:
    """Crosswise ratio at several distances inside the pattern, each side on its own."""
    rows: list[dict[str, float | None]] = []
    for feet in RATIO_FT:
        if feet < pattern_length_ft(lane):
            left, right = lane.crosswise_ratio(feet)
            rows.append({"distance_ft": feet, "right": right, "left": left})
    return rows


def designation(lane: Lane) -> str:
    """The governing body's designation as far as a number exists for it, in words.

    Every foot of the pattern is looked at, on either side: a ratio that holds only where a tape was read is none.
    """
    feet = np.arange(int(pattern_length_ft(lane))) + 0.5
    found = [lane.crosswise_ratio(float(foot)) for foot in feet]
    worst, dry = {}, []
    for side, k in (("right", 1), ("left", 0)):
        known = [(ratio[k], foot) for ratio, foot in zip(found, feet, strict=True)]
        dry += [foot for ratio, foot in known if ratio is None]
        there = [(ratio, foot) for ratio, foot in known if ratio is not None]
        if there:
            worst[side] = max(there)
    if not worst:
        return "The outside is dry all along: no crosswise ratio exists, so not sport."
    told = {side: f"{ratio:.1f}:1 at {foot:.0f} ft" for side, (ratio, foot) in worst.items()}
    largest = (
        f"Largest crosswise ratio {told['right']}"
        if len(told) == 2 and told["right"] == told["left"]
        else "Largest crosswise ratio "
        + ", ".join(f"{t} on the {side}" for side, t in told.items())
    )
    if dry:
        return (
            f"{largest}; at {min(dry):.0f} ft boards 3 to 7 of a side are dry beside oil in the middle, where no "
            "ratio exists, so not sport."
        )
    if max(r for r, _ in worst.values()) <= SPORT_RATIO:
        return (
            f"{largest}, every foot of the pattern looked at: within the 3:1 of a sport condition "
            "(United States Bowling Congress)."
        )
    return (
        f"{largest}, above the 3:1 of a sport condition (United States Bowling Congress); no numeric limit was "
        "found for challenge and house conditions."
    )


def _cells(condition: str, lane: Lane) -> Any:
    """Film and the reference ball's friction in every cell, at its slip on its own course."""
    path = roll(REFERENCE_RELEASE, REFERENCE_BALL, lane)
    feet = np.arange(CELLS_FT) + 0.5
    slip = np.maximum(np.interp(feet, path.distance_ft, path.slip_mps), 0.05)
    speed = np.interp(feet, path.distance_ft, path.speed_mph) * 0.44704
    rim = rim_speed(REFERENCE_RELEASE.rev_rate_rpm, 0.0, REFERENCE_BALL) * np.cos(45.0 * DEG_RAD)
    board = np.arange(1, BOARDS + 1)
    where, across = np.meshgrid(feet, board, indexing="ij")
    friction = lane.friction(
        across,
        where,
        ball_roughness_uin=REFERENCE_BALL.roughness_uin,
        mu_dry=REFERENCE_BALL.mu_dry,
        slip_mps=slip[:, None],
        speed_mps=speed[:, None],
        rim_mps=rim,
    )
    return tables.frame(
        tables.LANE_CELLS,
        {
            "condition": [condition] * where.size,
            "distance_ft": where.ravel().tolist(),
            "board": across.ravel().tolist(),
            "film_units": lane.film_units.ravel().tolist(),
            "friction": friction.ravel().tolist(),
        },
    )


def _add_style(
    paths: dict[str, list[Any]],
    arrivals: dict[str, list[Any]],
    condition: str,
    stance: Stance,
    lane: Lane,
) -> None:
    """Rows of one style: the line, a board to either side, and a few usual misses."""
    person, line, ball = stance.bowler, stance.line, stance.strike_ball
    own = lane if person.hand == "right" else lane.mirrored()
    straight = line.ball == len(person.bag)  # with the spare ball
    base = Release(
        speed_mph=person.speed_mph,
        rev_rate_rpm=person.rev_rate_rpm * (SPARE_REV_SHARE if straight else 1.0),
        axis_rotation_deg=person.axis_rotation_deg * (SPARE_ROTATION_SHARE if straight else 1.0),
        axis_tilt_deg=person.axis_tilt_deg,
        board=line.board,
        angle_deg=float(np.degrees(line.angle)),
    )
    # A board at the arrows, the feet unmoved: outside is toward the bowler's own edge.
    turn = float(np.degrees(np.arctan(BOARD_M / (ARROWS_FT * FT_M))))
    outside = roll(replace(base, angle_deg=base.angle_deg - turn), ball, own)
    inside = roll(replace(base, angle_deg=base.angle_deg + turn), ball, own)
    middle = roll(base, ball, own)
    thrown: list[tuple[str, BallPath]] = [("line", middle)]
    sides = (
        ("board right", "board left") if person.hand == "right" else ("board left", "board right")
    )
    thrown += list(zip(sides, (outside, inside), strict=True))
    for k, z in enumerate(even_errors(USUAL_MISSES)):
        missed = replace(
            base,
            angle_deg=base.angle_deg + person.accuracy_deg * float(z[0]),
            board=min(max(base.board + person.laydown_sd_board * float(z[1]), 1.0), 39.0),
            speed_mph=max(base.speed_mph + person.speed_sd_mph * float(z[2]), 4.0),
        )
        thrown.append((f"usual miss {k + 1}", roll(missed, ball, own)))
    for release, path in thrown:
        _add_path(paths, condition, person, release, path)
    end = middle.at_pins
    turn_at = int(np.argmin(middle.board))
    row = {
        "condition": condition,
        "style": person.style,
        "hand": person.hand,
        "ball": ball.name,
        "line_board": line.board,
        "arrow_board": float(np.interp(ARROWS_FT, middle.distance_ft, middle.board)),
        "breakpoint_board": float(middle.board[turn_at]),
        "breakpoint_ft": float(middle.distance_ft[turn_at]),
        "roll_start_ft": middle.roll_start_ft,
        "entry_angle": end.angle_deg,
        "speed_mph": end.speed_mph,
        "offset_board": 20.0 - end.board,
        "outside_miss_board": end.board - outside.at_pins.board,
        "inside_miss_board": end.board - inside.at_pins.board,
    }
    for name, value in row.items():
        arrivals[name].append(value)


def _add_path(
    paths: dict[str, list[Any]], condition: str, person: Bowler, release: str, path: BallPath
) -> None:
    feet = np.arange(0.0, np.floor(path.distance_ft[-1]) + 0.5)
    own = np.interp(feet, path.distance_ft, path.board)
    board = own if person.hand == "right" else 40.0 - own
    n = feet.size
    for name, values in (
        ("condition", [condition] * n),
        ("style", [person.style] * n),
        ("hand", [person.hand] * n),
        ("release", [release] * n),
        ("distance_ft", feet.tolist()),
        ("board", board.tolist()),
    ):
        paths[name] += values
