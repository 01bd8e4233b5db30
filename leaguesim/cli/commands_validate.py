"""The command validate: every outside check with its source, what was expected and what came out.

Does not check anything itself.
"""

from dataclasses import asdict

import typer

from leaguesim.cli.options import Debug, Json, Quiet
from leaguesim.cli.talk import out_console, out_json

VALIDATE_SCHEMA = "leaguesim.validate/1"
VALIDATE_HELP = "\b\nExamples:\n  leaguesim validate\n  leaguesim validate --json"


def validate(json: Json = False, quiet: Quiet = False, debug: Debug = False) -> None:
    """Hold the model against figures that others published; misses are shown as misses.

    Rows that the model was fitted to say so; only the others are evidence.
    """
    from leaguesim.outside.validate import all_checks

    checks = all_checks()
    if json:
        out_json({"schema": VALIDATE_SCHEMA, "checks": [asdict(check) for check in checks]})
        return
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("check", "expected", "model", "use", ""):
        table.add_column(Text(name), overflow="fold")
    for check in checks:
        cells = (check.name, check.expected, check.model, check.use, check.verdict)
        table.add_row(*(Text(cell) for cell in cells))
    out_console().print(table)
    evidence = [check for check in checks if check.use == "check"]
    passed = sum(check.verdict == "pass" for check in evidence)
    typer.echo(
        f"{passed} of {len(evidence)} checks pass; {len(checks) - len(evidence)} more rows were "
        "fitted to and are no evidence. Sources: leaguesim validate --json"
    )
