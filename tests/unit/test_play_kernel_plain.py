"""The parts of the league night's kernel as plain Python, against what their headings say, worked out here.

``check`` takes the functions however they were made: compiled, plain, or with one thing changed
(``tests/soak/mutants.py``).  The night itself is one long function; its laws are in ``test_play_nights.py``.
"""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from leaguesim.play import _kernel

TURN = 0.0059  # one board at the arrows, 15 ft off: board over 15 ft, as an angle
RNG = np.random.default_rng(6)


def people(n=4, lines=4):
    """The fields of a crew that feet and arrows depend on; the rest is never touched."""
    side = np.arange(n) % 2
    board = RNG.uniform(12.0, 30.0, (n, lines))
    angle = RNG.uniform(-0.05, 0.01, (n, lines))
    board[1, 2], angle[1, 2] = board[1, 1], angle[1, 1]  # the same line again
    board[2, 2], angle[3, 2] = board[2, 1], angle[3, 1]  # half of it again
    return SimpleNamespace(
        side=side, every=8, ball=np.array([[0, 0, 1, 1], [0, 1, 1, 2], [0, 0, 0, 0], [2, 1, 0, 1]]),
        due=np.array([0, 3, 5, 9]), aside=RNG.normal(0.0, 0.5, (n, lines, 2)) * (1.0, TURN),
        board=board, angle=angle, aim=RNG.normal(2.5, 0.3, (n, lines)),
        per_radian=RNG.uniform(40.0, 300.0, (n, lines)), per_board=RNG.uniform(-0.4, 1.2, (n, lines)),
        usual_off=np.array([[1.0] * lines, [2.0] * lines, [1.5] * lines, [0.1] * lines]),
        low=board.min(axis=1) - 4.0, high=board.max(axis=1) + 3.0, gain=np.array([0.5, 1.0, 0.0, 0.8]),
        patience=np.array([1, 2, 3, 2]), farthest=np.array([6.0, 3.0, 8.0, 12.0]),
        leave_chance=RNG.dirichlet(np.ones(11), (n, 3)),
    )  # fmt: skip


def within(crew, i, g, steps, turns):
    """A move of the feet and of the arrows that stays in reach of the night's first line and of the approach."""
    far = crew.farthest[i]
    first_board, first_angle = crew.board[i, 0], crew.angle[i, 0]
    stand = np.clip(crew.board[i, g] + steps, first_board - far, first_board + far)
    stand = np.clip(stand, crew.low[i], crew.high[i])
    point = np.clip(crew.angle[i, g] + turns, first_angle - far * TURN, first_angle + far * TURN)
    return stand - crew.board[i, g], point - crew.angle[i, g]


def check_hold(made):
    crew = people()
    for i in range(4):
        for g in range(4):
            for lane in (0, 1):
                for steps, turns in (
                    (0.0, 0.0),
                    (2.0, -0.003),
                    (9.0, 0.09),
                    (-9.0, -0.09),
                    (40.0, 0.0),
                ):
                    shift = np.full((4, 2, 2), 77.0)
                    shift[i, lane] = steps, turns
                    made._hold(crew, i, g, lane, shift)
                    assert np.allclose(shift[i, lane], within(crew, i, g, steps, turns), atol=1e-12)
                    assert (shift != 77.0).sum() == 2


def reacts(crew, i, g, shots):
    """The moves of one bowler on one lane over some arrivals; a running mean scaled by its own weight."""
    moves, steps, turns, since = [], 0.0, 0.0, []
    for offset in shots:
        since.append(float(np.clip(offset - crew.aim[i, g], -6.0, 6.0)))
        moved = False
        if len(since) >= crew.patience[i]:
            weight = 0.7 ** np.arange(len(since))[::-1]
            mean = weight @ since / weight.sum()
            if abs(mean) >= max(0.75, 0.6 * crew.usual_off[i, g]):
                moved, since = True, []
                answer = np.array([crew.per_board[i, g], crew.per_radian[i, g] * TURN])
                move = -crew.gain[i] * mean * answer / max(answer @ answer, 0.0625)
                longest = np.abs(answer).max() and 3.0 / np.abs(answer).max()
                size = np.linalg.norm(move) / np.linalg.norm(answer)
                move *= min(1.0, longest / size) if size > 0.0 else 1.0
                steps, turns = within(crew, i, g, steps + move[0], turns + move[1] * TURN)
        moves.append((moved, steps, turns))
    return moves


