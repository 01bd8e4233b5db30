"""Averages and lines by game of the night, for everybody and now and next, from a run's totals.

Kept happy is a measure of whole nights: by game only its first part, the average, can be told.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.bowlers.values import Bowler
from leaguesim.run.totals import SCALE, Totals


def game_table(
    people: Sequence[Bowler],
    totals: Totals,
    at: Mapping[str, int],
    reference: NDArray[np.float64],
    most_below: float,
) -> Any:
    """Everybody's games (tables.GAMES).

    Parameters
    ----------
    at : where "now" and "next" stand in the totals
    reference : (n,) average that somebody is held against [pins]
    most_below : how far below it an average may lie [pins]
    """
    data: dict[str, list[Any]] = {name: [] for name in tables.GAMES}
    for side, c in at.items():
        average = totals.game[c] / SCALE / totals.nights
        moved = totals.lines[c] / SCALE / totals.nights
        for g in range(average.shape[1]):
            data["bowler"] += [b.bowler for b in people]
            data["style"] += [b.style for b in people]
            data["condition"] += [side] * len(people)
            data["game"] += [g + 1] * len(people)
            data["average"] += average[:, g].tolist()
            data["held"] += (average[:, g] >= reference - most_below).tolist()
            data["moved"] += moved[:, g].tolist()
    return tables.frame(tables.GAMES, data)
