"""The command validate: every outside check with its source, what was expected and what came out.

Does not check anything itself.
"""

import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from json import dumps
from typing import TYPE_CHECKING

import typer

from leaguesim.cli.keep import PAGE, place_for, tell_page, write
from leaguesim.cli.options import Debug, Force, Json, Out, Quiet
from leaguesim.cli.talk import out_console, out_json, tell_compiling

if TYPE_CHECKING:
    from rich.table import Table

    from leaguesim.outside.check import Check
    from leaguesim.run.output import OutputFolder

VALIDATE_SCHEMA = "leaguesim.validate/1"
VALIDATE_HELP = "\b\nExamples:\n  leaguesim validate\n  leaguesim validate --out checks\n  leaguesim validate --json"


def validate(
    out: Out = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Hold the model against figures that others published; misses are shown as misses.

    Rows that the model was fitted to say so; only the others are evidence.
    """
    from leaguesim.outside.validate import all_checks

    started = datetime.now(UTC)
    place = place_for(out, force, json, "validate")
    if not quiet:
        tell_compiling()
    checks = all_checks()
    summary = dumps(
        {"schema": VALIDATE_SCHEMA, "checks": [asdict(check) for check in checks]},
        indent=1,
        ensure_ascii=False,
    )
    if place is not None:
        _keep(place, checks, summary, started, quiet)
    if json:
        out_json(summary)
        return
    console = out_console()
    missed = [check for check in checks if check.verdict == "miss"]
    evidence = [check for check in checks if check.use == "check"]
    passed = sum(check.verdict == "pass" for check in evidence)
    typer.echo(
        f"{passed} of {len(evidence)} checks pass; {len(checks) - len(evidence)} more rows were "
        "fitted to\nand are no evidence. Sources: leaguesim validate --json"
    )
    if missed:
        console.print(_table("Misses", missed, whole=True))
    for room, rows in by_room(checks).items():
        console.print(_table(room, rows))
    tell_page(place)


def _keep(
    place: "OutputFolder", checks: "Sequence[Check]", summary: str, started: datetime, quiet: bool
) -> None:
    """Write the page, the rows and the manifest."""
    from leaguesim.report.checkspage import checks_page
    from leaguesim.run.manifest import manifest

    files = {PAGE: "", "summary.json": "", "manifest.json": ""}
    made = manifest(
        sys.argv[1:], center=None, seed=None, started=started, result=summary, files=files
    )
    write(place, summary, files, lambda: checks_page(by_room(checks), made), made, quiet)


def by_room(checks: "Sequence[Check]") -> "dict[str, list[Check]]":
    """Rows under the word before the colon of their names, in order of first appearance."""
    rooms: dict[str, list[Check]] = {}
    for check in checks:
        rooms.setdefault(check.name.partition(":")[0], []).append(check)
    return rooms


def _table(title: str, checks: "Sequence[Check]", *, whole: bool = False) -> "Table":
    """A table of rows; their room is the title, so their names go without unless ``whole``."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("check", "expected", "model", "use", ""):
        table.add_column(Text(name), overflow="fold")
    for check in checks:
        name = check.name if whole else check.name.partition(":")[2].strip() or check.name
        cells = (name, check.expected, check.model, check.use, check.verdict)
        table.add_row(*(Text(cell) for cell in cells))
    return table
