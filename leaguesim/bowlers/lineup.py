"""The line-up: where a bowler stands, where they send which ball, on the film as it is.

Every line of a (ball, board, angle) grid is thrown once, its worth blurred by the bowler's own release
error; the best few are thrown again with the whole error law and the best of those is refined.  Where
lines differ by less than a bowler can tell, they stand where people are taught to (``taste``).
Does not move during play: ``play`` does that.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
from leaguesim.ball.values import Ball
from leaguesim.bowlers import _kernel
from leaguesim.bowlers.release import Intent, delivery, even_errors
from leaguesim.bowlers.values import Bowler
from leaguesim.errors import NumberError
from leaguesim.lane.arrays import KernelTable, kernel_table
from leaguesim.lane.lane import Lane
from leaguesim.units import BOARD_M, DEG_RAD, FT_M

Array = NDArray[np.float64]

BOARD_STEP = 1.5
ANGLES_DEG = np.arange(-5.5, 2.75, 0.25)
ARROWS_FT = 15.0
TURN_A_BOARD = 0.0059  # a turn of the launch by one board at the arrows [rad]
BREAKPOINT_FT = 40.0
POCKET_AIM = (1.0, 4.5)  # boards to the own side of the head pin that a line may aim at
OUTERMOST_BOARD = 3.0  # nearest to the gutter that a line may mean to go
ROOM_FOR_A_MISS = 2.0  # own release errors at the breakpoint that must stay on the lane (assumed)
UNTAUGHT = 1000.0
# Lines are told apart by their scores: over a season of 96 games each, two lines of a 24-pin game sd
# (open data: 20 to 27) differ by 24 sqrt(2 / 96) = 3.5 pins of chance.  Whose release errs less learns
# more from a ball: in proportion to the error, 0.34 deg being a middling league bowler (assumed).
TOLD_APART_PINS = 3.5
TOLD_APART_DEG = 0.34
# Taught: leave the oil on the board of its length less 31, give or take 3 (coaching rule, secondary
# report); a ball that hardly turns goes over the second arrow (common practice, no source).
RULE_OF_LENGTH = 31.0
GIVE_OR_TAKE = 3.0
SECOND_ARROW = 10.0
STRAIGHT_TURN_DEG = 2.0
LEAST_OIL_SHARE = (
    0.1  # a foot with less than this share of the lane's mean oil is beyond the pattern
)
SHORTLIST = 8
BLUR_REACH = 4.0  # standard deviations of the release error that the grid is blurred by
TRIALS = 128  # errors thrown at each line of the shortlist
FINALISTS = 5  # lines that are looked at again before one is chosen
FINAL_TRIALS = (
    256  # errors thrown at each of them, others than the first and than those it is told by
)
FINAL_FIRST = 512  # ... from this place of the sequence on
TOLD_TRIALS = (
    384  # others, that the chosen line is told by: the best of many looks 3 to 5 pins too good
)
# Answers are told from moves of this size either way, the size people make: over smaller ones an accurate
# bowler's answer can have the wrong sign, and their moves then run away.
ANSWER_BOARDS = 1.5
ANSWER_TURN = ANSWER_BOARDS * BOARD_M / (ARROWS_FT * FT_M)
REFINE = ((0.75, 0.0), (-0.75, 0.0), (0.0, 0.12), (0.0, -0.12), (0.75, -0.12), (-0.75, 0.12))
REFINE_SIZES = (1.0, 0.7)  # of those steps, each time around the best so far


class Floor(NamedTuple):
    """A lane made ready for kernels, seen from the right: film [m], mixes, side pull [m/s2]."""

    film: Array
    mix: NDArray[np.int8]
    pull: float
    lane: Lane
    length_ft: int


class Line(NamedTuple):
    """A line in the bowler's own frame (boards from their own edge, angles to the far side).

    ``breakpoint_board`` is the outermost of the course, ``exit_board`` where it leaves the oil.
    ``aim_offset`` where it meets the pins on the mean; ``per_radian``, ``per_board`` how the mean offset
    answers to a turn of the angle and to a parallel move of 1.5 boards (a turn: at the arrows) either
    way; ``usual_off`` the standard deviation of the offset; ``worth`` the expected score of a game thrown with it on
    this film.
    """

    ball: int
    board: float
    angle: float
    aim_offset: float
    entry_deg: float
    speed: float
    roll_start_ft: float
    breakpoint_board: float
    exit_board: float
    per_radian: float
    per_board: float
    usual_off: float
    worth: float

    @property
    def arrow_board(self) -> float:
        """Where the line crosses the arrows, 15 ft down."""
        return self.board + ARROWS_FT * FT_M / BOARD_M * float(np.tan(self.angle))


def frame_of(hand: str) -> tuple[int, int]:
    """Start column and step of a bowler's own frame in the kernels' films."""
    return (0, 1) if hand == "right" else (40, -1)


def game_worth(value: Array) -> Array:
    """Mean score of a game of independent frames from (..., 4) rack expectations.

    10 (total + strike * (total + strike * first) + spare * first): the closed-form mean.
    """
    s, b, p, t = (value[..., i] for i in range(4))
    return np.asarray(10.0 * (t + s * (t + s * b) + p * b))


def nodes_seen(lib: Any) -> Array:
    """(nodes, 2) NaN: no node of a carry library worked out yet."""
    return np.full((lib.known.shape[0], 2), np.nan)


def throw_many(
    floor: Floor,
    table: KernelTable,
    ball: Ball,
    intent: Intent,
    hand: str,
    lib: Any,
    clear: Array,
    more: Array,
    releases: Array,
    seen: Array | None = None,
) -> tuple[Array, Array]:
    """Throw (n, 5) releases (speed, rim, rotation, angle, board): arrivals (n, 6), values (n, 4).

    ``seen``: ``nodes_seen`` of the library, kept between calls with the same ``clear`` and ``more``.
    """
    start, step = frame_of(hand)
    r = np.ascontiguousarray(releases.T)
    arrival, value = np.empty((r.shape[1], 6)), np.empty((r.shape[1], 4))
    _kernel.explore(  # type: ignore[call-arg]
        floor.film, floor.mix, table.drag, table.bare, ball.mu_dry, *table[2:], start, step,
        step * floor.pull, intent.inertia, intent.mass, *r, lib, clear, more,
        nodes_seen(lib) if seen is None else seen, max(floor.length_ft - 1, 0), arrival, value,
    )  # fmt: skip
    return arrival, value


def grid(intent: Intent, boards: Array, angles: Array) -> Array:
    """(boards * angles, 5) releases without error, angle fastest."""
    out = np.empty((boards.size, angles.size, 5))
    out[..., 0], out[..., 1], out[..., 2] = intent.speed, intent.rim, intent.rotation
    out[..., 3], out[..., 4] = angles[None, :], boards[:, None]
    return out.reshape(-1, 5)


def with_errors(intent: Intent, board: float, angle: float, z: Array) -> Array:
    """(n, 5) releases around a line; z (n, 5) are errors of angle, board, speed, revs, rotation."""
    return np.stack(
        [
            np.maximum(intent.speed + intent.speed_sd * z[:, 2], 0.3 * intent.speed),
            np.maximum(intent.rim + intent.rim_sd * z[:, 3], 0.0),
            intent.rotation + intent.rotation_sd * z[:, 4],
            angle + intent.angle_sd * z[:, 0],
            board + intent.board_sd * z[:, 1],
        ],
        axis=1,
    )


def _blur(value: Array, angle_sd: float, step: float) -> Array:
    """Blur (boards, angles, 4) along the angles by a normal error; beyond the grid nothing scores."""
    reach = max(1, int(np.ceil(BLUR_REACH * angle_sd / step)))
    x = np.arange(-reach, reach + 1) * step
    w = np.exp(-0.5 * (x / max(angle_sd, 0.25 * step)) ** 2)
    w /= w.sum()
    padded = np.pad(value, ((0, 0), (reach, reach), (0, 0)))
    out = np.zeros_like(value)
    for k in range(w.size):
        out += w[k] * padded[:, k : k + value.shape[1]]
    return out


def sensible(arrival: Array, angle_sd: float) -> NDArray[np.bool_]:
    """Which of (n, 6) arrivals end a line that people are taught (common practice, no source).

    It meets the own side of the head pin near the pocket, stays off the outermost boards and leaves
    room for a miss of ``angle_sd`` [rad] times ``ROOM_FOR_A_MISS`` where it leaves the oil.
    """
    low, high = POCKET_AIM
    aimed = (arrival[:, 0] >= low) & (arrival[:, 0] <= high)
    miss = ROOM_FOR_A_MISS * angle_sd * BREAKPOINT_FT * FT_M / BOARD_M
    turns_in = arrival[:, 5] > 0.5 + miss
    return np.asarray(aimed & (arrival[:, 4] >= OUTERMOST_BOARD) & turns_in)


def told_apart(bowler: Bowler) -> float:
    """Pins a game below which a bowler cannot tell two lines apart."""
    return TOLD_APART_PINS * bowler.accuracy_deg / TOLD_APART_DEG


def taste(bowler: Bowler, arrival: Array, releases: Array, length_ft: int) -> Array:
    """Pins a game that (n,) lines cost against what is taught; never more than can't be told apart.

    The cost is half of ``told_apart`` three boards from the taught line and all of it far away.
    Without oil nothing is taught.
    """
    if length_ft == 0:
        return np.zeros(arrival.shape[0])
    turn = arrival[:, 1] - releases[:, 3] / DEG_RAD
    arrows = releases[:, 4] + ARROWS_FT * FT_M / BOARD_M * np.tan(releases[:, 3])
    far = np.where(
        turn < STRAIGHT_TURN_DEG,
        arrows - SECOND_ARROW,
        arrival[:, 5] - (length_ft - RULE_OF_LENGTH),
    )
    far = np.square(np.nan_to_num(far, nan=UNTAUGHT))
    return np.asarray(told_apart(bowler) * far / (far + GIVE_OR_TAKE**2))


def within_reach(bowler: Bowler, first: Line, board: Any, angle: Any) -> Any:
    """Whether lines are within what the bowler moves in a night, feet and arrows, from the first."""
    far = bowler.farthest_move_board
    turned = np.abs(angle - first.angle) / TURN_A_BOARD
    return (np.abs(board - first.board) <= far) & (turned <= far)


def find_line(
    bowler: Bowler,
    floor: Floor,
    lib: Any,
    clear: Array,
    more: Array,
    begun: Line | None = None,
) -> Line:
    """The best line and ball this bowler can find on this film with the accuracy they have.

    Where no ball of the bag holds a line that is taught, as on a lane with hardly any oil, the spare ball
    is thrown straight if that is worth more (common practice, no source); its number is one beyond the bag's.

    Parameters
    ----------
    lib : ``CarryLibrary.arrays``
    clear, more : (1024,) the bowler's spare shooting by standing mask (``spares.spare_law``)
    begun : the line of the night's first game, if this one is for a later game: nothing beyond what the
        bowler moves in a night is looked at
    """
    shown: list[tuple[float, int, float, float]] = []
    boards = np.arange(bowler.laydown_low_board, bowler.laydown_high_board + 0.01, BOARD_STEP)
    angles = ANGLES_DEG * DEG_RAD
    balls = [*bowler.bag, *filter(None, [bowler.spare_ball])]
    intents = [delivery(bowler, k)[0] for k in range(len(balls))]
    tables = [kernel_table(floor.lane, b.roughness_uin, b.mu_dry) for b in bowler.bag]
    arrows = boards[:, None] + ARROWS_FT * FT_M / BOARD_M * np.tan(angles)[None, :]
    off_lane = (arrows < 2.0) | (arrows > 38.0)
    worthwhile = np.ones(off_lane.shape, np.bool_)
    if begun is not None:
        off_lane |= ~within_reach(bowler, begun, boards[:, None], angles[None, :])
        # A ball that errs from a line in reach may turn beyond it, but starts on a board in reach.
        far = bowler.farthest_move_board
        errs = (BLUR_REACH * bowler.accuracy_deg + 2.0 * (ANGLES_DEG[1] - ANGLES_DEG[0])) * DEG_RAD
        worthwhile = (np.abs(boards - begun.board) <= far)[:, None] & (
            np.abs(angles - begun.angle) <= far * TURN_A_BOARD + errs
        )[None, :]

    seen = nodes_seen(lib)

    def thrown(k: int, releases: Array) -> tuple[Array, Array]:
        return throw_many(
            floor,
            tables[k],
            balls[k],
            intents[k],
            bowler.hand,
            lib,
            clear,
            more,
            releases,
            seen,
        )

    def thrown_where(there: NDArray[np.bool_], k: int, releases: Array) -> tuple[Array, Array]:
        """Balls that no line in reach can become are not thrown: they score nothing."""
        arrival, value = np.full((len(releases), 6), np.nan), np.zeros((len(releases), 4))
        arrival[there], value[there] = thrown(k, releases[there])
        return arrival, value

    for k, intent in enumerate(intents):
        beaten = min(shown)[0] if k == len(bowler.bag) else np.inf
        if k == len(bowler.bag):
            if beaten < 0.5 * UNTAUGHT:
                break
            tables.append(kernel_table(floor.lane, balls[k].roughness_uin, balls[k].mu_dry))
        releases = grid(intent, boards, angles)
        arrival, value = thrown_where(worthwhile.ravel(), k, releases)
        sd = np.hypot(intent.angle_sd, 0.12 * intent.board_sd * DEG_RAD)
        worth = game_worth(
            _blur(value.reshape(boards.size, angles.size, 4), sd, angles[1] - angles[0])
        )
        # Lines nobody would be taught come last: they are taken only where there is no other.
        worth -= taste(bowler, arrival, releases, floor.length_ft).reshape(worth.shape)
        worth[~sensible(arrival, intent.angle_sd).reshape(worth.shape)] -= UNTAUGHT
        worth[off_lane] -= 2.0 * UNTAUGHT
        for at in np.argsort(-worth, axis=None, kind="stable")[:SHORTLIST]:
            i, j = divmod(int(at), angles.size)
            if beaten < np.inf and worth[i, j] < UNTAUGHT - beaten:
                continue
            shown.append((-float(worth[i, j]), k, float(boards[i]), float(angles[j])))
    z, again = even_errors(TRIALS), even_errors(FINAL_TRIALS, first=FINAL_FIRST)
    tried: dict[tuple[int, float, float], tuple[float, bool, Array, float]] = {}

    def cost_of(t: tuple[int, float, float]) -> float:
        """What a line costs by the first errors; untaught lines cost more than any other."""
        if t not in tried:
            k, board, angle = t
            _, value = thrown(k, with_errors(intents[k], board, angle, z))
            here = grid(intents[k], np.array([board]), np.array([angle]))
            meant, _ = thrown(k, here)
            dear = float(taste(bowler, meant, here, floor.length_ft)[0])
            good = bool(sensible(meant, intents[k].angle_sd)[0])
            mean = value.mean(axis=0)
            tried[t] = (dear - float(game_worth(mean)), good, mean, dear)
        return tried[t][0]

    def looked_again(t: tuple[int, float, float]) -> float:
        """The same by three times as many errors."""
        _, _, mean, dear = tried[t]
        _, value = thrown(t[0], with_errors(intents[t[0]], t[1], t[2], again))
        share = TRIALS / (TRIALS + FINAL_TRIALS)
        return dear - float(game_worth(share * mean + (1.0 - share) * value.mean(axis=0)))

    first = sorted(shown)[:SHORTLIST]
    some = [t[1:] for t in first if t[0] - first[0][0] < 0.5 * UNTAUGHT]
    best = min(some, key=lambda t: (cost_of(t), t))
    for size in REFINE_SIZES:
        k, board, angle = best
        for db, da in REFINE:
            t = (k, board + size * db, angle + size * da * DEG_RAD)
            if not bowler.laydown_low_board <= t[1] <= bowler.laydown_high_board:
                continue
            if begun is not None and not within_reach(bowler, begun, t[1], t[2]):
                continue
            if cost_of(t) < cost_of(best) and tried[t][1]:
                best = t
    # The best of many by few errors is partly the luckiest: a few are looked at again.
    usable = [t for t in tried if t in some or tried[t][1]]
    finals = sorted(usable, key=lambda t: (cost_of(t), t))[:FINALISTS]
    k, board, angle = min(finals, key=lambda t: (looked_again(t), t))
    return line_at(bowler, floor, lib, clear, more, Aim(k, board, angle, 0.0))


def line_at(bowler: Bowler, floor: Floor, lib: Any, clear: Array, more: Array, aim: "Aim") -> Line:
    """A given ball and line of a bowler measured on a film; the worth of ``aim`` is not looked at.

    Told by errors that ``find_line`` does not choose by.
    """
    k, board, angle, _ = aim
    intent, ball = delivery(bowler, k)
    table = kernel_table(floor.lane, ball.roughness_uin, ball.mu_dry)
    z = even_errors(TRIALS)

    seen = nodes_seen(lib)

    def thrown(releases: Array) -> tuple[Array, Array]:
        return throw_many(floor, table, ball, intent, bowler.hand, lib, clear, more, releases, seen)

    def offsets(aside: float, turned: float) -> Array:
        return thrown(with_errors(intent, board + aside, angle + turned, z))[0][:, 0]

    here = grid(intent, np.array([board]), np.array([angle]))
    told = even_errors(TOLD_TRIALS, first=TRIALS)
    arrivals, values = thrown(with_errors(intent, board, angle, told))
    return _measured(
        aim._replace(worth=float(game_worth(values.mean(axis=0)))), intent,
        thrown(here)[0][0], arrivals[:, 0],
        _answer(offsets(0.0, ANSWER_TURN), offsets(0.0, -ANSWER_TURN), 2.0 * ANSWER_TURN),
        _answer(offsets(ANSWER_BOARDS, 0.0), offsets(-ANSWER_BOARDS, 0.0), 2.0 * ANSWER_BOARDS),
    )  # fmt: skip


def worth_of(
    bowler: Bowler, floor: Floor, lib: Any, clear: Array, more: Array, aim: "Aim"
) -> float:
    """Expected score of a game with a ball and line on a film, told as ``line_at`` tells it. [pins]"""
    k, board, angle, _ = aim
    intent, ball = delivery(bowler, k)
    table = kernel_table(floor.lane, ball.roughness_uin, ball.mu_dry)
    told = with_errors(intent, board, angle, even_errors(TOLD_TRIALS, first=TRIALS))
    _, values = throw_many(floor, table, ball, intent, bowler.hand, lib, clear, more, told)
    return float(game_worth(values.mean(axis=0)))


def _answer(up: Array, down: Array, apart: float) -> float:
    """Change of the mean offset between two places over their distance; 0 if balls don't arrive."""
    up, down = up[np.isfinite(up)], down[np.isfinite(down)]
    return float(up.mean() - down.mean()) / apart if up.size and down.size else 0.0


