"""Makes the demo's season of scores again: ``python -m leaguesim.cli.demo_season [FILE]``.

Invented: the demo's bowlers with hidden traits, accuracies and spare skills, played by our own simulator
under today's condition.  The hidden values are those of ``hidden_people``; no fit reads them.
"""

import sys
from collections.abc import Sequence
from pathlib import Path

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
    from leaguesim.study import invented
    from leaguesim.study.prepare import ready

    with ready(center, seed, tie=False) as made:
        made.seat(people)
        return invented.season_csv(
            made, condition or center.today, weeks, missed=missed, first_week=first_week,
            labelled=condition is not None, tallies=tallies,
        )  # fmt: skip


def main() -> None:
    """Entry point of ``python -m leaguesim.cli.demo_season``."""
    from leaguesim.center import demo_center, read

    center = read(demo_center())
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else demo_center() / "scores.csv"
    target.write_text(season_csv(center, hidden_people(center)), encoding="utf-8")
    sys.stderr.write(f"made {target}\n")


if __name__ == "__main__":
    main()
