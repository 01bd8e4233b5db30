"""A fast stand-in for the simulation: league figures of a bowler from their traits, its error stated.

Replica leagues of the center's own roster are played at spread-out points; a quadratic in the traits is
fitted to them, style by style.  Does not know any score.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.values import Bowler, Style
from leaguesim.lane.lane import Lane
from leaguesim.play import _kernel
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import Start, make_setting, pairs_of
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE, SCORES
from leaguesim.study.prepare import Ready
from leaguesim.study.traits import ACCURACY, SPARE

Array = NDArray[np.float64]

MEAN, STRIKE, SPARE_RATE, GAME_SD = range(4)
FIGURES = 4  # mean game [pins], strikes a rack, spares a try, sd of games [pins]
FIT_REPLICATE = 3_000_000  # nights of replica leagues are not the study's
RIDGES = (0.03, 0.3, 3.0)


def film_of(made: Ready, condition: str) -> tuple[Lane, Start]:
    """A condition's lane and what its nights start from."""
    c, lane = made.center, made.lane(condition)
    after = c.conditions[condition].after
    return lane, start_of(lane, after, c.styles, c.balls, made.pins, made.seed)


def play_league(
    made: Ready,
    bowlers: Sequence[Bowler],
    films: dict[str, tuple[Lane, Start]],
    nights: int,
    replicate: int,
) -> Array:
    """Play a league of these bowlers under every condition: (conditions, bowlers, FIGURES).

    Bowlers come back in the order given; every condition on the same luck.
    """
    pairs = pairs_of(bowlers)
    settings = [
        make_setting(name, lane, start, pairs, made.pins, made.pool.map, league=made.center.league)
        for name, (lane, start) in films.items()
    ]
    n = len(bowlers)
    plan = Plan(
        settings, pairs, made.pins, made.center.league, np.ones((1, n), np.bool_), made.seed,
        replicate=FIT_REPLICATE + replicate,
    )  # fmt: skip
    totals = play_nights(plan, 0, nights, made.workers)
    order = {b.bowler: k for k, b in enumerate(b for p in pairs for b in p.bowlers)}
    at = np.array([order[b.bowler] for b in bowlers])
    out = np.empty((len(settings), n, FIGURES))
    count = totals.n_counts[:, at].astype(np.float64)
    out[..., MEAN] = totals.average[:, at] / SCALE / totals.nights
    out[..., STRIKE] = count[..., _kernel.STRIKES] / np.maximum(count[..., _kernel.RACKS], 1)
    out[..., SPARE_RATE] = count[..., _kernel.SPARES] / np.maximum(count[..., _kernel.TRIES], 1)
    score = np.arange(SCORES)
    share = totals.n_scores[:, at] / totals.n_scores[:, at].sum(axis=2, keepdims=True)
    mean = (share * score).sum(axis=2)
    out[..., GAME_SD] = np.sqrt(np.maximum((share * score**2).sum(axis=2) - mean**2, 0.0))
    return out


def features(style: Style, left: Array, points: Array) -> Array:
    """(n, k) columns of the quadratic; ``left`` (n,) is 1 for left-handers."""
    spreads = [style.speed_mph, style.rev_rate_rpm, style.axis_rotation_deg, style.axis_tilt_deg]
    z = [(points[:, k] - s.mean) / max(s.sd, 1e-6) for k, s in enumerate(spreads)]
    sd = max(style.accuracy_deg.sd / style.accuracy_deg.mean, 0.05)
    z.append(np.log(points[:, ACCURACY] / style.accuracy_deg.mean) / sd)
    z.append(np.log(points[:, SPARE] / style.spare_accuracy) / 0.15)
    z = [np.clip(v, -3.0, 3.0) for v in z]
    squares = [v * v - 1.0 for v in z]
    crossed = [z[0] * z[1], z[1] * z[2], z[4] * z[5], z[0] * z[4], z[1] * z[4], z[2] * z[4]]
    hand = left - 0.15
    return np.stack([np.ones(len(points)), *z, *squares, *crossed, hand, hand * z[4]], axis=1)


@dataclass(frozen=True)
class Emulator:
    """One style's stand-in: weights (features, outputs) and the covariance of its errors.

    Outputs are conditions x FIGURES in order.  ``error`` comes from points left out one at a time, and
    contains the luck of the few nights that each point was played.
    """

    style: Style
    weights: Array
    error: Array
    points: int

    def __call__(self, left: bool, points: Array) -> Array:
        """(n, outputs) figures at points."""
        x = features(self.style, np.full(len(points), float(left)), points)
        return np.asarray(x @ self.weights)


def learn(style: Style, left: Array, points: Array, played: Array) -> Emulator:
    """Fit one style's stand-in to played points (n, 6) and their figures (n, outputs)."""
    x = features(style, left, points)
    best: tuple[float, Array, Array] | None = None
    for ridge in RIDGES:
        penalty = np.full(x.shape[1], ridge)
        penalty[0] = 1e-6
        inverse = np.linalg.inv(x.T @ x + np.diag(penalty))
        weights = inverse @ x.T @ played
        leverage = np.einsum("ij,jk,ik->i", x, inverse, x)
        out = (played - x @ weights) / np.maximum(1.0 - leverage, 0.05)[:, None]
        size = float((out[:, MEAN::FIGURES] ** 2).mean())
        if best is None or size < best[0]:
            best = (size, weights, out)
    if best is None:
        raise AssertionError
    return Emulator(style, best[1], best[2].T @ best[2] / len(x), len(x))
