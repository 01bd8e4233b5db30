"""Commands that simulate: compare, lane, demo.

Does not compute or draw: studies do the one, reports the other; this joins them and the disk.
"""

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leaguesim.cli.options import (
    Debug,
    Folder,
    Force,
    Json,
    Nights,
    Out,
    Quiet,
    Seed,
    Workers,
)
from leaguesim.cli.talk import out_console, out_json, progress, say

if TYPE_CHECKING:
    from leaguesim.center.values import Center
    from leaguesim.run.output import OutputFolder
    from leaguesim.study.results import CompareResult, LaneResult

DEMO_NEXT = "thursday_42"
DEMO_SEED = 1
DEMO_NIGHTS = 64
PAGE = "page.html"

COMPARE_HELP = (
    "\b\nExamples:\n  leaguesim compare my-center --now tuesday_40 --next thursday_42\n"
    "  leaguesim compare my-center --now tuesday_40 --next thursday_42 --nights 64\n"
    "  leaguesim compare my-center --now tuesday_40 --next thursday_42 --json"
)
LANE_HELP = (
    "\b\nExamples:\n  leaguesim lane my-center --condition tuesday_40\n"
    "  leaguesim lane my-center --condition thursday_42 --out look-at-it"
)
DEMO_HELP = "\b\nExamples:\n  leaguesim demo\n  leaguesim demo --out first-look --quiet"

Now = Annotated[str, typer.Option("--now", metavar="A", help="Condition on the lanes now.")]
Next = Annotated[str, typer.Option("--next", metavar="B", help="Condition that may come.")]
Condition = Annotated[str, typer.Option("--condition", metavar="A", help="Condition to look at.")]


def compare(
    folder: Folder,
    now: Now,
    next_: Next,
    seed: Seed = None,
    nights: Nights = None,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """What happens to these bowlers when the condition changes?

    Plays the same people, nights and luck under both conditions. Without --nights it goes on until
    every bowler's change is known to half a pin (standard error) or 2,000 nights are played.
    """
    from leaguesim.center import read

    center = read(folder)
    place = _place(out, force, json, "compare", now, next_)
    _compare(center, (now, next_), seed, nights, workers, place, json, quiet)


def demo(
    seed: Seed = DEMO_SEED,
    nights: Nights = DEMO_NIGHTS,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Compare two conditions of an invented center and say where the page is."""
    from leaguesim.center import demo_center, read

    center = read(demo_center())
    place = _place(out, force, json, "demo")
    why = f"the demo plays {DEMO_NIGHTS} nights" if nights == DEMO_NIGHTS else None
    _compare(center, demo_pair(center), seed, nights, workers, place, json, quiet, why)


def demo_pair(center: "Center") -> tuple[str, str]:
    """The two conditions that the demo compares: today's and the next by name."""
    others = [name for name in center.conditions if name != center.today]
    preferred = DEMO_NEXT if DEMO_NEXT in others else others[0]
    return center.today, preferred


def lane(
    folder: Folder,
    condition: Condition,
    seed: Seed = None,
    out: Out = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Look at one condition: film, friction, ratios and where each style's balls go."""
    from leaguesim.center import read

    started = datetime.now(UTC)
    center = read(folder)
    place = _place(out, force, json, "lane", condition)
    if seed is None:
        from leaguesim.streams import new_seed

        seed = new_seed()
    result = _look(center, condition, seed, quiet)
    from leaguesim.report import lane_csv, lane_page, lane_text

    files = {PAGE: "", "summary.json": "", **lane_csv(result), "manifest.json": ""}
    made = _manifest(center, seed, None, None, started, result.to_json(), files)
    result = replace(result, manifest=made)
    if place is not None:
        _write(place, result.to_json(), files, lambda: lane_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    lane_text(result, out_console())
    _tell_page(place)


def _place(out: Path | None, force: bool, json: bool, *words: str) -> "OutputFolder | None":
    """Where the report goes, checked before the work; None: nowhere."""
    from leaguesim.run.output import OutputFolder, default_folder

    if out is None and json:
        return None
    return OutputFolder(default_folder(*words) if out is None else out, force=force)


def _look(center: "Center", condition: str, seed: int | None, quiet: bool) -> "LaneResult":
    from leaguesim.study import look

    with progress(quiet) as show:
        result: LaneResult = look(center, condition=condition, seed=seed, progress=show)
    return result


def _compare(
    center: "Center",
    pair: tuple[str, str],
    seed: int | None,
    nights: int | None,
    workers: int | None,
    place: "OutputFolder | None",
    json: bool,
    quiet: bool,
    why: str | None = None,
) -> None:
    """Simulate and report; ``why`` says why it stopped where the command chose the nights."""
    from leaguesim.study import compare as study

    started = datetime.now(UTC)
    if place is not None:
        from leaguesim.report.figures import warm_up

        warm_up()
    with progress(quiet) as show:
        result: CompareResult = study(
            center,
            now=pair[0],
            next=pair[1],
            seed=seed,
            nights=nights,
            workers=workers,
            progress=show,
        )
        if why is not None:
            result = replace(result, stopped_because=why)
        if place is not None:
            show(0, 0, "drawing the page")
        if seed is None and not quiet:
            say(f"Seed {result.seed} was drawn; --seed {result.seed} gives this result again.")
        result = _keep(center, result, workers, place, started, quiet)
    if json:
        out_json(result.to_json())
        return
    from leaguesim.report import compare_text

    compare_text(result, out_console())
    _tell_page(place)


def _keep(
    center: "Center",
    result: "CompareResult",
    workers: int | None,
    place: "OutputFolder | None",
    started: datetime,
    quiet: bool,
) -> "CompareResult":
    """The result with its manifest, written down if there is a place for it."""
    from leaguesim.report import compare_csv, compare_page

    files = {PAGE: "", "summary.json": "", "manifest.json": ""}
    files |= compare_csv(result) if place is not None else {}
    made = _manifest(center, result.seed, result.nights, workers, started, result.to_json(), files)
    result = replace(result, manifest=made)
    if place is not None:
        _write(place, result.to_json(), files, lambda: compare_page(result), made, quiet)
    return result


def _manifest(
    center: "Center",
    seed: int | None,
    nights: int | None,
    workers: int | None,
    started: datetime,
    summary: str,
    files: Mapping[str, str],
) -> dict[str, Any]:
    from leaguesim.run.manifest import manifest
    from leaguesim.run.rounds import worker_count

    return manifest(
        sys.argv[1:],
        center=center,
        seed=seed,
        nights=nights,
        workers=worker_count(workers),
        started=started,
        result=summary,
        files=files,
    )


def _write(
    place: "OutputFolder",
    summary: str,
    files: Mapping[str, str],
    page: Callable[[], str],
    made: Mapping[str, Any],
    quiet: bool,
) -> None:
    import json

    written = {
        **files,
        PAGE: page(),
        "summary.json": summary + "\n",
        "manifest.json": json.dumps(made, indent=1) + "\n",
    }
    place.write(written)
    if not quiet:
        say(f"Wrote {len(written)} files into {place.path}")


def _tell_page(place: "OutputFolder | None") -> None:
    if place is not None:
        typer.echo(f"Page: {place.path / PAGE}")
