"""The command that fits a roster to a season of scores: fit.

Does not compute or draw; the study and the report do.
"""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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
    there,
)
from leaguesim.cli.talk import out_json, progress, tell

if TYPE_CHECKING:
    from leaguesim.study.fitting import FitResult

FIT_HELP = (
    "\b\nExamples:\n  leaguesim fit my-center\n"
    "  leaguesim fit my-center --scores season.csv --seed 1 --out fitted"
)
ScoresFile = Annotated[
    Path | None,
    typer.Option(
        "--scores", metavar="FILE", show_default=False, callback=there,
        help="Season of scores; without it scores.csv in the center's folder.",
    ),
]  # fmt: skip
MOST_TOLD = 5
FIT_KEY = (
    "Shrunken average: a bowler's own, pulled toward the league's, the more the fewer the games. Luck "
    "alone: the miss that a perfect forecast would have. Labels: a column condition in the scores."
)


def fit(
    folder: Folder,
    scores: ScoresFile = None,
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
    """Who are these bowlers, by a season of their scores?

    Writes a fitted roster (fitted.json) with what is not known of each bowler, a back-test and a page.
    """
    from leaguesim.center import read
    from leaguesim.center.scores import read_scores
    from leaguesim.study import fit as study

    started = datetime.now(UTC)
    center = read(folder)
    season = read_scores(center, scores)
    place = place_for(out, force, json, "fit", folder.resolve().name)
    seed = seed_for(seed, quiet)
    with progress(quiet) as show:
        result: FitResult = study(center, season, seed=seed, workers=workers, progress=show)
    result = shared(result, center, pseudonyms)
    from leaguesim.report.export import page_charts
    from leaguesim.report.fitpage import fit_csv, fit_page, told, unmet

    files: dict[str, str | bytes] = {PAGE: "", "summary.json": "", "manifest.json": ""}
    files |= fit_csv(result, fitted=not pseudonyms) if place is not None else {}
    hashes = {**center.file_hashes, Path(season.file).name: season.sha256}
    named = replace(center, file_hashes=hashes)
    if charts and place is not None:
        files |= page_charts(fit_page(result))
    made = manifest_of(
        named, result.seed, result.nights, workers, started, result.to_json(), files, pseudonyms
    )
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: fit_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    tell((*told(result), *unmet(result), *result.notes, *result.problems[:MOST_TOLD]))
    if len(result.problems) > MOST_TOLD:
        tell([f"{len(result.problems) - MOST_TOLD} more rows were not used: not-used.txt"])
    tell([FIT_KEY])
    if place is not None and pseudonyms:
        tell(["Without fitted.json, which names bowlers: fit again without --pseudonyms for it."])
    elif place is not None:
        tell(
            [
                f"Next: leaguesim compare {folder} --now {center.today} --next NEXT --fitted "
                f"{place.path / 'fitted.json'} --unknowns 16 (a first look; without --unknowns 128 are drawn, "
                "which takes many minutes)"
            ]
        )
    tell_page(place)
