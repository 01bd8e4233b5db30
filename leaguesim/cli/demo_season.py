"""Makes the demo's season of scores again: ``python -m leaguesim.cli.demo_season [FILE]``.

Invented: the demo's bowlers with hidden traits, accuracies and spare skills, played by our own simulator
under today's condition.  The hidden values are those of ``hidden_people``; no fit reads them.
"""

import csv
import io
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from leaguesim.bowlers.values import Bowler
from leaguesim.center.values import Center

HIDDEN_SEED = 20_260_901
WEEKS = 32
MISSED = 0.06  # share of nights that a bowler is away


def hidden_people(center: Center, seed: int = HIDDEN_SEED) -> list[Bowler]:
    """The bowlers who bowl the season, in the roster's order."""
    from leaguesim.streams import Purpose, stream
    from leaguesim.study.traits import bowler_at, points_of

    out = []
    for line in center.roster:
        u = stream(seed, Purpose.CHECK, identity=line.bowler).random((1, 6))
        out.append(
            bowler_at(center, line, line.style, points_of(center.styles[line.style], line, u)[0])
        )
    return out


def season_csv(
    center: Center,
    people: Sequence[Bowler],
    *,
    seed: int = HIDDEN_SEED,
    weeks: int = WEEKS,
    condition: str | None = None,
    missed: float = MISSED,
    first_week: int = 1,
    tallies: bool = False,
) -> str:
    """A season of such bowlers as ``scores.csv``; everybody there shares the pair's wear."""
    from leaguesim.play import _kernel
    from leaguesim.play.draws import night_draws
    from leaguesim.play.setting import make_setting, play_block
    from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, stream
    from leaguesim.study.emulator import film_of
    from leaguesim.study.prepare import ready

    name = condition or center.today
    rows: list[list[object]] = []
    with ready(center, seed, tie=False) as made:
        from leaguesim.play.setting import pairs_of

        pairs = pairs_of(people)
        lane, start = film_of(made, name)
        setting = make_setting(name, lane, start, pairs, made.pins, made.pool.map)
        games, practice = center.league.games, center.league.practice_balls
        for block in range(-(-weeks // NIGHTS_PER_STREAM)):
            for k, pair in enumerate(pairs):
                draws = np.stack(
                    [night_draws(seed, b.bowler, block=block, games=games) for b in pair.bowlers],
                    axis=1,
                )[: weeks - block * NIGHTS_PER_STREAM]
                played = play_block(
                    setting.films_of(block, 0), setting.mix, setting.pulls, setting.crews[k],
                    made.pins, draws, games, practice,
                )  # fmt: skip
                for i, b in enumerate(pair.bowlers):
                    away = stream(
                        seed, Purpose.CHECK, replicate=1 + block, identity=b.bowler
                    ).random(len(draws))
                    for week in np.flatnonzero(away >= missed):
                        count = played.counts[week, i]
                        frames = [
                            count[_kernel.STRIKES], count[_kernel.SPARES],
                            count[_kernel.TRIES] - count[_kernel.SPARES],
                        ]  # fmt: skip
                        rows.append(
                            [first_week + block * NIGHTS_PER_STREAM + int(week), b.bowler, b.team]
                            + [int(s) for s in played.sampled[week, i]]
                            + ([name] if condition else [])
                            + ([int(f) for f in frames] if tallies else [])
                        )
    rows.sort(key=lambda r: (r[0], str(r[2]), str(r[1])))
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    head = ["week", "bowler", "team", *(f"game{g + 1}" for g in range(center.league.games))]
    head += ["condition"] if condition else []
    writer.writerow(head + (["strikes", "spares", "opens"] if tallies else []))
    writer.writerows(rows)
    return text.getvalue()


def main() -> None:
    """Entry point of ``python -m leaguesim.cli.demo_season``."""
    from leaguesim.center import demo_center, read

    center = read(demo_center())
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else demo_center() / "scores.csv"
    target.write_text(season_csv(center, hidden_people(center)), encoding="utf-8")
    sys.stderr.write(f"made {target}\n")


if __name__ == "__main__":
    main()
