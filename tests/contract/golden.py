"""Golden results of the demo: they change only together with a line under "Changes results".

    python tests/contract/golden.py

writes down what the committed samples hold now, beside the changelog's lines.  It refuses where figures moved
and no line says so.  ``golden.json`` keeps what was before, so that a change without a line shows afterwards too.
"""

import json
import re
import sys
from hashlib import sha256
from itertools import pairwise
from pathlib import Path
from typing import Any

import leaguesim

HERE = Path(__file__).parent
GOLDEN = HERE / "golden.json"
REPORTS = HERE.parents[1] / "reports"
CHANGELOG = Path(leaguesim.__file__).parent / "CHANGELOG.md"
SAMPLES = ("compare", "lane", "fit", "fairness", "tune", "tournament")
HEADING = "### Changes results"


def moved_lines(changelog: str) -> list[str]:
    """The items under every heading "Changes results", each as one line."""
    parts = changelog.split(HEADING)[1:]
    parts = [re.split(r"^##", part, flags=re.M)[0] for part in parts]
    items = [item for part in parts for item in re.split(r"^- ", part, flags=re.M)[1:]]
    return [" ".join(item.split()) for item in items]


def results(folder: Path) -> str:
    """A digest of a sample's figures: every table, and the summary without what names the run."""
    digest = sha256()
    for path in sorted(folder.glob("*.csv")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    told = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    told.pop("manifest", None)
    digest.update(json.dumps(told, sort_keys=True).encode())
    return digest.hexdigest()


def now(reports: Path = REPORTS, changelog: Path = CHANGELOG) -> dict[str, Any]:
    """What lies there: digests by sample, and of the changelog's lines."""
    lines = moved_lines(changelog.read_text(encoding="utf-8"))
    return {
        "lines": len(lines),
        "changelog": sha256("\n".join(lines).encode()).hexdigest(),
        "results": {name: results(reports / f"sample-{name}") for name in SAMPLES},
    }


def faults(kept: list[dict[str, Any]], found: dict[str, Any]) -> list[str]:
    """What is wrong with a record, told in plain words.

    Parameters
    ----------
    kept : the record, oldest first
    found : what lies there now
    """
    told = []
    for before, after in pairwise([*kept, found]):
        moved = [n for n in SAMPLES if before["results"][n] != after["results"][n]]
        if moved and before["changelog"] == after["changelog"]:
            told.append(
                f"figures of {', '.join(moved)} moved without a new line under '{HEADING[4:]}'"
            )
    return told


def main() -> int:
    """Write down what lies there; 1 where it may not be."""
    kept = json.loads(GOLDEN.read_text(encoding="utf-8")) if GOLDEN.exists() else []
    found = now()
    said = faults(kept, found)
    if said:
        sys.stderr.write("\n".join(said) + "\n")
        return 1
    if not kept or kept[-1]["results"] != found["results"]:
        GOLDEN.write_text(json.dumps([*kept, found], indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
