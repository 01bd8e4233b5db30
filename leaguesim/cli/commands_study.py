"""Commands that simulate: compare, lane, demo.

Does not compute or draw: studies do the one, reports the other; this joins them and the disk.
"""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leaguesim.cli.keep import (
    PAGE,
    manifest_of,
    place_for,
    seed_for,
    shared,
    tell_page,
    with_file,
    write,
)
from leaguesim.cli.options import (
    Charts,
    Csv,
    Debug,
    Folder,
    Force,
    Json,
    Nights,
    Out,
    Pseudonyms,
    Quiet,
    Scheduler,
    Seed,
    Shard,
    Workers,
    names_in,
    there,
)
from leaguesim.cli.playing import How
from leaguesim.cli.talk import out_console, out_json, progress
from leaguesim.errors import InputError

if TYPE_CHECKING:
    from leaguesim.center.sequence import DatedConditions
    from leaguesim.center.values import Center
    from leaguesim.run.output import OutputFolder
    from leaguesim.study.posterior import Fitted as FittedRoster
    from leaguesim.study.results import CompareResult, LaneResult

DEMO_NEXT = "thursday_42"
DEMO_SEED = 1
DEMO_NIGHTS = 64

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

CONDITIONS = names_in("conditions/*.toml")
Now = Annotated[
    str,
    typer.Option(
        "--now", metavar="A", autocompletion=CONDITIONS, help="Condition on the lanes now."
    ),
]
Next = Annotated[
    str,
    typer.Option("--next", metavar="B", autocompletion=CONDITIONS, help="Condition that may come."),
]
Sequence = Annotated[
    str | None,
    typer.Option(
        "--sequence", metavar="FILE", show_default=False, autocompletion=names_in("sequences/*.csv"),
        help="CSV of date, condition (a path, or a name in DIR/sequences) that ends on B: going over "
        "step by step, against at once.",
    ),
]  # fmt: skip
OnSurface = Annotated[
    str | None,
    typer.Option(
        "--surface", metavar="NAME", show_default=False,
        autocompletion=names_in("surfaces/*.toml", also=("all",)),
        help="Play on another surface of the center (a file in surfaces/) than its own; all: the "
        "same switch on every one of them.",
    ),
]  # fmt: skip
Fitted = Annotated[
    Path | None,
    typer.Option(
        "--fitted", metavar="FILE", show_default=False, callback=there,
        help="fitted.json of an earlier fit: bowlers as their scores show them, with what is not known "
        "of the center drawn too (as with --unknowns 128, unless that says otherwise).",
    ),
]  # fmt: skip
UNKNOWNS = 128
FEWEST_UNKNOWNS, MOST_UNKNOWNS = 4, 1024
Unknowns = Annotated[
    int | None,
    typer.Option(
        "--unknowns", metavar="N", show_default=False,
        help="Play the change on N centers that yours might be, 4 to 1024: 128 is enough to tell what to "
        "measure first and takes many minutes, 16 is a first look; 0 for none, as without --fitted.",
    ),
]  # fmt: skip
Condition = Annotated[
    str,
    typer.Option(
        "--condition", metavar="A", autocompletion=CONDITIONS, help="Condition to look at."
    ),
]


