"""What entrants know of the lanes of a block: a line for each game, and where they stand by then.

Every condition is played ahead squad by squad, in groups drawn once from the field: as in the league,
whoever can tell that the wear costs them pins has a line for each of the first games, and a squad on the
burn lines up on what the squad before it usually leaves.  Nobody knows beforehand how a pair of lanes
differs from the others.  Does not play the tournament.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.values import Bowler
from leaguesim.play.aims import Tournament
from leaguesim.play.crew import GameLine, Stance
from leaguesim.play.draws import night_draws
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import Pair, Setting, Start, make_setting, play_block
from leaguesim.play.transition import AHEAD_REPLICATE, AHEAD_SEED, NIGHTS_AHEAD
from leaguesim.play.values import LeagueFormat
from leaguesim.streams import Purpose, stream
from leaguesim.study.prepare import Ready

Array = NDArray[np.float64]

STAYED: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Known:
    """A squad's entrants ready for a condition: ``setting`` has everybody's lines by game.

    ``stood``: by name, how far one usually stands from the first line when each game begins,
    (games + 1, 2) [boards, rad].
    """

    setting: Setting
    stood: dict[str, Array]

    def stance(self, who: str, game: int) -> Stance:
        """An entrant at the start of a game of the block, counted from 0.

        The first has practice, and the games after it on the same pair if they stay; a later one is
        bowled alone by who comes from another pair: they start where they usually stand by then.
        """
        ready = self.setting.stances[who]
        if game == 0:
            return ready
        played = [g.line for g in ready.played]
        now = played[min(game, len(played) - 1)]
        after = played[min(game + 1, len(played) - 1)]
        aside, turned = self.stood[who][game]
        first = ready.line
        board = min(
            max(first.board + float(aside), ready.bowler.laydown_low_board),
            ready.bowler.laydown_high_board,
        )
        at = now._replace(board=board, angle=first.angle + float(turned))
        games = (GameLine(after, STAYED),) if after is not now else ()
        return replace(ready, line=at, games=games, every=ready.every if games else 0)


def known_lanes(form: Tournament, condition: str, made: Ready, games: int) -> list[Known]:
    """Everybody made ready for a condition by each squad, first to last.

    Parameters
    ----------
    games : of the block that are bowled on this condition
    """
    center, lane = made.center, made.lane(condition)
    after = center.conditions[condition].after
    start = start_of(lane, after, center.styles, center.balls, made.pins, made.seed)
    league = LeagueFormat(games=form.games, practice_balls=form.practice_balls)
    groups = _groups(form, made.order)
    out: list[Known] = []
    for s in range(form.squads):
        if s and form.reoil:
            out.append(out[0])
            continue
        setting = make_setting(
            condition, lane, start, groups, made.pins, made.pool.map, league=league
        )
        ahead = made.spread(partial(_ahead, setting, groups, made, form, games), range(len(groups)))
        stood = {
            b.bowler: got[1][i]
            for got, group in zip(ahead, groups, strict=True)
            for i, b in enumerate(group.bowlers)
        }
        out.append(Known(setting, stood))
        burn = np.mean([film for film, _ in ahead], axis=0)
        start = Start(np.ascontiguousarray(burn[None]), start.mix)
    return out


def _groups(form: Tournament, people: Sequence[Bowler]) -> list[Pair]:
    """The field in groups that share a pair of lanes, drawn once and for every study alike."""
    rng = stream(AHEAD_SEED, Purpose.LANE_TRAITS, replicate=AHEAD_REPLICATE, identity="tournament")
    order = np.argsort(rng.random(len(people)), kind="stable")
    count = max(-(-len(people) // (2 * form.per_lane)), 1)
    return [
        Pair(tuple(people[i] for i in part), tuple(m % 2 for m in range(part.size)))
        for part in np.array_split(order, count)
    ]


def _ahead(
    setting: Setting,
    groups: Sequence[Pair],
    made: Ready,
    form: Tournament,
    games: int,
    k: int,
) -> tuple[Array, Array]:
    """A group's block played ahead: the film it usually leaves, and where its people stood.

    Returns
    -------
    (63, 41) [m], and (n, games + 1, 2) from the first line [boards, rad]
    """
    luck = [
        night_draws(
            AHEAD_SEED, b.bowler, block=0, games=form.games, replicate=AHEAD_REPLICATE
        )[:NIGHTS_AHEAD]
        for b in groups[k].bowlers
    ]  # fmt: skip
    ends = np.empty((NIGHTS_AHEAD, 2, *setting.films.shape[1:]))
    film = np.ascontiguousarray(setting.films.mean(axis=0, keepdims=True))
    block = play_block(
        film, setting.mix, setting.pulls, setting.crews[k], made.pins, np.stack(luck, axis=1),
        games, form.practice_balls, ends=ends,
    )  # fmt: skip
    return ends.mean(axis=(0, 1)), block.lines.mean(axis=0)
