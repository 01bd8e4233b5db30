"""Spare shooting: for every leave the best aim a bowler has, and what the second ball then does.

The arrival of a spare ball comes from its own paths on the film; what it knocks down from the pins
room's second-ball law.  Does not change during the night: a spare ball's line is taken on the film
that the block starts with.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from leaguesim.bowlers import _kernel
from leaguesim.bowlers.lineup import Floor, grid, throw_many
from leaguesim.bowlers.release import spare_intent
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_table
from leaguesim.units import DEG_RAD

Array = NDArray[np.float64]

LAYDOWN_STEP = 5.0
ANGLES_DEG = np.arange(-6.0, 6.01, 0.5)
TARGETS = np.arange(-19.0, 19.01, 0.5)
CROSS_LANE = 0.6  # stand to the far side of the target, so much a board of it (common practice)


class SpareLaw(NamedTuple):
    """A bowler's second ball by leave (rows of ``SecondBall.leave_masks``) and by standing mask.

    ``chance`` (leaves, 11) that j more pins fall; ``board``, ``angle`` (leaves,) the line, own frame;
    ``clear``, ``more`` (1024,) chance of the spare and mean pins by standing mask.
    """

    chance: Array
    board: Array
    angle: Array
    clear: Array
    more: Array


def _spare_lines(bowler: Bowler, floor: Floor, lib: Any) -> tuple[Array, Array, Array]:
    """For each target offset: lay-down board, angle and standard deviation of the arrival [boards]."""
    intent, ball = spare_intent(bowler)
    table = kernel_table(floor.lane, ball.roughness_uin, ball.mu_dry)
    low, high = bowler.laydown_low_board, bowler.laydown_high_board
    boards = np.unique(np.clip(np.arange(low, high + LAYDOWN_STEP, LAYDOWN_STEP), low, high))
    angles = ANGLES_DEG * DEG_RAD
    nothing = np.zeros(1024)

    def offsets(speed: float, rim: float) -> Array:
        releases = grid(intent._replace(speed=speed, rim=rim), boards, angles)
        arrival, _ = throw_many(
            floor, table, ball, intent, bowler.hand, lib, nothing, nothing, releases
        )
        return arrival[:, 0].reshape(boards.size, angles.size)

    usual = offsets(intent.speed, intent.rim)
    faster = offsets(intent.speed + intent.speed_sd, intent.rim) - usual
    revvier = offsets(intent.speed, intent.rim + intent.rim_sd) - usual
    best = np.full(TARGETS.size, np.inf)
    out_board, out_angle = np.full(TARGETS.size, 20.0), np.zeros(TARGETS.size)
    out_sd = np.full(TARGETS.size, 50.0)
    for i, board in enumerate(boards):
        ok = np.isfinite(usual[i]) & np.isfinite(faster[i]) & np.isfinite(revvier[i])
        x, a = usual[i][ok], angles[ok]
        if x.size < 2:
            continue
        slope = np.gradient(x, a)
        spread = np.sqrt(
            (slope * intent.angle_sd) ** 2
            + intent.board_sd**2
            + faster[i][ok] ** 2
            + revvier[i][ok] ** 2
        )
        order = np.argsort(x, kind="stable")
        inside = (x.min() <= TARGETS) & (x.max() >= TARGETS)
        sd = np.interp(TARGETS, x[order], spread[order])
        cost = sd + 0.01 * np.abs(board - (20.0 + CROSS_LANE * TARGETS))
        better = inside & (cost < best)
        best[better], out_sd[better] = cost[better], sd[better]
        out_board[better] = board
        out_angle[better] = np.interp(TARGETS, x[order], a[order])[better]
    return out_board, out_angle, out_sd


def spare_law(bowler: Bowler, floor: Floor, lib: Any, second: Any) -> SpareLaw:
    """Best aim and outcome law of a bowler's second ball for every leave the library knows.

    Parameters
    ----------
    lib : ``CarryLibrary.arrays``
    second : ``CarryLibrary.second_ball()``
    """
    board, angle, sd = _spare_lines(bowler, floor, lib)
    masks = np.asarray(second.leave_masks, np.int64)
    standing = np.array([int(m).bit_count() for m in masks])
    made = np.ascontiguousarray(second.law[np.arange(masks.size), :, standing])
    offsets = np.asarray(second.offsets_board, np.float64)
    spread = np.maximum(sd, 0.3)[:, None]
    edges = np.concatenate([offsets - 0.5 * (offsets[1] - offsets[0]), [offsets[-1]]])
    edges[-1] += 0.5 * (offsets[1] - offsets[0])
    weights = np.diff(ndtr((edges[None, :] - TARGETS[:, None]) / spread), axis=1)
    weights[weights < 1e-5] = 0.0
    low = np.argmax(weights > 0.0, axis=1)
    high = weights.shape[1] - np.argmax(weights[:, ::-1] > 0.0, axis=1)
    chance, aim = np.zeros((masks.size, 11)), np.zeros(masks.size, np.int64)
    _kernel.choose_aims(second.law, made, weights, low, high, chance, aim)
    clear, more = np.zeros(1024), np.zeros(1024)
    clear[masks] = chance[np.arange(masks.size), standing]
    more[masks] = chance @ np.arange(11.0)
    return SpareLaw(chance, board[aim], angle[aim], clear, more)
