"""The record that lets anybody repeat a run: what was asked, of which files, with which versions.

Does not store the files themselves, and never a bowler's name.
"""

import os
import platform
import shlex
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from leaguesim import __version__
from leaguesim.center.values import Center
from leaguesim.streams import LAYOUT_VERSION

SCHEMA = "leaguesim.manifest/1"
PACKAGES = (
    "numpy", "numba", "llvmlite", "scipy", "pandas", "statsmodels", "altair",
    "vl-convert-python", "typer", "pydantic",
)  # fmt: skip


def manifest(
    command_line: Sequence[str],
    *,
    center: Center | None,
    seed: int | None,
    nights: int | None = None,
    workers: int | None = None,
    started: datetime,
    result: str | bytes = "",
    files: Iterable[str] = (),
) -> dict[str, Any]:
    """The manifest of one run, ready for JSON.

    Parameters
    ----------
    command_line : the words of the command, without the program's name
    center : None for a run that needs no center
    nights, workers : as played and used
    started : when the command began, with its time zone; the end is now
    result : the results as they are printed, without the manifest; hashed here
    files : names of the files written beside the manifest; a mapping also gives what is in them,
        and what is not empty is hashed
    """
    content = result.encode("utf-8") if isinstance(result, str) else result
    return {
        "schema": SCHEMA,
        "version": __version__,
        "command_line": shlex.join(["leaguesim", *command_line]),
        "argv": list(command_line),
        "seed": seed,
        "nights": nights,
        "workers": workers,
        "streams_layout": LAYOUT_VERSION,
        "center": None if center is None else center.name,
        "inputs": {} if center is None else dict(sorted(center.file_hashes.items())),
        "packages": {name: _version(name) for name in PACKAGES},
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
        "cpu": cpu_name(),
        "cores": os.cpu_count(),
        "started": started.isoformat(timespec="seconds"),
        "ended": datetime.now(UTC).isoformat(timespec="seconds"),
        "result_sha256": sha256(content).hexdigest(),
        "files": sorted(files),
        "files_sha256": _hashes(files),
    }


def _hashes(files: Iterable[str]) -> dict[str, str]:
    if not isinstance(files, Mapping):
        return {}
    held = {n: t.encode("utf-8") if isinstance(t, str) else t for n, t in files.items()}
    return {n: sha256(t).hexdigest() for n, t in sorted(held.items()) if t}


def without_manifest(summary: Mapping[str, Any]) -> dict[str, Any]:
    """A summary with the one part left out that may differ between equal runs."""
    return {key: value for key, value in summary.items() if key != "manifest"}


def _version(package: str) -> str | None:
    try:
        return version(package)
    except PackageNotFoundError:
        return None


def cpu_name() -> str:
    """The processor by the name its maker gave it, as far as the system tells."""
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    except OSError:
        pass
    return platform.processor() or platform.machine()
