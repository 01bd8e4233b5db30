"""The options that every command shares, with their limits and their help.

Does not do anything.
"""

import os
from collections.abc import Callable
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated

import typer

from leaguesim.errors import InputError

SEED_TOP = 2**64 - 1

MAX_WORKERS = 64
WHOLE_NUMBERS = {
    "--seed": "from 0 to 2**64 - 1",
    "--nights": "of 1 or more",
    "--workers": f"from 1 to {MAX_WORKERS}",
}


def _within(name: str, low: int, high: int | None) -> Callable[[int | None], int | None]:
    """A check of one option that answers with one clear line."""

    def check(value: int | None) -> int | None:
        if value is not None and (value < low or (high is not None and value > high)):
            raise InputError(f"{name}: a whole number {WHOLE_NUMBERS[name]} is needed, got {value}")
        return value

    return check


LIKENESS = 0.6  # of a file's name that is worth suggesting


def there(ctx: typer.Context, path: Path | None) -> Path | None:
    """A path given as an input: one that is not there gets the nearest name beside it.

    If a folder on the way is missing, the nearest name beside that folder.
    """
    if path is None or ctx.resilient_parsing:
        return path
    try:
        if path.exists():
            return path
        first = path  # the first part of the path that is not there
        while not first.parent.is_dir():
            first = first.parent
            if first.parent == first or first.exists():
                return path
        beside = [p.name for p in first.parent.iterdir()]
    except (OSError, ValueError):
        return path  # whoever reads it says what is wrong
    near = get_close_matches(first.name, beside, n=1, cutoff=LIKENESS)
    if near:
        what = "does not exist" if first == path else f"there is no {first}"
        raise InputError(f"{path}: {what}; did you mean {first.parent / near[0]}?")
    return path


def _center_on_the_line(ctx: typer.Context) -> Path:
    """The center named before; an option without its value yet hides it from the parser."""
    told = ctx.params.get("folder")
    if told:
        return Path(str(told))
    line = os.environ.get("COMP_WORDS") or os.environ.get("_TYPER_COMPLETE_ARGS") or ""
    for word in line.split():
        if (Path(word) / "center.toml").is_file():
            return Path(word)
    return Path()


def names_in(*places: str, also: tuple[str, ...] = ()) -> Callable[[typer.Context, str], list[str]]:
    """Completion by the names of a center's files, of the DIR given before.

    Parameters
    ----------
    places : such as "conditions/*.toml"
    also : words that are no files
    """

    def complete(ctx: typer.Context, incomplete: str) -> list[str]:
        base = _center_on_the_line(ctx)
        names = {p.stem for place in places for p in base.glob(place)} | set(also)
        return sorted(name for name in names if name.startswith(incomplete))

    return complete


Folder = Annotated[Path, typer.Argument(metavar="DIR", callback=there, help="The center's folder.")]
Seed = Annotated[
    int | None,
    typer.Option(
        "--seed", metavar="N", show_default=False,
        callback=_within("--seed", 0, SEED_TOP),
        help="Number that all luck comes from, 0 to 2**64 - 1: the same number, the same result to the "
        "byte. Without it one is drawn and told.",
    ),
]  # fmt: skip
Nights = Annotated[
    int | None,
    typer.Option(
        "--nights", metavar="N", show_default=False,
        callback=_within("--nights", 1, None),
        help="Play exactly so many league nights under each condition.",
    ),
]  # fmt: skip
Workers = Annotated[
    int | None,
    typer.Option(
        "--workers", metavar="N", show_default=False, envvar="LEAGUESIM_WORKERS",
        callback=_within("--workers", 1, MAX_WORKERS),
        help="Processor cores to use, 1 to 64; never changes a result. Without it, all there are.",
    ),
]  # fmt: skip
Out = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="DIR", show_default=False,
        help="Folder for the report; it must be new or empty. Without it, a new folder under "
        "./reports (with --json: no folder).",
    ),
]  # fmt: skip
Force = Annotated[
    bool,
    typer.Option("--force", help="Replace an earlier report in --out; other files stay safe."),
]
Charts = Annotated[
    bool, typer.Option("--charts", help="Also write every chart as SVG and PNG beside the page.")
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON on standard output, nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="No progress and no remarks.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback when something breaks.")]
Csv = Annotated[
    bool, typer.Option("--csv", help="Print the table of bowlers as CSV, nothing else.")
]
Pseudonyms = Annotated[
    bool,
    typer.Option(
        "--pseudonyms",
        help="For pages to be shared: 'Bowler 01' and 'Team 1' for names, numbered by what the table "
        "shows. Averages stay: who knows one knows the person.",
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler", metavar="ADDRESS", show_default=False,
        help="Play on a dask cluster, such as tcp://host:8786 (needs the cluster extra); never "
        "changes a result.",
    ),
]  # fmt: skip
Shard = Annotated[
    str | None,
    typer.Option(
        "--shard", metavar="I/N", show_default=False,
        help="Play the I-th of N parts into the file --out (needs --nights and --seed); "
        "'leaguesim merge' joins them.",
    ),
]  # fmt: skip
