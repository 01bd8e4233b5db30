"""Bowlers of a fit tied again to their averages, where the center is not the one that was fitted.

A fit finds the accuracy that gives somebody's average at the best values of all that is not known.  At
another point of the outer sample lanes, oil or pins are easier or harder, yet the average was bowled there
too: accuracy gives way and the release's other errors with it, other traits stay.  Averages themselves are
not weighed again: what a point would move them, the prior of accuracy against a season's games, is some
hundredths of its shift.
"""

from collections.abc import Mapping

import numpy as np

from leaguesim.bowlers.lineup import Floor
from leaguesim.bowlers.values import Bowler
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE
from leaguesim.study.entering import LEAST_DEG, MOST_DEG, next_bowler
from leaguesim.study.prepare import Ready

NIGHTS = 64  # a pilot's
ROUNDS = 2
FAR_PINS = 5.0  # a second round is for those whom a line found anew took so far from their goals
BRACKET = 2.5  # accuracy is looked for so many times either way
REPLICATE = 5_000_000  # a pilot's nights are not the study's


def averages(made: Ready) -> dict[str, float]:
    """Everybody's average of a pilot under today's condition. [pins]"""
    plan = Plan(
        [made.setting(made.center.today)], made.pairs, made.pins, made.center.league,
        np.ones((1, len(made.order)), np.bool_), made.seed, replicate=REPLICATE,
    )  # fmt: skip
    totals = play_nights(plan, 0, NIGHTS, made.workers)
    means = totals.average[0] / SCALE / totals.nights
    return {b.bowler: float(m) for b, m in zip(made.order, means, strict=True)}


def tie_again(made: Ready, goals: Mapping[str, float]) -> None:
    """Give people the accuracy whose average under today's condition is their goal.

    Parameters
    ----------
    made : a center ready for play, changed in place; people not far from their goals already
    goals : averages by bowler; who has none stays as they are  [pins]

    A pilot of played nights tells how far off everybody is, and the worth of their line on today's film
    what accuracy takes that off; who is where they should be keeps every bit.  Whom a line found anew took
    far past the goal goes between the two pilots.
    """
    heard: dict[str, list[tuple[float, float]]] = {name: [] for name in goals}
    for step in range(ROUNDS if goals else 0):
        played = averages(made)
        for b in made.people:
            if b.bowler in goals:
                heard[b.bowler].append((b.accuracy_deg, played[b.bowler]))
        least = FAR_PINS if step else 0.0
        far = {n for n, goal in goals.items() if abs(played[n] - goal) > least}
        if not far:
            return
        _move(made, goals, {name: heard[name] for name in far})


def _move(
    made: Ready, goals: Mapping[str, float], heard: Mapping[str, list[tuple[float, float]]]
) -> None:
    """Give these people the accuracy that what they played, (accuracy, average) a pilot, asks for."""
    setting = made.setting(made.center.today)
    solved: dict[str, Bowler] = {}
    for floor, where in made.floors(made.center.today):

        def solve(b: Bowler, floor: Floor = floor) -> Bowler:
            low = max(b.accuracy_deg / BRACKET, LEAST_DEG)
            high = max(min(b.accuracy_deg * BRACKET, MOST_DEG), low)
            stance, name = setting.stances[b.bowler], b.bowler
            return next_bowler(stance, goals[name], heard[name], floor, made.pins, low, high)

        here = [b for k in where for b in made.pairs[k].bowlers if b.bowler in heard]
        solved |= {b.bowler: b for b in made.spread(solve, here)}
    made.seat([solved.get(b.bowler, b) for b in made.people])
