"""The first weeks after going over to another condition, and a gradual change against one jump.

Whole seasons are played, week after week, by people who come with their old line and ball; settled play
on the same nights and luck is set against them.  Directional: ``change`` and kept happy rest on settled
play alone.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.bowlers.lineup import Line
from leaguesim.center.sequence import DatedConditions, check_sequence
from leaguesim.play.setting import Setting
from leaguesim.play.switching import (
    LINE_MEMORY,
    SEASON_GAMES,
    Shift,
    first_weeks,
    games_to_tell,
    old_line_on,
    shift_of,
)
from leaguesim.run.rounds import Progress, quiet
from leaguesim.study.prepare import Ready
from leaguesim.study.results import SwitchResult

Array = NDArray[np.float64]

WEEKS = 6  # that count as the first
SEASONS = 4  # each on fresh luck; what luck is left is printed as a standard error
SWITCH_REPLICATE = 3_000_000  # these seasons are not the nights of the settled comparison
JUMP, GRADUAL = "jump", "sequence"


@dataclass(frozen=True)
class Seasons:
    """Seasons of one way over; arrays (seasons, weeks, bowlers), means over a week's nights and games."""

    average: Array
    settled: Array
    moved: Array
    learnt: Array

    @property
    def change(self) -> Array:
        """First weeks minus settled, exactly zero where nobody has anything to learn."""
        return self.average - self.settled


def play_switch(
    made: Ready,
    now: str,
    after: str,
    *,
    dated: DatedConditions | None = None,
    progress: Progress = quiet,
) -> SwitchResult:
    """The first weeks after going from ``now`` to ``after``.

    Parameters
    ----------
    dated : conditions week by week, in place of going over at once; both ways are played, over the
        weeks to the last date and as many as count as the first

    Raises
    ------
    InputError : the dated conditions do not end on ``after``
    """
    if dated is not None:
        check_sequence(dated, after)
    weeks = WEEKS + (dated.weeks if dated is not None else 0)
    plans = {JUMP: [after] * weeks}
    if dated is not None:
        plans[GRADUAL] = [dated.condition(w) for w in range(weeks)]
    measured = {name: _measured(made, now, name) for name in sorted({p[0] for p in plans.values()})}
    tasks = [(way, season) for way in plans for season in range(SEASONS)]
    nights = made.center.league.nights_per_week
    settings = {name: made.setting(name) for plan in plans.values() for name in plan}
    old = made.setting(now)

    def season_of(task: tuple[str, int]) -> list[Array]:
        way, season = task
        schedule = [settings[name] for name in plans[way] for _ in range(nights)]
        played = first_weeks(
            old, schedule, made.pairs, made.pins, made.center.league, seed=made.seed,
            replicate=SWITCH_REPLICATE + season, measured=measured[plans[way][0]],
        )  # fmt: skip
        by_week = [
            a.mean(axis=2).reshape(weeks, nights, -1) for a in (played.exact, played.settled)
        ]
        last = [a.reshape(weeks, nights, -1)[:, -1] for a in (played.moved, played.learnt)]
        return [*(a.mean(axis=1) for a in by_week), *(a.astype(np.float64) for a in last)]

    gathered: dict[str, list[list[Array]]] = {way: [] for way in plans}
    for k, (task, got) in enumerate(zip(tasks, made.pool.map(season_of, tasks), strict=True), 1):
        gathered[task[0]].append(got)
        progress(k, len(tasks), "seasons of first weeks")
    seasons = {
        way: Seasons(*(np.stack(part) for part in zip(*got, strict=True)))
        for way, got in gathered.items()
    }
    known = measured.get(after, {})
    shifts = [
        shift_of(old.stances[b.bowler], settings[after].at(k), made.pins, known.get(b.bowler))
        for k, b in _placed(made)
    ]
    return _result(made, now, after, plans, seasons, shifts, dated)


def _placed(made: Ready) -> Iterator[tuple[int, Any]]:
    """Every bowler with the place of their pair."""
    for k, pair in enumerate(made.pairs):
        for b in pair.bowlers:
            yield k, b


