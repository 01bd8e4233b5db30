"""Centers of the proof that are done, a file each, so that a run can stop, go on and be shared out.

Files made with other sources do not count.  Does not play a center and does not judge one.
"""

import json
import os
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from leaguesim.errors import InputError
from leaguesim.outside.proof_rows import Row, proof_hash, read_rows, to_toml


def _place(folder: Path, number: int) -> Path:
    return folder / f"center-{number:02d}.json"


def _whole(path: Path, text: str) -> None:
    """Written whole or not at all, whoever else writes."""
    made = path.with_name(f".{path.name}.{os.getpid()}")
    made.write_text(text, encoding="utf-8")
    made.replace(path)


def keep(folder: Path, row: Row) -> None:
    """Keep a center that is done."""
    folder.mkdir(parents=True, exist_ok=True)
    told = {"sources_hash": proof_hash(), "center": asdict(row)}
    _whole(_place(folder, row.number), json.dumps(told, indent=1) + "\n")


def kept(folder: Path) -> dict[int, Row]:
    """Centers that are done with these sources, by number.

    Raises
    ------
    InputError : a file there is not one of ``keep``
    """
    rows: dict[int, Row] = {}
    for path in sorted(folder.glob("center-*.json")):
        try:
            told: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
            if told["sources_hash"] == proof_hash():
                (row,) = read_rows({"centers": [told["center"]]})
                rows[row.number] = row
        except (ValueError, KeyError, TypeError, AttributeError) as fault:
            raise InputError(f"{path}: not a center of the proof: {fault}") from None
    return rows


def write_proof(folder: Path, out: Path) -> list[Row]:
    """All centers that are done, by whichever process, made into the file of results."""
    rows = list(kept(folder).values())
    _whole(out, to_toml(rows))
    return rows


def part_of(numbers: Sequence[int], part: str) -> list[int]:
    """The i-th of n parts of the centers, ``part`` as "i/n".

    Raises
    ------
    InputError : not such a part
    """
    i, _, n = part.partition("/")
    if not (i.isdecimal() and n.isdecimal() and 1 <= int(i) <= int(n)):
        raise InputError(f"--part: something like 1/2 is needed, got {part}")
    return list(numbers)[int(i) - 1 :: int(n)]
