"""The league night on a pair of lanes, ball by ball: arrays in, arrays out.

Order of play, wear, reactions and scoring; every random number comes in as an argument.  A bowler
reacts to where the ball arrived, never to the pins that fell, so the mean of a game is exact given the
night's arrivals.  SI; every bowler is thrown in their own-hand frame.
"""

import math
from typing import NamedTuple

import numpy as np

from leaguesim.ball._kernel import ARRIVED, throw
from leaguesim.bowlers._kernel import FIRST, SPARE, STRIKE, TOTAL
from leaguesim.compiled import kernel, lean_kernel
from leaguesim.lane._kernel import wear_track
from leaguesim.pins._kernel import CarryArrays, carry
from leaguesim.scoring._kernel import expected_game, score_slots

Array = np.ndarray

# Layout of a bowler's draws for one night: form, then slots of six numbers.
FORM_DRAWS = 4
SLOT_DRAWS = 6  # normal errors of angle, board, speed, revs, rotation; one uniform for the pins
PRACTICE_SLOTS = 30  # as many practice balls as a center may ask for
GAME_SLOTS = 21

# Columns of the counts.
RACKS, STRIKES, TRIES, SPARES, POCKET, CORNER, GUTTERS, MOVES, BALLS, CHANGES = range(10)
COUNTS = 10

# A pocket hit: the ball's centre from 1.25 to 3.75 boards to the own side of the head pin (17.5 is best).
POCKET_LOW, POCKET_HIGH = 1.25, 3.75

FORM_ACCURACY = 0.12  # day form: sd of the log of the release error's size (assumed)
# Day form of speed, revs and rotation: the night's mean strays as far as a single ball does, in the bowler's
# own standard deviations (assumed: half of the variance of what people do lies between days).
FORM_STRAYS = 1.0
REMEMBER = 0.7  # how much of the running mean of arrivals is kept from ball to ball (assumed)
LEAST_MOVE = 0.75  # boards off the aim, on the mean, before anybody moves (assumed)
NOISE_MOVE = 0.6  # ... and this share of the bowler's own usual spread at the pins (assumed)
TURN_UNIT = 0.0059  # one board at the arrows, 15 ft off [rad]: weighs a turn against a step aside
LARGEST_MOVE = 3.0  # boards of feet (or of arrows, for a turn) moved at once
LEAST_ANSWER = 0.25  # boards of offset a board of move must promise to be relied on


class Covers(NamedTuple):
    """Friction tables of every ball cover in play: (covers, mixes, ...) as in ``lane.arrays``."""

    drag: Array
    bare: Array
    mu_dry: Array
    per_film: float
    per_slip: float
    effective: bool


class Throws(NamedTuple):
    """One kind of delivery (strike or spare) of n bowlers, (n, lines) each; sd = standard deviation."""

    cover: Array
    speed: Array
    rim: Array
    rotation: Array
    inertia: Array
    mass: Array
    angle_sd: Array
    board_sd: Array
    speed_sd: Array
    rim_sd: Array
    rotation_sd: Array
    take: Array  # (n, lines, mixes) wear
    kept: Array  # (n, lines, mixes)
    lay: Array


class Crew(NamedTuple):
    """The n bowlers on a pair, in their order of play; (n, lines) what belongs to the line of a game."""

    side: Array  # 0: starts on the first lane of the pair
    start: Array
    step: Array
    every: int  # games of bowlers on the pair that the line of one game is meant for; 0: the first for good
    ball: Array  # (n, lines) of the bag
    due: Array  # balls of a game that a bowler sees before going over to its line
    aside: (
        Array  # (n, lines, 2) mean move from the last line that is given up with it [boards, rad]
    )
    board: Array  # (n, lines)
    angle: Array
    aim: Array
    per_radian: Array  # boards of offset by a turn of the angle, by a parallel move of one board
    per_board: Array
    usual_off: Array  # the bowler's own spread at the pins [boards]
    low: Array  # how far the bowler can stand to either side [board]
    high: Array
    gain: Array
    patience: Array
    farthest: Array  # boards of feet (or of arrows, for a turn) over a night
    strike: Throws
    spare: Throws
    leave_board: Array  # (n, leaves)
    leave_angle: Array
    leave_chance: Array  # (n, leaves, 11)
    clear: Array  # (n, 1024)
    more: Array


