"""Earlier play: what open play or another league leaves on the lanes before the night.

The same drawn bowlers play a session of its own before every night; who else might have come is not
varied.  Does not play the league.
"""

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
from leaguesim.ball.values import Ball
from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.lineup import floor_of
from leaguesim.bowlers.values import Bowler, RosterLine, Style
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import EarlierPlay
from leaguesim.play.crew import crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pins, Start, play_block, stance_of
from leaguesim.play.transition import Ground, look_ahead
from leaguesim.play.values import LeagueFormat
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, stream

Array = NDArray[np.float64]

CREW_SIZES = (12, 8, 6, 4, 2)
LINE_UP_REPLICATE = 2_000_000  # the sessions people line up after are not the nights' own
KEPT_BLOCKS = 8


class Sessions:
    """Films that nights start from, by block of 32 nights: called with (block, replicate).

    Every pair of lanes meets the same session on the same night.  The last few blocks are kept.
    """

    def __init__(
        self, lane: Lane, crew: Sequence[Bowler], games: int, pins: Pins, seed: int
    ) -> None:
        self._film, self._mix = kernel_film(lane)
        self._pulls = np.full(2, side_pull(lane.tilt_in))
        self._names = [b.bowler for b in crew]
        self._games, self._pins, self._seed = games, pins, seed
        floor = floor_of(lane, self._film, self._mix)
        stances = [stance_of(b, floor, pins) for b in crew]
        sides = [i % 2 for i in range(len(crew))]
        ground = Ground(floor, self._pulls, pins, LeagueFormat(games=games, practice_balls=0))
        (ahead,) = look_ahead([(stances, sides)], ground)
        self._crew = crew_of(ahead, sides, lane)
        self._lock = Lock()
        self._kept: OrderedDict[tuple[int, int], Array] = OrderedDict()

    def __call__(self, block: int, replicate: int) -> Array:
        """(32, 63, 41) films [m]; computed once, whoever asks first."""
        key = (block, replicate)
        with self._lock:
            if key not in self._kept:
                self._kept[key] = self._play(block, replicate)
                while len(self._kept) > KEPT_BLOCKS:
                    self._kept.popitem(last=False)
            return self._kept[key]

    @property
    def identity(self) -> tuple[Any, ...]:
        """All that the films depend on."""
        crew = (self._crew.crew, self._crew.covers)
        held = (self._pins.arrays, self._pins.leave_index)
        return (
            self._film, self._mix, self._pulls, self._names, self._games, self._seed, crew, held,
        )  # fmt: skip

    def __getstate__(self) -> dict[str, Any]:
        """What another process needs: neither the lock nor the films kept."""
        return {k: v for k, v in self.__dict__.items() if k not in ("_lock", "_kept")}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self._lock = Lock()
        self._kept = OrderedDict()

    def _play(self, block: int, replicate: int) -> Array:
        draws = [
            night_draws(
                self._seed, name, block=block, games=self._games, replicate=replicate,
                purpose=Purpose.EARLIER_PLAY,
            )
            for name in self._names
        ]  # fmt: skip
        ends = np.empty((NIGHTS_PER_STREAM, 2, *self._film.shape))
        play_block(
            self._film[None], self._mix, self._pulls, self._crew, self._pins,
            np.stack(draws, axis=1), self._games, 0, ends=ends,
        )  # fmt: skip
        return np.ascontiguousarray(ends[:, 0])


def start_of(
    lane: Lane,
    earlier: EarlierPlay | None,
    styles: Mapping[str, Style],
    balls: Mapping[str, Ball],
    pins: Pins,
    seed: int,
) -> Start:
    """What nights on a lane start from: one fresh film, or a session of earlier play each."""
    film, mix = kernel_film(lane)
    if earlier is None or earlier.games_per_lane == 0:
        return Start(film[None], mix)
    size = next(n for n in CREW_SIZES if (2 * earlier.games_per_lane) % n == 0)
    crew = earlier_crew(earlier, styles, balls, size, seed)
    sessions = Sessions(lane, crew, 2 * earlier.games_per_lane // size, pins, seed)
    return Start(sessions(0, LINE_UP_REPLICATE), mix, sessions)


def earlier_crew(
    earlier: EarlierPlay,
    styles: Mapping[str, Style],
    balls: Mapping[str, Ball],
    size: int,
    seed: int,
) -> list[Bowler]:
    """The drawn bowlers of earlier play; the shares of styles are filled largest remainder first."""
    wanted = [(share * size, name) for name, share in sorted(earlier.styles)]
    counts = {name: int(w) for w, name in wanted}
    rest = sorted(wanted, key=lambda t: (-(t[0] - int(t[0])), t[1]))
    for _, name in rest[: size - sum(counts.values())]:
        counts[name] += 1
    names = [name for name, n in sorted(counts.items()) for _ in range(n)]
    crew = []
    for k, name in enumerate(names):
        who = f"earlier play, {name}, {k}"
        u = stream(seed, Purpose.EARLIER_PLAY, identity=who + ", hand").random()
        hand = "left" if u < styles[name].left_handed_share else "right"
        crew.append(draw_bowler(RosterLine(who, "", hand, name), styles[name], balls, seed))
    return crew
