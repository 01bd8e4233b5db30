"""Damaged machine code in the cache is compiled again: never run, never an error."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

SOURCE = """
from leaguesim.compiled import kernel

@kernel
def f(x):
    return x * 2.0 + 1.0

print(f(3.0), sum(f.stats.cache_hits.values()))
"""
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A folder with a kernel that is compiled and kept, and a way to use it in a new process."""
    folder = tmp_path_factory.mktemp("cache")
    (folder / "doubled.py").write_text(SOURCE)
    env = {
        **os.environ,
        "LEAGUESIM_CACHE": str(folder / "kept"),
        "PYTHONPATH": f"{ROOT}{os.pathsep}{folder}",
    }

    def use() -> str:
        done = subprocess.run(
            [sys.executable, "-c", "import doubled"],
            capture_output=True, text=True, env=env, cwd=folder, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert done.stderr == ""
        return done.stdout.strip()

    assert use() == "7.0 0"
    assert use() == "7.0 1"  # found
    return folder / "kept", use


def harmed(data: bytes, harm: str) -> bytes:
    if harm == "flipped":
        middle = len(data) // 2
        return data[:middle] + bytes([data[middle] ^ 0x01]) + data[middle + 1 :]
    return data[: len(data) // 2] if harm == "cut" else b""


@pytest.mark.parametrize(
    ("suffix", "harm"),
    [
        (".nbi", "cut"),
        (".nbc", "flipped"),
        pytest.param(".nbi", "flipped", marks=pytest.mark.slow),
        pytest.param(".nbi", "empty", marks=pytest.mark.slow),
        pytest.param(".nbc", "cut", marks=pytest.mark.slow),
        pytest.param(".nbc", "empty", marks=pytest.mark.slow),
    ],
)
def test_a_damaged_kernel_is_compiled_again(kept, suffix, harm):
    folder, use = kept
    (path,) = folder.rglob(f"*{suffix}")
    path.write_bytes(harmed(path.read_bytes(), harm))
    assert use() == "7.0 0"
    assert use() == "7.0 1"  # and kept anew
