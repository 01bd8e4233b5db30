"""Parts of a run that were played apart: the file of one, and many joined into the whole.

A part holds integers only, so the order of joining changes nothing.  Does not play.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError, LeaguesimError
from leaguesim.run.blocks import pack, totals_arrays, totals_from, unpack
from leaguesim.run.totals import Totals

SCHEMA = "leaguesim.part/1"


class PartDoneError(LeaguesimError):
    """A shard has played its tasks: no failure, but no whole result either; carries the part."""

    def __init__(self, part: "Part") -> None:
        super().__init__(f"part {part.shard[0]} of {part.shard[1]} is played")
        self.part = part


@dataclass(frozen=True)
class Part:
    """The i-th of n parts of a plan's tasks.

    ``totals`` of all bowlers (nights 0, groups empty: they need every pair), ``sums``
    (conditions, nights, groups) nightly fixed-point sums over the part's own tasks.
    """

    plan: str
    shard: tuple[int, int]
    nights: int
    totals: Totals
    sums: NDArray[np.int64]

    def to_bytes(self, about: dict[str, Any]) -> bytes:
        """The part as a file, with its manifest ``about``."""
        told = {
            "schema": SCHEMA,
            "plan": self.plan,
            "shard": list(self.shard),
            "nights": self.nights,
            "manifest": about,
        }
        return pack({**totals_arrays(self.totals), "sums": self.sums}, told)


def read_part(path: Path) -> tuple[Part, dict[str, Any]]:
    """A part and its manifest.

    Raises
    ------
    InputError : not a part, damaged, or unreadable
    """
    try:
        arrays, told = unpack(path.read_bytes())
        if told.get("schema") != SCHEMA:
            raise InputError("not a part file")
        first, last = told["shard"]
        part = Part(
            told["plan"], (first, last), told["nights"], totals_from(arrays), arrays["sums"]
        )
        return part, told["manifest"]
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}") from error
    except (ValueError, KeyError, TypeError) as error:
        raise InputError(f"{path}: not a part that --shard wrote, or damaged ({error})") from error


@dataclass(frozen=True)
class Joined:
    """All parts of one run added up."""

    plan: str
    nights: int
    totals: Totals
    sums: NDArray[np.int64]


def join(named: Sequence[tuple[str, Part]]) -> Joined:
    """Add up all parts of a run, in any order.

    Parameters
    ----------
    named : (file name, part)

    Raises
    ------
    InputError : parts of different runs, one twice, or one missing
    """
    if not named:
        raise InputError("merge: name the part files")
    first_name, first = named[0]
    seen: dict[int, str] = {}
    for name, part in named:
        if (part.plan, part.shard[1], part.nights) != (first.plan, first.shard[1], first.nights):
            raise InputError(
                f"{name}: a part of another run than {first_name}: another center, seed, number of "
                "nights or parts, or computed by another version or machine"
            )
        if part.shard[0] in seen:
            raise InputError(f"{name}: part {part.shard[0]} is also in {seen[part.shard[0]]}")
        seen[part.shard[0]] = name
    count = first.shard[1]
    missing = [str(i) for i in range(1, count + 1) if i not in seen]
    if missing:
        raise InputError(f"merge: part {', '.join(missing)} of {count} is missing")
    totals, sums = first.totals, first.sums.copy()
    for _, part in named[1:]:
        totals.add(part.totals)
        sums += part.sums
    return Joined(first.plan, first.nights, totals, sums)
