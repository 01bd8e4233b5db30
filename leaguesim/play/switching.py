"""The first weeks after a switch: people come with the line and ball they had, and learn.

In a night they move as always; from week to week they remember part of the moves of the first game;
and they take up the best line and ball of the new condition once they have bowled enough on it to tell
the difference.  Does not settle what the weeks cost: the study room compares them.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.lineup import (
    Aim,
    Floor,
    Line,
    floor_of,
    line_at,
    told_apart,
)
from leaguesim.play.crew import GameLine, Stance, crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pair, Pins, Setting, play_block
from leaguesim.play.values import LeagueFormat
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose

Array = NDArray[np.float64]
Draws = Callable[[str, int], Array]

LINE_MEMORY = 0.7  # share of the first game's moves that is still there a week later (assumed)
SEASON_GAMES = 96  # games over which ``told_apart`` is told


@dataclass(frozen=True)
class Weeks:
    """First weeks and settled play on the same draws; bowlers in the order of the pairs.

    Attributes
    ----------
    exact, settled : (weeks, n, games) mean of each game given the arrivals: starting from the old
        line, and starting from the line found on that week's condition
    board, angle : (weeks, n) where they stood at the start of the night [board, rad], own frame
    ball : (weeks, n) which ball of the bag they came with
    moved : (weeks, n) boards moved at the feet and at the arrows from the old line to the one
        they stood on after the last game, the larger of the two, signed (left positive for a
        right-hander)
    learnt : (weeks, n) whether they had taken up the week's own line
    """

    exact: Array
    settled: Array
    board: Array
    angle: Array
    ball: NDArray[np.int64]
    moved: Array
    learnt: NDArray[np.bool_]

    @property
    def cost(self) -> Array:
        """(weeks, n) pins a game that the old habits cost, settled minus first weeks."""
        return np.asarray(self.settled.mean(axis=2) - self.exact.mean(axis=2))


@dataclass(frozen=True)
class Shift:
    """What a switch asks of one bowler, line against line, own frame.

    ``feet``, ``arrows`` boards to move (to the far side positive), ``breakpoint`` and ``exit`` shift of
    those boards, ``roll_start_ft`` how much further down the ball rolls (None if it never does),
    ``entry_deg`` change of the entry angle, ``ball`` whether another ball is asked for, ``gap`` pins a
    game that the old line is worth less than the new one.
    """

    feet: float
    arrows: float
    breakpoint: float
    exit: float
    roll_start_ft: float | None
    entry_deg: float
    ball: bool
    gap: float


def games_to_tell(stance: Stance, gap: float) -> int:
    """Games on a condition until a bowler can tell a gap [pins a game]; the season's at the most.

    The standard error of a difference falls with the root of the games: ``told_apart`` is a season's.
    """
    if gap <= 0.0:
        return SEASON_GAMES
    share = min(1.0, (told_apart(stance.bowler) / gap) ** 2)
    return int(np.ceil(share * SEASON_GAMES - 1e-9))


def old_line_on(old: Stance, setting: Setting, pins: Pins) -> Line:
    """A bowler's old line and ball, measured on the film of another condition."""
    line = old.line
    aim = Aim(line.ball, line.board, line.angle, 0.0)
    there = setting.stances[old.bowler.bowler]
    return line_at(
        old.bowler, _floor(setting), pins.arrays, there.spares.clear, there.spares.more, aim
    )


def shift_of(old: Stance, setting: Setting, pins: Pins, measured: Line | None = None) -> Shift:
    """What going over to ``setting`` asks of a bowler; ``measured``: ``old_line_on`` it, if known."""
    a, b = old.line, setting.stances[old.bowler.bowler].line
    rolls = a.roll_start_ft <= 60.0 and b.roll_start_ft <= 60.0
    return Shift(
        b.board - a.board,
        b.arrow_board - a.arrow_board,
        b.breakpoint_board - a.breakpoint_board,
        b.exit_board - a.exit_board,
        b.roll_start_ft - a.roll_start_ft if rolls else None,
        b.entry_deg - a.entry_deg,
        b.ball != a.ball,
        b.worth - (old_line_on(old, setting, pins) if measured is None else measured).worth,
    )


