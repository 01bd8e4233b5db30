"""The command that plays a tournament many times over.

Does not compute or draw: the study does the one, the report the other.
"""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

import typer

from leaguesim.cli.keep import PAGE, manifest_of, place_for, seed_for, shared, tell_page, write
from leaguesim.cli.options import (
    Charts,
    Debug,
    Folder,
    Force,
    Json,
    Out,
    Pseudonyms,
    Quiet,
    Seed,
    Workers,
    names_in,
)
from leaguesim.cli.talk import out_console, out_json, progress

TOURNAMENT_HELP = (
    "\b\nExamples:\n  leaguesim tournament my-center --format club_open\n"
    "  leaguesim tournament my-center --format club_open --played 256 --seed 1"
)
Format = Annotated[
    str,
    typer.Option(
        "--format",
        metavar="NAME",
        autocompletion=names_in("tournaments/*.toml"),
        help="A file of tournaments/ without .toml.",
    ),
]
Played = Annotated[
    int,
    typer.Option("--played", metavar="N", help="Tournaments to play, a multiple of 32 from 64."),
]


def tournament(
    folder: Folder,
    form: Format,
    played: Played = 128,
    seed: Seed = None,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    charts: Charts = False,
    json: Json = False,
    pseudonyms: Pseudonyms = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """What does this format do: field average, cut, early and late squad, who makes it?"""
    from leaguesim.center import read
    from leaguesim.center.aimfiles import find_tournament

    center = read(folder)
    find_tournament(center, form)
    place = place_for(out, force, json, "tournament", form)
    started = datetime.now(UTC)
    from leaguesim.study import tournament as study

    seed = seed_for(seed, quiet)
    with progress(quiet) as show:
        result = study(
            center, tournament=form, seed=seed, played=played, workers=workers, progress=show
        )
    result = shared(result, center, pseudonyms)
    from leaguesim.report.csvfiles import csv_text
    from leaguesim.report.export import page_charts
    from leaguesim.report.terminal_aims import tournament_text
    from leaguesim.report.tournamentpage import tournament_page

    files: dict[str, str | bytes] = {
        PAGE: "", "summary.json": "", "manifest.json": "",
        "entrants.csv": csv_text(result.entrants), "groups.csv": csv_text(result.groups),
    }  # fmt: skip
    if charts and place is not None:
        files |= page_charts(tournament_page(result))
    made = manifest_of(
        center, result.seed, None, workers, started, result.to_json(), files, pseudonyms
    )
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: tournament_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    tournament_text(result, out_console())
    tell_page(place)