class Aim(NamedTuple):
    """A line before it is measured."""

    ball: int
    board: float
    angle: float
    worth: float


def _measured(
    aim: Aim, intent: Intent, meant: Array, offset: Array, per_radian: float, per_board: float
) -> Line:
    """A line's own figures: the ball as meant, and the balls around it."""
    if not np.isfinite(aim.worth):
        raise NumberError("line-up: the worth of a line is not a finite number")
    offset = offset[np.isfinite(offset)]
    mean = offset.mean() if offset.size else 0.0
    if np.isnan(meant).any():
        meant = np.array([mean, 0.0, intent.speed, np.inf, aim.board, aim.board])
    return Line(
        aim.ball, aim.board, aim.angle, float(mean), float(meant[1]), float(meant[2]),
        float(meant[3]) / FT_M, float(meant[4]), float(meant[5]), per_radian, per_board,
        float(offset.std()) if offset.size else 0.0, aim.worth,
    )  # fmt: skip


def floor_of(lane: Lane, film: Array, mix: NDArray[np.int8]) -> Floor:
    """A lane and a padded film of it as a ``Floor``."""
    return Floor(film, mix, side_pull(lane.tilt_in), lane, oil_length_ft(film))


def oil_length_ft(film: Array) -> int:
    """How far the oil goes, whole feet, 0 for none: the last foot with a tenth of the mean oil.

    Seen alike from both sides: each row is added up in mirrored pairs.
    """
    pairs = film[:60] + film[:60, ::-1]
    oil = pairs[:, :20].sum(axis=1) + 0.5 * pairs[:, 20]
    rows = np.flatnonzero(oil > LEAST_OIL_SHARE * oil.mean())
    return int(rows[-1]) + 1 if rows.size else 0
