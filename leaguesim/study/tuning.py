"""``tune``: the condition that serves a goal best within limits, found, measured again and written down.

The search and the last measuring never share a night: what looked best by luck is told apart from what
is.  It does not weigh what is not known about oil, lane and bowlers.
"""

from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.play.aims import Goal
from leaguesim.run.rounds import Progress, quiet
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.notes import study_notes
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.tunemeasure import (
    Baseline,
    again,
    baseline,
    cost,
    fresh_seed,
    house_of,
    told,
    trial,
)
from leaguesim.study.tunememory import Memory, fingerprint
from leaguesim.study.tuneresult import HIT_PINS, TuneResult, assemble
from leaguesim.study.tunesearch import Space, pool_of, search

Array = NDArray[np.float64]

FEWEST = 8  # candidates a family


def tune(
    center: Center,
    *,
    goal: Goal | str,
    target: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Progress = quiet,
    state: Path | None = None,
) -> TuneResult:
    """Find the condition that serves a goal best within its limits.

    Parameters
    ----------
    goal : a ``Goal``, a file of goals/, or average, kept-happy, least-spread, discrimination
    target : average wanted, if the goal does not say it [pins]
    state : a file kept up to date while searching; a search that was stopped goes on from it

    Raises
    ------
    InputError : unknown goal, limits that leave nothing, or a target that no condition reaches
    """
    from leaguesim.center.aimfiles import find_goal

    aim = find_goal(center, goal, target) if isinstance(goal, str) else goal
    seed = new_seed() if seed is None else check_seed(seed)
    families = families_of(center, aim)
    for (
        family,
        oils,
    ) in families.items():  # limits that leave nothing are told before anybody lines up
        pool_of(Space(aim, oils), center.conditioners, seed, family)
    memory = Memory(state, fingerprint(center, aim, seed), seed)
    with ready(house_of(center, aim, seed), seed, workers=workers, progress=progress) as made:
        base = baseline(made, aim)
        tried, best = _tried(made, base, aim, families, memory, progress)
        notes = study_notes(made, [center.today])
        if not aim.population:
            progress(0, 0, "measuring the best again on fresh nights")
            found, paired = again(made, base, aim, best)
    if aim.population:  # nobody of the search bowls again
        seed2 = fresh_seed(seed)
        with ready(
            house_of(center, aim, seed2), seed2, workers=workers, progress=progress
        ) as others:
            progress(0, 0, "measuring the best again with other people of the population")
            found, paired = again(others, baseline(others, aim), aim, best)
    _reach(aim, found, tried)
    return assemble(center, aim, seed, tried, found, paired, list(families), notes)


