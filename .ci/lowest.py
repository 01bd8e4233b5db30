"""The lowest versions that a project file promises, one line a package: python .ci/lowest.py pyproject.toml"""

import re
import sys
import tomllib
from pathlib import Path

# What the lowest versions were made with, where a newer one warns: warnings are errors here.
BESIDE = {"typer": "click==8.1.*"}


def lowest(requirement: str) -> str:
    """`numpy>=2.1` as `numpy==2.1.*`; three figures stand for one release."""
    found = re.match(r"([A-Za-z0-9_.-]+)>=(\d+(?:\.\d+)*)", requirement)
    if found is None:
        raise SystemExit(f"no lowest version in {requirement!r}")
    name, version = found.groups()
    return f"{name}=={version}" + ("" if version.count(".") >= 2 else ".*")


if __name__ == "__main__":
    project = tomllib.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))["project"]
    lines = [lowest(r) for r in project["dependencies"]]
    lines += [more for name, more in BESIDE.items() if any(x.startswith(name) for x in lines)]
    sys.stdout.write("\n".join(lines) + "\n")
