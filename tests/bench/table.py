"""``python tests/bench/table.py``: run the benches once, side by side, and put their figures in the README.

The floors of the stages go into DEVELOPERS.md.  Reads the benches' own printed lines; knows no figure
itself.  Fails if a figure or a marker is missing.
"""

import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
README = HERE.parents[1] / "README.md"
DEVELOPERS = HERE.parents[1] / "DEVELOPERS.md"
START, END = "<!-- bench:start -->", "<!-- bench:end -->"
# What is measured, the pattern that finds it, and how the row is said.
ROWS = (
    ("Path kernel, two balls in flight, against NumPy", r"NumPy over kernel: ([\d.]+)",
     "{0} times faster"),
    ("... one ball at a time", r"NumPy over one ball at a time \(\d+ ns\): ([\d.]+)",
     "{0} times faster"),
    ("... largest miss of both", r"kernel \d+ ns a throw, miss at most ([\d.]+)", "{0} board"),
    ("Path kernel against an ODE solver, tolerance 1e-3",
     r"solver, tolerance 0.001, steps up to 2 ft: .*miss at most ([\d.]+).*; (\d+) times the kernel",
     "{1} times faster, the solver's largest miss {0} board"),
    ("... against the quickest that misses by 0.02 board at most",
     r"solver at equal error \((.*)\): miss at most ([\d.]+) board; (\d+) times the kernel",
     "{2} times faster, the solver's largest miss {1} board ({0})"),
    ("League ball against a bare path", r"league ball \d+ ns: ([\d.]+) paths", "{0} paths"),
    ("A pair's league night", r"balls a night of (\d+) bowlers, ([\d.]+) ms", "{1} ms, {0} bowlers"),
    ("A draw of the pins", r"draw ([\d.]+) us a shot", "{0} us"),
    ("Exact distribution against sampling, to 0.5 pin",
     r"error of 0.5 pin: .*takes ([\d.]+) of the exact distribution", "{0} times faster"),
    ("... error of the exact distribution", r"exact error ([\d.e+-]+)", "{0}"),
    ("Two threads against one", r"two threads over one: (.*)", "{0}"),
    ("Nights until the change of each of 96 bowlers is known to 0.5 pin, against games played out on "
     "independent luck",
     r"plain (\d+), ours (\d+): ([\d.]+) times less; in the middle bowler ([\d.]+)",
     "{1} against {0}, {2} times fewer; {3} in the middle bowler"),
    ("... averages played out less exact, in standard errors",
     r"standard errors: mean (\S+), root mean square (\S+), largest (\S+)",
     "mean {0}, root mean square {1}, largest {2} of 192"),
    ("Compare of 96 bowlers to 0.5 pin, two threads",
     r"compare of 96 bowlers: (\S+ s), (\d+) nights, largest standard error (\S+) pin (.*)",
     "{0}, {1} nights, largest standard error {2} pin {3}"),
    ("Compare of 1,000 bowlers, two threads", r"1,000 bowlers, (.*)", "{0}"),
    ("Memory of 48 bowlers", r"memory of 48 bowlers: (.*)", "{0}"),
    ("Cost by bowlers x nights", r"cost by size: (.*)", "{0}"),
    ("`leaguesim --help`", r"help: (.*)", "{0}"),
)  # fmt: skip


FLOORS = (
    ("Path of a ball, us", r"floors: path ([\d.]+) us against ([\d.]+) us, (\d+) rows of sliding, (\d+) bytes",
     "{0} | {1} | {3} | {2} rows of sliding, each waits for the one before"),
    ("Wear of its track, us", r"; wear ([\d.]+) us against ([\d.]+) us, (\d+) rows, (\d+) bytes",
     "{0} | {1} | {3} | {2} rows, oil loose on the ball is carried from each to the next"),
    ("Random numbers of a bowler's night, us",
     r"; random numbers (\d+) us against (\d+) us, (\d+) of a bowler's night, (\d+) bytes",
     "{0} | {1} | {3} | {2} numbers, five of six made normal"),
)  # fmt: skip
HEAD = ("| measured side by side, one thread where not said | |", "|---|---|")
CPU = Path("/proc/cpuinfo")
VECTORS = (("avx512f", 512), ("avx2", 256), ("asimd", 128))  # flag of the processor, bits
FLOOR_HEAD = ("| stage | takes | floor | bytes | |", "|---|---|---|---|---|")
WIDTH = 50


def plot_of(printed: str) -> list[str]:
    """Time against bowlers x nights as bars of text; a straight line says that cost is linear."""
    found = re.search(r"cost by size: (.*) ms a bowler and night", printed)
    if found is None:
        raise ValueError("the benches did not print: cost by size")
    sizes = [
        (float(n), float(n) * float(ms)) for n, ms in re.findall(r"([\d.]+)x ([\d.]+)", found[1])
    ]
    longest = max(taken for _, taken in sizes)
    bars = [f"{n:4g}x {'=' * max(round(WIDTH * t / longest), 1)}" for n, t in sizes]
    return ["", "```text", "bowlers x nights against time", *bars, "```"]


def machine_row() -> str:
    """Cores and the width of their vector registers: NumPy's side of a ratio moves with both."""
    flags = set(CPU.read_text(encoding="utf-8").split()) if CPU.is_file() else set()
    bits = next((f", vectors of {bits} bits" for flag, bits in VECTORS if flag in flags), "")
    return f"| Machine | {os.cpu_count()} cores{bits} |"


def rows_of(printed: str, rows: Sequence[tuple[str, str, str]], head: Sequence[str]) -> list[str]:
    """Lines of a table in Markdown; ValueError naming a figure that was not printed."""
    lines = list(head)
    for name, pattern, said in rows:
        found = re.search(pattern, printed)
        if found is None:
            raise ValueError(f"the benches did not print: {name}")
        lines.append(f"| {name} | {said.format(*found.groups())} |")
    return lines


def placed(text: str, lines: list[str]) -> str:
    """The text with the lines between the markers; ValueError if a marker is not there once."""
    if text.count(START) != 1 or text.count(END) != 1 or text.index(START) > text.index(END):
        raise ValueError(
            f"README.md and DEVELOPERS.md need {START} and, after it, {END}, each once"
        )
    head, tail = text.split(START)[0], text.split(END)[1]
    return head + "\n".join([START, *lines, END]) + tail


def main() -> int:
    """Measure, print, write."""
    try:
        for page in (README, DEVELOPERS):
            placed(page.read_text(encoding="utf-8"), [])
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-m", "bench", "-s", "-q", str(HERE)],
            capture_output=True, text=True, check=False, cwd=HERE.parents[1],
            env={**os.environ, "LEAGUESIM_LONG_BENCH": "1"},
        )  # fmt: skip
        if run.returncode != 0:
            raise ValueError("a bench failed:\n" + run.stdout[-2000:])
        written = (
            (README, rows_of(run.stdout, ROWS, (*HEAD, machine_row())) + plot_of(run.stdout)),
            (DEVELOPERS, rows_of(run.stdout, FLOORS, FLOOR_HEAD)),
        )
        for page, lines in written:
            page.write_text(placed(page.read_text(encoding="utf-8"), lines), encoding="utf-8")
            print("\n".join(lines))
    except ValueError as fault:
        print(fault, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