def _tried(
    made: Ready, base: Baseline, goal: Goal, families: dict[str, list[tuple[str, ...]]],
    memory: Memory, progress: Progress,
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:  # fmt: skip
    """Every trial, and the best: of each family, or the two best where there is one family."""
    best: list[dict[str, Any]] = []
    tried: list[dict[str, Any]] = []
    budget = max(FEWEST, goal.candidates // len(families))
    for family, oils in families.items():
        space = Space(goal, oils)

        def measure(u: Array, k: int, family: str = family, space: Space = space) -> Any:
            key = f"{family} {k}"
            if key not in memory.known:
                row = trial(made, base, goal, space.recipe(u), f"{family} {k + 1}")
                memory.keep(key, {"family": family, "trial": k + 1, **row})
            row = memory.known[key]
            tried.append(row)
            lead = min(tried, key=lambda r: cost(goal, r))
            progress(len(tried), budget * len(families), f"searching; best {told(goal, lead)}")
            return row

        rows = search(
            space, made.center.conditioners, made.seed, family, budget, measure,
            lambda r: cost(goal, r), made.center.conditions[made.center.today],
        )  # fmt: skip
        order = sorted(within(goal, rows), key=lambda r: (cost(goal, r), r["trial"]))
        best += order[: 1 if len(families) > 1 else 2]
    best.sort(key=lambda r: cost(goal, r))
    high = goal.limits.stops_high
    if high is not None and not within(goal, tried):
        least = min(tried, key=lambda r: r["stops"])
        raise InputError(
            f"goal {goal.name}: none of {len(tried)} conditions tried keeps machine stops to an index of "
            f"{high:g}: the least is {least['stops']:.0f} ({least['stops_cause']}; today's condition is "
            "100). Allow more (limits.stops_high), or widen the other limits"
        )
    return tried, best


def within(goal: Goal, rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Trials that keep to the limit on machine stops; the other limits hold before anything is tried."""
    high = goal.limits.stops_high
    return [r for r in rows if high is None or r["stops"] <= high]


def families_of(center: Center, goal: Goal) -> dict[str, list[tuple[str, ...]]]:
    """Which oils each search may lay.

    Kept happy without conditioners of its own is asked of three: one plain oil, one shear-thinning
    oil, a blend of two; every family has the same budget.
    """
    names = list(goal.conditioners or sorted(center.conditioners))
    pairs: list[tuple[str, ...]] = list(combinations(names, 2))
    if goal.kind == "kept-happy" and not goal.conditioners:
        plain: list[tuple[str, ...]] = [
            (n,) for n in names if center.conditioners[n].base_share >= 1.0
        ]
        thin: list[tuple[str, ...]] = [
            (n,) for n in names if center.conditioners[n].base_share < 1.0
        ]
        found: dict[str, list[tuple[str, ...]]] = {
            "plain": plain,
            "shear-thinning": thin,
            "blend": pairs,
        }
        return {k: v for k, v in found.items() if v}
    if goal.tanks == 2:
        if not pairs:
            raise InputError(f"goal {goal.name}: two tanks need two conditioners or more")
        return {"blend": pairs}
    return {"one tank": [(n,) for n in names]}


def _reach(goal: Goal, found: Sequence[dict[str, Any]], tried: Sequence[dict[str, Any]]) -> None:
    """Refuse a target that nothing within the limits comes near."""
    if goal.kind != "average" or goal.target is None:
        return
    if abs(found[0]["average"] - goal.target) <= HIT_PINS:
        return
    low, high = min(r["average"] for r in tried), max(r["average"] for r in tried)
    if low <= goal.target <= high:
        return  # there is one, the search only did not come close enough: the page says so
    nearest = min(tried, key=lambda r: cost(goal, r))
    at = bounds(nearest, goal)
    why = (
        f"stands at the limits of {' and '.join(at)}"
        if at
        else f"stands at no limit: more candidates than {goal.candidates} may find a nearer one"
    )
    raise InputError(
        f"goal {goal.name}: none of {len(tried)} conditions tried within the limits averages "
        f"{goal.target:g}: the averages run from {low:.1f} to {high:.1f}, and the nearest gives "
        f"{found[0]['average']:.1f} on fresh nights. It {why}. Choose a target between, or widen the "
        "limits (lengths, volumes, ratios, conditioners)"
    )


def bounds(row: dict[str, Any], goal: Goal) -> list[str]:
    """Limits that a condition stands at, within a twentieth of their span."""
    limits, out = goal.limits, []
    for key, low, high, name in (
        ("length_ft", limits.length_low_ft, limits.length_high_ft, "length"),
        ("volume_ml", limits.volume_low_ml, limits.volume_high_ml, "volume"),
        ("ratio_right", limits.ratio_right_low, limits.ratio_right_high, "ratio on the right"),
        ("ratio_left", limits.ratio_left_low, limits.ratio_left_high, "ratio on the left"),
    ):
        slack = 0.05 * (high - low)
        for end, word in ((low, "least"), (high, "most")):
            if abs(row[key] - end) <= slack:
                out.append(f"{word} {name} ({end:g})")
                break
    return out
