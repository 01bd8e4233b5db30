"""A run repeated from its manifest: what has changed since, and whether the result is the same.

Does not run anything: it compares what was recorded with what is here.
"""

import json
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from leaguesim.errors import InputError
from leaguesim.run.manifest import SCHEMA

WITH_VALUE = ("--out", "--workers", "--scheduler", "--shard")
FLAGS = ("--json", "--csv", "--force", "--quiet", "-q", "--debug")
PLATFORM = ("version", "streams_layout", "python", "packages", "system", "cpu")


def read_manifest(path: Path) -> dict[str, Any]:
    """A manifest, from its own file or from a summary that holds one.

    Raises
    ------
    InputError : unreadable, or no manifest that tells its command
    """
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror}") from error
    except ValueError as error:
        raise InputError(f"{path}: not JSON: {error}") from error
    if isinstance(told, dict) and isinstance(told.get("manifest"), dict):
        told = told["manifest"]
    if not isinstance(told, dict) or told.get("schema") != SCHEMA:
        raise InputError(f"{path}: not a manifest of leaguesim")
    argv = told.get("argv")
    if not isinstance(argv, list) or not argv or not all(isinstance(w, str) for w in argv):
        raise InputError(
            f"{path}: does not hold the words of its command (argv); too old to repeat"
        )
    if not isinstance(told.get("result_sha256"), str) or not isinstance(told.get("inputs"), dict):
        raise InputError(f"{path}: holds no hashes of inputs and result")
    return told


def words_again(manifest: Mapping[str, Any]) -> list[str]:
    """The command that gives the same result: with its seed, without where it wrote and how it told."""
    kept: list[str] = []
    skip = False
    for word in manifest["argv"]:
        if skip:
            skip = False
        elif word in WITH_VALUE:
            skip = True
        elif word not in FLAGS and not word.startswith(tuple(f"{o}=" for o in WITH_VALUE)):
            kept.append(word)
    given = any(w == "--seed" or w.startswith("--seed=") for w in kept)
    if not given and manifest.get("seed") is not None:
        kept += ["--seed", str(manifest["seed"])]
    return kept


def other_platform(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """What of version, packages, system and processor is not as it was, a line each."""
    lines = []
    for key in PLATFORM:
        a, b = then.get(key), now.get(key)
        if isinstance(a, dict) and isinstance(b, dict):
            lines += [
                f"{k} {a.get(k)}, now {b.get(k)}" for k in sorted({*a, *b}) if a.get(k) != b.get(k)
            ]
        elif a != b:
            lines.append(f"{key.replace('_', ' ')} {a}, now {b}")
    return lines


def changed_files(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """Input files that are not what they were, a line each; what was not recorded is left out."""
    lines = []
    for name in sorted({*then, *now}):
        if name not in now:
            lines.append(f"{name}: is gone")
        elif name not in then:
            lines.append(f"{name}: is new")
        elif then[name] is not None and now[name] is not None and then[name] != now[name]:
            lines.append(f"{name}: has changed")
    return lines


def changed_results(manifest: Mapping[str, Any], folder: Path) -> list[str]:
    """Result files beside the manifest that are not as they were written, a line each."""
    lines = []
    for name, mark in manifest.get("files_sha256", {}).items():
        path = folder / Path(name).name
        if path.is_file() and sha256(path.read_bytes()).hexdigest() != mark:
            lines.append(f"{name}: was changed since it was written")
    return lines


def find_folder(words: Sequence[str], start: Path) -> list[str]:
    """The words with a relative center folder found from here, else from a folder above the manifest."""
    out = list(words)
    if len(out) < 2 or out[1].startswith("-") or Path(out[1]).exists():
        return out
    for base in start.resolve().parents:
        if (base / out[1]).is_dir():
            out[1] = str(base / out[1])
            break
    return out


def largest_difference(a: Any, b: Any) -> float:
    """The largest difference between numbers at the same place of two JSON values; inf if unlike."""
    if isinstance(a, dict) and isinstance(b, dict) and set(a) == set(b):
        return max((largest_difference(a[k], b[k]) for k in a), default=0.0)
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return max((largest_difference(x, y) for x, y in zip(a, b, strict=True)), default=0.0)
    numbers = isinstance(a, (int, float)) and isinstance(b, (int, float))
    if numbers and not isinstance(a, bool) and not isinstance(b, bool):
        return float(abs(a - b))
    return 0.0 if a == b else float("inf")