class Work(NamedTuple):
    """The arrays a block of nights is played in, made once a call."""

    film: Array
    track: Array
    out: Array
    spares_seen: Array
    racks: Array
    columns: Array
    slots: Array
    shift: Array
    memory: Array
    seen: Array
    form: Array
    at: Array  # (n,) the line that a bowler is on


@lean_kernel
def _deliver(
    film: Array, mix: Array, pull: float, covers: Covers, crew: Crew, kind: Throws, i: int, g: int,
    board: float, angle: float, form: Array, draws: Array, track: Array, out: Array,
) -> int:  # fmt: skip
    """One ball with its errors; returns the status of ``throw``. ``draws`` (6,), ``form`` (4,)."""
    c = kind.cover[i, g]
    scale = form[0]
    return throw(
        film, mix, covers.drag[c], covers.bare[c], covers.mu_dry[c],
        covers.per_film, covers.per_slip, covers.effective,
        crew.start[i], crew.step[i], crew.step[i] * pull,
        max(kind.speed[i, g] + kind.speed_sd[i, g] * (draws[2] + form[1]), 0.3 * kind.speed[i, g]),
        max(kind.rim[i, g] + kind.rim_sd[i, g] * (draws[3] + form[2]), 0.0),
        kind.rotation[i, g] + kind.rotation_sd[i, g] * (draws[4] + form[3]),
        angle + scale * kind.angle_sd[i, g] * draws[0],
        min(max(board + scale * kind.board_sd[i, g] * draws[1], 0.5), 39.5),
        kind.inertia[i, g], track, out,
    )  # fmt: skip


@lean_kernel
def _wear(
    film: Array, mix: Array, crew: Crew, kind: Throws, i: int, g: int, status: int, track: Array,
    out: Array, ledger: Array,
) -> None:  # fmt: skip
    rows = 60 if status == ARRIVED else int(out[4])
    wear_track(
        film, mix, track, rows, crew.start[i], crew.step[i], kind.take[i, g], kind.kept[i, g],
        kind.lay[i, g], ledger,
    )  # fmt: skip


@lean_kernel
def _hold(crew: Crew, i: int, g: int, lane: int, shift: Array) -> None:
    """Keep feet and arrows within reach of where the night began, whichever line it is now."""
    far, turn = crew.farthest[i], crew.farthest[i] * TURN_UNIT
    there, aimed = crew.board[i, g] - crew.board[i, 0], crew.angle[i, g] - crew.angle[i, 0]
    steps = min(max(there + shift[i, lane, 0], -far), far)
    steps = min(max(crew.board[i, 0] + steps, crew.low[i]), crew.high[i]) - crew.board[i, g]
    shift[i, lane, 0] = steps
    shift[i, lane, 1] = min(max(aimed + shift[i, lane, 1], -turn), turn) - aimed


@lean_kernel
def _react(
    crew: Crew, i: int, g: int, lane: int, offset: float, shift: Array, memory: Array, seen: Array
) -> bool:
    """Remember where the ball arrived and move when the mean is off by more than usual.

    The move is the smallest step aside and turn, in boards at the feet and at the arrows, that the
    answers measured at line-up say will put it right.  ``shift`` (n, 2 lanes, 2): boards, radians.
    """
    off = min(max(offset - crew.aim[i, g], -6.0), 6.0)
    memory[i, lane] = REMEMBER * memory[i, lane] + (1.0 - REMEMBER) * off
    seen[i, lane] += 1
    if seen[i, lane] < crew.patience[i]:
        return False
    # The running mean starts at nothing: scale by the weight it has gathered.
    mean = memory[i, lane] / (1.0 - REMEMBER ** seen[i, lane])
    if abs(mean) < max(LEAST_MOVE, NOISE_MOVE * crew.usual_off[i, g]):
        return False
    aside = crew.per_board[i, g]
    turned = crew.per_radian[i, g] * TURN_UNIT
    answer = max(aside * aside + turned * turned, LEAST_ANSWER * LEAST_ANSWER)
    size = -crew.gain[i] * mean / answer
    longest = LARGEST_MOVE / max(abs(aside), abs(turned), 1e-9)
    size = min(max(size, -longest), longest)
    steps = shift[i, lane, 0] + size * aside
    turns = shift[i, lane, 1] + size * turned * TURN_UNIT
    shift[i, lane, 0] = steps
    shift[i, lane, 1] = turns
    _hold(crew, i, g, lane, shift)
    memory[i, lane] = 0.0
    seen[i, lane] = 0
    return True


