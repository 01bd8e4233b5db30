"""Commands about a center's files: new and check.

Does not read or write them itself; the center room does.
"""

from pathlib import Path
from typing import Annotated

import typer

from leaguesim.cli.options import Debug, Json, Quiet
from leaguesim.cli.talk import out_json, say
from leaguesim.errors import InputError, ProfileError

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
    if json:
        out_json({"schema": CHECK_SCHEMA, "ok": not faults, "faults": faults})
        raise typer.Exit(2 if faults else 0)
    typer.echo(
        f"{folder}: fine. {center.name}: {len(center.roster)} bowlers, "
        f"{len(center.conditions)} conditions ({', '.join(sorted(center.conditions))}), "
        f"today is {center.today}."
    )
