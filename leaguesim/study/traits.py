"""What a bowler may be, as points: traits of a style, accuracy and spare skill, spread over their prior.

Turns points into bowlers and back.  Does not weigh them against scores; ``posterior`` does.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.values import Bowler, RosterLine, Spread, Style
from leaguesim.center.values import Center

Array = NDArray[np.float64]

TRAITS = (
    "speed_mph", "rev_rate_rpm", "axis_rotation_deg", "axis_tilt_deg", "accuracy_deg",
    "spare_accuracy",
)  # fmt: skip
ACCURACY, SPARE = 4, 5
SPARE_LOG_SD = 0.15  # spare skill between people of a style: sd of its logarithm (assumed)
UNKNOWN = "unknown"  # what a roster writes where it does not know the style


def _cut(u: Array, spread: Spread) -> Array:
    if spread.sd <= 0.0 or spread.high <= spread.low:
        return np.full(u.shape, min(max(spread.mean, spread.low), spread.high))
    a = ndtr((spread.low - spread.mean) / spread.sd)
    b = ndtr((spread.high - spread.mean) / spread.sd)
    value = spread.mean + spread.sd * ndtri(a + u * (b - a))
    return np.asarray(np.clip(value, spread.low, spread.high))


def points_of(style: Style, line: RosterLine, u: Array) -> Array:
    """(n, 6) points of ``TRAITS`` from (n, 6) uniforms; what the roster gives is the same in all."""
    z_speed, z_rev = ndtri(u[:, 0]), ndtri(u[:, 1])
    rho = style.speed_rev_correlation
    u_rev = ndtr(rho * z_speed + np.sqrt(1.0 - rho * rho) * z_rev)
    out = np.stack(
        [
            _cut(u[:, 0], style.speed_mph),
            _cut(u_rev, style.rev_rate_rpm),
            _cut(u[:, 2], style.axis_rotation_deg),
            _cut(u[:, 3], style.axis_tilt_deg),
            _cut(u[:, 4], style.accuracy_deg),
            style.spare_accuracy * np.exp(SPARE_LOG_SD * ndtri(u[:, 5])),
        ],
        axis=1,
    )
    for k, name in enumerate(TRAITS[:4]):
        given = getattr(line, name)
        if given is not None:
            out[:, k] = given
    return np.asarray(out)


def even_points(n: int, rng: np.random.Generator) -> Array:
    """(n, 6) uniforms spread evenly: a scrambled Sobol sequence, n a power of 2."""
    from scipy.stats import qmc

    u: Array = qmc.Sobol(6, rng=rng).random(n)
    return np.clip(u, 1e-9, 1.0 - 1e-9)


def bowler_at(
    center: Center, line: RosterLine, style: str, point: Sequence[float] | Array
) -> Bowler:
    """The bowler with the traits of a point; no entering average, because the point is what ties."""
    made = draw_bowler(replace(line, style=style), center.styles[style], center.balls, 0)
    traits: dict[str, Any] = {k: float(v) for k, v in zip(TRAITS, point, strict=True)}
    made = made.with_accuracy(traits["accuracy_deg"])
    return replace(made, average=None, **traits)


def candidates(center: Center, line: RosterLine) -> tuple[str, ...]:
    """Styles that a bowler may have: the roster's own, or all where it says unknown."""
    return (line.style,) if line.style in center.styles else tuple(sorted(center.styles))


def style_shares(center: Center, line: RosterLine) -> Array:
    """Prior weights of the candidates: how common each is in the roster, one added to every count."""
    names = candidates(center, line)
    count = np.array([1.0 + sum(r.style == n for r in center.roster) for n in names])
    return np.asarray(count / count.sum())
