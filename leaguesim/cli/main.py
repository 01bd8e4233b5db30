"""The command line: its commands, its help and the one door that every run leaves by.

Nothing heavy is imported here, so that help and version answer at once.
"""

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Annotated

import typer
from typer.main import get_command

from leaguesim import __version__
from leaguesim.cli import (
    commands_center,
    commands_fairness,
    commands_fit,
    commands_index,
    commands_run,
    commands_study,
    commands_tournament,
    commands_tune,
    commands_validate,
)
from leaguesim.cli.failures import INTERRUPTED, guarded

EPILOG = (
    "\b\nExamples:\n"
    "  leaguesim demo\n"
    "  leaguesim new my-center\n"
    "  leaguesim check my-center\n"
    "  leaguesim compare my-center --now tuesday_40 --next thursday_42\n"
    "  leaguesim lane my-center --condition tuesday_40\n"
    "  leaguesim validate\n\n"
    "\b\nExit codes: 0 fine, 1 our fault, 2 the input is wrong,\n"
    "  4 part of the work failed and the rest was kept, 130 interrupted."
)

app = typer.Typer(
    name="leaguesim",
    help="What happens to the people who bowl when the lane condition changes?",
    epilog=EPILOG,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(asked: bool) -> None:
    if not asked:
        return
    from leaguesim.compiled import cache_folder

    typer.echo(f"leaguesim {__version__}")
    typer.echo(
        f"compiled kernels and drawing libraries are kept in {cache_folder() or 'memory only'}"
    )
    raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_version, is_eager=True,
            help="Print the version and where compiled kernels are kept.",
        ),
    ] = False,
) -> None:  # fmt: skip
    pass


def _add(command: Callable[..., None], epilog: str) -> None:
    """A command whose line in the list is the whole first line of its help, never cut off."""
    first = (command.__doc__ or "").partition("\n")[0]
    app.command(epilog=epilog, short_help=first)(command)


for _command, _epilog in (
    (commands_study.demo, commands_study.DEMO_HELP),
    (commands_center.new, commands_center.NEW_HELP),
    (commands_center.check, commands_center.CHECK_HELP),
    (commands_study.compare, commands_study.COMPARE_HELP),
    (commands_study.lane, commands_study.LANE_HELP),
    (commands_fit.fit, commands_fit.FIT_HELP),
    (commands_fairness.fairness, commands_fairness.FAIRNESS_HELP),
    (commands_tune.tune, commands_tune.TUNE_HELP),
    (commands_tournament.tournament, commands_tournament.TOURNAMENT_HELP),
    (commands_validate.validate, commands_validate.VALIDATE_HELP),
    (commands_index.index, commands_index.INDEX_HELP),
    (commands_run.rerun, commands_run.RERUN_HELP),
    (commands_run.merge, commands_run.MERGE_HELP),
):
    _add(_command, _epilog)


def main(arguments: list[str] | None = None) -> int:
    """Run one command line and return its exit code."""
    words = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    command = get_command(app)

    def work() -> int | None:
        code = command.main(args=list(words), prog_name="leaguesim", standalone_mode=False)
        return code if isinstance(code, int) else None

    return guarded(work, debug="--debug" in words, words=words)


def run() -> None:
    """Entry point of the console script.

    After an interruption all has been said and kept: it ends at once, whatever threads are still at.
    """
    code = main()
    if code == INTERRUPTED:
        with suppress(OSError, ValueError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
    sys.exit(code)