def first_weeks(
    old: Setting,
    schedule: Sequence[Setting],
    pairs: Sequence[Pair],
    pins: Pins,
    league: LeagueFormat,
    *,
    seed: int,
    replicate: int = 0,
    purpose: Purpose = Purpose.LEAGUE_NIGHT,
    measured: Mapping[str, Line] | None = None,
) -> Weeks:
    """Play weeks in order after ``old``, everybody starting from the line and ball they had there.

    Parameters
    ----------
    schedule : the condition of each week; one jump is the same setting again and again, a gradual
        change a dated sequence.  All settings made for the same ``pairs``
    replicate : another one is another season on fresh luck; the luck of a week does not depend on
        its condition, so schedules and settled play are paired
    measured : by bowler, ``old_line_on`` the first condition of the schedule, if known already

    Notes
    -----
    Whoever lines up alike on the next condition has nothing to learn and plays as if settled, to the bit.
    """
    people = [b for p in pairs for b in p.bowlers]
    n, weeks, games = len(people), len(schedule), league.games
    out = Weeks(
        np.zeros((weeks, n, games)), np.zeros((weeks, n, games)), np.zeros((weeks, n)),
        np.zeros((weeks, n)), np.zeros((weeks, n), np.int64), np.zeros((weeks, n)),
        np.zeros((weeks, n), bool),
    )  # fmt: skip
    at = 0
    for k, pair in enumerate(pairs):
        known = measured or {}
        habits = [_Habit(old.stances[b.bowler], known.get(b.bowler)) for b in pair.bowlers]
        luck: Array = np.empty(0)
        for week, everywhere in enumerate(schedule):
            setting = everywhere.at(k)
            block, night = divmod(week, NIGHTS_PER_STREAM)
            if night == 0:
                luck = _luck(pair, league.games, seed, block, replicate, purpose)
            draws = luck[night][None]
            films = setting.films_of(block, replicate)
            films = films[night % films.shape[0]][None]
            stances = [h.stance(setting, pins) for h in habits]
            ready = crew_of(stances, pair.sides, setting.lane)
            played = [
                play_block(
                    films, setting.mix, setting.pulls, crew, pins, draws, games,
                    league.practice_balls, wears=setting.wears,
                )
                for crew in (ready, setting.crews[k])
            ]  # fmt: skip
            who = slice(at, at + len(habits))
            out.exact[week, who], out.settled[week, who] = (b.exact[0] for b in played)
            for i, (habit, stance) in enumerate(zip(habits, stances, strict=True)):
                last = played[0].lines[0, i]
                out.board[week, at + i] = stance.line.board
                out.angle[week, at + i] = stance.line.angle
                out.ball[week, at + i] = stance.line.ball
                out.learnt[week, at + i] = habit.learnt
                out.moved[week, at + i] = _farther(stance.line, last[-1], old, stance)
                habit.after(last, games)
        at += len(pair.bowlers)
    return out


def _luck(pair: Pair, games: int, seed: int, block: int, replicate: int, purpose: Purpose) -> Array:
    """Draws of a block of weeks, (32, n, draws_a_night)."""
    made = [
        night_draws(
            seed, b.bowler, block=block, games=games, replicate=replicate, purpose=purpose
        )
        for b in pair.bowlers
    ]  # fmt: skip
    return np.stack(made, axis=1)


def _farther(line: Line, shift: Array, old: Setting, stance: Stance) -> float:
    """Boards from the old line to a line moved by ``shift``: feet or arrows, whichever is more."""
    was = old.stances[stance.bowler.bowler].line
    now = line._replace(board=line.board + shift[0], angle=line.angle + shift[1])
    feet, arrows = now.board - was.board, now.arrow_board - was.arrow_board
    return float(feet if abs(feet) >= abs(arrows) else arrows)


def _floor(setting: Setting) -> Floor:
    film = np.ascontiguousarray(setting.films.mean(axis=0))
    return floor_of(setting.lane, film, setting.mix)


class _Habit:
    """What one bowler carries from week to week: a line, games on this condition, what they know."""

    def __init__(self, stance: Stance, measured: Line | None = None) -> None:
        self._measured = measured
        self._bowler, self._line = stance.bowler, stance.line
        self._aim = stance.line.aim_offset
        self._came, self._games_known = stance.line, stance.games
        self._setting: Setting | None = None
        self._games = 0
        self._needed = 0
        self.learnt = True

    def stance(self, setting: Setting, pins: Pins) -> Stance:
        """How the bowler comes to a night on a condition."""
        settled = setting.stances[self._bowler.bowler]
        if setting is not self._setting:
            self._setting, self._games = setting, 0
            same = self._line[:3] == settled.line[:3]
            self.learnt = same
            if not same:
                measured = self._measured or old_line_on(
                    Stance(self._bowler, self._line, settled.spares), setting, pins
                )
                self._needed = games_to_tell(settled, settled.line.worth - measured.worth)
                # They still aim where they have always aimed.
                self._line = measured._replace(aim_offset=self._aim)
            self._measured = None
        if not self.learnt and self._games >= self._needed:
            self.learnt = True
        if self.learnt:
            self._line, self._aim = settled.line, settled.line.aim_offset
            self._came, self._games_known = settled.line, settled.games
            return settled
        return replace(settled, line=self._line, games=self._old_games())

    def _old_games(self) -> tuple[GameLine, ...]:
        """From game to game they move, and change balls, as they did where they come from."""
        b, out = self._bowler, []
        for game in self._games_known:
            board = game.line.board - self._came.board + self._line.board
            board = min(max(board, b.laydown_low_board), b.laydown_high_board)
            angle = game.line.angle - self._came.angle + self._line.angle
            same = game.line[:3] == self._came[:3]
            moved = self._line if same else game.line._replace(board=board, angle=angle)
            out.append(GameLine(moved, game.aside))
        return tuple(out)

    def after(self, lines: Array, games: int) -> None:
        """Remember a night: ``lines`` (games + 1, 2) as in ``play_nights``."""
        self._games += games
        if self.learnt:
            return
        b = self._bowler
        board = self._line.board + LINE_MEMORY * lines[1, 0]
        board = min(max(board, b.laydown_low_board), b.laydown_high_board)
        angle = self._line.angle + LINE_MEMORY * lines[1, 1]
        self._line = self._line._replace(board=float(board), angle=float(angle))
