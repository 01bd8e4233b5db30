"""How a night wears a condition: the mean film after each game, for a picture of it.

Eight bowlers of the roster's styles and hands, each with the middle traits of their style, play a few
nights from the film the look shows, with a line for each game as in the league.  No result uses these
nights; the league's own wear is played in ``compare``.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.ball.path import side_pull
from leaguesim.bowlers.lineup import floor_of
from leaguesim.lane.lane import Lane
from leaguesim.play.crew import Stance, crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import play_block
from leaguesim.play.transition import Ground, look_ahead
from leaguesim.study.prepare import Ready
from leaguesim.units import BOARDS, CELLS_FT, UNIT_M

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
K = TypeVar("K", str, tuple[str, str])

PLAYERS = 8  # two teams of four on a pair
WORN_NIGHTS = 16
WORN_REPLICATE = 3_000_000  # nights of their own, nobody else's luck


def seats(counts: Mapping[tuple[str, str], int], places: int = PLAYERS) -> list[tuple[str, str]]:
    """A small crew in the shares of a roster: first of its hands, then of each hand's styles.

    Hand by hand, for the few left-handers of each style alone would never get a place, and the left side
    of the lane would show no wear that they do.

    Parameters
    ----------
    counts : bowlers by (style, hand)

    >>> seats({("stroker", "right"): 6, ("power", "left"): 2}, 4)
    [('power', 'left'), ('stroker', 'right'), ('stroker', 'right'), ('stroker', 'right')]
    """
    hands: Counter[str] = Counter()
    for (_, hand), n in counts.items():
        hands[hand] += n
    crew: list[tuple[str, str]] = []
    for hand, room in _shared(hands, places).items():
        mine = {kind: n for kind, n in counts.items() if kind[1] == hand}
        crew += [kind for kind, n in _shared(mine, room).items() for _ in range(n)]
    return sorted(crew)


def _shared(counts: Mapping[K, int], places: int) -> dict[K, int]:
    """Places in the shares of counts, largest remainder first, then the larger count, then by name."""
    total = sum(counts.values())
    wanted = {kind: places * n / total for kind, n in sorted(counts.items())}
    got = {kind: int(w) for kind, w in wanted.items()}
    rest = sorted(wanted, key=lambda kind: (got[kind] - wanted[kind], -counts[kind], kind))
    for kind in rest[: places - sum(got.values())]:
        got[kind] += 1
    return got


def worn_films(
    made: Ready,
    condition: str,
    lane: Lane,
    film: Array,
    mix: NDArray[np.int8],
    stances: Mapping[tuple[str, str], Stance],
) -> "pd.DataFrame":
    """Film after each game of a night, mean of both lanes and of 16 nights (tables.WORN_CELLS).

    Parameters
    ----------
    lane, film, mix : what a night starts from; film in m, (63, 41)
    stances : the middle bowler of each (style, hand) of the roster, lined up
    """
    league = made.center.league
    crew = seats(Counter((r.style, r.hand) for r in made.center.roster))
    sides = [k % 2 for k in range(len(crew))]
    pulls = np.full(2, side_pull(lane.tilt_in))
    people = [_named(stances[kind], k) for k, kind in enumerate(crew)]
    ground = Ground(floor_of(lane, film, mix), pulls, made.pins, league)
    (people,) = look_ahead([(people, sides)], ground)
    ready = crew_of(people, sides, lane)
    draws = np.stack(
        [
            night_draws(
                made.seed, s.bowler.bowler, block=0, games=league.games, replicate=WORN_REPLICATE
            )[:WORN_NIGHTS]
            for s in people
        ],
        axis=1,
    )  # fmt: skip
    films = [film]
    for games in range(1, league.games + 1):
        ends = np.empty((WORN_NIGHTS, 2, *film.shape))
        play_block(
            film[None], mix, pulls, ready, made.pins, draws, games, league.practice_balls, ends=ends
        )
        films.append(ends.mean(axis=(0, 1)))
    return _rows(condition, films)


def _named(stance: Stance, k: int) -> Stance:
    """The style's middle bowler on one of the seats: luck goes by name, and each seat has its own."""
    b = stance.bowler
    return replace(stance, bowler=replace(b, bowler=f"a look, {b.style}, {b.hand}, {k}"))


def _rows(condition: str, films: list[Array]) -> "pd.DataFrame":
    feet, boards = np.meshgrid(np.arange(CELLS_FT) + 0.5, np.arange(1, BOARDS + 1), indexing="ij")
    size = feet.size
    units = [f[:CELLS_FT, 1:-1].ravel() / UNIT_M for f in films]
    return tables.frame(
        tables.WORN_CELLS,
        {
            "condition": [condition] * (size * len(films)),
            "game": np.repeat(np.arange(len(films)), size).tolist(),
            "distance_ft": feet.ravel().tolist() * len(films),
            "board": boards.ravel().tolist() * len(films),
            "film_units": np.concatenate(units).tolist(),
        },
    )
