"""The same person thrown with either hand on the roster's real traffic, and the mirror as a control.

Everything else of a night stays: luck, partners, their hands and the oil they wear.  Does not judge.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.lineup import floor_of
from leaguesim.bowlers.values import Bowler
from leaguesim.center.lanes import turned
from leaguesim.center.values import Center
from leaguesim.lane.values import Condition, Readings
from leaguesim.play.crew import crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Setting, pairs_of, play_block, stance_of
from leaguesim.play.transition import Ground, look_ahead
from leaguesim.run.rounds import Plan, Progress, play_nights, quiet
from leaguesim.streams import NIGHTS_PER_STREAM
from leaguesim.study.prepare import Ready

Array = NDArray[np.float64]

OTHER = {"left": "right", "right": "left"}
CONTROL_NIGHTS = 32


def other_hand(bowler: Bowler) -> Bowler:
    """The same person with the other hand."""
    return replace(bowler, hand=OTHER[bowler.hand])


def twin_gaps(made: Ready, name: str, nights: int, progress: Progress = quiet) -> Array:
    """Average as a left-hander less average as a right-hander, one bowler turned at a time. [pins]

    Parameters
    ----------
    name : condition

    Returns
    -------
    (n,) in the order of ``made.order``
    """
    setting = made.setting(name)
    own = [setting.at(k) for k in range(len(made.pairs))]
    floors = [
        floor_of(s.lane, np.ascontiguousarray(s.films.mean(axis=0)), s.mix)
        for s in (own if setting.apart else own[:1])
    ]
    who = [(b, floors[k % len(floors)]) for k, p in enumerate(made.pairs) for b in p.bowlers]
    lined_up = made.spread(lambda t: stance_of(other_hand(t[0]), t[1], made.pins), who)
    twin = {s.bowler.bowler: s for s in lined_up}
    tasks: list[tuple[int, str | None]] = [(p, None) for p in range(len(made.pairs))]
    tasks += [(p, b.bowler) for p, pair in enumerate(made.pairs) for b in pair.bowlers]
    done = [0]

    def play(task: tuple[int, str | None]) -> Array:
        pair, turned_one = task
        people = made.pairs[pair].bowlers
        stances = [
            twin[b.bowler] if b.bowler == turned_one else setting.stances[b.bowler] for b in people
        ]
        if turned_one is not None:
            ground = Ground(
                floors[pair % len(floors)], own[pair].pulls, made.pins, made.center.league
            )
            group = (stances, made.pairs[pair].sides)
            stances = look_ahead([group], ground, only=[turned_one])[0]
        sums = _played(made, own[pair], pair, stances, nights)
        done[0] += 1
        progress(done[0], len(tasks), f"the same people with the other hand, {name}")
        return sums

    played = made.spread(play, tasks)
    base = np.concatenate(played[: len(made.pairs)])
    turned_means = np.empty(base.size)
    for k, (b, means) in enumerate(zip(made.order, played[len(made.pairs) :], strict=True)):
        place = [x.bowler for x in _pair_of(made, b)].index(b.bowler)
        turned_means[k] = means[place]
    left = np.array([b.hand == "left" for b in made.order])
    return np.where(left, base - turned_means, turned_means - base)


def _pair_of(made: Ready, bowler: Bowler) -> tuple[Bowler, ...]:
    return next(p.bowlers for p in made.pairs if bowler in p.bowlers)


def _played(made: Ready, setting: Setting, pair: int, stances: list, nights: int) -> Array:  # type: ignore[type-arg]
    """Mean exact game of a pair's bowlers over so many nights, (n,). [pins]"""
    people, league = made.pairs[pair], made.center.league
    crew = crew_of(stances, people.sides, setting.lane)
    total = np.zeros(len(people.bowlers))
    for first in range(0, nights, NIGHTS_PER_STREAM):
        block, count = first // NIGHTS_PER_STREAM, min(NIGHTS_PER_STREAM, nights - first)
        draws = np.stack(
            [
                night_draws(made.seed, b.bowler, block=block, games=league.games)
                for b in people.bowlers
            ],
            axis=1,
        )[:count]
        got = play_block(
            setting.films_of(block, 0), setting.mix, setting.pulls, crew, made.pins, draws,
            league.games, league.practice_balls, wears=setting.wears,
        )  # fmt: skip
        total += got.exact.mean(axis=2).sum(axis=0)
    return total / nights


def mirrored_condition(condition: Condition) -> Condition:
    """The same oil seen from the pins: boards counted from the other edge."""
    bands = tuple(
        replace(b, from_board=40 - b.to_board, to_board=40 - b.from_board) for b in condition.bands
    )
    r = condition.readings
    readings = None
    if r is not None:
        readings = Readings(r.distance_ft, tuple(40 - b for b in r.board), r.units, r.shares)
    return replace(condition, bands=bands, readings=readings)


def mirrored_center(center: Center) -> Center:
    """The same house in a mirror: tilt, conditions, earlier players' hands and the roster's."""
    return replace(
        center,
        surface=replace(center.surface, tilt_in=-center.surface.tilt_in),
        lane_states=turned(center.lane_states),
        conditions={k: mirrored_condition(c) for k, c in center.conditions.items()},
        styles={
            k: replace(s, left_handed_share=1.0 - s.left_handed_share)
            for k, s in center.styles.items()
        },
        roster=tuple(replace(r, hand=OTHER[r.hand]) for r in center.roster),
    )


@dataclass(frozen=True)
class Control:
    """The mirrored run against the plain one; both figures must be exactly zero."""

    nights: int
    largest_gap: float
    bowlers_off: int


def mirror_control(made: Ready, name: str) -> Control:
    """Play one condition and its mirror image with everybody's hand turned: the gap must be zero."""
    people = [other_hand(b) for b in made.people]
    surface = replace(made.surface, tilt_in=-made.surface.tilt_in)
    image = replace(
        made, center=mirrored_center(made.center), people=people, pairs=pairs_of(people),
        surface=surface, _settings={},
    )  # fmt: skip
    means = []
    for side in (made, image):
        plan = Plan(
            [side.setting(name)], side.pairs, side.pins, side.center.league,
            np.ones((1, len(people)), np.bool_), side.seed,
        )  # fmt: skip
        totals = play_nights(plan, 0, CONTROL_NIGHTS, side.workers)
        means.append(totals.average[0])
    gap = np.abs(means[0] - means[1])
    return Control(CONTROL_NIGHTS, float(gap.max() / 2**20 / CONTROL_NIGHTS), int((gap > 0).sum()))
