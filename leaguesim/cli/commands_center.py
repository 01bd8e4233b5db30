"""Commands about a center's files: new and check.

Does not read or write them itself; the center room does.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leaguesim.cli.options import Debug, Json, Quiet
from leaguesim.cli.talk import out_json, say, tell
from leaguesim.errors import InputError, ProfileError

if TYPE_CHECKING:
    from leaguesim.center.values import Center

CHECK_SCHEMA = "leaguesim.check/1"

NEW_HELP = "\b\nExample:\n  leaguesim new my-center\n  leaguesim check my-center"
CHECK_HELP = (
    "\b\nExamples:\n  leaguesim check my-center\n  leaguesim check my-center --json\n"
    "  leaguesim check --schema\n\nExit code 2 if anything is wrong."
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
    faults: list[str] = []
    try:
        center = read(folder)
    except ProfileError as error:
        if not json:
            raise
        faults = error.faults
    if deep and not faults:
        _deep(center, json, quiet)
        return
    if json:
        out_json({"schema": CHECK_SCHEMA, "ok": not faults, "faults": faults})
        raise typer.Exit(2 if faults else 0)
    tell(
        [
            f"{folder}: fine. {center.name}: {len(center.roster)} bowlers, "
            f"{len(center.conditions)} conditions ({', '.join(sorted(center.conditions))}), "
            f"today is {center.today}."
        ]
    )


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
