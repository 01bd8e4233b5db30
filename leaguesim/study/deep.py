"""Checks of the model itself on a center's own lanes, balls and people: what must hold exactly, does it?

Conservation of oil, and four symmetries: equal conditions, conditions swapped, the mirror, one thread or two.
A handful of the roster plays a few nights.  Says nothing about whether the figures fit the outside world.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from leaguesim.bowlers.values import RosterLine
from leaguesim.center.lanes import turned
from leaguesim.center.values import Center
from leaguesim.lane.values import Condition, Surface
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Setting, play_block
from leaguesim.run.rounds import Plan, Progress, play_nights, quiet
from leaguesim.run.totals import SCALE, Totals
from leaguesim.study.prepare import Ready, ready

NIGHTS = 4
MOST_BOWLERS = 8
OIL_TOLERANCE = 1e-12  # relative: rounding of some thousand additions in double precision
OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class DeepCheck:
    """One check: its name, whether it held, and what was found in a plain sentence."""

    name: str
    held: bool
    found: str


def deep_checks(
    center: Center, *, seed: int = 1, workers: int | None = None, progress: Progress = quiet
) -> list[DeepCheck]:
    """Conservation and symmetry on a center's own files, in well under a minute.

    Parameters
    ----------
    center : a few bowlers of every style and hand are taken, without their averages
    """
    small = replace(center, roster=some_of(center.roster))
    names = _two(center)
    with ready(small, seed, workers=workers, tie=False, progress=progress) as made:
        settings = [made.setting(n) for n in names]
        plan = _plan(made, settings)
        progress(0, 0, "playing a few nights")
        totals = play_nights(plan, 0, NIGHTS, made.workers)
        out = [*_oil(made, settings), _finite(totals)]
        out.append(_equal(made, settings[0]))
        progress(0, 0, "swapping the conditions")
        out.append(_swapped(made, settings, totals))
        progress(0, 0, "playing on one thread and on two")
        out.append(_threads(plan))
    progress(0, 0, "looking in the mirror")
    out.append(_mirror(small, names, seed, workers, totals))
    return out


def some_of(roster: tuple[RosterLine, ...]) -> tuple[RosterLine, ...]:
    """At most eight people, as many kinds of style and hand as they can hold, no averages."""
    kinds: dict[tuple[str, str], list[RosterLine]] = {}
    for r in roster:
        kinds.setdefault((r.style, r.hand), []).append(replace(r, average=None))
    # Left-handers first: they are the rarer half of what the mirror is about.
    order = sorted(kinds.values(), key=lambda people: (people[0].hand, people[0].style))
    lefts = [k for k in order if k[0].hand == "left"]
    rights = [k for k in order if k[0].hand == "right"]
    chosen: list[RosterLine] = []
    while len(chosen) < min(MOST_BOWLERS, len(roster)):
        for groups in (lefts, rights):
            nonempty = [k for k in groups if k]
            if nonempty and len(chosen) < MOST_BOWLERS:
                chosen.append(nonempty[0].pop(0))
                groups.append(groups.pop(groups.index(nonempty[0])))
    return tuple(chosen)


def _two(center: Center) -> list[str]:
    others = [n for n in sorted(center.conditions) if n != center.today]
    return [center.today, *others[:1]]


def _plan(made: Ready, settings: list[Setting]) -> Plan:
    groups = np.ones((1, len(made.order)), np.bool_)
    return Plan(settings, made.pairs, made.pins, made.center.league, groups, made.seed)


def _oil(made: Ready, settings: list[Setting]) -> Iterator[DeepCheck]:
    """Oil at the start = oil on both lanes at the end + oil that the balls took, for every condition."""
    league = made.center.league
    for s in settings:
        worst = 0.0
        for k, pair in enumerate(made.pairs):
            draws = np.stack(
                [night_draws(made.seed, b.bowler, block=0, games=league.games) for b in pair.bowlers],
                axis=1,
            )[:NIGHTS]  # fmt: skip
            own = s.at(k)
            films = own.films_of(0, 0)
            ends = np.empty((NIGHTS, 2, *films.shape[1:]))
            block = play_block(
                films, own.mix, own.pulls, own.crews[k], made.pins, draws, league.games,
                league.practice_balls, ends=ends,
            )  # fmt: skip
            starts = films[:NIGHTS] if len(films) > 1 else np.repeat(films, NIGHTS, axis=0)
            before = 2.0 * starts[:, :, 1:-1].sum()  # the outermost columns are copies
            gone = abs(before - ends[..., 1:-1].sum() - block.ledger.sum())
            worst = max(worst, gone / before if before else gone)
        yield DeepCheck(
            f"oil on {s.condition}", bool(worst <= OIL_TOLERANCE),
            f"all oil is accounted for, on the lanes or on balls, to {worst:.1e} of it",
        )  # fmt: skip


def _finite(totals: Totals) -> DeepCheck:
    mean = totals.average / SCALE / totals.nights
    fine = bool((mean >= 0).all() and (mean <= 300).all())
    return DeepCheck(
        "scores", fine, f"expected games lie from {mean.min():.0f} to {mean.max():.0f} pins"
    )


def _equal(made: Ready, setting: Setting) -> DeepCheck:
    again = made.line_up(setting.condition)
    totals = play_nights(_plan(made, [setting, again]), 0, NIGHTS, made.workers)
    worst = np.abs(totals.average[0] - totals.average[1]).max() / SCALE / NIGHTS
    return DeepCheck(
        "equal conditions", bool(worst == 0.0),
        f"{setting.condition} against itself, lined up anew, changes an average by {worst:g} pins",
    )  # fmt: skip


def _swapped(made: Ready, settings: list[Setting], totals: Totals) -> DeepCheck:
    other = play_nights(_plan(made, settings[::-1]), 0, NIGHTS, made.workers)
    last = len(settings) - 1
    same = all(
        np.array_equal(totals.average[c], other.average[last - c])
        and np.array_equal(totals.n_scores[c], other.n_scores[last - c])
        for c in range(len(settings))
    )
    word = "flips every sign and nothing else" if same else "gives other figures"
    return DeepCheck("conditions swapped", same, f"asking the other way round {word}")


def _threads(plan: Plan) -> DeepCheck:
    same = _alike(play_nights(plan, 0, NIGHTS, 1), play_nights(plan, 0, NIGHTS, 2))
    word = "the same bytes" if same else "different figures"
    return DeepCheck("one thread or two", same, f"one thread and two give {word}")


def _alike(a: Totals, b: Totals) -> bool:
    return all(np.array_equal(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))


def _mirror(
    center: Center, names: list[str], seed: int, workers: int | None, totals: Totals
) -> DeepCheck:
    with ready(mirrored(center), seed, workers=workers, tie=False) as made:
        seen = play_nights(_plan(made, [made.setting(n) for n in names]), 0, NIGHTS, made.workers)
    same = _alike(totals, seen)
    word = "nothing" if same else "figures that it should not"
    return DeepCheck(
        "the mirror", same, f"hands, oil and tilt seen in a mirror change {word} but the hand"
    )


def mirrored(of: Center) -> Center:
    """A center in a mirror: hands, oil and tilt change sides."""
    return replace(
        of,
        surface=_turned(of.surface),
        surfaces={k: _turned(s) for k, s in of.surfaces.items()},
        lane_states=turned(of.lane_states),
        conditions={k: _seen(c) for k, c in of.conditions.items()},
        styles={
            k: replace(s, left_handed_share=1.0 - s.left_handed_share) for k, s in of.styles.items()
        },
        roster=tuple(replace(r, hand=OTHER[r.hand]) for r in of.roster),
    )


def _turned(surface: Surface) -> Surface:
    return replace(surface, tilt_in=-surface.tilt_in)


def _seen(condition: Condition) -> Condition:
    flip: Callable[[float], float] = lambda board: 40.0 - board  # noqa: E731
    bands = tuple(
        replace(b, from_board=flip(b.to_board), to_board=flip(b.from_board))
        for b in condition.bands
    )
    readings = condition.readings
    if readings is not None:
        readings = replace(readings, board=tuple(flip(b) for b in readings.board))
    return replace(condition, bands=bands, readings=readings)
