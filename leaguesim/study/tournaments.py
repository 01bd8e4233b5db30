"""A tournament played many times over: squads, moving pairs, worn or fresh lanes, cut and ladder.

The same field every time; luck, draw of squads and pairs differ.  Entrants know how a block usually
wears its lanes, and what a squad before them usually leaves: they have a line for each of the first three
games and keep the last one; whoever moves to another pair starts where they usually stand by that game
and adjusts.  Nobody knows how one pair differs from another; the two lanes of a pair are taken as equally
worn.  Lanes differ only as the format says, not as the center's own lanes do.  Finalists bowl their ladder
on fresh oil of the last condition, without the other's wear.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field, replace
from itertools import count
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
from leaguesim.bowlers.populate import people_of
from leaguesim.bowlers.values import RosterLine
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.play._kernel import FORM_DRAWS, GAME_SLOTS, PRACTICE_SLOTS, SLOT_DRAWS
from leaguesim.play.aims import Tournament
from leaguesim.play.crew import crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Pins, Setting, play_block
from leaguesim.run.rounds import Progress, quiet
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, check_seed, new_seed, stream
from leaguesim.study.notes import study_notes
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.results import plain
from leaguesim.study.tournament_figures import (
    DRAW,
    entrants_of,
    figures_of,
    groups_of,
    order_of,
    skill_of,
    start_pair,
)
from leaguesim.study.tournament_lines import Known, known_lanes

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

SCHEMA = "leaguesim.tournament/1"
HOW = __doc__.split("\n\n")[1].strip().replace("\n", " ")  # the second paragraph above
REPLICATE = 4_000_000
SKILL_REPLICATE = 5_000_000  # tournaments that only tell who is truly best
LADDER_REPLICATE = 6_000_000  # added: luck of the games of the ladder
SKILL_PLAYED = 64
PLAYED = 128
HEAD = FORM_DRAWS + SLOT_DRAWS * PRACTICE_SLOTS


@dataclass(frozen=True)
class TournamentResult:
    """``study.tournament``: ``figures`` of the whole, ``entrants`` and ``groups`` as tables."""

    center: str
    invented: bool
    tournament: Tournament
    seed: int
    played: int
    figures: dict[str, Any]
    entrants: "pd.DataFrame"
    groups: "pd.DataFrame"
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)

    def to_json(self) -> str:
        """Strict JSON."""
        return json.dumps(
            {
                "schema": SCHEMA,
                "manifest": plain(self.manifest),
                "tournament": plain(asdict(self.tournament)),
                "seed": self.seed,
                "played": self.played,
                "figures": plain(self.figures),
                "entrants": plain(self.entrants.to_dict("records")),
                "groups": plain(self.groups.to_dict("records")),
            },
            indent=1,
            allow_nan=False,
        )


def tournament(
    center: Center,
    *,
    tournament: Tournament | str,
    seed: int | None = None,
    played: int = PLAYED,
    workers: int | None = None,
    progress: Progress = quiet,
) -> TournamentResult:
    """Play a tournament many times: field average, cut, who makes it, how well it tells skill.

    Parameters
    ----------
    tournament : a ``Tournament`` or a file of tournaments/
    played : how many tournaments, a multiple of 32, at least 64

    Raises
    ------
    InputError : no such tournament, faults of its file, or played out of range
    """
    from leaguesim.center.aimfiles import find_tournament

    form = find_tournament(center, tournament) if isinstance(tournament, str) else tournament
    seed = new_seed() if seed is None else check_seed(seed)
    if played < 2 * NIGHTS_PER_STREAM or played % NIGHTS_PER_STREAM:
        raise InputError(f"played: a multiple of 32 from 64 up is needed, got {played}")
    names = form.conditions or (center.today,)
    house = _field(center, form, seed)
    with ready(house, seed, workers=workers, progress=progress) as made:
        progress(0, 0, "lining up for each game")
        ready_for = made_ready(form, names, made)
        show = _counter(progress, (played + SKILL_PLAYED) // NIGHTS_PER_STREAM)
        judging = [
            _block(form, ready_for, made, SKILL_REPLICATE, b, show)
            for b in range(SKILL_PLAYED // NIGHTS_PER_STREAM)
        ]
        counted = [
            _block(form, ready_for, made, REPLICATE, b, show)
            for b in range(played // NIGHTS_PER_STREAM)
        ]
        people = made.order
        notes = study_notes(made, list(names))
    skill, skill_se = skill_of(
        np.concatenate([b.exact.mean(axis=2) for b in judging]),
        np.concatenate([b.squads for b in judging]),
    )
    scores = np.concatenate([b.sampled for b in counted])
    squads = np.concatenate([b.squads for b in counted])
    ladders = np.concatenate([b.ladders for b in counted])
    figures, made_cut = figures_of(form, scores, ladders, squads, skill)
    exact = np.concatenate([b.exact.mean(axis=2) for b in counted])
    starts = np.concatenate([b.starts for b in counted])
    figures["start_pair_sd"] = start_pair(exact - skill, squads, starts)
    labels = {"style": [b.style for b in people], "hand": [b.hand for b in people]}
    entrants = entrants_of([b.bowler for b in people], labels, scores, skill, skill_se, made_cut)
    return TournamentResult(
        center.name, center.invented, form, seed, played, figures, entrants,
        groups_of(labels, made_cut, form.cut), notes,
    )  # fmt: skip


def made_ready(form: Tournament, names: Sequence[str], made: Ready) -> list[list[Known]]:
    """Everybody made ready for the games on each condition, squad by squad."""
    halves = _halves(form.games, len(names))
    return [known_lanes(form, n, made, len(g)) for n, g in zip(names, halves, strict=True)]


def _halves(games: int, conditions: int) -> list[range]:
    """The games of a block on each condition, counted from 0."""
    share = -(-games // conditions)
    return [range(k * share, min((k + 1) * share, games)) for k in range(conditions)]


def _counter(progress: Progress, total: int) -> Callable[[], None]:
    """What tells one more block each time that it is called."""
    done = count()
    return lambda: progress(next(done), total, "tournaments, 32 at a time")


def _field(center: Center, form: Tournament, seed: int) -> Center:
    """The center with the entrants for a roster."""
    if form.field == "roster":
        return center
    if form.field == "population":
        folk = center.populations[form.population]
        return replace(center, roster=people_of(folk, center.styles, form.entrants, seed))
    u = stream(seed, Purpose.BOWLER_TRAITS, identity="tournament field").random((form.entrants, 2))
    lines = center.roster
    styles = [lines[int(x * len(lines))].style for x in u[:, 0]]
    return replace(
        center,
        roster=tuple(
            RosterLine(
                f"entrant {k + 1}", "", "left" if u[k, 1] < center.styles[s].left_handed_share
                else "right", s,
            )
            for k, s in enumerate(styles)
        ),
    )  # fmt: skip


@dataclass(frozen=True)
class Played:
    """32 tournaments: games as expected from where balls arrived and as sampled (32, n, games).

    ``ladders``: games of the ladder (32, n, finalists - 1), 0 for all but the finalists.
    ``squads`` and ``starts`` (the pair of lanes that one begins on) of every draw, (draws, n).
    """

    exact: Array
    sampled: Ints
    ladders: Ints
    squads: Ints
    starts: Ints


@dataclass(frozen=True)
class Draw:
    """Who bowls when, and how the pairs of lanes are: oil laid (pairs,) and pulls (pairs, 2)."""

    order: Ints
    squad: Ints
    start: Ints
    scale: Array
    pulls: Array


def _block(
    form: Tournament, known: Sequence[Sequence[Known]], made: Ready, replicate: int, block: int,
    tell: Callable[[], None],
) -> Played:  # fmt: skip
    """32 tournaments, every 8 with a draw of squads and pairs of their own."""
    tell()
    people = [b.bowler for b in made.order]
    luck = _luck(made, people, block, form.games, replicate)
    more = max(form.finalists - 1, 0)
    extra = _luck(made, people, block, more, replicate + LADDER_REPLICATE) if more else luck
    extra = np.concatenate(
        [luck[..., :FORM_DRAWS], extra[..., FORM_DRAWS:]], axis=-1
    )  # the same day
    draws = [
        _draw(form, len(people), made.seed, replicate, block * NIGHTS_PER_STREAM + first)
        for first in range(0, NIGHTS_PER_STREAM, DRAW)
    ]
    got = made.spread(
        lambda k: _play(form, known, people, made.pins, luck[k * DRAW : (k + 1) * DRAW], draws[k]),
        range(len(draws)),
    )
    sampled = np.concatenate([g[1] for g in got])
    return Played(
        np.concatenate([g[0] for g in got]), sampled,
        _ladders(form, known[-1][0].setting, people, made, sampled, extra),
        np.array([d.squad for d in draws]), np.array([d.start for d in draws]),
    )  # fmt: skip


def _luck(made: Ready, people: Sequence[str], block: int, games: int, replicate: int) -> Array:
    """Draws of everybody's 32 tournaments, (32, n, draws)."""
    return np.stack(
        made.spread(
            lambda who: night_draws(made.seed, who, block=block, games=games, replicate=replicate),
            people,
        ),
        axis=1,
    )


