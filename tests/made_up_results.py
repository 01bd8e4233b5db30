"""Results put together by hand, not simulated, for tests of pages, tables and files.

The figures are plausible and deterministic; the names hold everything that must be escaped.
"""

from typing import Any

import numpy as np
import pandas as pd

from leaguesim.play.values import Thresholds
from leaguesim.study.results import CompareResult, LaneLook, LaneResult, SwitchResult
from leaguesim.tables import (
    ARRIVALS,
    BOWLERS,
    GAMES,
    GROUPS,
    LANE_CELLS,
    PATHS,
    SCORES,
    SWITCH,
    SWITCH_GROUPS,
    SWITCH_WEEKS,
    WORN_CELLS,
    frame,
)

STYLES = ["straight", "stroker", "tweener", "power", "two-handed"]
AWKWARD = ["=1+1", "</script><b>Bo</b>", 'Quote "Q" & Sons', "@home", "-minus", "Ülo Ñandú"]
REASONS = [
    "average more than 3 pins below reference",
    "a miss costs more than 1.3 times what is usual",
    "corner pins too often",
]


def bowlers(count: int = 48, shift: float = -6.0) -> pd.DataFrame:
    """A table of bowlers; every third left-handed, styles in turn."""
    draw = np.random.Generator(np.random.PCG64DXSM(5))
    columns: dict[str, list[Any]] = {name: [] for name in BOWLERS}
    for k in range(count):
        style = STYLES[k % len(STYLES)]
        average = 150.0 + 60.0 * draw.random()
        change = shift * (0.3 + 0.4 * (k % len(STYLES))) + draw.normal() * 2.0
        row: dict[str, Any] = {}
        for name, column in BOWLERS.items():
            row[name] = float(draw.random()) if column.dtype == "float64" else ""
        row |= {
            "bowler": AWKWARD[k] if k < len(AWKWARD) else f"Bowler {k:02d}",
            "team": f"Team {k // 4 + 1}",
            "style": style,
            "hand": "left" if k % 3 == 0 else "right",
            "pair": k // 8,
            "reference": average,
            "average_now": average,
            "average_next": average + change,
            "change": change,
            "change_se": 0.3 + 0.2 * float(draw.random()),
            "ball_now": "plain two",
            "ball_next": "plain two" if k % 4 else "rough one",
            "kept_happy_now": [True, True, False, True, None][(k * 7 + k // 5) % 5],
            "kept_happy_next": [True, False, True, False, None][(k // 2) % 5],
            "close_call": k % 7 == 0,
        }
        for when, mean in (("now", average), ("next", average + change)):
            row |= {
                f"game1_{when}": mean + 2.0,
                f"game2_{when}": mean + 0.5,
                f"game3_{when}": mean - 2.5,
                f"game_sd_{when}": 24.0 + 4.0 * float(draw.random()),
                f"strike_rate_{when}": mean / 400.0,
                f"spare_rate_{when}": mean / 300.0,
                f"corner_rate_{when}": 0.12,
                f"pocket_rate_{when}": 0.5,
                f"miss_cost_{when}": 3.0,
                f"line_board_{when}": 20.0 + k % 5,
                f"breakpoint_board_{when}": 9.0,
                f"entry_angle_{when}": 4.0,
                f"why_not_{when}": "" if row[f"kept_happy_{when}"] else REASONS[k % 3],
            }
        for name in BOWLERS:
            columns[name].append(row[name])
    return frame(BOWLERS, columns)


def share(happy: pd.Series) -> float:
    """Share of True among those that can be told."""
    told = happy.dropna()
    return float(told.mean()) if len(told) else float("nan")


def group(table: pd.DataFrame, key: pd.Series) -> pd.DataFrame:
    """The table of groups from the table of bowlers."""
    columns: dict[str, list[Any]] = {name: [] for name in GROUPS}
    for name, part in table.groupby(key, sort=False):
        now, then = part["kept_happy_now"], part["kept_happy_next"]
        row: dict[str, Any] = {"group": name, "bowlers": len(part)}
        for column in GROUPS:
            if column in part.columns and column not in ("kept_happy_now", "kept_happy_next"):
                row[column] = float(part[column].mean())
        row |= {
            "change_se": 0.21,
            "change_low": row["change"] - 3.1,
            "change_high": row["change"] + 3.1,
            "kept_happy_now": share(now),
            "kept_happy_next": share(then),
            "kept": int((now & then).fillna(False).sum()),
            "lost": int((now & ~then).fillna(False).sum()),
            "won_back": int((~now & then).fillna(False).sum()),
        }
        for column in GROUPS:
            columns[column].append(row[column])
    return frame(GROUPS, columns)


def look(condition: str, title: str, strength: float) -> LaneLook:
    """A lane look with a stepped film and simple curved paths."""
    cells: dict[str, list[Any]] = {name: [] for name in LANE_CELLS}
    for foot in range(60):
        for board in range(1, 40):
            inside = max(0.0, 1.0 - abs(board - 20) / 20.0) ** 0.6
            step = max(0.0, 1.0 - (foot // 6) * 0.14) if foot < 42 else 0.0
            film = strength * 80.0 * inside * step
            values = (condition, foot + 0.5, board, film, 0.04 + 0.2 * np.exp(-film / 9.0))
            for name, value in zip(LANE_CELLS, values, strict=True):
                cells[name].append(value)
    paths: dict[str, list[Any]] = {name: [] for name in PATHS}
    arrivals: dict[str, list[Any]] = {name: [] for name in ARRIVALS}
    for k, style in enumerate(STYLES):
        for hand in ("right", "left"):
            releases = {"line": 0.0, "board right": -1.0, "board left": 1.0}
            releases |= {f"usual miss {i}": 0.6 * (i - 2.5) for i in range(1, 5)}
            for release, miss in releases.items():
                for foot in range(0, 61, 2):
                    bend = max(0.0, foot - 38.0) / 22.0
                    board = 16 + k * 3 - foot * (0.1 + 0.09 * k) + miss + bend**2 * (8 + 3 * k)
                    board = board if hand == "right" else 40.0 - board
                    values = (condition, style, hand, release, float(foot), float(board))
                    for name, value in zip(PATHS, values, strict=True):
                        paths[name].append(value)
            values = (
                *(condition, style, hand, "plain two"),
                *(16.0 + 3 * k, 14.0 + k, 9.0 + k, 41.0, 50.0, 4.1, 17.2, 2.4, -0.4, 0.7),
            )
            for name, value in zip(ARRIVALS, values, strict=True):
                arrivals[name].append(value)
    ratios: list[dict[str, float | None]] = [
        {"distance_ft": d, "right": r, "left": r}
        for d, r in ((10.0, 3.1), (22.0, 4.0), (35.0, None))
    ]
    return LaneLook(
        condition,
        title,
        24.6 * strength,
        42.0,
        ratios,
        "house: ratio 3.0 or more somewhere",
        "reference ball 15 lb, 17 mph, 300 rpm",
        frame(LANE_CELLS, cells),
        frame(PATHS, paths),
        frame(ARRIVALS, arrivals),
        worn(cells),
    )


def worn(cells: dict[str, list[Any]]) -> pd.DataFrame:
    """Film before the night and after two games, a little less each time."""
    rows: dict[str, list[Any]] = {name: [] for name in WORN_CELLS}
    for game in range(3):
        rows["game"] += [game] * len(cells["board"])
        rows["film_units"] += [f * (1.0 - 0.05 * game) for f in cells["film_units"]]
        for name in ("condition", "distance_ft", "board"):
            rows[name] += cells[name]
    return frame(WORN_CELLS, rows)


def scores() -> pd.DataFrame:
    """Sampled games of each style under both conditions."""
    columns: dict[str, list[Any]] = {name: [] for name in SCORES}
    every = np.arange(301)
    for k, style in enumerate(STYLES):
        for condition, shift in (("now", 0.0), ("next", -3.0 * k)):
            share = np.exp(-0.5 * ((every - 165.0 - 10 * k - shift) / 26.0) ** 2)
            share /= share.sum()
            columns["style"] += [style] * 301
            columns["condition"] += [condition] * 301
            columns["score"] += every.tolist()
            columns["share"] += share.tolist()
    return frame(SCORES, columns)


def switch(people: pd.DataFrame, weeks: int = 6) -> SwitchResult:
    """The first weeks of the bowlers of a table, at once and by way of two dates."""
    rows: dict[str, list[Any]] = {name: [] for name in SWITCH}
    for k, b in enumerate(people.to_dict("records")):
        settled = float(b["average_next"])
        row = {
            **{name: b[name] for name in ("bowler", "team", "style", "hand")},
            "move": 0.5 * (k % 9) - 3.0,
            "feet_move": 0.5 * (k % 9) - 3.0,
            "arrows_move": 0.2 * (k % 9) - 1.0,
            "breakpoint_shift": 0.1 * (k % 7),
            "exit_shift": 0.1 * (k % 5),
            "roll_start_shift": float("nan") if k % 6 == 0 else 2.5,
            "entry_angle_shift": 0.1,
            "ball_from": b["ball_now"],
            "ball_to": b["ball_next"],
            "ball_change": b["ball_now"] != b["ball_next"],
            "old_line_gap": 3.0 * (k % 5),
            "weeks_to_settle": float("nan") if k % 5 == 4 else float(k % 5),
            "first_weeks": settled - 0.4 * (k % 5),
            "settled": settled,
            "first_weeks_change": -0.4 * (k % 5),
            "first_weeks_change_se": 0.3,
        }
        for name in SWITCH:
            rows[name].append(row[name])
    weekly: dict[str, list[Any]] = {name: [] for name in SWITCH_WEEKS}
    groups: dict[str, list[Any]] = {name: [] for name in SWITCH_GROUPS}
    members = {"league": people, **dict(list(people.groupby("style", sort=False)))}
    for way in ("jump", "sequence"):
        for w in range(1, weeks + 1):
            late = w if way == "jump" else max(w - 2, 1)
            told = {"way": way, "week": w, "date": f"2027-01-{4 + w:02d}",
                    "condition": "house" if way == "sequence" and w < 3 else "long"}  # fmt: skip
            for b in people.to_dict("records"):
                row = {**told, "bowler": b["bowler"], "average": b["average_next"] - 3.0 / late,
                       "settled": b["average_next"], "moved": 2.0, "learnt": 1.0 - 1.0 / late}  # fmt: skip
                for name in SWITCH_WEEKS:
                    weekly[name].append(row[name])
            for group, part in members.items():
                settled = float(part["average_next"].mean())
                row = {**told, "group": group, "bowlers": len(part), "average": settled - 3.0 / late,
                       "settled": settled, "change": -3.0 / late, "change_se": 0.5,
                       "learnt": 1.0 - 1.0 / late}  # fmt: skip
                for name in SWITCH_GROUPS:
                    groups[name].append(row[name])
    table = frame(SWITCH, rows)
    settle = table["weeks_to_settle"]
    return SwitchResult(
        weeks=weeks,
        weeks_played=weeks,
        seasons=4,
        line_memory=0.7,
        bowlers=table,
        weekly=frame(SWITCH_WEEKS, weekly),
        groups=frame(SWITCH_GROUPS, groups),
        league={
            "first_weeks": 158.2, "settled": 159.0, "change": -0.8, "change_se": 0.2,
            "first_week": -3.0, "first_week_se": 0.5, "last_week": -0.5, "last_week_se": 0.5,
            "move": 2.5, "ball_changes": int(table["ball_change"].sum()), "weeks_to_settle": 2.0,
            "alike": int((settle == 0.0).sum()), "learn": int((settle > 0.0).sum()),
            "keep": int(settle.isna().sum()),
        },
        steps=(("2027-01-05", "house"), ("2027-01-19", "long")),
        sequence={
            "jump": 158.2, "sequence": 159.9, "gain": 1.7, "gain_se": 0.1, "habit_gain": 0.2,
            "habit_gain_se": 0.1, "jump_change": -0.8, "jump_change_se": 0.2,
            "sequence_change": -0.6, "sequence_change_se": 0.2, "jump_worst_week": 1,
            "jump_worst_change": -3.0, "jump_learnt": 0.8, "sequence_worst_week": 3,
            "sequence_worst_change": -3.0, "sequence_learnt": 0.75,
        },
    )  # fmt: skip


def games(people: pd.DataFrame) -> pd.DataFrame:
    """Games of the night of the bowlers of a table."""
    rows: dict[str, list[Any]] = {name: [] for name in GAMES}
    for side in ("now", "next"):
        for g in (1, 2, 3):
            for k, b in enumerate(people.to_dict("records")):
                average = b[f"game{g}_{side}"]
                row = {**{name: b[name] for name in ("bowler", "style")}, "condition": side,
                       "game": g, "average": average, "held": average > b["reference"] - 3.0,
                       "moved": 0.5 * g + 0.1 * (k % 4)}  # fmt: skip
                for name in GAMES:
                    rows[name].append(row[name])
    return frame(GAMES, rows)


def compare(count: int = 48, shift: float = -6.0, invented: bool = True) -> CompareResult:
    """A whole comparison of two conditions called house and long."""
    table = bowlers(count, shift)
    now, then = table["kept_happy_now"], table["kept_happy_next"]
    change = float(table["change"].mean())
    league = {
        "average_now": float(table["average_now"].mean()),
        "average_next": float(table["average_next"].mean()),
        "change": change,
        "change_se": 0.11,
        "change_low": change - 0.22,
        "change_high": change + 0.22,
        "people_low": change - 1.5,
        "people_high": change + 1.5,
        "kept_happy_now": share(now),
        "kept_happy_next": share(then),
        "kept_happy_now_low": 0.41,
        "kept_happy_now_high": 0.78,
        "kept_happy_next_low": 0.22,
        "kept_happy_next_high": 0.61,
        "kept": int((now & then).fillna(False).sum()),
        "lost": int((now & ~then).fillna(False).sum()),
        "won_back": int((~now & then).fillna(False).sum()),
        "unknown": int((now.isna() | then.isna()).sum()),
        "close_calls": int(table["close_call"].sum()),
    }
    band = (table["reference"] // 20 * 20).astype(int).map(lambda b: f"{b} to {b + 19}")
    return CompareResult(
        center="Long Hall",
        invented=invented,
        now="house",
        next="long",
        now_title="House, 40 ft",
        next_title="Long & <flat>, 44 ft",
        today="house",
        games=3,
        nights=160,
        seed=7,
        stopped_because="every bowler's change has a standard error of 0.5 pin or less",
        league=league,
        bowlers=table,
        groups={
            "style": group(table, table["style"]),
            "hand": group(table, table["hand"]),
            "average band": group(table, band),
        },
        scores=scores(),
        stability=[
            {"part": p, "factor": f, "kept_happy_now": 0.6 + d, "kept_happy_next": 0.4 + d}
            for p in ("average", "miss forgiven", "even sides", "corner pins", "the night")
            for f, d in ((0.75, -0.05), (1.0, 0.0), (1.25, 0.04))
        ],
        looks={"now": look("house", "House, 40 ft", 1.0), "next": look("long", "Long, 44 ft", 0.8)},
        thresholds=Thresholds(),
        notes=["Lanes do not wear yet: every game is played on the same film."],
        manifest={"schema": "leaguesim.manifest/1", "version": "0.1.0", "seed": 7},
        switch=switch(table),
        games_table=games(table),
    )


def lane() -> LaneResult:
    """One condition looked at."""
    return LaneResult(
        center="Long Hall",
        invented=True,
        look=look("house", "House, 40 ft", 1.0),
        notes=["Friction constants are calibrated, not measured on these lanes."],
        manifest={"schema": "leaguesim.manifest/1", "version": "0.1.0", "seed": 7},
    )
