"""``compare --surface all``: the same switch on every surface of a center.

Does not compute or draw: the study does the one, the report the other.
"""

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import typer

from leaguesim.cli.keep import PAGE, manifest_of, seed_for, shared, tell_page, write
from leaguesim.cli.playing import How
from leaguesim.cli.talk import out_console, out_json, progress
from leaguesim.errors import InputError

if TYPE_CHECKING:
    from leaguesim.center.values import Center
    from leaguesim.run.output import OutputFolder

ALL_SURFACES = "all"


def wants_all(center: "Center", surface: str | None, others: dict[str, bool]) -> bool:
    """Whether every surface is asked for; refuses options that would be ignored there.

    Parameters
    ----------
    others : options that cannot be had with it, whether each was given
    """
    if surface != ALL_SURFACES or ALL_SURFACES in center.surfaces:
        return False
    given = [name for name, there in others.items() if there]
    if given:
        raise InputError(f"--surface all: cannot be had with {', '.join(given)}")
    return True


def compare_surfaces(
    center: "Center",
    pair: tuple[str, str],
    seed: int | None,
    nights: int | None,
    workers: int | None,
    place: "OutputFolder | None",
    how: How,
    quiet: bool,
    charts: bool = False,
) -> None:
    """Play, write down, tell."""
    from leaguesim.study import across_surfaces

    started = datetime.now(UTC)
    seed = seed_for(seed, quiet)
    with progress(quiet) as show:
        result = across_surfaces(
            center, now=pair[0], next=pair[1], seed=seed, nights=nights, workers=workers,
            progress=show,
        )  # fmt: skip
    result = shared(result, center, how.pseudonyms)
    import pandas as pd

    from leaguesim.report.csvfiles import csv_text
    from leaguesim.report.export import page_charts
    from leaguesim.report.surfacespage import surfaces_page
    from leaguesim.report.terminal import surfaces_text

    rows = csv_text(pd.DataFrame(result.rows))
    files: dict[str, str | bytes] = {
        PAGE: "", "summary.json": "", "manifest.json": "", "surfaces.csv": rows,
    }  # fmt: skip
    if charts and place is not None:
        files |= page_charts(surfaces_page(result))
    made = manifest_of(
        center, result.seed, result.nights, workers, started, result.to_json(), files,
        how.pseudonyms,
    )  # fmt: skip
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: surfaces_page(result), made, quiet)
    if how.json:
        out_json(result.to_json())
    elif how.csv:
        typer.echo(rows, nl=False)
    else:
        surfaces_text(result, out_console())
        tell_page(place)
