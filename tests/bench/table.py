"""``python tests/bench/table.py``: run the benches once, side by side, and put their figures in the README.

Reads the benches' own printed lines; knows no figure itself.  Fails if a figure or a marker is missing.
"""

import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
README = HERE.parents[1] / "README.md"
START, END = "<!-- bench:start -->", "<!-- bench:end -->"
# What is measured, the pattern that finds it, and how the row is said.
ROWS = (
    ("Path kernel against NumPy", r"NumPy over kernel: ([\d.]+)", "{0} times faster"),
    ("... largest miss of both", r"kernel \d+ ns a throw, miss at most ([\d.]+)", "{0} board"),
    ("Path kernel against an ODE solver, tolerance 1e-3",
     r"solver, tolerance 0.001, steps up to 2 ft: .*miss at most ([\d.]+).*; (\d+) times the kernel",
     "{1} times faster, the solver's largest miss {0} board"),
    ("League ball against a bare path", r"league ball \d+ ns: ([\d.]+) paths", "{0} paths"),
    ("A pair's league night", r"balls a night of (\d+) bowlers, ([\d.]+) ms", "{1} ms, {0} bowlers"),
    ("A draw of the pins", r"draw ([\d.]+) us a shot", "{0} us"),
    ("Exact distribution against sampling, to 0.5 pin",
     r"error of 0.5 pin: .*takes ([\d.]+) of the exact distribution", "{0} times faster"),
    ("... error of the exact distribution", r"exact error ([\d.e+-]+)", "{0}"),
)  # fmt: skip


def rows_of(printed: str) -> list[str]:
    """Lines of a table in Markdown; ValueError naming a figure that was not printed."""
    lines = ["| measured side by side, one thread | |", "|---|---|"]
    for name, pattern, said in ROWS:
        found = re.search(pattern, printed)
        if found is None:
            raise ValueError(f"the benches did not print: {name}")
        lines.append(f"| {name} | {said.format(*found.groups())} |")
    return lines


def placed(text: str, lines: list[str]) -> str:
    """The text with the lines between the markers; ValueError if a marker is not there once."""
    if text.count(START) != 1 or text.count(END) != 1 or text.index(START) > text.index(END):
        raise ValueError(f"README.md needs {START} and, after it, {END}, each once")
    head, tail = text.split(START)[0], text.split(END)[1]
    return head + "\n".join([START, *lines, END]) + tail


def main() -> int:
    """Measure, print, write."""
    try:
        placed(README.read_text(encoding="utf-8"), [])
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-m", "bench", "-s", "-q", str(HERE)],
            capture_output=True, text=True, check=False, cwd=HERE.parents[1],
        )  # fmt: skip
        if run.returncode != 0:
            raise ValueError("a bench failed:\n" + run.stdout[-2000:])
        lines = rows_of(run.stdout)
        README.write_text(placed(README.read_text(encoding="utf-8"), lines), encoding="utf-8")
    except ValueError as fault:
        print(fault, file=sys.stderr)
        return 1
    print("\n".join(lines))
    return 0


if __name__ == "__main__":
    sys.exit(main())