@lean_kernel
def _go_over(
    crew: Crew,
    i: int,
    frame: int,
    at: Array,
    shift: Array,
    memory: Array,
    seen: Array,
    tally: Array,
) -> None:
    """Take up the line of the game by the ``frame`` of the night, counted from 0.

    Line 0 is the one for the fresh lane, of practice and of the first frames.  Of the moves so far only
    what is this night's own is kept: the new line knows the usual ones.
    """
    if crew.every == 0:
        return
    games = (frame - crew.due[i]) // 10
    meant = min(games * crew.side.shape[0] // crew.every + 1, crew.board.shape[1] - 1)
    while at[i] < meant:
        at[i] += 1
        g = at[i]
        if crew.ball[i, g] != crew.ball[i, g - 1]:
            tally[CHANGES] += 1
        if crew.board[i, g] == crew.board[i, g - 1] and crew.angle[i, g] == crew.angle[i, g - 1]:
            continue
        for lane in range(2):
            for c in range(2):
                shift[i, lane, c] -= crew.aside[i, g, c]
            _hold(crew, i, g, lane, shift)
            memory[i, lane] = 0.0
            seen[i, lane] = 0


@lean_kernel
def _where(crew: Crew, at: Array, shift: Array, lines: Array, when: int) -> None:
    """Keep where everybody stands, (n, games + 1, 2), from ``shift`` (n, 2 lanes, 2) of their lines."""
    for i in range(shift.shape[0]):
        g = at[i]
        lines[i, when, 0] = (
            crew.board[i, g] - crew.board[i, 0] + 0.5 * (shift[i, 0, 0] + shift[i, 1, 0])
        )
        lines[i, when, 1] = (
            crew.angle[i, g] - crew.angle[i, 0] + 0.5 * (shift[i, 0, 1] + shift[i, 1, 1])
        )


@lean_kernel
def _second(crew: Crew, i: int, leave: int, u: float) -> int:
    """Pins that the second ball adds: the inverse distribution at one uniform."""
    below = 0.0
    for j in range(10):
        below += crew.leave_chance[i, leave, j]
        if u < below:
            return j
    return 10


@lean_kernel
def _copy_film(source: Array, target: Array) -> None:
    """Copy a film cell by cell (a slice assignment would compile two seconds of error text)."""
    for row in range(source.shape[0]):
        for column in range(source.shape[1]):
            target[row, column] = source[row, column]


@lean_kernel
def _nights(
    films: Array, mix: Array, pulls: Array, wears: bool, crew: Crew, covers: Covers,
    lib: CarryArrays, leave_index: Array, draws: Array, games: int, practice: int, exact: Array,
    sampled: Array, counts: Array, misses: Array, ends: Array, lines: Array, ledger: Array, work: Work,
) -> None:  # fmt: skip
    """``play_nights`` with its working arrays given: nothing is made here, no reference is counted.

    One long function on purpose: cut into a dozen that share the working arrays, it gave the same
    bytes in 1.4 times the time.
    """
    n = crew.side.shape[0]
    nights = draws.shape[0]
    (
        film, track, out, spares_seen, racks, columns, slots, shift, memory, seen, form, at_line,
    ) = work  # fmt: skip
    for night in range(nights):
        _copy_film(films[night % films.shape[0]], film[0])
        _copy_film(film[0], film[1])
        shift[:] = 0.0
        memory[:] = 0.0
        seen[:] = 0
        at_line[:] = 0
        for i in range(n):
            form[i, 0] = math.exp(FORM_ACCURACY * draws[night, i, 0])
            for c in range(1, 4):
                form[i, c] = FORM_STRAYS * draws[night, i, c]
        for k in range(practice):
            for i in range(n):
                lane = (crew.side[i] + k) & 1
                at = FORM_DRAWS + SLOT_DRAWS * k
                status = _deliver(
                    film[lane], mix, pulls[lane], covers, crew, crew.strike, i, 0, crew.board[i, 0] + shift[i, lane, 0],
                    crew.angle[i, 0] + shift[i, lane, 1], form[i], draws[night, i, at:], track, out,
                )  # fmt: skip
                if wears:
                    _wear(film[lane], mix, crew, crew.strike, i, 0, status, track, out, ledger)
                if status == ARRIVED:
                    _react(crew, i, 0, lane, 20.0 - out[0], shift, memory, seen)
        _where(crew, at_line, shift, lines[night], 0)
        for game in range(games):
            for frame in range(10):
                for i in range(n):
                    lane = (crew.side[i] + frame + game) & 1
                    slot = 2 * frame
                    standing = 0  # 0: a fresh rack
                    first_of_rack = frame
                    _go_over(
                        crew, i, 10 * game + frame, at_line, shift, memory, seen, counts[night, i]
                    )
                    g = at_line[i]
                    for ball in range(3 if frame == 9 else 2):
                        at = FORM_DRAWS + SLOT_DRAWS * (
                            PRACTICE_SLOTS + GAME_SLOTS * game + slot + ball
                        )
                        z = draws[night, i, at : at + SLOT_DRAWS]
                        due = (
                            ball == 0
                            or standing > 0
                            or (frame == 9 and ball == 1 and slots[i, 18] == 10)
                            or (
                                frame == 9
                                and ball == 2
                                and (slots[i, 18] == 10 or slots[i, 18] + slots[i, 19] == 10)
                            )
                        )
                        fresh = due and standing == 0
                        # The tenth frame's extra racks enter the mean whether they are thrown or not.
                        if fresh or (frame == 9 and ball > 0):
                            first_of_rack = frame + ball
                            status = _deliver(
                                film[lane], mix, pulls[lane], covers, crew, crew.strike, i, g,
                                crew.board[i, g] + shift[i, lane, 0],
                                crew.angle[i, g] + shift[i, lane, 1], form[i], z, track, out,
                            )  # fmt: skip
                            offset = 20.0 - out[0] if status == ARRIVED else math.nan
                            value = racks[i, first_of_rack]
                            down = carry(
                                lib, offset, math.degrees(out[1]), out[2], crew.strike.mass[i, g],
                                z[5], crew.clear[i], crew.more[i], spares_seen[i], value,
                            )  # fmt: skip
                            if fresh:
                                standing = 1023 - down
                                pins = 0
                                for bit in range(10):
                                    pins += (down >> bit) & 1
                                slots[i, slot + ball] = pins
                                tally = counts[night, i]
                                tally[RACKS] += 1
                                tally[BALLS] += 1
                                if standing == 0:
                                    tally[STRIKES] += 1
                                if status != ARRIVED:
                                    tally[GUTTERS] += 1
                                if POCKET_LOW <= offset <= POCKET_HIGH:
                                    tally[POCKET] += 1
                                    if standing == 64 or standing == 512:
                                        tally[CORNER] += 1
                                miss = math.degrees(form[i, 0] * crew.strike.angle_sd[i, g] * z[0])
                                side = 0 if miss > 0.0 else 1
                                miss = abs(miss)
                                sums = misses[night, i, side]
                                sums[0] += 1.0
                                sums[1] += miss
                                sums[2] += miss * miss
                                sums[3] += value[FIRST]
                                sums[4] += value[FIRST] * value[FIRST]
                                sums[5] += miss * value[FIRST]
                                if wears:
                                    _wear(
                                        film[lane], mix, crew, crew.strike, i, g, status, track,
                                        out, ledger,
                                    )  # fmt: skip
                                if status == ARRIVED and _react(
                                    crew, i, g, lane, offset, shift, memory, seen
                                ):
                                    tally[MOVES] += 1
                        if due and not fresh:
                            leave = leave_index[standing]
                            added = _second(crew, i, leave, z[5])
                            slots[i, slot + ball] = added
                            left = 0
                            for bit in range(10):
                                left += (standing >> bit) & 1
                            tally = counts[night, i]
                            tally[TRIES] += 1
                            tally[BALLS] += 1
                            if added == left:
                                tally[SPARES] += 1
                            if wears:
                                status = _deliver(
                                    film[lane], mix, pulls[lane], covers, crew, crew.spare, i, 0,
                                    crew.leave_board[i, leave], crew.leave_angle[i, leave],
                                    form[i], z, track, out,
                                )  # fmt: skip
                                _wear(
                                    film[lane],
                                    mix,
                                    crew,
                                    crew.spare,
                                    i,
                                    0,
                                    status,
                                    track,
                                    out,
                                    ledger,
                                )
                            standing = 0
                            if frame != 9:
                                break
            for i in range(n):
                for rack in range(12):
                    for c in range(4):
                        columns[c, rack] = racks[i, rack, c]
                exact[night, i, game] = expected_game(
                    columns[STRIKE],
                    columns[FIRST],
                    columns[SPARE],
                    columns[TOTAL],
                    columns[FIRST, 11],
                )
                sampled[night, i, game] = score_slots(slots[i])
            _where(crew, at_line, shift, lines[night], game + 1)
        if ends.shape[0] > 0:
            _copy_film(film[0], ends[night, 0])
            _copy_film(film[1], ends[night, 1])


@kernel
def play_nights(
    films: Array, mix: Array, pulls: Array, wears: bool, crew: Crew, covers: Covers,
    lib: CarryArrays, leave_index: Array, draws: Array, games: int, practice: int, exact: Array,
    sampled: Array, counts: Array, misses: Array, ends: Array, lines: Array, ledger: Array,
) -> None:  # fmt: skip
    """Nights of a league on one pair of lanes.

    Parameters
    ----------
    films : (starts, 63, 41) film that a night starts from, both lanes alike; night k takes k % starts
    mix : (63, 41) mixture index; ``pulls`` (2,) side pull of each lane [m/s2]
    wears : False leaves the film as it was
    leave_index : (1024,) row of the spare tables by standing mask
    draws : (nights, n, FORM_DRAWS + slots * SLOT_DRAWS)
    exact : (nights, n, games) filled with the mean of each game given the night's arrivals
    sampled : (nights, n, games) filled with scores of games played out
    counts : (nights, n, COUNTS) filled
    misses : (nights, n, 2, 6) filled by side of the miss (0 inside, 1 outside): balls, sum of |miss|
        [deg], of its square, of expected first-ball pins, of its square, of the product
    ends : (nights, 2, 63, 41) filled with the film each lane ends with, if its length is not 0
    lines : (nights, n, games + 1, 2) filled with how far a bowler stands from the line they came
        with, mean of both lanes [boards, rad]: after practice and after each game
    ledger : (2,) oil that left the lanes, as in ``wear_track``
    """
    n = crew.side.shape[0]
    work = Work(
        np.empty((2, films.shape[1], films.shape[2])),
        np.empty(64),
        np.empty(6),
        np.full((n, lib.known.shape[0], 2), np.nan),
        np.empty((n, 12, 4)),
        np.empty((4, 12)),
        np.zeros((n, GAME_SLOTS), np.int64),
        np.empty((n, 2, 2)),
        np.empty((n, 2)),
        np.empty((n, 2), np.int64),
        np.empty((n, 4)),
        np.zeros(n, np.int64),
    )
    _nights(
        films, mix, pulls, wears, crew, covers, lib, leave_index, draws, games, practice, exact,
        sampled, counts, misses, ends, lines, ledger, work,
    )  # fmt: skip