def check_react(made):
    crew = people()
    crew.per_board[0, 1], crew.per_radian[0, 1] = 0.05, 0.1 / TURN  # hardly answers
    crew.per_board[1, 1], crew.per_radian[1, 1] = 1.1, 0.05 / TURN
    crew.per_board[3, 1], crew.per_radian[3, 1] = -0.2, -0.9 / TURN
    rng = np.random.default_rng(3)
    seen_moves = 0
    for i in range(4):
        for g in (0, 1, 3):
            for lane in (0, 1):
                shots = crew.aim[i, g] + rng.normal(0.4, 3.0, 25)
                shots[::7] = crew.aim[i, g] + 0.7499, *([-9.0, 9.0, 0.7501])
                shift, memory = np.zeros((4, 2, 2)), np.zeros((4, 2))
                seen = np.zeros((4, 2), np.int64)
                for offset, (moved, steps, turns) in zip(
                    shots, reacts(crew, i, g, shots), strict=True
                ):
                    assert bool(made._react(crew, i, g, lane, offset, shift, memory, seen)) == moved
                    assert np.allclose(shift[i, lane], (steps, turns), rtol=1e-9, atol=1e-12)
                    assert (seen[i, lane] == 0) == moved
                    seen_moves += moved
                assert np.delete(seen.ravel(), 2 * i + lane).sum() == 0
    assert seen_moves > 50


def check_go_over(made):
    crew = people()
    for every in (0, 4, 8):
        crew.every = every
        for i in range(4):
            at, tally = np.zeros(4, np.int64), np.zeros(10, np.int64)
            shift = RNG.normal(0.0, 1.0, (4, 2, 2)) * (1.0, TURN)
            memory, seen = np.full((4, 2), 0.5), np.full((4, 2), 3)
            wanted, others, line, changes = shift[i].copy(), shift.copy(), 0, 0
            for frame in range(60):
                fresh = memory[i, 0] == 0.5
                made._go_over(crew, i, frame, at, shift, memory, seen, tally)
                if every:
                    # games bowled by everybody on the pair since the line's due ball, in units of its worth
                    games = math.floor((frame - crew.due[i]) / 10) * 4
                    meant = min(math.floor(games / every) + 1, 3)
                    while line < meant:
                        line += 1
                        changes += crew.ball[i, line] != crew.ball[i, line - 1]
                        same = crew.board[i, line] == crew.board[i, line - 1]
                        if same and crew.angle[i, line] == crew.angle[i, line - 1]:
                            continue
                        fresh = False
                        for lane in (0, 1):
                            wanted[lane] = within(
                                crew, i, line, *(wanted[lane] - crew.aside[i, line])
                            )
                assert at[i] == line
                assert tally.tolist() == [0] * 9 + [changes]
                assert np.allclose(shift[i], wanted, rtol=1e-9, atol=1e-12)
                assert fresh == (memory[i, 0] == 0.5) == (seen[i, 1] == 3)
                assert (memory[i] == (0.5 if fresh else 0.0)).all()
                assert (seen[i] == (3 if fresh else 0)).all()
            others[i] = shift[i]
            assert (others == shift).all()
            assert line == (3 if every else 0)


def check(made):
    """AssertionError if a kernel does not do what it says."""
    check_hold(made)
    check_react(made)
    check_go_over(made)
    crew = people()
    shift, at = RNG.normal(0.0, 1.0, (4, 2, 2)), np.array([0, 3, 1, 2])
    lines = np.full((4, 3, 2), np.nan)
    made._where(crew, at, shift, lines, 1)
    mine = np.arange(4)
    stands = np.stack(
        [crew.board[mine, at] - crew.board[:, 0], crew.angle[mine, at] - crew.angle[:, 0]], axis=1
    )
    assert np.allclose(lines[:, 1], stands + shift.mean(axis=1))
    assert np.isnan(lines[:, [0, 2]]).all()
    for i, leave in ((0, 0), (2, 1), (3, 2)):
        ends = np.cumsum(crew.leave_chance[i, leave])
        for k in range(11):
            assert made._second(crew, i, leave, ends[k] - 1e-9) == k
        assert made._second(crew, i, leave, 0.0) == 0
    crew.leave_chance[1, 1] = [0.0, 0.5, 0.0, 0.5, *[0.0] * 7]
    assert [made._second(crew, 1, 1, u) for u in (0.0, 0.49, 0.5, 0.99)] == [1, 1, 3, 3]
    source, target = RNG.random((5, 3)), np.zeros((5, 3))
    made._copy_film(source, target)
    assert (source == target).all()


def plain():
    """The module's functions left uncompiled."""
    names = ("_hold", "_react", "_go_over", "_where", "_second", "_copy_film")
    scope = dict(vars(_kernel))
    for name in names:
        function = getattr(_kernel, name).py_func
        scope[name] = type(function)(function.__code__, scope, name)
    return SimpleNamespace(**{name: scope[name] for name in names})


def test_plain_kernels():
    check(plain())


def test_a_kernel_that_is_wrong_is_seen():
    wrong = plain()
    good = wrong._second
    wrong._second = lambda crew, i, leave, u: good(crew, i, leave, min(u + 1e-6, 1.0))
    with pytest.raises(AssertionError):
        check(wrong)
