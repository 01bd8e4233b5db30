"""The command that searches a condition: tune.

Does not compute or draw: the study does the one, the report the other.
"""

from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leaguesim.cli.keep import PAGE, manifest_of, place_for, tell_page, tell_seed, write
from leaguesim.cli.options import Debug, Folder, Force, Json, Out, Quiet, Seed, Workers
from leaguesim.cli.talk import out_json, progress

if TYPE_CHECKING:
    from leaguesim.center.values import Center
    from leaguesim.run.output import OutputFolder
    from leaguesim.study.tuneresult import TuneResult

STATE = "tune-state.json"
TUNE_HELP = (
    "\b\nExamples:\n  leaguesim tune my-center --goal average --target 190\n"
    "  leaguesim tune my-center --goal kept-happy --out compromise --seed 1\n"
    "  leaguesim tune my-center --goal field_165"
)

GoalName = Annotated[
    str,
    typer.Option(
        "--goal", metavar="NAME",
        help="A file of goals/ without .toml, or average, kept-happy, least-spread, discrimination.",
    ),
]  # fmt: skip
Target = Annotated[
    float | None,
    typer.Option("--target", metavar="PINS", show_default=False, help="The field average wanted."),
]


def tune(
    folder: Folder,
    goal: GoalName,
    target: Target = None,
    seed: Seed = None,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Find the condition that serves a goal best within its limits.

    With --out and --seed a search that was stopped goes on where it was: the same command again.
    """
    from leaguesim.center import read
    from leaguesim.center.aimfiles import find_goal

    center = read(folder)
    find_goal(center, goal, target)
    state = out / STATE if out is not None and seed is not None else None
    resumed = state is not None and out is not None and _only_state(out)
    place = None if resumed else place_for(out, force, json, "tune", goal)
    _tune(center, goal, target, seed, workers, place, state, out, force, json, quiet)


def _only_state(out: Path) -> bool:
    """Whether the folder holds nothing but a search that was stopped."""
    try:
        there = {entry.name for entry in out.iterdir()}
    except OSError:
        return False
    return bool(there) and there <= {STATE, "tune-state.part"}


def _tune(
    center: "Center",
    goal: str,
    target: float | None,
    seed: int | None,
    workers: int | None,
    place: "OutputFolder | None",
    state: Path | None,
    out: Path | None,
    force: bool,
    json: bool,
    quiet: bool,
) -> None:
    from leaguesim.errors import InputError
    from leaguesim.study import tune as study

    started = datetime.now(UTC)
    # An earlier report stands there until the new one is whole: no state beside it.
    kept = state if state is not None and (not state.parent.exists() or _free(state)) else None
    try:
        with progress(quiet) as show:
            result: TuneResult = study(
                center,
                goal=goal,
                target=target,
                seed=seed,
                workers=workers,
                progress=show,
                state=kept,
            )
    except InputError:
        _clear(kept)
        raise
    _clear(kept)
    if place is None and out is not None:
        place = place_for(out, force, json, "tune", goal)
    tell_seed(seed, result.seed, quiet)
    from leaguesim.report.csvfiles import csv_text
    from leaguesim.report.tunepage import tune_page

    files: dict[str, str | bytes] = {
        PAGE: "",
        "summary.json": "",
        "tried.csv": csv_text(result.tried),
    }
    files |= {**result.files(), "manifest.json": ""}
    made = manifest_of(center, result.seed, None, workers, started, result.to_json(), files)
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: tune_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    for line in result.answer:
        typer.echo(line)
    tell_page(place)


def _free(state: Path) -> bool:
    return not any(state.parent.iterdir()) or _only_state(state.parent)


def _clear(state: Path | None) -> None:
    if state is not None:
        for path in (state, state.with_suffix(".part")):
            path.unlink(missing_ok=True)
        with suppress(OSError):
            state.parent.rmdir()
