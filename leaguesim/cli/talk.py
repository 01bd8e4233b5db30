"""How the command line speaks: data on standard output, everything else on standard error.

Does not know any command.
"""

import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from shutil import get_terminal_size
from textwrap import fill
from time import monotonic
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

Progress = Callable[[int, int, str], None]
COMPILING = "compiling the inner loops once on this machine; about a minute"
MOST_STAGES = 3
QUIET_S = 30.0  # longest silence in a pipe while work goes on
WIDTH = 80  # where there is no terminal to ask


def say(message: str) -> None:
    """One line (or a line a fault) for a person, on standard error.

    In a terminal it is broken at words; in a pipe or a file it stays one line.
    """
    if sys.stderr.isatty():
        message = _at_words(message, get_terminal_size().columns)
    sys.stderr.write(f"{message}\n")
    sys.stderr.flush()


def _at_words(message: str, width: int) -> str:
    """A message broken at words; what is longer than a line, such as a path, stays whole.

    >>> _at_words("one two three", 8)
    'one two\\n  three'
    """
    return fill(
        message, max(width, 20), subsequent_indent="  ", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip


def tell(lines: Iterable[str]) -> None:
    """Sentences on standard output, broken at words; at 80 columns in a pipe or a file."""
    from leaguesim.report.lines import say_on

    console = out_console()
    for line in lines:
        say_on(console, line)


def out_json(value: Any) -> None:
    """JSON on standard output."""
    text = value if isinstance(value, str) else json.dumps(value, indent=1, allow_nan=False)
    sys.stdout.write(text.rstrip("\n") + "\n")


def out_console() -> "Console":
    """A console on standard output; 80 columns wide in a pipe or a file."""
    from rich.console import Console

    terminal = sys.stdout.isatty()
    return Console(file=sys.stdout, width=None if terminal else WIDTH, highlight=False, emoji=False)


def tell_compiling() -> None:
    """Warn of the one slow start: nothing is compiled yet on this machine."""
    from leaguesim.compiled import cache_folder

    folder = cache_folder()
    if folder is not None and next(folder.rglob("*.nbi"), None) is None:
        say(COMPILING)


def _stage_lines() -> Progress:
    """The first stages as lines, for a log that has no room for a bar; then how far it is, now and then."""
    seen: set[str] = set()
    said = monotonic()

    def show(done: int, total: int, what: str) -> None:
        nonlocal said
        if what not in seen and len(seen) < MOST_STAGES:
            seen.add(what)
            say(f"{what} ...")
        elif monotonic() - said < QUIET_S:
            return
        else:
            say(f"{what} ... {100 * done // total} %" if total else f"{what} ...")
        said = monotonic()

    return show


@contextmanager
def progress(quiet: bool) -> Iterator[Progress]:
    """A bar with the time left on standard error; a few lines in a pipe, nothing with --quiet.

    Yields the function that studies call with (done, total, what); total 0 means it can't be told.
    """
    if quiet:
        yield lambda _done, _total, _what: None
        return
    tell_compiling()
    if not sys.stderr.isatty():
        yield _stage_lines()
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bars

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(),
    )
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("starting", total=None)

        def show(done: int, total: int, what: str) -> None:
            bars.update(task, completed=done, total=total or None, description=what)

        yield show
