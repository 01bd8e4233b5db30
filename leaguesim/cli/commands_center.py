"""Commands about a center's files: new and check.

Does not read or write them itself; the center room does.
"""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leaguesim.cli.options import Debug, Json, Quiet
from leaguesim.cli.talk import out_json, say, tell
from leaguesim.errors import InputError, ProfileError

if TYPE_CHECKING:
    from leaguesim.center.scores import Scores
    from leaguesim.center.values import Center

MOST_TOLD = 25  # rows of scores.csv told one by one
CHECK_SCHEMA = "leaguesim.check/1"

NEW_HELP = "\b\nExample:\n  leaguesim new my-center\n  leaguesim check my-center"
CHECK_HELP = (
    "\b\nExamples:\n  leaguesim check my-center\n  leaguesim check my-center --json\n"
    "  leaguesim check --schema\n\nExit code 2 if anything is wrong. Rows of scores.csv that can't be used "
    "are told, but are no reason to stop: fit leaves them out."
)

Where = Annotated[Path, typer.Argument(metavar="DIR", help="Folder to write; new or empty.")]
MaybeFolder = Annotated[
    Path | None, typer.Argument(metavar="DIR", help="The center's folder.", show_default=False)
]
Schema = Annotated[
    bool, typer.Option("--schema", help="Print the JSON Schema of every kind of file, for editors.")
]

Deep = Annotated[
    bool,
    typer.Option(
        "--deep", help="Also play a few nights and check oil, mirror and pairing: a minute."
    ),
]


def new(folder: Where, quiet: Quiet = False, debug: Debug = False) -> None:
    """Write a complete, commented center to start from."""
    from leaguesim.center import write_starter

    write_starter(folder)
    if not quiet:
        say(f"Wrote a starter center. Edit its files, then: leaguesim check {folder}")
    typer.echo(str(folder))


def check(
    folder: MaybeFolder = None,
    schema: Schema = False,
    deep: Deep = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Check every file of a center; all faults at once, a line each."""
    from leaguesim.center import read, schemas

    if schema:
        out_json(schemas())
        return
    if folder is None:
        raise InputError("check: name the center's folder (see leaguesim check --help)")
    season: Scores | None = None
    faults: list[str] = []
    try:
        center = read(folder)
        season = _beside(center)
    except ProfileError as error:
        if not json:
            raise
        faults = error.faults
    if deep and not faults:
        _deep(center, json, quiet)
        return
    if json:
        left = season.problems if season is not None else []
        out_json({"schema": CHECK_SCHEMA, "ok": not faults, "faults": faults, "not_used": left})
        raise typer.Exit(2 if faults else 0)
    tell(
        [
            f"{folder}: fine. {center.name}: {len(center.roster)} bowlers, "
            f"{len(center.conditions)} conditions ({', '.join(sorted(center.conditions))}), "
            f"today is {center.today}."
        ]
    )
    if season is not None:
        tell(_season(season, len(center.roster)))


def _beside(center: "Center") -> "Scores | None":
    """The season of scores, if there is one; every other file that a command asks for by name is read.

    Raises
    ------
    ProfileError : with the faults of all of them
    """
    from leaguesim.center.aimfiles import find_goal, find_tournament
    from leaguesim.center.scores import SCORES_FILE, read_scores
    from leaguesim.center.sequence import find_sequence

    def of(pattern: str) -> list[str]:
        return sorted(p.stem for p in center.folder.glob(pattern))

    season: Scores | None = None
    work: list[Callable[[], object]] = [
        *(partial(find_goal, center, name, None) for name in of("goals/*.toml")),
        *(partial(find_tournament, center, name) for name in of("tournaments/*.toml")),
        *(partial(find_sequence, center, name) for name in of("sequences/*.csv")),
    ]
    faults: list[str] = []
    try:
        if (center.folder / SCORES_FILE).exists():
            season = read_scores(center)
    except ProfileError as error:
        faults += error.faults
    for look in work:
        try:
            look()
        except ProfileError as error:
            faults += error.faults
        except InputError as error:
            faults.append(str(error))
    if faults:
        raise ProfileError(faults)
    return season


def _season(season: "Scores", roster: int) -> list[str]:
    """What can be used of a season of scores, and each row that can't."""
    games, left = season.games, season.problems
    nights = len(set(games["session"]))
    when = f"{nights} night" if nights == 1 else f"{nights} nights"
    lines = [
        f"{season.file}: {len(games):,} games of {len(set(games['bowler']))} of {roster} bowlers on "
        f"{when}; " + (f"not used ({len(left):,}), and why:" if left else "every row can be used.")
    ]
    lines += [f"  {problem}" for problem in left[:MOST_TOLD]]
    if len(left) > MOST_TOLD:
        lines.append(f"  and {len(left) - MOST_TOLD:,} more; fit lists them in not-used.txt")
    return lines


def _deep(center: "Center", json: bool, quiet: bool) -> None:
    """What must hold exactly on this center: exit code 1 where it does not, for that is our fault."""
    from leaguesim.cli.talk import progress
    from leaguesim.study.deep import deep_checks

    with progress(quiet) as show:
        checks = deep_checks(center, progress=show)
    held = all(c.held for c in checks)
    if json:
        rows = [{"name": c.name, "held": c.held, "found": c.found} for c in checks]
        out_json({"schema": CHECK_SCHEMA, "ok": held, "faults": [], "deep": rows})
    else:
        for c in checks:
            typer.echo(f"{'holds' if c.held else 'FAILS'}  {c.name}: {c.found}")
    raise typer.Exit(0 if held else 1)
