"""Each bowler's posterior over style, traits, accuracy and spare skill, and draws from it.

The likelihood weighs all scores of a bowler at once: the level of their nights under each condition, and
strike and spare rates where these are given.  The spread of the games is a check, never a target.
"""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.values import Bowler, RosterLine
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.streams import Purpose, stream
from leaguesim.study.emulator import MEAN, Emulator
from leaguesim.study.learnt import Learnt, from_plain
from leaguesim.study.traits import (
    TRAITS,
    bowler_at,
    candidates,
    even_points,
    points_of,
    style_shares,
)

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

SCHEMA = "leaguesim.fitted/1"
GRID = 2048  # points a style
KEPT = 128  # equally likely draws kept of each bowler


@dataclass(frozen=True)
class Seen:
    """What the scores of one bowler say: outputs of the emulator seen, their values and covariance."""

    outputs: Ints
    value: Array
    covariance: Array


@dataclass(frozen=True)
class Posterior:
    """Points (n, 6) of styles (n,) with weights (n,), and the stand-in's figures there (n, outputs)."""

    names: tuple[str, ...]
    style: Ints
    points: Array
    weight: Array
    figures: Array
    error: Array  # (styles, outputs, outputs)


def posterior(
    center: Center, line: RosterLine, emulators: dict[str, Emulator], seen: Seen | None, seed: int
) -> Posterior:
    """The posterior of one bowler; without scores it is the prior."""
    names = candidates(center, line)
    rng = stream(seed, Purpose.BOOTSTRAP, replicate=1, identity=line.bowler)
    logs, points, figures, style = [], [], [], []
    for k, (name, share) in enumerate(zip(names, style_shares(center, line), strict=True)):
        at = points_of(center.styles[name], line, even_points(GRID, rng))
        told = emulators[name](line.hand == "left", at)
        points.append(at)
        figures.append(told)
        style.append(np.full(GRID, k))
        logs.append(
            np.log(share) + (0.0 if seen is None else fit_of(seen, told, emulators[name].error))
        )
    log = np.concatenate([np.broadcast_to(v, GRID) for v in logs])
    weight = np.exp(log - log.max())
    errors = np.stack([emulators[n].error for n in names])
    return Posterior(
        names, np.concatenate(style), np.concatenate(points), weight / weight.sum(),
        np.concatenate(figures), errors,
    )  # fmt: skip


def fit_of(seen: Seen, figures: Array, error: Array) -> Array:
    """(n,) log likelihood of what was seen; the stand-in's error adds to the scores' own."""
    total = seen.covariance + error[np.ix_(seen.outputs, seen.outputs)]
    root = np.linalg.cholesky(total)
    off = np.linalg.solve(root, (seen.value - figures[:, seen.outputs]).T)
    return np.asarray(-0.5 * (off**2).sum(axis=0) - float(np.log(np.einsum("ii->i", root)).sum()))


def forecast(post: Posterior, seen: Seen | None, output: int = MEAN) -> tuple[Array, Array, Array]:
    """The figure itself, at each point normal: mean (n,), variance (n,), weight (n,).

    The stand-in is off by the same amount in the scores seen and in those to come, so that part is
    learnt from the scores.
    """
    mean = post.figures[:, output].copy()
    variance = post.error[post.style, output, output].copy()
    if seen is not None:
        for k in range(len(post.names)):
            own = post.style == k
            error = post.error[k]
            total = seen.covariance + error[np.ix_(seen.outputs, seen.outputs)]
            gain = np.linalg.solve(total, error[seen.outputs, output])
            mean[own] += (seen.value - post.figures[np.ix_(own, seen.outputs)]) @ gain
            variance[own] -= gain @ error[seen.outputs, output]
    return mean, np.maximum(variance, 0.0), post.weight


def mean_sd(mean: Array, variance: Array, weight: Array) -> tuple[float, float]:
    """Mean and standard deviation of a mixture."""
    middle = float(weight @ mean)
    return middle, math.sqrt(max(float(weight @ (variance + (mean - middle) ** 2)), 0.0))


