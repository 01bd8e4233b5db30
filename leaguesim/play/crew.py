"""Everything the night kernel needs to know of the bowlers on a pair, in arrays.

Puts lines, spare shooting, covers and wear of the balls side by side; computes none of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.values import Ball
from leaguesim.bowlers.lineup import Line, frame_of
from leaguesim.bowlers.release import Intent, delivery, spare_intent
from leaguesim.bowlers.spares import SpareLaw
from leaguesim.bowlers.values import Bowler
from leaguesim.lane.arrays import kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.lane.mixture import Mixture
from leaguesim.play._kernel import Covers, Crew, Throws
from leaguesim.units import BOARD_M, DIFFERENTIAL_MAX_IN

Array = NDArray[np.float64]

# The contact: twice the Hertz radius of a 15 lb ball on a lane (E 1 and 8 GPa: 1.72 mm; Johnson,
# Contact Mechanics, from memory, recomputed), as load^(1/3).
CONTACT_RADIUS_M = 1.72e-3
CONTACT_MASS_LB = 15.0
# Oil taken over what the dry contact alone would leave to a ball: the film also touches the ball beside the
# contact, out to where the gap (Johnson's, outside a Hertz contact) is as wide as the film, 1.15 to 1.36
# radii at 10 to 40 units; and films part half and half (Coyle, Macosko & Scriven 1986), not 35 to 65.
# 1.26 * 0.5 / 0.35; not fitted.
STRIP = 1.8
# Share of the loose oil on the track that a foot of lane takes back (assumed: a ball's own track comes
# round every 2.2 ft); full flare moves the track and keeps all but a fifth of that from happening.
LAY_PER_FT = 0.30
FLARE_CUTS_LAY = 0.8


class GameLine(NamedTuple):
    """The line that a game asks for, and how far a bowler has usually moved from the last one by then.

    ``aside`` is the mean of a night's moves [boards, rad]: who goes over gives it up with the old line.
    """

    line: Line
    aside: tuple[float, float]


@dataclass(frozen=True)
class Stance:
    """One bowler made ready for one condition: who, on which line, shooting which spares.

    ``line`` is the one found on the film before anybody bowls; ``games`` those of the games of a
    night, each meant for ``every`` games of bowlers on the pair (none: the first line all night).
    """

    bowler: Bowler
    line: Line
    spares: SpareLaw
    games: tuple[GameLine, ...] = ()
    every: int = 0

    @property
    def strike_ball(self) -> Ball:
        """The ball of the line."""
        return delivery(self.bowler, self.line.ball)[1]

    @property
    def played(self) -> tuple[GameLine, ...]:
        """The line for the fresh lane, then that of each game if they are known."""
        return (GameLine(self.line, (0.0, 0.0)), *self.games)

    @property
    def ball_changes(self) -> int:
        """How often another ball is taken up in a night."""
        balls = [g.line.ball for g in self.played]
        return sum(a != b for a, b in pairwise(balls))


@dataclass(frozen=True)
class PairCrew:
    """Kernel arrays of a pair's bowlers on one condition."""

    crew: Crew
    covers: Covers


def wear_shares(ball: Ball, oils: Sequence[Mixture]) -> tuple[Array, Array, float]:
    """What one pass takes of a board's film and keeps of that, by mix, and what it lays down a foot.

    take = STRIP * contact width / board width * (1 - left_behind); kept = ball_affinity, moved half-way to
    1 by a fully absorbing cover and half-way to 0 by one that takes nothing up.
    """
    width = 2.0 * CONTACT_RADIUS_M * (ball.mass_lb / CONTACT_MASS_LB) ** (1.0 / 3.0) / BOARD_M
    take = np.array([STRIP * width * (1.0 - oil.left_behind) for oil in oils])
    kept = np.array([0.5 * (oil.ball_affinity + ball.absorption) for oil in oils])
    flare = ball.differential_in / DIFFERENTIAL_MAX_IN
    return take, kept, LAY_PER_FT * (1.0 - FLARE_CUTS_LAY * flare)


def _throws(
    made: Sequence[Sequence[tuple[Intent, Ball]]], cover_of: dict[Any, int], lane: Lane
) -> Throws:
    """Deliveries of (n, lines) as arrays."""
    shape = (len(made), len(made[0]))
    flat = [m for row in made for m in row]
    columns = [np.array(c, np.float64) for c in zip(*(i for i, _ in flat), strict=True)]
    worn = [wear_shares(b, lane.mixtures) for _, b in flat]
    return Throws(
        np.array([cover_of[(b.roughness_uin, b.mu_dry)] for _, b in flat], np.int64).reshape(shape),
        *(c.reshape(shape) for c in columns),
        np.array([w[0] for w in worn]).reshape(*shape, -1),
        np.array([w[1] for w in worn]).reshape(*shape, -1),
        np.array([w[2] for w in worn]).reshape(shape),  # type: ignore[call-arg]
    )


def crew_of(stances: Sequence[Stance], sides: Sequence[int], lane: Lane) -> PairCrew:
    """Arrays of a pair's bowlers in their order of play.

    Parameters
    ----------
    stances : one a bowler
    sides : 0 or 1 a bowler, the lane of the pair the team starts on
    lane : the condition's lane; its friction tables and oils
    """
    spare = [[spare_intent(s.bowler)] for s in stances]
    most = max(len(s.played) for s in stances)
    lines = [[*s.played, *[s.played[-1]] * (most - len(s.played))] for s in stances]
    strike = [
        [delivery(s.bowler, g.line.ball) for g in own]
        for s, own in zip(stances, lines, strict=True)
    ]
    keys = sorted({(b.roughness_uin, b.mu_dry) for row in [*strike, *spare] for _, b in row})
    cover_of = {key: k for k, key in enumerate(keys)}
    tables = [kernel_table(lane, *key) for key in keys]

    def of_lines(name: str) -> Array:
        return np.array([[getattr(g.line, name) for g in own] for own in lines])

    frames = [frame_of(s.bowler.hand) for s in stances]
    crew = Crew(
        np.array(sides, np.int64),
        np.array([f[0] for f in frames], np.int64),
        np.array([f[1] for f in frames], np.int64),
        max(s.every for s in stances) if most > 1 else 0,
        of_lines("ball"),
        np.array([s.bowler.move_after_balls for s in stances], np.int64),
        np.array([[g.aside for g in own] for own in lines]),
        of_lines("board"),
        of_lines("angle"),
        of_lines("aim_offset"),
        of_lines("per_radian"),
        of_lines("per_board"),
        of_lines("usual_off"),
        np.array([s.bowler.laydown_low_board for s in stances]),
        np.array([s.bowler.laydown_high_board for s in stances]),
        np.array([s.bowler.move_gain for s in stances]),
        np.array([s.bowler.move_after_balls for s in stances], np.int64),
        np.array([s.bowler.farthest_move_board for s in stances]),
        _throws(strike, cover_of, lane),
        _throws(spare, cover_of, lane),
        np.array([s.spares.board for s in stances]),
        np.array([s.spares.angle for s in stances]),
        np.array([s.spares.chance for s in stances]),
        np.array([s.spares.clear for s in stances]),
        np.array([s.spares.more for s in stances]),
    )
    covers = Covers(
        np.stack([t.drag for t in tables]),
        np.stack([t.bare for t in tables]),
        np.array([key[1] for key in keys]),
        tables[0].per_film,
        tables[0].per_slip,
        tables[0].effective,
    )
    return PairCrew(crew, covers)
