"""Directions that people who run lanes expect of a league, each with its size, as rows of the table.

A direction passes where its sign lies two standard errors off nothing; the error is over bowlers.
What needs no league is in ``direction_physics``.
"""

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.outside import bowlers_checks as people_of
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.outside.league_play import (
    LEAGUE,
    gap,
    league,
    mean_of,
    played,
    setting_on,
    slope_of,
)
from leaguesim.play.setting import Setting
from leaguesim.play.switching import Shift, first_weeks, old_line_on, shift_of
from leaguesim.play.values import Thresholds
from leaguesim.study.happy import band_of, judge, measures, norms
from leaguesim.study.tillmachine import FRAMES, meet
from leaguesim.units import LANE_LENGTH_FT

Array = NDArray[np.float64]

SURE: Final = 2.0  # standard errors
PAIRED: Final = ("house", "grip", "wide", "narrow", "abrupt")


def direction_checks() -> list[Check]:
    """Every direction that a league is needed for."""
    data = figures("directions")
    parts: list[Callable[[dict[str, Any]], list[Check]]] = [
        _friction_rows, _relearn_rows, _goodwill_rows, _coverage_rows, _abrupt_rows, _mechanics_rows,
    ]  # fmt: skip
    return [row for part in parts for row in part(data)]


def told(mean: float, se: float, unit: str = "") -> str:
    """A mean with its standard error.

    >>> told(-1.234, 0.5, "pins")
    '-1.23 pins (se 0.50)'
    """
    return f"{mean:+.2f}{' ' + unit if unit else ''} (se {se:.2f})"


def above(mean: float, se: float) -> bool:
    """Above nothing by two standard errors."""
    return mean > SURE * se


def shifts(now: Setting, after: Setting) -> list[Shift]:
    """What going over asks of everybody in the league."""
    pins = people_of._pins()
    return [shift_of(now.stances[b.bowler], after, pins) for b in league().people]


def _friction_rows(data: dict[str, Any]) -> list[Check]:
    """The same line and ball on more friction, and the line that suits it."""
    row, moves = data["earlier"], data["moves"]
    now, after, pins = setting_on("house"), setting_on("grip"), people_of._pins()
    hook = league().of(row["styles"])
    old = [now.stances[b.bowler] for b in league().people]
    start, there = (
        np.array([min(line.roll_start_ft, LANE_LENGTH_FT) for line in lines])[hook]
        for lines in ([s.line for s in old], [old_line_on(s, after, pins) for s in old])
    )  # fmt: skip
    later, se = mean_of(there - start)
    asked = shifts(now, after)
    feet, arrows = (np.array([getattr(s, k) for s in asked])[hook] for k in ("feet", "arrows"))
    size, size_se = mean_of(np.maximum(np.abs(feet), np.abs(arrows)))
    balls = sum(s.ball for s, h in zip(asked, hook, strict=True) if h)
    (at_feet, _), (at_arrows, _) = mean_of(feet), mean_of(arrows)
    name = row["conditioner"]
    return [
        Check(
            f"direction: more friction ({name} for amber) rolls earlier, same line and ball, "
            f"{hook.sum()} hook bowlers",
            row["source"],
            "earlier",
            f"{told(later, se, 'ft')}, {(there < start).sum()} of {hook.sum()} earlier",
            verdict(above(-later, se)),
        ),
        Check(
            f"direction: more friction ({name} for amber), boards to move at feet or arrows",
            moves["source"],
            f"at least {moves['least_boards']:g}",
            f"{size:.2f} (se {size_se:.2f}); on the mean {at_feet:+.2f} at the feet, "
            f"{at_arrows:+.2f} at the arrows (inward +); {balls} of {hook.sum()} change balls",
            verdict(size - SURE * size_se >= moves["least_boards"]),
        ),
    ]


def _relearn_rows(data: dict[str, Any]) -> list[Check]:
    row = data["relearn"]
    now, after, who = setting_on("house"), setting_on("grip"), league()
    seasons = [
        first_weeks(
            now, [after] * row["weeks"], who.pairs, people_of._pins(), LEAGUE,
            seed=people_of.SEED, replicate=k,
        ).cost
        for k in range(row["seasons"])
    ]  # fmt: skip
    cost = np.mean(seasons, axis=0)
    first, se = mean_of(cost[0])
    last, last_se = mean_of(cost[-1])
    less, less_se = mean_of(cost[0] - cost[-1])
    return [
        Check(
            "direction: a new level of friction has to be relearned, settled less first week",
            row["source"],
            f"above 0, and less by week {row['weeks']}",
            f"{told(first, se, 'pins')} in week 1, {told(last, last_se)} in week {row['weeks']}",
            verdict(above(first, se) and above(less, less_se)),
        )
    ]


