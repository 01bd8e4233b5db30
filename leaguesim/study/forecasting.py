"""The change of condition played again on many centers that the center might really be.

Every point of the outer sample plays a few nights of both conditions on the same luck; points have luck
of their own, so that it can be taken off again.  Lanes that differ from each other are as center.toml says.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.doubt import RowLaws, row_laws
from leaguesim.play.setting import pins_of
from leaguesim.run.engine import current, using
from leaguesim.run.rounds import Plan, Progress, check_nights, play_nights, quiet, worker_count
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.forecastresult import ForecastResult
from leaguesim.study.happy import band_of, judge, measures, norms
from leaguesim.study.intervals import change_se
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.retying import tie_again
from leaguesim.study.unknowns import Unknowns, draw_unknowns, styled, traits_of

if TYPE_CHECKING:
    from leaguesim.study.posterior import Fitted

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST, MOST = 4, 1024
UNKNOWNS = 128
NIGHTS = 32
AT_HOME = "today/at home"  # today on the center's own surface; no file can be called so


@dataclass(frozen=True)
class Outcomes:
    """What every point gave: (points, ...) arrays, bowlers in the order of ``people``.

    ``change``, ``square`` its Monte Carlo variance and ``average`` (points, 2, ...) over bowlers, then
    groups; ``happy`` (points, 2) shares; ``scores`` (points, 2, bowlers, 301); ``traits``.
    """

    people: list[tuple[str, str, str, str]]
    members: NDArray[np.bool_]
    names: tuple[str, ...]
    change: Array
    square: Array
    average: Array
    happy: Array
    scores: Ints
    traits: Array


def forecast(
    center: Center,
    *,
    now: str,
    next: str,  # noqa: A002 - the users' own word for the condition that may come
    fitted: "Fitted | None" = None,
    seed: int | None = None,
    unknowns: int = UNKNOWNS,
    nights: int = NIGHTS,
    workers: int | None = None,
    progress: Progress = quiet,
) -> ForecastResult:
    """What changes from condition ``now`` to ``next``, with all that is not known drawn from its doubt.

    Parameters
    ----------
    fitted : what ``study.read_fitted`` or ``study.fit(...).fitted`` gave: bowlers are drawn from their
        posteriors; None: from their styles.  Either way they are tied to their averages anew at every point
    unknowns : points of the outer sample, a scrambled Sobol sequence; 128 and other powers of two are
        the most even
    nights : league nights a point, each under both conditions

    Raises
    ------
    InputError : no such condition, or unknowns (4 to 1024), nights, workers or seed out of range
    """
    from leaguesim.center import find_condition
    from leaguesim.study.forecasttold import told

    for name in (now, next):
        find_condition(center, name)
    if not FEWEST <= unknowns <= MOST:
        raise InputError(
            f"unknowns: a whole number from {FEWEST} to {MOST} is needed, got {unknowns}"
        )
    check_nights(nights)
    if nights < 2:
        raise InputError("nights: at least 2 a point are needed, or luck cannot be told")
    worker_count(workers)
    seed = new_seed() if seed is None else check_seed(seed)
    center = styled(center, fitted)
    sample = draw_unknowns(center, (now, next, center.today), unknowns, seed, fitted)
    with using(replace(current(), keep=None, shard=None, joined=None)):
        outcomes = _outcomes(sample, (now, next), nights, workers, progress)
    progress(0, 0, "weighing what is not known")
    return told(
        center, sample, outcomes, (now, next), seed=seed, nights=nights, fitted=fitted is not None
    )


@lru_cache(maxsize=1)
def _shipped() -> tuple[CarryLibrary, RowLaws]:
    """The shipped carry library and the laws of its shots."""
    library = CarryLibrary.load()
    return library, row_laws(library)


def _outcomes(
    sample: Unknowns, asked: tuple[str, str], nights: int, workers: int | None, progress: Progress
) -> Outcomes:
    rows: list[dict[str, Any]] = []
    count = len(sample.seeds)
    styles = {r.bowler: r.style for r in sample.center.roster}
    names = ("league", *sorted(set(styles.values())))
    library, laws = _shipped()
    for k, seed in enumerate(sample.seeds):
        progress(k, count, "points of what is not known")
        with ready(sample.center_at(k), seed, workers=workers, tie=False) as made:
            made.pins = pins_of(sample.library_at(k, library, laws))
            made.seat(sample.rosters[k])
            drawn = traits_of(made.order)  # what is not known of them; the tie follows from it
            if sample.goals is None:
                made.tie()
            else:
                tie_again(made, sample.goals_at(k))
            members = np.array(
                [[n in ("league", styles[b.bowler]) for b in made.order] for n in names]
            )
            rows.append(_played(made, asked, members, nights) | {"traits": drawn})
    progress(count, count, "points of what is not known")
    who = {r.bowler: (r.bowler, r.team, r.style, r.hand) for r in sample.center.roster}
    return Outcomes(
        [who[b.bowler] for b in made.order], members, names,
        **{name: np.stack([r[name] for r in rows]) for name in rows[0]},
    )  # fmt: skip


def _played(
    made: Ready, asked: tuple[str, str], members: NDArray[np.bool_], nights: int
) -> dict[str, Any]:
    """A few nights of both conditions at one point."""
    names = list(dict.fromkeys([*asked, made.center.today]))
    home = made.setting(made.center.today)
    if made.center.played_on:
        made.on(made.center.surfaces[made.center.played_on])
        names = [*dict.fromkeys(asked), AT_HOME]
    home_name = AT_HOME if AT_HOME in names else made.center.today
    settings = {n: home if n == AT_HOME else made.setting(n) for n in names}
    plan = Plan(
        [settings[n] for n in names], made.pairs, made.pins, made.center.league, members, made.seed
    )
    totals = play_nights(plan, 0, nights, made.workers)
    at = [names.index(n) for n in asked]
    own = _change(totals.average, totals.square, at, nights)
    groups = _change(totals.group, totals.group_square, at, nights)
    both = [np.concatenate(p) for p in zip(own, groups, strict=True)]
    return {
        "change": both[0],
        "square": both[1] ** 2,
        "average": np.concatenate([totals.average[at], totals.group[at]], axis=1) / SCALE / nights,
        "happy": _happy(made, totals, at, names.index(home_name)),
        "scores": totals.n_scores[at],
    }


def _change(total: Ints, square: Ints, at: list[int], nights: int) -> tuple[Array, Array]:
    a, b = at
    return change_se(total[a], total[b], square[a, a], square[b, b], square[a, b], nights)


def _happy(made: Ready, totals: Totals, at: list[int], today_at: int) -> Array:
    """Shares kept happy under both conditions, thresholds tied to today's as ``compare`` does."""
    limits, today = made.center.thresholds, measures(totals, today_at)
    entering = np.array([np.nan if b.average is None else b.average for b in made.order])
    unreached = np.isin([b.bowler for b in made.order], made.unreached)
    reference = np.where(np.isnan(entering) | unreached, today.average, entering)
    usual = norms(today, band_of(reference), limits)
    out = []
    for c in at:
        happy = judge(measures(totals, c), reference, usual, limits).happy
        known = np.isfinite(happy)
        out.append(float(happy[known].mean()) if known.any() else float("nan"))
    return np.array(out)