def _ladders(
    form: Tournament, setting: Setting, people: Sequence[str], made: Ready, sampled: Ints, luck: Array
) -> Ints:  # fmt: skip
    """Games of the ladder: finalists on the form of their day, with luck of their own.

    Returns
    -------
    (32, n, finalists - 1), 0 for all but the finalists [pins]
    """
    matches = max(form.finalists - 1, 0)
    out = np.zeros((*sampled.shape[:2], matches), np.int64)
    if not matches:
        return out
    final = np.zeros(sampled.shape[:2], bool)
    np.put_along_axis(final, order_of(sampled)[:, : form.finalists], True, axis=1)
    film = np.ascontiguousarray(setting.films.mean(axis=0, keepdims=True))

    def play(i: int) -> None:
        days = np.flatnonzero(final[:, i])
        crew = crew_of([setting.stances[people[i]]], [0], setting.lane)
        draws = np.ascontiguousarray(luck[days, i][:, None])
        got = play_block(
            film, setting.mix, setting.pulls, crew, made.pins, draws, matches, form.practice_balls
        )
        out[days, i] = got.sampled[:, 0]

    made.spread(play, np.flatnonzero(final.any(axis=0)).tolist())
    return out


def _draw(form: Tournament, n: int, seed: int, replicate: int, first: int) -> Draw:
    rng = stream(seed, Purpose.LANE_TRAITS, replicate=replicate + first, identity="tournament draw")
    order = np.argsort(rng.random(n), kind="stable")
    squad = np.empty(n, np.int64)
    squad[order] = np.arange(n) * form.squads // n
    largest = int(np.bincount(squad).max())
    pairs = -(-largest // (2 * form.per_lane))
    scale = np.exp(form.oil_sd_share * rng.standard_normal(pairs))
    tilt = form.tilt_sd_in * rng.standard_normal((pairs, 2))
    start = np.empty(n, np.int64)
    for s in range(form.squads):
        for k, group in enumerate(np.array_split(order[squad[order] == s], pairs)):
            start[group] = k
    return Draw(order, squad, start, scale, np.vectorize(side_pull)(tilt))


def _play(
    form: Tournament, known: Sequence[Sequence[Known]], people: Sequence[str], pins: Pins,
    luck: Array, draw: Draw,
) -> tuple[Array, Ints]:  # fmt: skip
    """The tournaments of one draw: half of the games on each condition, squad after squad.

    Who stays on a pair bowls the block there in one go; who moves starts every game anew.
    """
    shape = (len(luck), len(people), form.games)
    exact, sampled = np.zeros(shape), np.zeros(shape, np.int64)
    stays = form.move_pairs % len(draw.scale) == 0
    for squads, games in zip(known, _halves(form.games, len(known)), strict=True):
        fresh = [squads[0].setting.films * s for s in draw.scale]
        films = list(fresh)
        parts = [games] if stays else [range(g, g + 1) for g in games]
        for s, squad in enumerate(squads):
            films = list(fresh) if form.reoil else films
            setting = squad.setting
            mine = draw.order[draw.squad[draw.order] == s]
            groups = [mine[draw.start[mine] == k] for k in range(len(fresh))]
            for part in parts:
                g = part[0] - games[0]
                for j, group in enumerate(groups):
                    if group.size == 0:
                        continue
                    at = (j + part[0] * form.move_pairs) % len(fresh)
                    crew = crew_of(
                        [squad.stance(people[i], g) for i in group],
                        [m % 2 for m in range(group.size)], setting.lane,
                    )  # fmt: skip
                    ends = np.empty((len(luck), 2, *films[at].shape[1:]))
                    got = play_block(
                        films[at], setting.mix, setting.pulls + draw.pulls[at], crew, pins,
                        _of_games(luck[:, group], part), len(part),
                        0 if g else form.practice_balls, ends=ends,
                    )  # fmt: skip
                    exact[:, group, part[0] : part[-1] + 1] = got.exact
                    sampled[:, group, part[0] : part[-1] + 1] = got.sampled
                    films[at] = np.ascontiguousarray(ends.mean(axis=1))
    return exact, sampled


def _of_games(luck: Array, games: range) -> Array:
    """Draws of some games out of those of the block: form, practice and those games' slots."""
    one = SLOT_DRAWS * GAME_SLOTS
    own = luck[..., HEAD + one * games[0] : HEAD + one * (games[-1] + 1)]
    return np.concatenate([luck[..., :HEAD], own], axis=-1)
