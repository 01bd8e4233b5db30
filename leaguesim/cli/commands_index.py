"""The command index: one page that leads to every report in a folder.

Does not make reports.
"""

import secrets
from pathlib import Path
from typing import Annotated

import typer

from leaguesim.cli.options import Debug, Quiet
from leaguesim.errors import InputError, OutputError

INDEX = "index.html"
OURS = "Made by leaguesim"
INDEX_HELP = "\b\nExamples:\n  leaguesim index\n  leaguesim index my-reports"

Reports = Annotated[Path, typer.Argument(metavar="DIR", help="The folder of reports.")]


def index(folder: Reports = Path("reports"), quiet: Quiet = False, debug: Debug = False) -> None:
    """Write one page that leads to every report in a folder."""
    from leaguesim.report.indexpage import index_page, reports_in

    try:
        there = folder.is_dir()
    except OSError:  # a name too long for a path
        there = False
    if not there:
        raise InputError(f"{folder}: no such folder; name the one that holds your reports")
    entries = reports_in(folder)
    if not entries:
        raise InputError(f"{folder}: holds no report; compare, lane and the others write them")
    place = folder / INDEX
    _write(place, index_page(entries))
    if not quiet:
        typer.echo(f"{len(entries)} reports")
    typer.echo(f"Page: {place}")


def _write(place: Path, page: str) -> None:
    """Replace an earlier index of ours, whole or not at all; nobody else's file is touched."""
    half = place.with_name(f".leaguesim-{secrets.token_hex(6)}")
    try:
        if place.exists() and OURS not in place.read_text(encoding="utf-8", errors="replace"):
            raise OutputError(f"{place}: not written by leaguesim; move it away first")
        half.write_text(page, encoding="utf-8")
        half.replace(place)
    except OSError as error:
        half.unlink(missing_ok=True)
        raise OutputError(f"{place}: cannot be written: {error.strerror}") from error
