"""One fault, one line: collecting what is wrong in a folder and saying it the same way everywhere.

Does not decide what is wrong; the models, the checks and the readers do.
"""

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import NamedTuple

from leaguesim.center.positions import KeyPath

_MOST = 25  # faults of one column that are said one by one
_SHOWN = 60  # signs of a wrong value that are repeated to the user
_ONE_OF = {"bands": "band", "bag": "bag: ball"}  # what one entry of a list is called
_BAND = re.compile(r"band (\d+)(.*)", re.DOTALL)


class Fault(NamedTuple):
    """What is wrong at one place; line 0 stands for a file without lines."""

    order: int
    line: int
    file: str
    key: str
    text: str

    def said(self) -> str:
        """The fault on one line."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        return shown(f"{place}: {self.key}: {self.text}" if self.key else f"{place}: {self.text}")


@dataclass
class Faults:
    """Faults found so far, said in the order of files as first mentioned, then of lines."""

    found: list[Fault] = field(default_factory=list)
    files: dict[str, int] = field(default_factory=dict)

    def open(self, file: str) -> None:
        """Fix the place of a file in the order of reports."""
        self.files.setdefault(file, len(self.files))

    def add(self, file: str, line: int | None, key: str, text: str) -> None:
        """Note a fault; a missing line (no such file) leaves the line number out."""
        self.open(file)
        self.found.append(Fault(self.files[file], line or 0, file, key, text))

    def lines(self) -> list[str]:
        """One text a fault, sorted; repeated ones once, with all their bands on the first's line."""
        alike: dict[tuple[str, ...], dict[int, Fault]] = {}
        for fault in sorted(self.found):
            band = _BAND.fullmatch(fault.key)
            kind = (band[2],) if band else (str(fault.line), fault.key, "")
            same = alike.setdefault((fault.file, fault.text, *kind), {})
            same.setdefault(int(band[1]) if band else 0, fault)
        return [fault.said() for fault in _few(sorted(map(_together, alike.values())))]

    def many(self) -> bool:
        """Whether so many are noted that a nearest name for each would take minutes."""
        return len(self.found) > 200


def _together(same: dict[int, Fault]) -> Fault:
    """One fault for those that differ by nothing but the band."""
    first = next(iter(same.values()))
    if len(same) == 1:
        return first
    rest = first.key.partition(": ")
    key = f"bands {', '.join(map(str, sorted(same)))}{rest[1]}{rest[2]}"
    return first._replace(key=key)


def _few(faults: list[Fault]) -> list[Fault]:
    """The first of each key and file, and how many more there are: nobody reads a thousand."""
    kept: dict[tuple[str, str], int] = {}
    told = []
    for fault in faults:
        place = (fault.file, fault.key)
        kept[place] = kept.get(place, 0) + 1
        if kept[place] <= _MOST:
            told.append(fault)
    for (file, key), count in kept.items():
        if count > _MOST:
            last = max(f for f in told if (f.file, f.key) == (file, key))
            text = f"and {count - _MOST:,} more such faults below"
            told.append(last._replace(text=text, line=last.line + 1))
    return sorted(told)


def shown(text: str) -> str:
    """The text on one line: signs that can't be printed are escaped."""
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii")
        for sign in text
    )


def brief(text: str) -> str:
    """What stood in a cell, on one line, cut if long."""
    return _cut(shown(text))


def _cut(text: str) -> str:
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


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
    return _cut(text)


def listing(names: Iterable[str], *, in_order: bool = False) -> str:
    """``a, b, c`` or ``(none)``, sorted unless ``in_order``; at most twenty names."""
    names = list(map(shown, names)) if in_order else sorted(map(shown, names))
    if len(names) > 20:
        return ", ".join(names[:20]) + f" and {len(names) - 20} more"
    return ", ".join(names) if names else "(none)"


def nearest(name: str, names: Iterable[str]) -> str | None:
    """The name most like this one, if any is; case is disregarded."""
    folded = {other.casefold(): other for other in names}
    close = get_close_matches(name.casefold(), list(folded), n=1, cutoff=0.6)
    return folded[close[0]] if close else None


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """``; did you mean X?`` or an empty text; case is disregarded."""
    close = nearest(name, names)
    return "" if close is None else f"; did you mean {shown(close)}?"


def unknown(what: str, name: str, names: Iterable[str], *, hint: bool = True) -> str:
    """The sentence for a name that stands for nothing."""
    names = list(names)
    return (
        f"unknown {what}: allowed are {listing(names)}, you wrote "
        f"{wrote(name)}{did_you_mean(name, names) if hint else ''}"
    )
