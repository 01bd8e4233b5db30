"""The outer sample of a forecast: what is not known about a center, as points of the unit cube.

Axes are conditioners, blends, machine, lanes and friction constants (``center.dimensions``), the pins'
parameters, the form of the friction model, and each bowler's draw.  Does not play.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.values import Bowler
from leaguesim.center.priors import (
    BLEND,
    LANE_GROUP,
    MACHINE_GROUP,
    MODEL_GROUP,
    dimensions,
    other_form,
    perturbed,
)
from leaguesim.center.values import Center
from leaguesim.pins import doubt
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.runs import RANGES
from leaguesim.streams import Purpose, stream
from leaguesim.study.learnt import Learnt
from leaguesim.study.posterior import goal_draws, posterior_draws

if TYPE_CHECKING:
    from leaguesim.study.posterior import Fitted

Array = NDArray[np.float64]

BOWLERS, CONDITIONERS, BLENDS, MACHINE, LANES, FRICTION, CARRY, FORM = range(8)
GROUPS = (
    "bowlers", "conditioners", "blend", "application", "lane and temperature",
    "friction constants", "carry of the pins", "form of the friction model",
)  # fmt: skip
_GROUP = {"blends": BLENDS, MACHINE_GROUP: MACHINE, LANE_GROUP: LANES, MODEL_GROUP: FRICTION}
_CUBE, _SEEDS, _INDEX = 20, 21, 22  # replicates of streams
_CLIP = 2.0**-40


@dataclass(frozen=True)
class Unknowns:
    """A scrambled Sobol sample of a center: ``cube`` (n, d), ``rosters`` n lists, ``seeds`` (n,).

    ``group`` (d,) says which of ``GROUPS`` each axis belongs to; nobody's axis is the bowlers'.
    ``learnt``: what a fit knows of conditioners; points of the cube are moved to it.  ``goals`` (n,
    bowlers): averages that a fit gives them, NaN where it knows none; None without a fit. [pins]
    """

    center: Center
    conditions: tuple[str, ...]
    cube: Array
    group: tuple[int, ...]
    rosters: list[list[Bowler]]
    seeds: tuple[int, ...]
    learnt: Learnt | None = None
    goals: Array | None = None

    def goals_at(self, k: int) -> dict[str, float]:
        """Averages that bowlers are to be tied to at one point, by name. [pins]"""
        if self.goals is None:
            return {}
        named = zip((b.bowler for b in self.rosters[k]), self.goals[k].tolist(), strict=True)
        return {name: goal for name, goal in named if np.isfinite(goal)}

    def center_at(self, k: int) -> Center:
        """The center of one point, its friction in one form or the other."""
        own = len(self.group) - len(RANGES) - 1
        point = self.cube[k : k + 1, :own]
        if self.learnt is not None:
            names = [d.name for d in dimensions(self.center, self.conditions)]
            point = self.learnt.moved(names, point)
        made = perturbed(self.center, point[0], self.conditions)
        return other_form(made) if self.cube[k, -1] >= 0.5 else made

    def library_at(self, k: int, library: CarryLibrary, laws: doubt.RowLaws) -> CarryLibrary:
        """The carry library of one point."""
        levels = 2.0 * self.cube[k, -1 - len(RANGES) : -1] - 1.0
        return doubt.perturbed(library, levels, laws=laws)

    def columns(self, traits: Array) -> tuple[Callable[[Array], Array], Array, tuple[int, ...]]:
        """How uniforms become an emulator's columns, those of the sample, and groups of the uniforms.

        Parameters
        ----------
        traits : (n, t) the bowlers' traits at each point; one more uniform, the last, picks a row
        """
        spread = traits.std(axis=0)
        z = (traits - traits.mean(axis=0)) / np.where(spread > 0.0, spread, 1.0)

        def both(u: Array, people: Array) -> Array:
            return np.concatenate([_even(u), people], axis=1)

        def of(u: Array) -> Array:
            row = np.minimum((u[:, -1] * len(z)).astype(np.int64), len(z) - 1)
            return both(u[:, :-1], z[row])

        return of, both(self.cube, z), (*self.group, BOWLERS)


def _even(u: Array) -> Array:
    """Normal deviates of the center's axes, pins' levels and form as they are, all of variance 1."""
    own = u.shape[1] - len(RANGES) - 1
    normal = ndtri(np.clip(u[:, :own], _CLIP, 1.0 - _CLIP))
    levels = np.sqrt(3.0) * (2.0 * u[:, own:-1] - 1.0)
    form = np.where(u[:, -1:] >= 0.5, 1.0, -1.0)
    return np.concatenate([normal, levels, form], axis=1)


def draw_unknowns(
    center: Center, conditions: Sequence[str], n: int, seed: int, fitted: "Fitted | None"
) -> Unknowns:
    """A sample of n points; without a fit bowlers are drawn from their styles, each point anew."""
    asked = tuple(dict.fromkeys(conditions))
    axes = dimensions(center, asked)
    group = [_GROUP.get(a.group, BLENDS if a.name == BLEND else CONDITIONERS) for a in axes]
    group += [CARRY] * len(RANGES) + [FORM]
    sobol = qmc.Sobol(
        len(group), scramble=True, rng=stream(seed, Purpose.BOOTSTRAP, replicate=_CUBE)
    )
    cube = sobol.random_base2(max(n - 1, 1).bit_length())[:n]
    rng = stream(seed, Purpose.BOOTSTRAP, replicate=_SEEDS)
    seeds = tuple(int(s) for s in rng.integers(0, 2**63, n))
    goals = None
    if fitted is not None:
        rosters, goals = posterior_draws(fitted, n, seed), goal_draws(fitted, n, seed)
    else:
        rosters = [
            [draw_bowler(r, center.styles[r.style], center.balls, s) for r in center.roster]
            for s in seeds
        ]
    learnt = None if fitted is None else fitted.learnt
    return Unknowns(center, asked, cube, tuple(group), rosters, seeds, learnt, goals)


def index_stream(seed: int) -> np.random.Generator:
    """The generator of the samples that indices are taken from."""
    return stream(seed, Purpose.BOOTSTRAP, replicate=_INDEX)


def traits_of(people: Sequence[Bowler]) -> Array:
    """(bowlers, 5): logs of accuracy and of spare accuracy, speed, revs, rotation."""
    return np.array(
        [
            [np.log(b.accuracy_deg), np.log(b.spare_accuracy), b.speed_mph, b.rev_rate_rpm,
             b.axis_rotation_deg]
            for b in people
        ]
    )  # fmt: skip


def styled(center: Center, fitted: "Fitted | None") -> Center:
    """The center with the likeliest style where the roster leaves it open and a fit has weighed it."""
    if fitted is None:
        return center
    lines = []
    for line, names in zip(center.roster, fitted.styles, strict=True):
        best = max(sorted(set(names)), key=list(names).count)
        lines.append(line if line.style in center.styles else replace(line, style=best))
    return replace(center, roster=tuple(lines))