def compare(
    folder: Folder,
    now: Now,
    next_: Next,
    sequence: Sequence = None,
    seed: Seed = None,
    nights: Nights = None,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    surface: OnSurface = None,
    fitted: Fitted = None,
    unknowns: Unknowns = None,
    charts: Charts = False,
    json: Json = False,
    csv: Csv = False,
    pseudonyms: Pseudonyms = False,
    scheduler: Scheduler = None,
    shard: Shard = None,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """What happens to these bowlers when the condition changes?

    Plays the same people, nights and luck under both conditions. --nights 64 is a first look. Without
    --nights it goes on until the luck left in every bowler's change is half a pin (one standard error)
    or 2,000 nights are played.
    """
    from leaguesim.center import find_condition, read

    center = read(folder)
    for name in (now, next_):
        find_condition(center, name)
    if json and csv:
        raise InputError("--csv, --json: only one of them can have standard output")
    from leaguesim.cli.commands_surfaces import compare_surfaces, wants_all

    alone = {
        "--sequence": sequence is not None, "--fitted": fitted is not None, "--shard": shard is not None,
        "--unknowns": unknowns is not None, "--scheduler": scheduler is not None,
    }  # fmt: skip
    if wants_all(center, surface, alone):
        place = place_for(out, force, json or csv, "surfaces", now, next_)
        how = How(json=json, csv=csv, pseudonyms=pseudonyms)
        compare_surfaces(center, (now, next_), seed, nights, workers, place, how, quiet, charts)
        return
    dated = None
    if sequence is not None:
        from leaguesim.center.sequence import check_sequence, find_sequence, with_sequence

        dated = find_sequence(center, sequence)
        check_sequence(dated, next_)
        center = with_sequence(center, dated)
    if surface is not None:
        from leaguesim.center import on_surface

        center = on_surface(center, surface)
    drawn = _unknowns(unknowns, UNKNOWNS if fitted is not None else 0)
    if shard is not None and (fitted is not None or drawn):
        raise InputError("--shard: cannot be had with --fitted or --unknowns")
    if shard is not None:
        from leaguesim.cli.commands_run import play_part

        play_part(center, (now, next_), shard, seed, nights, workers, scheduler, out, quiet)
        return
    place = place_for(out, force, json or csv, "compare", now, next_)
    how = How(json=json, csv=csv, pseudonyms=pseudonyms, scheduler=scheduler)
    people = _fitted(fitted, center)
    _compare(
        with_file(center, fitted), (now, next_), seed, nights, workers, place, how, quiet,
        charts=charts, sequence=dated, fitted=people, unknowns=drawn,
    )  # fmt: skip


def _unknowns(asked: int | None, otherwise: int) -> int:
    """How many points of what is not known; refused before any work."""
    if asked is None or asked == 0:
        return otherwise if asked is None else 0
    if not FEWEST_UNKNOWNS <= asked <= MOST_UNKNOWNS:
        raise InputError(
            f"--unknowns: 0 or a whole number from {FEWEST_UNKNOWNS} to {MOST_UNKNOWNS} is needed, "
            f"got {asked}"
        )
    return asked


def _fitted(file: Path | None, center: "Center") -> "FittedRoster | None":
    """The fitted roster, read before any work."""
    if file is None:
        return None
    from leaguesim.study import read_fitted

    found: FittedRoster = read_fitted(file, center)
    return found


def demo(
    seed: Seed = DEMO_SEED,
    nights: Nights = DEMO_NIGHTS,
    workers: Workers = None,
    out: Out = None,
    force: Force = False,
    charts: Charts = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Compare two conditions of an invented center and say where the page is.

    Plays 64 nights from seed 1 unless --nights and --seed say otherwise.
    """
    from leaguesim.center import demo_center, read

    center = read(demo_center())
    place = place_for(out, force, json, "demo")
    why = f"the demo plays {DEMO_NIGHTS} nights" if nights == DEMO_NIGHTS else None
    _compare(
        center,
        demo_pair(center),
        seed,
        nights,
        workers,
        place,
        How(json=json),
        quiet,
        why,
        charts=charts,
    )


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
    charts: Charts = False,
    json: Json = False,
    pseudonyms: Pseudonyms = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Look at one condition: film, friction, ratios and where each style's balls go."""
    from leaguesim.center import read

    started = datetime.now(UTC)
    center = read(folder)
    place = place_for(out, force, json, "lane", condition)
    if seed is None:
        from leaguesim.streams import new_seed

        seed = new_seed()
    result = shared(_look(center, condition, seed, quiet), center, pseudonyms)
    from leaguesim.report import lane_csv, lane_page, lane_text, page_charts

    files: dict[str, str | bytes] = {
        PAGE: "", "summary.json": "", **lane_csv(result), "manifest.json": "",
        **(page_charts(lane_page(result)) if charts and place is not None else {}),
    }  # fmt: skip
    made = manifest_of(center, seed, None, None, started, result.to_json(), files, pseudonyms)
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: lane_page(result), made, quiet)
    if json:
        out_json(result.to_json())
        return
    lane_text(result, out_console())
    tell_page(place)


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
    how: How,
    quiet: bool,
    why: str | None = None,
    *,
    charts: bool = False,
    sequence: "DatedConditions | None" = None,
    fitted: "FittedRoster | None" = None,
    unknowns: int = 0,
) -> None:
    """Simulate and report; ``why`` says why it stopped where the command chose the nights."""
    from leaguesim.study import compare as study

    started = datetime.now(UTC)
    if place is not None:
        from leaguesim.report.figures import warm_up

        warm_up()
    seed = seed_for(seed, quiet)
    with progress(quiet) as show, how.engine(place, seed):
        result: CompareResult = study(
            center,
            now=pair[0],
            next=pair[1],
            seed=seed,
            nights=nights,
            workers=workers,
            progress=show,
            sequence=sequence,
            fitted=fitted,
        )
        if unknowns:
            from leaguesim.study import forecast

            told = forecast(
                center, now=pair[0], next=pair[1], fitted=fitted, seed=seed, unknowns=unknowns,
                workers=workers, progress=show,
            )  # fmt: skip
            result = replace(result, forecast=told)
        if why is not None:
            result = replace(result, stopped_because=why)
        if place is not None:
            show(0, 0, "drawing the page")
        result = shared(result, center, how.pseudonyms)
        result = _keep(
            center, result, workers, place, started, quiet, charts, pseudonyms=how.pseudonyms
        )
    if how.json:
        out_json(result.to_json())
        return
    if how.csv:
        from leaguesim.report import compare_csv

        typer.echo(compare_csv(result)["bowlers.csv"], nl=False)
        return
    from leaguesim.report import compare_text

    compare_text(result, out_console())
    tell_page(place)


def _keep(
    center: "Center",
    result: "CompareResult",
    workers: int | None,
    place: "OutputFolder | None",
    started: datetime,
    quiet: bool,
    charts: bool,
    *,
    pseudonyms: bool = False,
) -> "CompareResult":
    """The result with its manifest, written down if there is a place for it."""
    from leaguesim.report import compare_csv, compare_page, page_charts

    files: dict[str, str | bytes] = {PAGE: "", "summary.json": "", "manifest.json": ""}
    if place is not None:
        files |= compare_csv(result)
        files |= page_charts(compare_page(result)) if charts else {}
    made = manifest_of(
        center, result.seed, result.nights, workers, started, result.to_json(), files, pseudonyms
    )
    result = replace(result, manifest=made)
    if place is not None:
        write(place, result.to_json(), files, lambda: compare_page(result), made, quiet)
    return result
