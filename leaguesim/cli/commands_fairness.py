"""The command for the association's rep: fairness.

Does not compute or draw; it joins study, report and disk.
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
    Nights,
    Out,
    Pseudonyms,
    Quiet,
    Seed,
    Workers,
    names_in,
)
from leaguesim.cli.talk import out_console, out_json, progress

if TYPE_CHECKING:
    from leaguesim.study.fairness_result import FairnessResult

FAIRNESS_HELP = (
    "\b\nExamples:\n  leaguesim fairness my-center --condition thursday_42\n"
    "  leaguesim fairness my-center --condition thursday_42 --against tuesday_40\n"
    "  leaguesim fairness my-center --condition tuesday_40 --nights 64 --json"
)

Condition = Annotated[
    str,
    typer.Option(
        "--condition", metavar="A", autocompletion=names_in("conditions/*.toml"),
        help="Condition to judge.",
    ),
]  # fmt: skip
Against = Annotated[
    str | None,
    typer.Option(
        "--against", metavar="B", show_default=False, autocompletion=names_in("conditions/*.toml"),
        help="Condition to hold it against. Without it, today's.",
    ),
]  # fmt: skip
Houses = Annotated[
    list[Path] | None,
    typer.Option(
        "--house", metavar="DIR", show_default=False,
        help="Another center whose condition of today joins the exchange of averages; may be "
        "given again.",
    ),
]  # fmt: skip


def fairness(
    folder: Folder,
    condition: Condition,
    against: Against = None,
    house: Houses = None,
    seed: Seed = None,
    nights: Nights = None,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    charts: Charts = False,
    json: Json = False,
    pseudonyms: Pseudonyms = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Is a condition within the rules, and fair to every hand, style and average?

    Verdicts: fair within the margin of center.toml, unfair toward somebody, or not shown. Also the
    same people with either hand, handicap equity and an exchange table of averages.
    """
    from leaguesim.center import find_condition, read

    started = datetime.now(UTC)
    center = read(folder)
    for name in (condition, against):
        if name is not None:
            find_condition(center, name)
    houses = [read(h) for h in house or []]
    place = place_for(out, force, json, "fairness", condition, *([against] if against else []))
    from leaguesim.study import fairness as study

    seed = seed_for(seed, quiet)
    with progress(quiet) as show:
        result: FairnessResult = study(
            center, condition=condition, against=against, seed=seed, nights=nights,
            workers=workers, houses=houses, progress=show,
        )  # fmt: skip
    result = shared(result, center, pseudonyms)
    from leaguesim.report.export import page_charts
    from leaguesim.report.fairnesspage import fairness_csv, fairness_page, fairness_text

    files: dict[str, str | bytes] = {
        PAGE: "",
        "summary.json": "",
        "manifest.json": "",
        **fairness_csv(result),
    }
    if charts and place is not None:
        files |= page_charts(fairness_page(result))
    made = manifest_of(
        center, result.seed, result.nights, workers, started, result.to_json(), files, pseudonyms
    )
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: fairness_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    fairness_text(result, out_console())
    tell_page(place)
