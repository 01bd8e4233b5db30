"""From a failure to an exit code and one line: no traceback unless asked for.

0 fine, 1 our fault, 2 the input is wrong, 4 part of the work failed and the rest was kept,
130 interrupted.
"""

import os
import sys
import traceback
from collections.abc import Callable

from leaguesim.cli.talk import say
from leaguesim.errors import LeaguesimError, ProfileError

OUR_FAULT = 1
INPUT_WRONG = 2
INTERRUPTED = 130


def guarded(work: Callable[[], int | None], *, debug: bool) -> int:
    """Run a command and turn whatever happens into an exit code."""
    try:
        code = work() or 0
        sys.stdout.flush()
    except BrokenPipeError:
        return _reader_gone()
    except SystemExit as stop:  # what typer makes of a broken pipe; completion also leaves so
        if isinstance(stop.__context__, BrokenPipeError):
            return _reader_gone()
        raise
    except KeyboardInterrupt:
        code = INTERRUPTED
    except Exception as error:  # the last door: whatever it is must end in one line
        return _explain(error, debug)
    if code == INTERRUPTED:
        say("leaguesim: interrupted; nothing was written")
    return code


def _explain(error: Exception, debug: bool) -> int:
    if isinstance(error, LeaguesimError):
        if debug:
            traceback.print_exception(error)
        lines = error.faults if isinstance(error, ProfileError) else [str(error)]
        for line in lines:
            say(f"leaguesim: {line}")
        return error.exit_code
    usage = getattr(error, "format_message", None)
    if callable(usage):  # a wrong option or argument
        say(f"leaguesim: {_one_line(str(usage()))} {_help_for(error)}")
        return INPUT_WRONG
    if debug:
        traceback.print_exception(error)
    name = type(error).__name__
    say(f"leaguesim: our fault, not yours: {name}: {_one_line(str(error))} (--debug shows where)")
    return OUR_FAULT


def _help_for(error: Exception) -> str:
    context = getattr(error, "ctx", None)
    path = getattr(context, "command_path", "") or "leaguesim"
    return f"(see {path} --help)"


def _one_line(message: str) -> str:
    return " ".join(message.split())


def _reader_gone() -> int:
    """Leave quietly: whoever read our output has seen enough."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.__stdout__.fileno() if sys.__stdout__ else 1)
    os.close(nowhere)
    return 0
