"""A tournament played many times over: squads, moving pairs, worn or fresh lanes, cut and ladder.

The same field every time; luck, draw of squads and pairs differ.  Whoever moves to another pair starts
from the line of the fresh oil and adjusts; the two lanes of a pair are taken as equally worn.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.ball.path import side_pull
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
from leaguesim.study.prepare import ready
from leaguesim.study.results import plain

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

SCHEMA = "leaguesim.tournament/1"
REPLICATE = 4_000_000
PLAYED = 128  # tournaments, in blocks of 32 that share a draw of squads and pairs
Z95 = 1.959963984540054
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
        settings = [made.setting(n) for n in names]
        scores, squads = [], []
        blocks = played // NIGHTS_PER_STREAM
        for block in range(blocks):
            progress(block, blocks, "tournaments, 32 at a time")
            got = _block(form, settings, [b.bowler for b in made.order], made.pins, seed, block)
            scores.append(got[0])
            squads.append(got[1])
        people = made.order
        notes = [__doc__.split("\n\n")[1].replace("\n", " "), *study_notes(made, list(names))]
        labels = {"style": [b.style for b in people], "hand": [b.hand for b in people]}
        who = [b.bowler for b in people]
    figures, entrants, groups = _figures(
        form, np.concatenate(scores), np.array(squads), who, labels, seed
    )
    return TournamentResult(
        center.name, center.invented, form, seed, played, figures, entrants, groups, notes
    )


def _field(center: Center, form: Tournament, seed: int) -> Center:
    """The center with the entrants for a roster."""
    if form.field == "roster":
        return center
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


def _block(
    form: Tournament, settings: Sequence[Setting], who: Sequence[str], pins: Pins, seed: int,
    block: int,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:  # fmt: skip
    """32 tournaments with one draw of squads and pairs: scores (32, n, games), squad of each."""
    n = len(who)
    rng = stream(seed, Purpose.LANE_TRAITS, replicate=REPLICATE + block, identity="tournament draw")
    order = np.argsort(rng.random(n), kind="stable")
    squad = np.empty(n, np.int64)
    squad[order] = np.arange(n) * form.squads // n
    largest = max(int((squad == s).sum()) for s in range(form.squads))
    pairs = -(-largest // (2 * form.per_lane))
    scale = np.exp(form.oil_sd_share * rng.standard_normal(pairs))
    tilt = form.tilt_sd_in * rng.standard_normal((pairs, 2))
    scores = np.zeros((NIGHTS_PER_STREAM, n, form.games), np.int64)
    share = -(-form.games // len(settings))
    for k, setting in enumerate(settings):
        games = range(k * share, min((k + 1) * share, form.games))
        pulls = setting.pulls + np.vectorize(side_pull)(tilt)
        fresh = [np.repeat(setting.films, 1, axis=0) * s for s in scale]
        films = list(fresh)
        for s in range(form.squads):
            films = list(fresh) if form.reoil else films
            groups = np.array_split(order[squad[order] == s], pairs)
            for g in games:
                for j, group in enumerate(groups):
                    if group.size == 0:
                        continue
                    at = (j + g * form.move_pairs) % pairs
                    crew = crew_of(
                        [setting.stances[who[i]] for i in group],
                        [m % 2 for m in range(group.size)], setting.lane,
                    )  # fmt: skip
                    draws = np.stack([_luck(seed, who[i], block, form.games, g) for i in group], 1)
                    ends = np.empty((NIGHTS_PER_STREAM, 2, *films[at].shape[1:]))
                    practice = form.practice_balls if g == games[0] else 0
                    got = play_block(
                        films[at], setting.mix, pulls[at], crew, pins, draws, 1, practice, ends=ends
                    )
                    scores[:, group, g] = got.sampled[:, :, 0]
                    films[at] = np.ascontiguousarray(ends.mean(axis=1))
    return scores, squad


def _luck(seed: int, who: str, block: int, games: int, game: int) -> Array:
    """A bowler's draws for one game of the block: form, practice and that game's slots."""
    u = night_draws(seed, who, block=block, games=games, replicate=REPLICATE)
    at = HEAD + SLOT_DRAWS * GAME_SLOTS * game
    return np.concatenate([u[:, :HEAD], u[:, at : at + SLOT_DRAWS * GAME_SLOTS]], axis=1)


def reliability(scores: Array) -> float:
    """Reliability of one game from (n, games): one-way intraclass correlation, ICC(1,1).

    (MSB - MSW) / (MSB + (k - 1) MSW); Shrout & Fleiss 1979.
    """
    k = scores.shape[1]
    between = k * scores.mean(axis=1).var(ddof=1)
    within = scores.var(axis=1, ddof=1).mean()
    return float((between - within) / max(between + (k - 1) * within, 1e-12))


def spearman_brown(one: float, games: float) -> float:
    """Reliability of so many games from that of one (Spearman 1910, Brown 1910)."""
    return games * one / (1.0 + (games - 1.0) * one)


def ladder(scores: Array, seeds: Sequence[int]) -> int:
    """Winner of a ladder: the lowest seed meets the next, and so on up; a tie goes to the higher seed."""
    left = seeds[-1]
    for k, other in enumerate(reversed(seeds[:-1])):
        left = left if scores[left, k] > scores[other, k] else other
    return int(left)


def _figures(
    form: Tournament, scores: NDArray[np.int64], squads: NDArray[np.int64], who: Sequence[str],
    labels: dict[str, list[str]], seed: int,
) -> tuple[dict[str, Any], "pd.DataFrame", "pd.DataFrame"]:  # fmt: skip
    import pandas as pd
    from scipy.stats import rankdata

    played, n, games = scores.shape
    at = np.repeat(np.arange(len(squads)), NIGHTS_PER_STREAM)
    total = scores.sum(axis=2)
    mean = total / games
    effect = np.array(
        [np.mean([mean[at == b][:, q == s].mean() for b, q in enumerate(squads)])
         for s in range(form.squads)]
    )  # fmt: skip
    skill = np.mean([mean[t] - effect[squads[at[t]]] for t in range(played)], axis=0)
    order = np.argsort(-(total + 1e-6 * np.arange(n)[::-1]), axis=1, kind="stable")
    made_cut = np.zeros((played, n), bool)
    np.put_along_axis(made_cut, order[:, : form.cut], True, axis=1)
    best = np.argsort(-skill, kind="stable")[: form.cut]
    ranks = rankdata(skill)
    rank_r = [float(np.corrcoef(ranks, rankdata(t))[0, 1]) for t in total]
    one = float(np.mean([reliability(t.astype(float)) for t in scores])) if games > 1 else None
    late = np.array([mean[t][squads[at[t]] == form.squads - 1].mean() -
                     mean[t][squads[at[t]] == 0].mean() for t in range(played)])  # fmt: skip

    def told(x: Any) -> dict[str, float]:
        x = np.asarray(x, float)
        if ((x == 0.0) | (x == 1.0)).all():  # a share of tournaments: Wilson 1927
            share, z2 = float(x.mean()), Z95**2 / x.size
            middle = (share + z2 / 2.0) / (1.0 + z2)
            half = float(np.sqrt(share * (1.0 - share) * z2 + z2**2 / 4.0)) / (1.0 + z2)
            return {"value": share, "low": max(middle - half, 0.0), "high": min(middle + half, 1.0)}
        half = Z95 * x.std(ddof=1) / np.sqrt(x.size)
        return {
            "value": float(x.mean()),
            "low": float(x.mean() - half),
            "high": float(x.mean() + half),
        }

    figures: dict[str, Any] = {
        "field_average": told(mean.mean(axis=1)),
        "field_sd": told(mean.std(axis=1, ddof=1)),
        "cut_score": told(np.take_along_axis(total, order[:, [form.cut - 1]], 1)[:, 0]),
        "best_all_make_cut": told(made_cut[:, best].all(axis=1)),
        "best_share_making_cut": told(made_cut[:, best].mean(axis=1)),
        "rank_correlation": told(rank_r),
        "reliability_of_a_game": one,
        "reliability": None if one is None else
        {str(g): spearman_brown(one, g) for g in sorted({3, games, 2 * games, 24})},
        "late_less_early_squad": told(late) if form.squads > 1 else None,
        "best_leads": told(order[:, 0] == best[0]),
    }  # fmt: skip
    if form.finalists > 1:
        rng = stream(seed, Purpose.CHECK, identity="ladder")
        extra = np.take_along_axis(scores, rng.integers(0, games, (played, n, form.finalists)), 2)
        won = [ladder(extra[t], list(order[t, : form.finalists])) for t in range(played)]
        figures["best_wins_ladder"] = told(np.array(won) == best[0])
    entrants = pd.DataFrame(
        {"bowler": list(who), **labels, "average": mean.mean(axis=0), "skill": skill,
         "makes_cut": made_cut.mean(axis=0)}
    )  # fmt: skip
    return figures, entrants, _groups(labels, made_cut, form.cut)


def _groups(labels: dict[str, list[str]], made_cut: NDArray[np.bool_], cut: int) -> "pd.DataFrame":
    """Entries, share of the cut and selection ratio (group's rate over everybody else's), 95 % from
    the tournaments played with this field."""
    import pandas as pd

    rows = []
    played = len(made_cut)
    for kind, values in labels.items():
        for name in sorted(set(values)):
            mine = np.array([v == name for v in values])
            row: dict[str, Any] = {"kind": kind, "group": name, "entries": int(mine.sum())}
            got = made_cut[:, mine].mean(axis=1)
            row["share_of_cut"] = float(made_cut[:, mine].sum(axis=1).mean() / cut)
            rest = made_cut[:, ~mine].mean(axis=1) if (~mine).any() else np.zeros(played)
            ratio = low = high = None
            if got.mean() > 0 and rest.mean() > 0:
                ratio = float(got.mean() / rest.mean())
                error = got / got.mean() - rest / rest.mean()
                spread = float(Z95 * error.std(ddof=1) / np.sqrt(played))
                low, high = ratio * float(np.exp(-spread)), ratio * float(np.exp(spread))
            rows.append({**row, "selection_ratio": ratio, "ratio_low": low, "ratio_high": high})
    return pd.DataFrame(rows)
