"""Help and version answer at once and import nothing heavy."""

import subprocess
import sys

import pytest

HEAVY = ("numba", "pandas", "scipy", "altair", "vl_convert", "statsmodels", "mujoco")
PROBE = """
import sys
from leaguesim.cli.main import main
code = main({words!r})
heavy = [name for name in {heavy!r} if name in sys.modules]
sys.stderr.write("HEAVY " + ",".join(heavy))
sys.exit(code)
"""


@pytest.mark.parametrize(
    "words", [["--help"], ["--version"], ["compare", "--help"], ["demo", "--help"]]
)
def test_nothing_heavy_is_imported(words):
    code = PROBE.format(words=words, heavy=HEAVY)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0
    assert done.stderr == "HEAVY "
    assert done.stdout


def test_version_says_where_compiled_kernels_are():
    done = subprocess.run(
        [sys.executable, "-c", PROBE.format(words=["--version"], heavy=())],
        capture_output=True, text=True,
    )  # fmt: skip
    lines = done.stdout.splitlines()
    assert lines[0].startswith("leaguesim ")
    assert "kernels" in lines[1]


def test_help_is_quick():
    """Under 0.6 s of processor time: the wall clock of a busy machine would say nothing."""
    import resource

    best = 9.0
    for _ in range(3):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [sys.executable, "-c", "from leaguesim.cli.main import run; run()", "--help"],
            capture_output=True, check=True,
        )  # fmt: skip
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        best = min(best, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    assert best < 0.6, f"{best:.2f} s"
