"""A center made ready for experiments: bowlers with every trait, pairs, pins, and one setting a condition.

Does not compare anything.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.lineup import Floor, floor_of
from leaguesim.bowlers.values import Bowler
from leaguesim.center.lanes import PairState, pair_state
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Surface
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play.crew import Stance
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import (
    Pair,
    Pins,
    Setting,
    Start,
    make_setting,
    on_own_lanes,
    pairs_of,
    pins_of,
    stance_of,
)
from leaguesim.run.rounds import Plan, Progress, play_nights, quiet, worker_count
from leaguesim.run.totals import SCALE
from leaguesim.study.entering import tie_to_averages

PILOT_NIGHTS = 64


@dataclass
class Ready:
    """What every experiment on a center starts from; settings are made once a condition."""

    center: Center
    seed: int
    pins: Pins
    people: list[Bowler]
    pairs: list[Pair]
    unreached: list[str]
    pool: ThreadPoolExecutor
    workers: int
    surface: Surface
    _settings: dict[str, Setting] = field(default_factory=dict)

    @property
    def order(self) -> list[Bowler]:
        """Bowlers in the order of every array: by pair, in their order of play."""
        return [b for p in self.pairs for b in p.bowlers]

    def lane(self, condition: str) -> Lane:
        """The lane freshly oiled with a condition."""
        return lane_of(self.center, condition, self.surface)

    def setting(self, condition: str) -> Setting:
        """Everybody lined up on a condition, each on their own pair of lanes; made once."""
        if condition not in self._settings:
            self._settings[condition] = self.line_up(condition)
        return self._settings[condition]

    def line_up(self, condition: str) -> Setting:
        """Everybody lined up anew on a condition."""
        made = [
            (self._stand(condition, state, [self.pairs[k] for k in where]), where)
            for state, where in self._lanes()
        ]
        if not self.center.lane_states:
            return made[0][0]
        return on_own_lanes(condition, *self._start(condition), made)

    def on(self, surface: Surface) -> None:
        """Go over to another surface: people stay as they are tied, settings are made anew.

        What center.toml says of single lanes belongs to its own surface: on another one only the film
        factors stay.
        """
        self.surface = surface
        self._settings.clear()

    def _plain(self) -> PairState:
        tilt = self.surface.tilt_in
        return PairState(self.surface, 1.0, (tilt, tilt))

    def _lanes(self) -> list[tuple[PairState, list[int]]]:
        """Pairs of lanes that are alike: how they are, and which (pairs from 0, in order)."""
        center, alike = self.center, dict[PairState, list[int]]()
        own = self.surface == center.surface
        for k in range(len(self.pairs)):
            state = pair_state(center.lane_states, self.surface, k, own=own)
            alike.setdefault(state, []).append(k)
        return list(alike.items())

    def _stand(self, condition: str, state: PairState, pairs: Sequence[Pair]) -> Setting:
        """People lined up on lanes of one kind."""
        lane, start = self._start(condition, state)
        return make_setting(
            condition, lane, start, pairs, self.pins, self.pool.map, tilt_in=state.tilt_in,
            league=self.center.league,
        )  # fmt: skip

    def _start(self, condition: str, state: PairState | None = None) -> tuple[Lane, Start]:
        c, state = self.center, state or self._plain()
        own = replace(c, film_factor=c.film_factor * state.film_factor)
        lane = lane_of(own, condition, state.surface)
        after = c.conditions[condition].after
        return lane, start_of(lane, after, c.styles, c.balls, self.pins, self.seed)

    def tie(self) -> None:
        """Tie bowlers with an entering average to it under today's condition, on their own lanes."""
        tied: dict[str, Bowler] = {}
        unreached: set[str] = set()
        for state, where in self._lanes():
            here = {b.bowler for k in where for b in self.pairs[k].bowlers}
            people, missed = self._tie_on(state, [b for b in self.people if b.bowler in here])
            tied |= {b.bowler: b for b in people}
            unreached |= set(missed)
        self.seat([tied[b.bowler] for b in self.people])
        self.unreached = [b.bowler for b in self.people if b.bowler in unreached]

    def seat(self, people: Sequence[Bowler]) -> None:
        """Go over to other people, or to the same with other traits; settings are made anew."""
        self.people = list(people)
        self.pairs = pairs_of(self.people)
        self._settings.clear()

    def floors(self, condition: str) -> list[tuple[Floor, list[int]]]:
        """The floor that people line up on, for each kind of lanes, and the pairs that have it."""
        made = []
        for state, where in self._lanes():
            lane, start = self._start(condition, state)
            film = np.ascontiguousarray(start.films.mean(axis=0))
            made.append((floor_of(lane, film, start.mix), where))
        return made

    def _tie_on(
        self, state: PairState, people: Sequence[Bowler]
    ) -> tuple[Sequence[Bowler], Sequence[str]]:
        """Tie the people whose lanes are of one kind."""
        if all(b.average is None for b in people):
            return people, []
        today = self.center.today
        lane, start = self._start(today, state)
        floor = floor_of(lane, np.ascontiguousarray(start.films.mean(axis=0)), start.mix)

        def pilot(bowlers: Sequence[Bowler]) -> dict[str, float]:
            pairs = pairs_of(bowlers)
            setting = make_setting(
                today, lane, start, pairs, self.pins, self.pool.map, tilt_in=state.tilt_in,
                league=self.center.league,
            )  # fmt: skip
            n = sum(len(p.bowlers) for p in pairs)
            plan = Plan(
                [setting], pairs, self.pins, self.center.league, np.ones((1, n), bool), self.seed,
                replicate=PILOT_REPLICATE,
            )  # fmt: skip
            totals = play_nights(plan, 0, PILOT_NIGHTS, self.workers)
            means = totals.average[0] / SCALE / totals.nights
            return {b.bowler: float(m) for b, m in zip(_order(pairs), means, strict=True)}

        def stand(bowlers: Sequence[Bowler]) -> dict[str, Stance]:
            made = self.spread(lambda b: stance_of(b, floor, self.pins), bowlers)
            return {s.bowler.bowler: s for s in made}

        return tie_to_averages(people, stand, pilot, floor, self.pins, self.spread)

    def spread(self, function: Callable[[Any], Any], items: Iterable[Any]) -> list[Any]:
        """``map`` over the threads, in order."""
        return list(self.pool.map(function, items))


