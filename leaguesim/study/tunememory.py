"""What a search has measured so far, kept in a file, so that one that was stopped goes on.

Does not search.
"""

import json
from contextlib import suppress
from dataclasses import asdict
from hashlib import sha256
from pathlib import Path
from typing import Any

from leaguesim.center.values import Center
from leaguesim.play.aims import Goal
from leaguesim.run.blocks import sources_hash, write_whole

STATE = "leaguesim.tune-state/2"


def fingerprint(center: Center, goal: Goal, seed: int) -> str:
    """What a kept search belongs to: files, goal, seed, version and all that computes."""
    from leaguesim import __version__

    ours = {k: v for k, v in center.file_hashes.items() if not k.startswith(("goals", "tourn"))}
    text = json.dumps([__version__, sources_hash(), ours, asdict(goal), seed], sort_keys=True)
    return sha256(text.encode()).hexdigest()


def kept(path: Path | None) -> dict[str, Any]:
    """What a file of trials holds; nothing where there is none or it can't be read."""
    try:
        told = json.loads(path.read_text(encoding="utf-8")) if path is not None else {}
        whole = told["schema"] == STATE and isinstance(told["trials"], dict)
        return dict(told) if whole else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def kept_seed(path: Path | None, center: Center, goal: Goal) -> int | None:
    """The seed of a search of this goal on this center that was stopped, if the file is of one."""
    told = kept(path)
    seed = told.get("seed")
    if isinstance(seed, int) and told.get("key") == fingerprint(center, goal, seed):
        return seed
    return None


def belongs(path: Path | None, center: Center, goal: Goal, seed: int) -> bool | None:
    """Whether a file of trials is of this search; None where it holds nothing."""
    told = kept(path)
    return told.get("key") == fingerprint(center, goal, seed) if told else None


class Memory:
    """Trials measured so far, kept in a file if there is one; each write is whole."""

    def __init__(self, path: Path | None, key: str, seed: int) -> None:
        self.path, self.key, self.seed = path, key, seed
        told = kept(path)  # an unreadable state is begun again
        self.known: dict[str, dict[str, Any]] = told["trials"] if told.get("key") == key else {}

    def keep(self, name: str, row: dict[str, Any]) -> None:
        """Remember one trial; what is used is what a resumed search reads back.

        Where the file can't be written the search goes on without.
        """
        self.known[name] = json.loads(json.dumps(row))
        if self.path is None:
            return
        held = {"schema": STATE, "key": self.key, "seed": self.seed, "trials": self.known}
        with suppress(OSError):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.path, json.dumps(held).encode())
