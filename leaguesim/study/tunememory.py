"""What a search has measured so far, kept in a file, so that one that was stopped goes on.

Does not search.
"""

import json
from dataclasses import asdict
from hashlib import sha256
from pathlib import Path
from typing import Any

from leaguesim.center.values import Center
from leaguesim.play.aims import Goal

STATE = "leaguesim.tune-state/1"


def fingerprint(center: Center, goal: Goal, seed: int) -> str:
    """What a kept search belongs to: files, goal, seed and version."""
    from leaguesim import __version__

    ours = {k: v for k, v in center.file_hashes.items() if not k.startswith(("goals", "tourn"))}
    text = json.dumps([__version__, ours, asdict(goal), seed], sort_keys=True)
    return sha256(text.encode()).hexdigest()


class Memory:
    """Trials measured so far, kept in a file if there is one; each write is whole."""

    def __init__(self, path: Path | None, key: str) -> None:
        self.path, self.key = path, key
        self.known: dict[str, dict[str, Any]] = {}
        if path is None or not path.is_file():
            return
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            same = kept["schema"] == STATE and kept["key"] == key
            self.known = dict(kept["trials"]) if same else {}
        except (OSError, ValueError, KeyError, TypeError):
            self.known = {}  # an unreadable state is begun again

    def keep(self, name: str, row: dict[str, Any]) -> None:
        """Remember one trial; what is used is what a resumed search reads back."""
        self.known[name] = json.loads(json.dumps(row))
        if self.path is None:
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        whole = self.path.with_suffix(".part")
        text = json.dumps({"schema": STATE, "key": self.key, "trials": self.known})
        whole.write_text(text, encoding="utf-8")
        whole.replace(self.path)