PILOT_REPLICATE = 1_000_000  # the pilot's nights are not the study's


def _order(pairs: Sequence[Pair]) -> list[Bowler]:
    return [b for p in pairs for b in p.bowlers]


def lane_of(center: Center, condition: str, surface: Surface | None = None) -> Lane:
    """A lane of a center freshly oiled with one of its conditions.

    Raises
    ------
    InputError : the center has no such condition
    """
    if condition not in center.conditions:
        raise InputError(
            f"{condition}: no such condition; there are {', '.join(center.conditions)}"
        )
    return Lane.from_condition(
        center.conditions[condition],
        center.conditioners,
        surface=surface or center.surface,
        temperature_c=center.temperature_c,
        constants=center.friction,
        film_factor=center.film_factor,
        blend_z=center.blend_z,
    )


@contextmanager
def ready(
    center: Center,
    seed: int,
    *,
    workers: int | None = None,
    tie: bool = True,
    progress: Progress = quiet,
) -> Iterator[Ready]:
    """A center ready for experiments, with its threads, which end with the block."""
    count = worker_count(workers)
    strange = [r.bowler for r in center.roster if r.style not in center.styles]
    if strange:
        raise InputError(
            f"{center.name}: the style of {strange[0]} is unknown: leaguesim fit weighs it from scores"
        )
    people = [draw_bowler(r, center.styles[r.style], center.balls, seed) for r in center.roster]
    if not people:
        raise InputError(f"{center.name}: the roster is empty")
    pool = ThreadPoolExecutor(count)
    try:
        progress(0, 0, "getting the bowlers ready")
        made = Ready(
            center, seed, pins_of(CarryLibrary.load()), people, pairs_of(people), [], pool, count,
            center.surface,
        )  # fmt: skip
        if tie:
            progress(0, 0, "tying bowlers to their averages")
            made.tie()
        yield made
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