def kept_draws(post: Posterior, rng: np.random.Generator, n: int = KEPT) -> tuple[Ints, Array]:
    """(n,) style numbers and (n, 6) points, equally likely (systematic resampling, then shuffled)."""
    at = kept_places(post, rng, n)
    return post.style[at], post.points[at]


def kept_places(post: Posterior, rng: np.random.Generator, n: int = KEPT) -> Ints:
    """(n,) places of the points that ``kept_draws`` keeps."""
    at = np.searchsorted(np.cumsum(post.weight), (rng.random() + np.arange(n)) / n)
    return rng.permutation(np.minimum(at, post.weight.size - 1))


def kept_averages(
    post: Posterior, seen: Seen | None, output: int, at: Ints, rng: np.random.Generator
) -> Array:
    """(n,) averages that somebody at these places of their posterior has; NaN without scores. [pins]

    Drawn with the stand-in's error that the scores leave, so that whoever is tied to them is free of it.
    """
    if seen is None:
        return np.full(at.size, np.nan)
    mean, variance, _ = forecast(post, seen, output)
    return np.asarray(mean[at] + np.sqrt(variance[at]) * rng.standard_normal(at.size))


@dataclass(frozen=True)
class Fitted:
    """A fitted roster: for every bowler of ``center.roster``, in its order, equally likely draws.

    ``styles`` (n, draws) names, ``points`` (n, draws, 6) of ``traits.TRAITS``; ``known`` whether the
    bowler had scores enough (else the draws are the style's prior); ``learnt`` what a trial pair and film
    readings said about conditioners, None without any.
    """

    center: Center
    styles: tuple[tuple[str, ...], ...]
    points: Array
    known: tuple[bool, ...]
    learnt: Learnt | None = None
    averages: Array | None = None

    def goals(self) -> Array:
        """``averages``, NaN for everybody where there are none."""
        return np.full(self.points.shape[:2], np.nan) if self.averages is None else self.averages

    def to_json(self) -> str:
        """The fitted roster as ``read_fitted`` reads it."""
        people = [
            {
                "bowler": line.bowler,
                "hand": line.hand,
                "known": known,
                "styles": list(styles),
                "draws": [[float(f"{v:.6g}") for v in row] for row in points],
                "averages": [round(v, 3) if math.isfinite(v) else None for v in goals.tolist()],
            }
            for line, known, styles, points, goals in zip(
                self.center.roster, self.known, self.styles, self.points, self.goals(), strict=True
            )
        ]
        told: dict[str, Any] = {
            "schema": SCHEMA,
            "center": self.center.name,
            "today": self.center.today,
            "traits": list(TRAITS),
            "bowlers": people,
        }
        if self.learnt is not None:
            told["conditioners"] = self.learnt.to_plain()
        return json.dumps(told, allow_nan=False) + "\n"


def posterior_draws(fit: Any, n: int, seed: int) -> list[list[Bowler]]:
    """Whole rosters drawn from the posterior, for forecasts.

    Parameters
    ----------
    fit : what ``study.fit`` or ``study.read_fitted`` returned
    n : how many rosters; up to 128 no bowler's draw comes twice, beyond that they repeat
    seed : which draw goes with which; the same n and seed give the same rosters

    Returns
    -------
    n lists of bowlers in the order of ``center.roster``, without entering averages, so that nothing ties
    them again; bowlers' posteriors are independent of each other

    Raises
    ------
    InputError : n below 1
    """
    fitted: Fitted = getattr(fit, "fitted", fit)
    if n < 1:
        raise InputError(f"draws: a whole number from 1 up is needed, got {n}")
    center = fitted.center
    columns = [
        [bowler_at(center, line, styles[k], points[k]) for k in order]
        for line, styles, points, order in zip(
            center.roster, fitted.styles, fitted.points, _orders(fitted, n, seed), strict=True
        )
    ]
    return [list(roster) for roster in zip(*columns, strict=True)]


def goal_draws(fitted: Fitted, n: int, seed: int) -> Array:
    """(n, bowlers) averages of the rosters that ``posterior_draws`` gives, NaN for who has none. [pins]"""
    both = zip(fitted.goals(), _orders(fitted, n, seed), strict=True)
    return np.stack([goals[order] for goals, order in both], axis=1)


