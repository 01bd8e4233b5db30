"""A season of scores that invented bowlers would have brought home, as ``scores.csv``.

Sampled games of whole pairs, everybody on the pair's own wear; some are away some nights.  Does not invent
the bowlers.
"""

import csv
import io

import numpy as np

from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Setting, play_block
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, stream
from leaguesim.study.prepare import Ready


def season_csv(
    made: Ready,
    condition: str,
    weeks: int,
    *,
    missed: float,
    first_week: int = 1,
    labelled: bool = False,
    tallies: bool = False,
    replicate: int = 0,
) -> str:
    """Text of ``scores.csv``: a season of the people of a ready center under one condition.

    Parameters
    ----------
    missed : share of nights that a bowler is away
    labelled : with the condition in a column of its own
    tallies : with strikes, spares and opens of a night
    replicate : of the nights' luck
    """
    setting, league = made.setting(condition), made.center.league
    rows: list[list[object]] = []
    for block in range(-(-weeks // NIGHTS_PER_STREAM)):
        first = block * NIGHTS_PER_STREAM
        for k, pair in enumerate(made.pairs):
            scores, counts = _played(made, setting, k, pair, block, weeks - first, replicate)
            for i, b in enumerate(pair.bowlers):
                luck = stream(
                    made.seed, Purpose.CHECK, replicate=1 + block, identity=b.bowler
                ).random(len(scores))
                for week in np.flatnonzero(luck >= missed):
                    rows.append(
                        [first_week + first + int(week), b.bowler, b.team]
                        + [int(s) for s in scores[week, i]]
                        + ([condition] if labelled else [])
                        + (_tallies(counts[week, i]) if tallies else [])
                    )
    rows.sort(key=lambda r: (r[0], str(r[2]), str(r[1])))
    text = io.StringIO()
    head = ["week", "bowler", "team", *(f"game{g + 1}" for g in range(league.games))]
    head += ["condition"] if labelled else []
    head += ["strikes", "spares", "opens"] if tallies else []
    csv.writer(text, lineterminator="\n").writerows([head, *rows])
    return text.getvalue()


def _played(
    made: Ready, setting: Setting, k: int, pair: Pair, block: int, nights: int, replicate: int
) -> "tuple[np.ndarray, np.ndarray]":
    """Sampled games (nights, people, games) and counts of one pair's block."""
    league, own = made.center.league, setting.at(k)
    draws = np.stack(
        [
            night_draws(made.seed, b.bowler, block=block, games=league.games, replicate=replicate)
            for b in pair.bowlers
        ],
        axis=1,
    )[:nights]
    played = play_block(
        own.films_of(block, replicate), own.mix, own.pulls, own.crews[k], made.pins, draws,
        league.games, league.practice_balls,
    )  # fmt: skip
    return played.sampled, played.counts


def _tallies(count: "np.ndarray") -> list[object]:
    """Strikes, spares and opens."""
    return [
        int(count[_kernel.STRIKES]), int(count[_kernel.SPARES]),
        int(count[_kernel.TRIES] - count[_kernel.SPARES]),
    ]  # fmt: skip
