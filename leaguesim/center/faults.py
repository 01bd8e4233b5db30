"""One fault, one line: collecting what is wrong in a folder and saying it the same way everywhere.

Does not decide what is wrong; the models, the checks and the readers do.
"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from leaguesim.center.positions import KeyPath

_SHOWN = 60  # signs of a wrong value that are repeated to the user
_ONE_OF = {"bands": "band", "bag": "bag: ball"}  # what one entry of a list is called


@dataclass
class Faults:
    """Faults found so far, said in the order of files as first mentioned, then of lines."""

    found: list[tuple[int, int, str]] = field(default_factory=list)
    files: dict[str, int] = field(default_factory=dict)

    def open(self, file: str) -> None:
        """Fix the place of a file in the order of reports."""
        self.files.setdefault(file, len(self.files))

    def add(self, file: str, line: int | None, key: str, text: str) -> None:
        """Note a fault; a missing line (no such file) leaves the line number out."""
        self.open(file)
        place = file if line is None else f"{file}:{line}"
        whole = f"{place}: {key}: {text}" if key else f"{place}: {text}"
        self.found.append((self.files[file], line or 0, shown(whole)))

    def lines(self) -> list[str]:
        """One text a fault, sorted; repeated ones once."""
        return list(dict.fromkeys(text for _, _, text in sorted(self.found)))


def shown(text: str) -> str:
    """The text on one line: signs that can't be printed are escaped."""
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii")
        for sign in text
    )


def key_text(path: KeyPath) -> str:
    """``band 1: shares.amber`` for ``("bands", 0, "shares", "amber")``; people count from 1."""
    text, joint = "", ""
    for part in path:
        if isinstance(part, int):
            text, joint = f"{_ONE_OF.get(text, text)} {part + 1}", ": "
        else:
            text, joint = f"{text}{joint}{shown(part)}", "."
    return text


def wrote(value: object) -> str:
    """The user's value as TOML writes it, cut if long."""
    if isinstance(value, bool):
        return "true (a boolean)" if value else "false (a boolean)"
    if isinstance(value, str):
        text = f'"{shown(value)}"'
    elif isinstance(value, dict):
        text = "a table with " + shown(", ".join(map(str, value))) if value else "an empty table"
    elif isinstance(value, list):
        text = f"a list of {len(value)}"
    elif isinstance(value, (datetime.date, datetime.time)):
        text = f"{value.isoformat()} (a date or time)"
    elif isinstance(value, int) and value.bit_length() > 200:
        text = "a very long number"
    else:
        text = str(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def listing(names: Iterable[str]) -> str:
    """``a, b, c`` or ``(none)``; at most twenty names."""
    names = sorted(map(shown, names))
    if len(names) > 20:
        return ", ".join(names[:20]) + f" and {len(names) - 20} more"
    return ", ".join(names) if names else "(none)"


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """``; did you mean X?`` or an empty text; case is disregarded."""
    folded = {other.casefold(): other for other in names}
    close = get_close_matches(name.casefold(), list(folded), n=1, cutoff=0.6)
    return f"; did you mean {shown(folded[close[0]])}?" if close else ""


def unknown(what: str, name: str, names: Iterable[str]) -> str:
    """The sentence for a name that stands for nothing."""
    names = list(names)
    return (
        f"unknown {what}: allowed are {listing(names)}, you wrote "
        f"{wrote(name)}{did_you_mean(name, names)}"
    )
