"""One family of errors, each with the exit code that the command line returns for it.

Does not format anything for a terminal: the message is one plain sentence (or one line a fault).
"""


class LeaguesimError(Exception):
    """Something we know how to explain; the base of the family."""

    exit_code = 1


class InputError(LeaguesimError, ValueError):
    """What the user wrote cannot be used: a file, a field, an option or an output place."""

    exit_code = 2


class ProfileError(InputError):
    """All faults found in a center folder, one line each.

    Parameters
    ----------
    faults : one ``file:line: key: what is wrong, what is allowed, what you wrote`` per fault
    """

    def __init__(self, faults: list[str]) -> None:
        self.faults = list(faults)
        super().__init__("\n".join(self.faults))


class OutputError(InputError):
    """The output folder exists already, can't be written or is full."""


class PartFailedError(LeaguesimError):
    """Some tasks failed; the others were kept."""

    exit_code = 4


class LibraryError(LeaguesimError):
    """A shipped data file (the carry library) is missing, damaged or of another version."""


class NumberError(LeaguesimError):
    """NaN or infinity turned up where a finite number must be; the message names the cause."""
