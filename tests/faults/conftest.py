"""A center of four bowlers on one pair of lanes, and commands run in a process of their own."""

import shutil
import subprocess
import sys
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

START = "from leaguesim.cli.main import run\n{before}\nrun()"
PAIR = ("--now", "tuesday_40", "--next", "thursday_42")


def call(*words: str, before: str = "", **more: Any) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own; ``before`` is run there first."""
    more = {"timeout": 270, **more}
    return subprocess.run(
        [sys.executable, "-c", START.format(before=before), *words],
        capture_output=True, text=True, **more,
    )  # fmt: skip


def start(*words: str, **more: Any) -> subprocess.Popen[str]:
    """The same, not waited for."""
    return subprocess.Popen(
        [sys.executable, "-c", START.format(before=""), *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **more,
    )  # fmt: skip


def hashes(folder: Path) -> dict[str, str]:
    """Every file of a folder with its hash."""
    return {
        p.relative_to(folder).as_posix(): sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def few(folder: Path) -> Path:
    """The starter center with the first two bowlers of its first two teams."""
    from leaguesim.center import starter_folder

    shutil.copytree(starter_folder() / "starter", folder)
    roster = folder / "roster.csv"
    head, *lines = roster.read_text(encoding="utf-8").splitlines()
    kept: dict[str, list[str]] = {}
    for line in lines:
        kept.setdefault(line.split(",")[1], []).append(line)
    rows = [line for people in list(kept.values())[:2] for line in people[:2]]
    assert len(rows) == 4
    roster.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def center(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a small center."""
    return few(tmp_path_factory.mktemp("faults") / "few")


@pytest.fixture(scope="session")
def tools() -> dict[str, Callable[..., Any]]:
    """``call``, ``start``, ``hashes``."""
    return {"call": call, "start": start, "hashes": hashes}


@pytest.fixture(scope="session")
def unbroken(center: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of 96 nights that nothing disturbed."""
    out = tmp_path_factory.mktemp("unbroken") / "x"
    done = call(
        "compare", str(center), *PAIR, "--nights", "96", "--seed", "1", "--out", str(out), "-q"
    )
    assert done.returncode == 0, done.stderr
    return out
