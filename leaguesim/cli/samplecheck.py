"""Whether the sample reports are still what the code makes, told in plain words.

Does not make samples.  ``faults_of`` reads what lies there and costs no simulation; ``differences``
holds two reports of one command against each other.
"""

import csv
import html
import io
import json
import math
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

MOST_BYTES = 2_500_000
PAGE, MANIFEST, SUMMARY = "page.html", "manifest.json", "summary.json"
DIGITS = 6  # figures of two platforms agree to so many, relative to the largest of a column
PLATFORM = ("packages", "python", "system", "cpu")


def structure(page: str) -> dict[str, list[str]]:
    """Headings, charts, tables with their columns and glossary of a page."""

    def words(pattern: str, text: str = page) -> list[str]:
        found = re.findall(pattern, text, re.DOTALL)
        return [html.unescape(re.sub("<.*?>", "", w)).replace("\u00a0", " ") for w in found]

    tables = []
    for part in page.split("<table>")[1:]:
        caption = words("<caption>(.*?)</caption>", part)
        heads = words('<th scope="col"[^>]*>(.*?)</th>', part.partition("</thead>")[0])
        tables.append(" | ".join([*caption[:1], *heads]))
    return {
        "headings": words('<h2 id="[^"]*">(.*?)</h2>'),
        "charts": words('id="chart-([^"]*)"'),
        "tables": tables,
        "glossary": words("<dt>(.*?)</dt>.*?<dd>", page[page.rfind('id="glossary"') :]),
    }


def faults_of(folder: Path, command: list[str], inputs: dict[str, str], center: Path) -> list[str]:
    """What is wrong with a sample as it lies there.

    Parameters
    ----------
    command : the words it must have been made with, without its place
    inputs : hashes of the demo center's files as they are now
    center : its folder, for files that only one command reads
    """
    name = folder.name
    if not (folder / MANIFEST).is_file() or not (folder / PAGE).is_file():
        return [f"{name}: is not there, or has no page"]
    told = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    faults = []
    made_with = told["argv"][: len(command)]
    if [Path(w).name for w in made_with] != [Path(w).name for w in command]:
        faults.append(f"{name}: was made by '{' '.join(made_with)}', not '{' '.join(command)}'")
    more = [f for f in told["inputs"] if f not in inputs and (center / f).is_file()]
    inputs = inputs | {f: sha256((center / f).read_bytes()).hexdigest() for f in more}
    for file in sorted(set(told["inputs"]) | (set(inputs) if told["inputs"] else set())):
        was, now = told["inputs"].get(file), inputs.get(file)
        if was != now:
            word = "new" if was is None else "gone" if now is None else "changed"
            faults.append(f"{name}: {file} of the demo center is {word} since it was made")
    there = sorted(p.name for p in folder.iterdir())
    if there != told["files"]:
        odd = sorted(set(there) ^ set(told["files"]))
        faults.append(f"{name}: files missing or of nobody: {', '.join(odd)}")
    for file, digest in told["files_sha256"].items():
        path = folder / file
        if path.is_file() and sha256(path.read_bytes()).hexdigest() != digest:
            faults.append(f"{name}: {file} was changed by hand")
    faults += [
        f"{name}: {p.name} has {p.stat().st_size:,} bytes, more than {MOST_BYTES:,}"
        for p in sorted(folder.iterdir())
        if p.stat().st_size >= MOST_BYTES
    ]
    return faults


def differences(old: Path, new: Path) -> list[str]:
    """What differs between a sample and the same command's report of now, in plain words.

    Bytes of tables count where both were made on one platform, else figures to six digits.
    """
    name = old.name
    faults = []
    before, after = (structure((f / PAGE).read_text(encoding="utf-8")) for f in (old, new))
    for kind in before:
        for word in before[kind]:
            if word not in after[kind]:
                faults.append(f"{name}: the page made now lacks {kind[:-1]} '{word}'")
        for word in after[kind]:
            if word not in before[kind]:
                faults.append(f"{name}: the sample lacks {kind[:-1]} '{word}'")
        if not faults and before[kind] != after[kind]:
            faults.append(f"{name}: {kind} stand in another order")
    files = [{p.name for p in f.iterdir()} for f in (old, new)]
    faults += [f"{name}: {file} is made no more" for file in sorted(files[0] - files[1])]
    faults += [f"{name}: {file} is missing" for file in sorted(files[1] - files[0])]
    same = _platform(old) == _platform(new)
    for file in sorted(files[0] & files[1]):
        if file.endswith(".csv"):
            faults += _table_faults(f"{name}: {file}", old / file, new / file, same)
    a, b = (_summary(f) for f in (old, new))
    if (a != b) if same else not _alike(a, b):
        faults.append(f"{name}: figures of {SUMMARY} differ")
    return faults


def _platform(folder: Path) -> list[Any]:
    told = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    return [told[key] for key in PLATFORM]


def _summary(folder: Path) -> Any:
    told = json.loads((folder / SUMMARY).read_text(encoding="utf-8"))
    told.pop("manifest", None)
    return told


def _table_faults(where: str, old: Path, new: Path, same: bool) -> list[str]:
    texts = [p.read_text(encoding="utf-8") for p in (old, new)]
    if texts[0] == texts[1]:
        return []
    a, b = (list(csv.reader(io.StringIO(t))) for t in texts)
    if a[0] != b[0]:
        return [f"{where}: other columns: {', '.join(sorted(set(a[0]) ^ set(b[0])))}"]
    if len(a) != len(b):
        return [f"{where}: {len(a) - 1} rows, now {len(b) - 1}"]
    off = [
        k
        for k, head in enumerate(a[0])
        if ([r[k] for r in a] != [r[k] for r in b]) and (same or not _column_alike(k, a, b))
    ]
    return [f"{where}: other figures in {', '.join(a[0][k] for k in off)}"] if off else []


def _column_alike(k: int, a: list[list[str]], b: list[list[str]]) -> bool:
    return _alike([_value(r[k]) for r in a[1:]], [_value(r[k]) for r in b[1:]])


def _value(cell: str) -> Any:
    try:
        return float(cell)
    except ValueError:
        return cell


def _alike(a: Any, b: Any) -> bool:
    """Equal but for the last digits of figures."""
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(_alike(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) or isinstance(b, float):
        numbers = isinstance(a, (int, float)) and isinstance(b, (int, float))
        return numbers and math.isclose(a, b, rel_tol=10.0**-DIGITS, abs_tol=10.0**-DIGITS)
    return bool(a == b)