def _goodwill_rows(data: dict[str, Any]) -> list[Check]:
    """Who is kept happy no longer under a change, of those whose settled average holds."""
    row, run = data["goodwill"], played(PAIRED)
    limits = Thresholds(average_drop_pins=row["held_pins"])
    at = {name: measures(run.totals, k) for k, name in enumerate(run.names)}
    reference = run.average["house"]
    usual = norms(at["house"], band_of(reference), limits)
    before = judge(at["house"], reference, usual, limits).happy
    sure, words = 0, []
    for name in PAIRED[1:]:
        after = judge(at[name], reference, usual, limits)
        held = after.parts[:, 0] == 1.0
        lost = held & (before == 1.0) & (after.happy == 0.0)
        won = held & (before == 0.0) & (after.happy == 1.0)
        far = (after.parts[:, 1:] == 0.0) & (after.margin_se[:, 1:] < -row["standard_errors"])
        sure += int((lost & far.any(axis=1)).sum())
        words.append(f"{name} {lost.sum()} lost, {won.sum()} won of {held.sum()}")
    return [
        Check(
            "direction: goodwill can fall though averages hold (kept happy, settled play)",
            row["source"],
            f"somebody, by more than {row['standard_errors']:g} standard errors",
            f"{sure} so clearly; of those whose average holds: {'; '.join(words)}",
            verdict(sure > 0),
        )
    ]


def boards_moved(now: str, after: str) -> Array:
    """How much further in everybody stands on another lane. [boards]"""
    old, new = (setting_on(name).stances for name in (now, after))
    return np.array([new[b.bowler].line.board - old[b.bowler].line.board for b in league().people])


def _coverage_rows(data: dict[str, Any]) -> list[Check]:
    row, run, who = data["coverage"], played(PAIRED), league()
    deep, outer = who.of(row["deep"]), who.of(row["outside"])
    rows = []
    for name, words, payer, other, payers in (
        ("wide", "wide coverage costs the deep lines of power players", deep, outer, "deep"),
        ("narrow", "narrow coverage costs the outside lines of slow and straight", outer, deep, "outside"),
    ):  # fmt: skip
        change = run.change("house", name)
        own, se = mean_of(change[payer])
        inward, _ = mean_of(boards_moved("house", name)[payer])
        more, more_se = gap(change, payer, other)
        rows.append(
            Check(
                f"direction: {words}",
                row["source"],
                f"{payers} styles lose, and more than the other group",
                f"{told(own, se, 'pins')}; {told(more, more_se)} against the others; they stand "
                f"{inward:+.1f} boards further in",
                verdict(above(-own, se) and above(-more, more_se)),
            )
        )
    return rows


def _abrupt_rows(data: dict[str, Any]) -> list[Check]:
    row, run = data["abrupt"], played(PAIRED)
    change = run.change("house", "abrupt")
    slope, se = slope_of(run.average["house"], change)
    mean, mean_se = mean_of(change)
    return [
        Check(
            "direction: lower averages suffer most where the response to a miss changes abruptly",
            row["source"],
            "the higher the average, the less is lost",
            f"{10 * slope:+.2f} pins (se {10 * se:.2f}) for each 10 pins of average; "
            f"everybody {told(mean, mean_se)}",
            verdict(above(slope, se)),
        )
    ]


def _mechanics_rows(data: dict[str, Any]) -> list[Check]:
    """Pins off their spots and oil carried off on balls, nights paired."""
    row, who, pins = data["mechanics"], league(), people_of._pins()
    some = who.pairs[: row["pairs"]]
    scale = 1000.0 / (sum(len(p.bowlers) for p in some) * LEAGUE.games * FRAMES)

    def upset(setting: Setting) -> Array:
        sums = [meet(setting, k, pair, pins, LEAGUE, people_of.SEED) for k, pair in enumerate(some)]
        return np.asarray(scale * np.sum(sums, axis=0))

    house, more = upset(setting_on("house")), upset(setting_on("long", len(some)))
    rows = []
    for cause, words, unit in (
        (0, "pins off their spots", "first balls"),
        (1, "oil carried off on balls (late returns)", "mL"),
    ):
        rise, se = mean_of(more[:, cause] - house[:, cause])
        rows.append(
            Check(
                f"direction: more oil down the lane, more work for mechanics: {words}",
                row["source"],
                "more",
                f"{told(rise, se, unit)} on {house[:, cause].mean():.1f} in 1,000 frames",
                verdict(above(rise, se)),
            )
        )
    return rows
