"""From a failure to an exit code and one line: no traceback unless asked for.

0 fine, 1 our fault, 2 the input is wrong, 4 part of the work failed and the rest was kept,
130 interrupted.
"""

import os
import re
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import NamedTuple

from leaguesim.cli.options import WHOLE_NUMBERS
from leaguesim.cli.talk import say
from leaguesim.errors import LeaguesimError, ProfileError

OUR_FAULT = 1
INPUT_WRONG = 2
INTERRUPTED = 130
CLOSE = 0.75  # likeness of an option that is worth suggesting


def guarded(work: Callable[[], int | None], *, debug: bool, words: Sequence[str] = ()) -> int:
    """Run a command and turn whatever happens into an exit code."""
    _stop_politely()
    KEEPING.clear()
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
        return _explain(error, debug, words)
    if code == INTERRUPTED:
        say(f"leaguesim: interrupted; {_kept_words() or 'nothing was written'}")
    return code


def _stop_politely() -> None:
    """A request to end (SIGTERM) is an interruption like ctrl-c: nothing half-written stays."""
    if threading.current_thread() is not threading.main_thread():
        return

    def stop(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    if signal.getsignal(signal.SIGTERM) in (signal.SIG_DFL, None):
        signal.signal(signal.SIGTERM, stop)


class Keeping(NamedTuple):
    """What a command that runs keeps of its work: where, in which stores, and the seed it plays with."""

    folder: Path
    stores: list[Path]
    seed: int | None
    what: tuple[str, str] = ("finished block", "finished blocks")
    counted: Callable[[], int] | None = None  # where it is not blocks in the stores


KEEPING: list[Keeping] = []  # of the command that runs; empty when its results are written


def _kept_words() -> str:
    """What is kept of a run that was cut off, and how to go on; nothing if nothing is."""
    if not KEEPING:
        return ""
    from leaguesim.run.blocks import kept_in

    folder, stores, seed, (one, many), counted = KEEPING[-1]
    count = counted() if counted else sum(kept_in(store) for store in stores)
    if not count:
        return ""
    again = "the same command" if seed is None else f"the same command with --seed {seed}"
    are = f"1 {one} is" if count == 1 else f"{count} {many} are"
    return f"{are} kept in {folder}; {again} goes on from there"


def _explain(error: Exception, debug: bool, words: Sequence[str]) -> int:
    if isinstance(error, LeaguesimError):
        if debug:
            traceback.print_exception(error)
        error = _innermost(error)
        told = "; ".join(filter(None, (str(error), _kept_words())))
        lines = error.faults if isinstance(error, ProfileError) else [told]
        for line in lines:
            say(f"leaguesim: {line}")
        return error.exit_code
    usage = getattr(error, "format_message", None)
    if callable(usage):  # a wrong option or argument
        say(f"leaguesim: {plain_usage(_one_line(str(usage())), words)} {_help_for(error)}")
        return INPUT_WRONG
    if debug:
        traceback.print_exception(error)
    name = type(error).__name__
    told = f"our fault, not yours: {name}: {_one_line(str(error))} (--debug shows where)"
    say("leaguesim: " + "; ".join(filter(None, (told, _kept_words()))))
    return OUR_FAULT


def _innermost(error: LeaguesimError) -> LeaguesimError:
    """The failure that another of ours merely quotes, so that nothing is said twice."""
    cause = error.__cause__
    if isinstance(cause, LeaguesimError) and str(error).endswith(str(cause)):
        return _innermost(cause)
    return error


def plain_usage(message: str, words: Sequence[str] = ()) -> str:
    """A wrong option in our words: numbers as elsewhere, no suggestions that are nowhere near.

    >>> plain_usage("No such option: --zebra (Possible options: --debug, --seed)")
    'No such option: --zebra'
    """
    number = re.search(r"'(--\w+)'.*valid integer", message)
    if number and number[1] in WHOLE_NUMBERS:
        name = number[1]
        line = f"{name}: a whole number {WHOLE_NUMBERS[name]} is needed"
        given = re.search(rf"\0{name}[=\0]([^\0]*)", "\0" + "\0".join(words))
        return f"{line}, got {given[1]}" if given else line
    hint = re.search(r"\s*(\(Possible options: ([^)]*)\)|Did you mean ([^?]*)\?)", message)
    wrong = re.search(r"(--?[\w-]+)", message)
    if hint and wrong:
        offered = re.findall(r"--?[\w-]+", hint[0])
        if not get_close_matches(wrong[1], offered, n=1, cutoff=CLOSE):
            return message.replace(hint[0], "")
    return message


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