def _orders(fitted: Fitted, n: int, seed: int) -> list[Ints]:
    """Which of the kept draws goes with which roster, a bowler at a time."""
    kept, orders = fitted.points.shape[1], []
    for line in fitted.center.roster:
        rng = stream(seed, Purpose.BOOTSTRAP, replicate=2, identity=line.bowler)
        orders.append(np.concatenate([rng.permutation(kept) for _ in range(-(-n // kept))])[:n])
    return orders


def mean_roster(fit: Any) -> list[Bowler]:
    """One roster for a single run: each bowler at the mean point of their likeliest style."""
    fitted: Fitted = getattr(fit, "fitted", fit)
    out = []
    for i, line in enumerate(fitted.center.roster):
        names = np.array(fitted.styles[i])
        best = max(sorted(set(fitted.styles[i])), key=lambda s: int((names == s).sum()))
        log = fitted.points[i, names == best].copy()
        log[:, 4:] = np.log(log[:, 4:])
        point = log.mean(axis=0)
        point[4:] = np.exp(point[4:])
        out.append(bowler_at(fitted.center, line, best, point))
    return out


def mean_goals(fitted: Fitted) -> dict[str, float]:
    """The average that the scores say everybody has, by bowler; who has no scores is left out. [pins]"""
    told = {
        line.bowler: goals[np.isfinite(goals)]
        for line, goals in zip(fitted.center.roster, fitted.goals(), strict=True)
    }
    return {name: float(goals.mean()) for name, goals in told.items() if goals.size}


def read_fitted(path: str | PathLike[str], center: Center) -> Fitted:
    """Read ``fitted.json`` of an earlier fit of the same center.

    Raises
    ------
    InputError : not such a file, or its bowlers, hands or styles are not this center's
    """
    place = Path(path)
    try:
        told = json.loads(place.read_text(encoding="utf-8"))
        if told["schema"] != SCHEMA or told["traits"] != list(TRAITS):
            raise ValueError(f"not a fitted roster of this version ({SCHEMA})")
        by_name = {p["bowler"]: p for p in told["bowlers"]}
        people = [by_name[r.bowler] for r in center.roster]
        points = np.array([p["draws"] for p in people], np.float64)
        styles = tuple(tuple(str(s) for s in p["styles"]) for p in people)
        known = tuple(bool(p["known"]) for p in people)
        goals = np.array([p["averages"] for p in people], np.float64)
        held = told.get("conditioners")
        learnt = None if held is None else from_plain(held, center)
    except OSError as fault:
        raise InputError(f"{place}: cannot be read: {fault.strerror or fault}") from None
    except InputError as fault:
        raise InputError(f"{place}: {fault}") from None
    except KeyError as fault:
        raise InputError(f"{place}: does not fit this center: nothing about {fault}") from None
    except (ValueError, TypeError) as fault:
        raise InputError(f"{place}: not a fitted roster: {fault}") from None
    fine = points.ndim == 3 and points.shape[2] == len(TRAITS) and bool(np.isfinite(points).all())
    fine = fine and goals.shape == points.shape[:2]
    if not fine or any(len(s) != points.shape[1] for s in styles):
        raise InputError(f"{place}: not a fitted roster: its draws are not whole")
    strange = sorted({s for names in styles for s in names} - set(center.styles))
    if strange:
        raise InputError(f"{place}: the center has no style {strange[0]}: fit again")
    wrong = [r.bowler for r, p in zip(center.roster, people, strict=True) if p["hand"] != r.hand]
    if wrong:
        raise InputError(f"{place}: the roster says another hand for {wrong[0]}: fit again")
    return Fitted(center, styles, points, known, learnt, goals)


def spread_of(values: Sequence[float] | Array, weight: Array) -> tuple[float, float]:
    """Weighted mean and standard deviation."""
    v = np.asarray(values, np.float64)
    return mean_sd(v, np.zeros_like(v), weight)
