"""What film readings before and after a block of games say about durability, by the model's own wear.

Drawn people of the roster's styles play sessions of as many games; the model's loss of film at every
reading, and how it follows what a ball leaves behind and keeps, is set against what was read.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.center.priors import used_conditioners
from leaguesim.center.values import Center
from leaguesim.lane.values import EarlierPlay, FilmReading
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import pins_of
from leaguesim.run.rounds import Progress, quiet
from leaguesim.study.learnt import Learnt, likeliest
from leaguesim.study.prepare import lane_of
from leaguesim.units import UNIT_M

Array = NDArray[np.float64]

PROPERTIES = ("left_behind", "ball_affinity")
STEPS = 2  # times the wear is played anew about the answer
STEP = 0.7  # deviates to each side for a slope
MODEL_SHARE = 0.15  # the model's loss of film may be off by this share, everywhere alike (assumed)
FEWEST_UNITS = 0.5  # no film is told to be thinner than this


@dataclass(frozen=True)
class Block:
    """Readings of one condition after as many games."""

    condition: str
    games: int
    readings: tuple[FilmReading, ...]

    @property
    def cells(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Rows and columns of the kernel's film."""
        rows = [min(int(r.distance_ft), 59) for r in self.readings]
        boards = [round(r.board) for r in self.readings]
        return np.array(rows), np.array(boards)


def blocks_of(readings: tuple[FilmReading, ...]) -> list[Block]:
    """Readings by condition and number of games."""
    keys = sorted({(r.condition, r.games) for r in readings})
    return [
        Block(name, games, tuple(r for r in readings if (r.condition, r.games) == (name, games)))
        for name, games in keys
    ]


def learn_durability(
    center: Center, learnt: Learnt, seed: int, progress: Progress = quiet
) -> Learnt:
    """What is known of the conditioners after the center's film readings.

    Parameters
    ----------
    learnt : what is known without them; holds every conditioner of the readings' conditions

    The readings' error is half the association's tolerance, as one standard deviation (assumed); the
    spread of sessions and people comes from 32 sessions of the model.
    """
    blocks = blocks_of(center.film_readings)
    if not blocks:
        return learnt
    told = [_seen(b, center) for b in blocks]
    own = [k for k, a in enumerate(learnt.axes) if a.split(": ")[1] in PROPERTIES]
    pins = pins_of(CarryLibrary.load())

    def play(mean: Array) -> list[Array]:
        at = likeliest(center, replace(learnt, mean=mean))
        return [_losses(at, b, pins, seed) for b in blocks]

    found = learnt
    for step in range(STEPS):
        progress(step, STEPS, "wear against film readings")
        found, middle = _step(learnt, found, own, play, told)
    value = np.concatenate([v for v, _ in told])
    return found.with_row(_row(center, blocks, value, middle))


def _step(
    before: Learnt, about: Learnt, own: list[int], play: Callable[[Array], list[Array]],
    told: list[tuple[Array, Array]],
) -> tuple[Learnt, Array]:  # fmt: skip
    """One linear update of ``before``, with slopes taken about ``about``."""
    sessions = play(about.mean)
    middle = np.concatenate([s.mean(axis=0) for s in sessions])
    slopes = np.zeros((len(middle), len(before.axes)))
    for k in own:
        ends = []
        for side in (-STEP, STEP):
            at = about.mean.copy()
            at[k] += side
            ends.append(np.concatenate([s.mean(axis=0) for s in play(at)]))
        slopes[:, k] = (ends[1] - ends[0]) / (2.0 * STEP)
    noise = np.zeros((len(middle), len(middle)))
    start = 0
    for s, (value, error) in zip(sessions, told, strict=True):
        here = slice(start, start + len(value))
        spread = np.atleast_2d(np.cov(s, rowvar=False)) if len(s) > 1 else 0.0
        noise[here, here] = np.diag(error**2) + spread
        start += len(value)
    noise += MODEL_SHARE**2 * np.outer(middle, middle)
    value = np.concatenate([v for v, _ in told])
    return before.updated(slopes, value - middle + slopes @ about.mean, noise), middle


def _seen(block: Block, center: Center) -> tuple[Array, Array]:
    """Logarithms of after over before, and their standard errors from the reading alone."""
    share, units = center.fairness.reading_tolerance_share, center.fairness.reading_tolerance_units
    value, error = [], []
    for r in block.readings:
        after = max(r.after_units, FEWEST_UNITS)
        value.append(math.log(after / r.before_units))
        error.append(math.hypot(*(0.5 * max(share, units / v) for v in (after, r.before_units))))
    return np.array(value), np.array(error)


def _losses(center: Center, block: Block, pins: Any, seed: int) -> Array:
    """(sessions, readings) logarithms of film after over film before, by the model."""
    lane = lane_of(center, block.condition)
    count: dict[str, int] = {}
    for line in center.roster:
        if line.style in center.styles:
            count[line.style] = count.get(line.style, 0) + 1
    if not count:
        count = dict.fromkeys(center.styles, 1)
    whole = sum(count.values())
    shares = tuple((name, n / whole) for name, n in sorted(count.items()))
    fresh = start_of(lane, None, center.styles, center.balls, pins, seed).films[0]
    played = EarlierPlay(block.games, shares)
    worn = start_of(lane, played, center.styles, center.balls, pins, seed).films
    floor = FEWEST_UNITS * UNIT_M
    row, column = block.cells
    before = np.maximum(fresh[row, column], floor)
    return np.asarray(np.log(np.maximum(worn[:, row, column], floor) / before))


def _row(center: Center, blocks: list[Block], value: Array, model: Array) -> dict[str, Any]:
    """What the page tells of the readings."""
    return {
        "source": "film readings",
        "conditions": sorted({b.condition for b in blocks}),
        "readings": len(value),
        "left_seen": float(np.exp(value.mean())),
        "left_model": float(np.exp(model.mean())),
    }


def conditioners_read(center: Center) -> list[str]:
    """Conditioners that the film readings tell about."""
    return used_conditioners(center, sorted({r.condition for r in center.film_readings}))
