"""Where a command's report goes, and how it gets there: whole or not at all.

Does not know what is in the report.
"""

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from leaguesim.cli.talk import say

if TYPE_CHECKING:
    from leaguesim.center.values import Center
    from leaguesim.run.output import OutputFolder

PAGE = "page.html"
Result = TypeVar("Result")


def place_for(out: Path | None, force: bool, json_only: bool, *words: str) -> "OutputFolder | None":
    """Where the report goes, checked before the work; None: nowhere."""
    from leaguesim.run.output import OutputFolder, default_folder

    if out is None and json_only:
        return None
    return OutputFolder(default_folder(*words) if out is None else out, force=force)


def write(
    place: "OutputFolder",
    summary: str,
    files: Mapping[str, str | bytes],
    page: Callable[[], str],
    made: Mapping[str, Any],
    quiet: bool,
) -> None:
    """Write page, summary and manifest beside the other files."""
    written: dict[str, str | bytes] = {
        **files,
        PAGE: page(),
        "summary.json": summary + "\n",
        "manifest.json": json.dumps(made, indent=1) + "\n",
    }
    place.write(written)
    if not quiet:
        say(f"Wrote {len(written)} files into {place.path}")


def shared(result: Result, center: "Center", pseudonyms: bool) -> Result:
    """What a study returned; for sharing without the names of bowlers and teams."""
    if not pseudonyms:
        return result
    from leaguesim.report.pseudonyms import without_names

    return without_names(result, center.roster)


def manifest_of(
    center: "Center | None",
    seed: int | None,
    nights: int | None,
    workers: int | None,
    started: datetime,
    summary: str,
    files: Mapping[str, str | bytes],
    pseudonyms: bool = False,
) -> dict[str, Any]:
    """The manifest of the command that runs, ready for JSON; for sharing it names nobody."""
    from leaguesim.run.manifest import manifest
    from leaguesim.run.rounds import worker_count

    made = manifest(
        sys.argv[1:], center=center, seed=seed, nights=nights, workers=worker_count(workers),
        started=started, result=summary, files=files,
    )  # fmt: skip
    if not pseudonyms:
        return made
    from leaguesim.report.pseudonyms import manifest_without_names

    return manifest_without_names(made, () if center is None else center.roster)


def with_file(center: "Center", file: Path | None) -> "Center":
    """The center with one more file among its inputs, for the manifest."""
    if file is None:
        return center
    from hashlib import sha256

    mark = {file.name: sha256(file.read_bytes()).hexdigest()}
    return replace(center, file_hashes={**center.file_hashes, **mark})


def tell_page(place: "OutputFolder | None") -> None:
    """Say on standard output where the page is."""
    if place is not None:
        typer.echo(f"Page: {place.path / PAGE}")


def seed_for(asked: int | None, quiet: bool) -> int:
    """The seed to play with; one that is drawn is told before the work, so that a run can be repeated."""
    if asked is not None:
        return asked
    from leaguesim.streams import new_seed

    drawn = new_seed()
    tell_seed(None, drawn, quiet)
    return drawn


def tell_seed(asked: int | None, used: int, quiet: bool) -> None:
    """Say which seed was drawn where none was asked for."""
    if asked is None and not quiet:
        say(f"Seed {used} was drawn; --seed {used} gives this result again.")
