"""Integer accumulators of a run: order, blocks and workers cannot change them, memory is flat.

Float measures enter as fixed point of 2**-20 a night.  Does not interpret: the study room does.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import NumberError
from leaguesim.play._kernel import TURN_UNIT
from leaguesim.play.setting import Block

Ints = NDArray[np.int64]

POINT = 20
SCALE = float(1 << POINT)
SCORES = 301


def fixed(values: NDArray[np.float64], what: str) -> Ints:
    """Fixed point of 2**-20; NumberError names what was not finite."""
    if not np.isfinite(values).all():
        raise NumberError(f"{what}: a value is not a finite number")
    return np.rint(values * SCALE).astype(np.int64)


def product(a: Ints, b: Ints) -> Ints:
    """Product of two non-negative fixed-point values in the same fixed point."""
    return (a * b) >> POINT


@dataclass
class Totals:
    """Sums over nights, by condition c, bowler i, group g; ``n_*`` plain integers, the rest fixed point.

    ``average`` (c, i) sum of the night's mean game; ``square`` (c, c, i) sums of products of two
    conditions' night means; ``game`` (c, i, games) sums of each game's mean; ``game_square``
    (c, i) sum of squares of the fade (first minus last game, shifted by 512 pins) and ``fade``
    its sum; ``group`` (c, g) and ``group_square`` (c, c, g) the same for nightly group means.
    ``n_scores`` (c, i, 301) histogram of sampled games, ``n_counts`` (c, i, counts),
    ``misses`` (c, i, 2, 6); ``lines`` (c, i, games) sums of boards moved from the night's first
    line at the end of each game.
    """

    nights: int
    average: Ints
    square: Ints
    game: Ints
    fade: Ints
    fade_square: Ints
    group: Ints
    group_square: Ints
    n_scores: Ints
    n_counts: Ints
    misses: Ints
    lines: Ints

    @classmethod
    def empty(cls, conditions: int, bowlers: int, games: int, groups: int, counts: int) -> "Totals":
        """All zero."""

        def z(*shape: int) -> Ints:
            return np.zeros(shape, np.int64)

        c, n = conditions, bowlers
        return cls(
            0, z(c, n), z(c, c, n), z(c, n, games), z(c, n), z(c, n), z(c, groups),
            z(c, c, groups), z(c, n, SCORES), z(c, n, counts), z(c, n, 2, 6), z(c, n, games),
        )  # fmt: skip

    def add(self, other: "Totals") -> None:
        """Add another run's sums in place."""
        for f in fields(self):
            setattr(self, f.name, getattr(self, f.name) + getattr(other, f.name))


FADE_SHIFT = 512.0  # keeps the fade of a night positive in fixed point


def add_block(
    totals: Totals, columns: Ints, blocks: list[Block], night_sums: Ints, members: NDArray[np.bool_]
) -> None:
    """Add one pair's block of nights under every condition.

    Parameters
    ----------
    columns : (n,) where the pair's bowlers stand in the totals
    blocks : one a condition
    night_sums : (c, nights, groups) fixed-point sums over bowlers, added to
    members : (groups, n) which of the pair's bowlers belong to which group
    """
    means = []
    for c, b in enumerate(blocks):
        mean = fixed(b.exact.mean(axis=2), "mean score of a night")
        means.append(mean)
        totals.average[c, columns] += mean.sum(axis=0)
        totals.game[c, columns] += fixed(b.exact, "mean score of a game").sum(axis=0)
        fade = fixed(b.exact[:, :, 0] - b.exact[:, :, -1] + FADE_SHIFT, "fade")
        totals.fade[c, columns] += fade.sum(axis=0)
        totals.fade_square[c, columns] += product(fade, fade).sum(axis=0)
        totals.n_counts[c, columns] += b.counts.sum(axis=0)
        totals.misses[c, columns] += fixed(b.misses, "pins by miss").sum(axis=0)
        if b.lines.size:
            totals.lines[c, columns] += fixed(boards_moved(b.lines), "boards moved").sum(axis=0)
        for k, i in enumerate(columns):
            totals.n_scores[c, i] += np.bincount(b.sampled[:, k].ravel(), minlength=SCORES)
        for g, member in enumerate(members):
            night_sums[c, :, g] += mean[:, member].sum(axis=1)
    for c in range(len(blocks)):
        for d in range(len(blocks)):
            totals.square[c, d, columns] += product(means[c], means[d]).sum(axis=0)


def boards_moved(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Boards moved at the feet or at the arrows, whichever is more, at the end of each game.

    Parameters
    ----------
    lines : (nights, n, games + 1, 2) as in ``play_nights`` [board, rad]
    """
    feet = lines[:, :, 1:, 0]
    arrows = feet + lines[:, :, 1:, 1] / TURN_UNIT
    return np.maximum(np.abs(feet), np.abs(arrows))


def add_groups(totals: Totals, night_sums: Ints, sizes: Ints) -> None:
    """Close a round: nightly group means from sums over all pairs, (c, nights, groups)."""
    mean = night_sums // np.maximum(sizes, 1)
    totals.group += mean.sum(axis=1)
    for c in range(mean.shape[0]):
        for d in range(mean.shape[0]):
            totals.group_square[c, d] += product(mean[c], mean[d]).sum(axis=0)
    totals.nights += mean.shape[1]