def _measured(made: Ready, now: str, name: str) -> dict[str, Line]:
    """Everybody's old line on another condition."""
    old, setting = made.setting(now), made.setting(name)
    placed = list(_placed(made))
    lines = made.spread(
        lambda p: old_line_on(old.stances[p[1].bowler], setting.at(p[0]), made.pins), placed
    )
    return {b.bowler: line for (_, b), line in zip(placed, lines, strict=True)}


def _se(values: Array) -> Array:
    """Standard error of the mean over seasons (axis 0)."""
    return np.asarray(values.std(axis=0, ddof=1) / math.sqrt(values.shape[0]))


def _result(
    made: Ready,
    now: str,
    after: str,
    plans: dict[str, list[str]],
    seasons: dict[str, Seasons],
    shifts: Sequence[Shift],
    dated: DatedConditions | None,
) -> SwitchResult:
    bowlers = _bowlers(made, now, after, seasons[JUMP], shifts)
    weeks = len(plans[JUMP])
    days = ["" if dated is None else dated.day(w).isoformat() for w in range(weeks)]
    return SwitchResult(
        weeks=WEEKS,
        weeks_played=weeks,
        seasons=SEASONS,
        line_memory=LINE_MEMORY,
        bowlers=bowlers,
        weekly=_weekly(made, plans, seasons, days),
        groups=_groups(made, plans, seasons, days),
        league=_league(bowlers, seasons[JUMP]),
        steps=() if dated is None else tuple((d.isoformat(), c) for d, c in dated.steps),
        sequence=None if dated is None else _ways(seasons),
    )


def settling_weeks(made: Ready, stance: Any, shift: Shift, alike: bool) -> float:
    """Weeks until a bowler takes up the new line; NaN if not within a season."""
    if alike:
        return 0.0
    games = games_to_tell(stance, shift.gap)
    league = made.center.league
    return math.nan if games >= SEASON_GAMES else math.ceil(
        games / (league.games * league.nights_per_week)
    )  # fmt: skip


def _bowlers(made: Ready, now: str, after: str, jump: Seasons, shifts: Sequence[Shift]) -> Any:
    people = made.order
    old: Setting = made.setting(now)
    new: Setting = made.setting(after)
    stances = [(old.stances[b.bowler], new.stances[b.bowler]) for b in people]
    alike = [a.line[:3] == b.line[:3] for a, b in stances]
    first = slice(0, WEEKS)
    change = jump.change[:, first].mean(axis=1)
    settle = [
        settling_weeks(made, b, s, same)
        for (_, b), s, same in zip(stances, shifts, alike, strict=True)
    ]
    data: dict[str, Any] = {
        "bowler": [b.bowler for b in people],
        "team": [b.team for b in people],
        "style": [b.style for b in people],
        "hand": [b.hand for b in people],
        "move": [s.feet if abs(s.feet) >= abs(s.arrows) else s.arrows for s in shifts],
        "feet_move": [s.feet for s in shifts],
        "arrows_move": [s.arrows for s in shifts],
        "breakpoint_shift": [s.breakpoint for s in shifts],
        "exit_shift": [s.exit for s in shifts],
        "roll_start_shift": [
            math.nan if s.roll_start_ft is None else s.roll_start_ft for s in shifts
        ],
        "entry_angle_shift": [s.entry_deg for s in shifts],
        "ball_from": [a.strike_ball.name for a, _ in stances],
        "ball_to": [b.strike_ball.name for _, b in stances],
        "ball_change": [s.ball for s in shifts],
        "old_line_gap": [0.0 if same else s.gap for s, same in zip(shifts, alike, strict=True)],
        "weeks_to_settle": settle,
        "first_weeks": jump.average[:, first].mean(axis=(0, 1)),
        "settled": jump.settled[:, first].mean(axis=(0, 1)),
        "first_weeks_change": change.mean(axis=0),
        "first_weeks_change_se": _se(change),
    }
    return tables.frame(tables.SWITCH, data)


