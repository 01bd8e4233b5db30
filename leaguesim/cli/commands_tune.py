"""The command that searches a condition: tune.

Does not compute or draw: the study does the one, the report the other.
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leaguesim.cli.keep import PAGE, manifest_of, place_for, shared, tell_page, tell_seed, write
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
from leaguesim.cli.talk import out_console, out_json, progress, say, tell
from leaguesim.errors import InputError

if TYPE_CHECKING:
    from leaguesim.center.values import Center
    from leaguesim.play.aims import Goal
    from leaguesim.run.output import OutputFolder
    from leaguesim.study.tuneresult import TuneResult

KEPT = ".leaguesim-blocks-tune"  # as finished blocks of other runs are named
STATE = "trials.json"
TUNE_HELP = (
    "\b\nExamples:\n  leaguesim tune my-center --goal average --target 190\n"
    "  leaguesim tune my-center --goal kept-happy --out compromise --seed 1\n"
    "  leaguesim tune my-center --goal field_165"
)

GoalName = Annotated[
    str,
    typer.Option(
        "--goal", metavar="NAME",
        autocompletion=names_in(
            "goals/*.toml", also=("average", "kept-happy", "least-spread", "discrimination")
        ),
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
    charts: Charts = False,
    json: Json = False,
    pseudonyms: Pseudonyms = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Find the condition that serves a goal best within its limits.

    A search that was stopped goes on where it was: the same command again.
    """
    from leaguesim.center import read
    from leaguesim.center.aimfiles import find_goal
    from leaguesim.streams import new_seed
    from leaguesim.study.tunememory import belongs, kept_seed

    started = datetime.now(UTC)
    center = read(folder)
    aim = find_goal(center, goal, target)
    place = place_for(out, force, json, "tune", goal)
    state = place.path / KEPT / STATE if place is not None else None
    if seed is None:
        seed = kept_seed(state, center, aim)
        if seed is None:
            seed = new_seed()
            tell_seed(None, seed, quiet)
    if not quiet and belongs(state, center, aim, seed) is False:
        say(f"What {out or 'the folder'} keeps is of another search: this one begins anew.")
    result = shared(_searched(center, aim, seed, workers, place, state, quiet), center, pseudonyms)
    from leaguesim.report.csvfiles import csv_text
    from leaguesim.report.export import page_charts
    from leaguesim.report.terminal_aims import tune_text
    from leaguesim.report.tunepage import tune_page

    files: dict[str, str | bytes] = {
        PAGE: "", "summary.json": "", "tried.csv": csv_text(result.tried),
        **result.files(), "manifest.json": "",
    }  # fmt: skip
    if charts and place is not None:
        files |= page_charts(tune_page(result))
    made = manifest_of(center, seed, None, workers, started, result.to_json(), files, pseudonyms)
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: tune_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    tune_text(result, out_console())
    if place is not None:
        first = f"{result.best[0]['name']}.toml"
        tell(
            [
                f"Next: copy {place.path / first} into {folder / 'conditions'}, then: leaguesim compare "
                f"{folder} --now {center.today} --next {result.best[0]['name']}"
            ]
        )
    tell_page(place)


def _searched(
    center: "Center", goal: "Goal", seed: int, workers: int | None, place: "OutputFolder | None",
    state: Path | None, quiet: bool,
) -> "TuneResult":  # fmt: skip
    """Search; what was tried so far lies in the output folder until the report replaces it.

    A goal that can't be served leaves nothing there.
    """
    from leaguesim.cli.failures import KEEPING, Keeping
    from leaguesim.study import tune as study
    from leaguesim.study.tunememory import kept

    made: list[Path] = []
    if place is not None:
        target = place.path.absolute()
        made = [p for p in (target, *target.parents) if not p.exists()]
        what = ("condition tried", "conditions tried")
        count: Callable[[], int] = lambda: len(kept(state).get("trials", ()))  # noqa: E731
        KEEPING.append(Keeping(place.path, [], None, what, count))
    try:
        with progress(quiet) as show:
            result: TuneResult = study(
                center, goal=goal, seed=seed, workers=workers, progress=show, state=state
            )
    except InputError:
        _clear(state, made)
        raise
    KEEPING.clear()
    return result


def _clear(state: Path | None, made: list[Path]) -> None:
    """Take away the trials kept and the folders made for them."""
    if state is not None:
        state.unlink(missing_ok=True)
        for folder in (state.parent, *made):
            with suppress(OSError):
                folder.rmdir()
