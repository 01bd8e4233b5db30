"""What a trial pair's scores say about a new conditioner: the model's own derivative set against them.

The trial is played at points around what is known, two levels an axis on the same luck; its expected
difference and slopes come from there.  Axes that are not the new conditioner's (lanes, machine, friction
constants, today's oil) and the other form of friction count as error of the comparison.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.linalg import hadamard
from scipy.special import ndtr

from leaguesim.bowlers.values import Bowler
from leaguesim.center.priors import dimensions, other_form, perturbed, used_conditioners
from leaguesim.center.values import Center
from leaguesim.play.setting import Pair, pairs_of
from leaguesim.run.rounds import Plan, Progress, play_nights, quiet
from leaguesim.run.totals import SCALE
from leaguesim.study.learnt import Learnt
from leaguesim.study.mixed import Components
from leaguesim.study.prepare import ready
from leaguesim.study.trialcontrast import Contrast, contrast

Array = NDArray[np.float64]

NIGHTS = 32
PLAYED = 16  # people who play the trial again at every point; whole pairs, at least
REPLICATE = 4_000_000  # nights of a trial played again are not the study's


@dataclass(frozen=True)
class Response:
    """The model's trial: ``expected`` change of each bowler played [pins], ``slopes`` (k,) of the mean
    along ``axes`` [pins a deviate], ``form`` what the other form of friction adds [pins]."""

    axes: tuple[str, ...]
    expected: dict[str, float]
    slopes: Array
    form: float
    noise: float  # standard error of the mean change from the nights played


def new_conditioners(center: Center, trial: str) -> list[str]:
    """Conditioners of a trial's condition that today's does not have."""
    known = used_conditioners(center, [center.today])
    return [name for name in used_conditioners(center, [trial]) if name not in known]


def respond(
    center: Center,
    people: Sequence[Bowler],
    tried: Sequence[str],
    trial: str,
    learnt: Learnt,
    seed: int,
    *,
    workers: int | None = None,
    progress: Progress = quiet,
) -> Response:
    """Play a trial at a folded two-level design around what is known.

    Parameters
    ----------
    people : the fitted roster; tried : those who bowled on the trial's condition
    """
    asked = (center.today, trial)
    axes = tuple(d.name for d in dimensions(center, asked))
    signs = _signs(len(axes))
    pairs = _pairs(center, people, set(tried))
    changes: list[Array] = []
    for k, row in enumerate(signs):
        progress(k, len(signs) + 2, "the trial pair by the model")
        cube = learnt.moved(axes, ndtr(row)[None])[0]
        changes.append(_change(perturbed(center, cube, asked), pairs, asked, seed, workers))
    middle = learnt.moved(axes, np.full((1, len(axes)), 0.5))[0]
    here = perturbed(center, middle, asked)
    forms = [_change(c, pairs, asked, seed, workers) for c in (here, other_form(here))]
    played = np.stack(changes)
    mean = played.mean(axis=1)
    slopes = signs.T @ mean / len(signs)
    left = mean - mean.mean() - signs @ slopes
    free = max(len(signs) - len(axes) - 1, 1)
    order = [b.bowler for p in pairs for b in p.bowlers]
    expected = dict(zip(order, played.mean(axis=0).tolist(), strict=True))
    wanted = {n: v for n, v in expected.items() if n in set(tried)}
    return Response(
        axes, wanted or expected, slopes, float(forms[1].mean() - forms[0].mean()),
        float(np.sqrt((left**2).sum() / free / len(signs))),
    )  # fmt: skip


def _signs(axes: int) -> Array:
    """(runs, axes) levels -1 and 1: a Hadamard design folded over, main effects clear of pairs of them."""
    n = 1 << max(axes - 1, 1).bit_length()
    own = hadamard(n)[:, :axes].astype(np.float64)
    return np.concatenate([own, -own])


def _pairs(center: Center, people: Sequence[Bowler], tried: set[str]) -> list[Pair]:
    """Pairs of lanes with people of the trial, until there are enough; all where lanes differ."""
    pairs = pairs_of(people)
    if center.lane_states:
        return pairs
    chosen: list[Pair] = []
    ranked = sorted(pairs, key=lambda p: -sum(b.bowler in tried for b in p.bowlers))
    for p in ranked:
        if chosen and sum(len(c.bowlers) for c in chosen) >= PLAYED:
            break
        chosen.append(p)
    return chosen


def _change(
    center: Center, pairs: list[Pair], asked: tuple[str, str], seed: int, workers: int | None
) -> Array:
    """(bowlers,) mean change from today's condition to the trial's, on the same luck at every point."""
    with ready(center, seed, workers=workers, tie=False) as made:
        made.pairs = pairs
        made.people = [b for p in pairs for b in p.bowlers]
        n = len(made.people)
        plan = Plan(
            [made.setting(name) for name in asked], pairs, made.pins, center.league,
            np.ones((1, n), np.bool_), seed, replicate=REPLICATE,
        )  # fmt: skip
        totals = play_nights(plan, 0, NIGHTS, made.workers)
    both = totals.average / SCALE / totals.nights
    return np.asarray(both[1] - both[0])


def learn_friction(
    games: pd.DataFrame,
    center: Center,
    trial: str,
    parts: Components,
    response: Response,
    learnt: Learnt,
) -> tuple[Learnt, Contrast]:
    """What is known of a trial's new conditioners after its scores.

    ``learnt`` must hold their axes.  The slopes were taken along deviates of what was known before.
    """
    seen = contrast(games, center.today, trial, parts, response.expected)
    new = new_conditioners(center, trial)
    own = [a.split(": ")[0] in new for a in response.axes]
    slope = np.where(own, response.slopes, 0.0)
    others = float((response.slopes**2).sum() - (slope**2).sum())
    error = seen.se**2 + others + (0.5 * response.form) ** 2 + response.noise**2
    found = _white_update(learnt, response.axes, slope, seen.beyond, error)
    row: dict[str, Any] = {
        "source": "trial pair",
        "conditions": [trial],
        "conditioners": new,
        "pins": seen.pins,
        "pins_se": seen.se,
        "beyond": seen.beyond,
        "expected": float(np.mean(list(response.expected.values()))),
        "prior_sd": float(np.sqrt((slope**2).sum())),
        "error": float(np.sqrt(error)),
        "others_sd": float(np.sqrt(others)),
        "form": response.form,
        "bowlers": seen.bowlers,
        "games": seen.games,
        "nights": seen.nights,
        "pairs": list(seen.pairs),
        "shared_pairs": seen.shared_pairs,
    }
    row["posterior_sd"] = float(
        np.sqrt((slope**2).sum() * (1.0 - (slope**2).sum() / ((slope**2).sum() + error)))
    )
    return found.with_row(row), seen


def _white_update(
    learnt: Learnt, axes: Sequence[str], slope: Array, value: float, error: float
) -> Learnt:
    """An update along slopes of the deviates that ``learnt.moved`` takes (mean 0, variance 1)."""
    here = [k for k, a in enumerate(learnt.axes) if a in axes]
    h = np.array([slope[axes.index(learnt.axes[k])] for k in here])
    if not h.any():
        return learnt
    line = np.zeros(len(learnt.axes))
    line[here] = np.linalg.solve(learnt.root(here), h)
    seen = np.array([value + line @ learnt.mean])
    return learnt.updated(line[None], seen, np.array([[error]]))
