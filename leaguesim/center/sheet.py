"""Comma- or semicolon-separated text as rows of texts with their line numbers.

Tolerates a byte-order mark, surrounding spaces, blank lines and decimal commas (in quotes where
commas separate).  Does not know what the columns mean.
"""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from leaguesim.center.faults import Faults, brief, did_you_mean, listing, nearest, shown, wrote
from leaguesim.center.validate import read_text

_NUMBER = re.compile(
    r"[+-]?(\d+([.,]\d+)?|[.,]\d+)(e[+-]?\d{1,3})?|[+-]?(nan|inf|infinity)", re.I | re.A
)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+")  # 1,200 may be 1200 or 1.2
_NO_OTHERS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class Sheet:
    """Rows as (line, column name -> text without surrounding spaces); absent columns read ''."""

    file: str
    header_line: int
    rows: tuple[tuple[int, dict[str, str]], ...]


def read_sheet(
    path: Path,
    file: str,
    *,
    needed: Sequence[str],
    optional: Sequence[str],
    faults: Faults,
    hashes: dict[str, bytes],
    others: Mapping[str, str] = _NO_OTHERS,
) -> Sheet | None:
    """The rows of a CSV file; None when it has no usable header.  Every fault is noted.

    ``others`` maps what people may call a column to its name here, for hints only.
    """
    got = read_text(path, file, faults)
    if got is None:
        return None
    text, hashes[file] = got
    first = next((line for line in text.splitlines() if line.strip()), "")
    comma = max(",;\t", key=first.count)
    lines = _records(text, comma, file, faults)
    if not lines:
        faults.add(file, 1, "", f"empty file: a header with {', '.join(needed)} is needed")
        return None
    header_line, header = lines[0]
    columns = [name.casefold() for name in header]
    if not _header_fits(file, header_line, header, needed, optional, others, faults):
        return None
    rows = []
    for line, cells in lines[1:]:
        extra = [cell for cell in cells[len(columns) :] if cell]
        if extra:
            text_ = f"too many cells: allowed are {len(columns)}, you wrote {len(cells)}"
            faults.add(file, line, "", text_)
            continue
        padded = cells + [""] * (len(columns) - len(cells))
        rows.append(
            (line, {name: cell for name, cell in zip(columns, padded, strict=False) if name})
        )
    return Sheet(file, header_line, tuple(rows))


def _records(text: str, comma: str, file: str, faults: Faults) -> list[tuple[int, list[str]]]:
    """Non-blank records with the line each starts on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    records: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                records.append((line, stripped))
            line = reader.line_num + 1
    except csv.Error as fault:
        faults.add(file, line, "", f"not valid CSV: {fault}")
    return records


def _header_fits(
    file: str,
    line: int,
    header: list[str],
    needed: Sequence[str],
    optional: Sequence[str],
    others: Mapping[str, str],
    faults: Faults,
) -> bool:
    before = len(faults.found)
    known = [*needed, *optional]
    columns = [name.casefold() for name in header]
    strange = [name for name in header if name and name.casefold() not in known]
    meant = {n: _written_for(n, strange, others) for n in needed if n not in columns}
    for i, name in enumerate(columns):
        if name and name not in known:
            if header[i] in meant.values():
                continue  # told with the missing column that it stands for
            text = (
                f"unknown column: allowed are {', '.join(known)}, you wrote "
                f"{wrote(header[i])}{_hint_known(name, known, others)}"
            )
            faults.add(file, line, name, text)
        elif name and name in columns[:i]:
            faults.add(file, line, name, "duplicate column: each is allowed once, you wrote two")
    for name in needed:
        if name not in columns:
            there = listing(filter(None, header), in_order=True)
            text = f"missing column: needed are {', '.join(needed)}, you wrote {there}"
            other = meant[name]
            hint = "" if other is None else f"; if {shown(other)} is meant, call it {name}"
            faults.add(file, line, name, text + hint)
    return len(faults.found) == before


def _hint_known(name: str, known: Sequence[str], others: Mapping[str, str]) -> str:
    """The column that an unknown one may stand for."""
    meant = others.get(name)
    return f"; did you mean {meant}?" if meant else did_you_mean(name, known)


def _written_for(name: str, strange: Sequence[str], others: Mapping[str, str]) -> str | None:
    """The unknown column that may stand for a missing one."""
    for other in strange:
        if others.get(other.casefold()) == name:
            return other
    return nearest(name, strange)


def cell_number(
    sheet: Sheet,
    line: int,
    column: str,
    text: str,
    span: tuple[float, float],
    unit: str,
    faults: Faults,
) -> float | None:
    """The number in a cell; None after noting a fault."""
    low, high = span
    allowed = f"a number from {low:g} to {high:g} {unit}".rstrip()
    plain = text.replace(",", ".") if text.count(",") == 1 else text
    if _THOUSANDS.fullmatch(text):
        what = "thousands or decimals cannot be told apart"
        faults.add(
            sheet.file, line, column, f"{what}: allowed is {allowed}, you wrote {brief(text)}"
        )
        return None
    try:
        if not _NUMBER.fullmatch(text):
            raise ValueError
        value = float(plain)
    except ValueError:
        what = "missing" if not text else "not a number"
        faults.add(
            sheet.file, line, column, f"{what}: allowed is {allowed}, you wrote {wrote(text)}"
        )
        return None
    if not math.isfinite(value):
        what = "not a finite number"
    elif value < low:
        what = "too small"
    elif value > high:
        what = "too large"
    else:
        return value
    faults.add(sheet.file, line, column, f"{what}: allowed is {allowed}, you wrote {brief(text)}")
    return None