def _weekly(
    made: Ready, plans: dict[str, list[str]], seasons: dict[str, Seasons], days: Sequence[str]
) -> Any:
    data: dict[str, list[Any]] = {name: [] for name in tables.SWITCH_WEEKS}
    names = [b.bowler for b in made.order]
    for way, plan in plans.items():
        for w, condition in enumerate(plan):
            data["way"] += [way] * len(names)
            data["bowler"] += names
            data["week"] += [w + 1] * len(names)
            data["date"] += [days[w]] * len(names)
            data["condition"] += [condition] * len(names)
            for name in ("average", "settled", "moved", "learnt"):
                data[name] += getattr(seasons[way], name)[:, w].mean(axis=0).tolist()
    return tables.frame(tables.SWITCH_WEEKS, data)


def _groups(
    made: Ready, plans: dict[str, list[str]], seasons: dict[str, Seasons], days: Sequence[str]
) -> Any:
    data: dict[str, list[Any]] = {name: [] for name in tables.SWITCH_GROUPS}
    style = np.array([b.style for b in made.order])
    members = {"league": np.ones(style.size, np.bool_)}
    members |= {name: style == name for name in sorted(set(style.tolist()))}
    for way, plan in plans.items():
        played = seasons[way]
        for group, who in members.items():
            change = played.change[:, :, who].mean(axis=2)
            rows: dict[str, Any] = {
                "way": [way] * len(plan),
                "group": [group] * len(plan),
                "bowlers": [int(who.sum())] * len(plan),
                "week": range(1, len(plan) + 1),
                "date": days,
                "condition": plan,
                "average": played.average[:, :, who].mean(axis=(0, 2)),
                "settled": played.settled[:, :, who].mean(axis=(0, 2)),
                "change": change.mean(axis=0),
                "change_se": _se(change),
                "learnt": played.learnt[:, :, who].mean(axis=(0, 2)),
            }
            for name, values in rows.items():
                data[name] += list(values)
    return tables.frame(tables.SWITCH_GROUPS, data)


def _league(bowlers: Any, jump: Seasons) -> dict[str, Any]:
    change = jump.change.mean(axis=2)
    first = change[:, :WEEKS].mean(axis=1)
    settle = bowlers["weeks_to_settle"]
    learns = settle[settle > 0.0]
    return {
        "first_weeks": float(jump.average[:, :WEEKS].mean()),
        "settled": float(jump.settled[:, :WEEKS].mean()),
        "change": float(first.mean()),
        "change_se": float(_se(first)),
        "first_week": float(change[:, 0].mean()),
        "first_week_se": float(_se(change[:, 0])),
        "last_week": float(change[:, WEEKS - 1].mean()),
        "last_week_se": float(_se(change[:, WEEKS - 1])),
        "move": float(bowlers["move"].abs().median()),
        "ball_changes": int(bowlers["ball_change"].sum()),
        "weeks_to_settle": float(learns.median()) if len(learns) else math.nan,
        "alike": int((settle == 0.0).sum()),
        "learn": len(learns),
        "keep": int(settle.isna().sum()),
    }


def _ways(seasons: dict[str, Seasons]) -> dict[str, Any]:
    """Both ways over all weeks played: league averages, the difference, what habit cost in each."""
    jump, slow = seasons[JUMP], seasons[GRADUAL]
    means = {way: s.average.mean(axis=(1, 2)) for way, s in seasons.items()}
    gain = (slow.average - jump.average).mean(axis=(1, 2))
    habit = (slow.change - jump.change).mean(axis=(1, 2))
    out: dict[str, Any] = {
        JUMP: float(means[JUMP].mean()),
        GRADUAL: float(means[GRADUAL].mean()),
        "gain": float(gain.mean()),
        "gain_se": float(_se(gain)),
        "habit_gain": float(habit.mean()),
        "habit_gain_se": float(_se(habit)),
    }
    for way, s in seasons.items():
        change = s.change.mean(axis=(1, 2))
        out[f"{way}_change"], out[f"{way}_change_se"] = float(change.mean()), float(_se(change))
        weekly = s.change.mean(axis=(0, 2))
        worst = int(weekly.argmin())
        out[f"{way}_worst_week"], out[f"{way}_worst_change"] = worst + 1, float(weekly[worst])
        out[f"{way}_learnt"] = float(s.learnt[:, -1].mean())
    return out
