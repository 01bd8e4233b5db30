"""What the proof on hidden centers found, as rows of the validation table; its file, and whether it is stale.

Reads committed figures; nothing is fitted or played here.
"""

import ast
from dataclasses import asdict, dataclass, fields
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

import numpy as np
from scipy.special import ndtr, ndtri

from leaguesim.errors import LibraryError
from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figure_names, figures
from leaguesim.outside.proof_world import CENTERS, OTHER, SAME

COMMAND: Final = "python -m leaguesim.outside.proof"
SOURCE: Final = "synthetic centers with hidden parameters and fixed seeds (outside/proof_world.py)"
LEAGUE_PINS: Final = 2.0
LEAGUE_SHARE: Final = 17 / 20
COVER: Final = {SAME: (0.80, 0.97), OTHER: (0.70, 1.0)}
RANK: Final = 0.6
TRUTH_SE: Final = 0.3
ROOMS: Final = ("lane", "ball", "bowlers", "play", "scoring", "pins")
STUDIES: Final = (
    "backtest", "durability", "emulator", "entering", "evidence", "fitting", "forecasting", "forecasttold",
    "intervals", "invented", "labels", "learnt", "mixed", "posterior", "prepare", "retying", "season", "traits",
    "trialcontrast", "trialpair", "unknowns",
)  # fmt: skip
WORLDS: Final = {SAME: "the world that fits", OTHER: "another world"}


@dataclass(frozen=True)
class Row:
    """One hidden center: how many bowlers' true changes lay in their 90 % intervals, and the rest. [pins]"""

    number: int
    world: str
    bowlers: int
    covered: int
    league_truth: float
    league_told: float
    league_low: float
    league_high: float
    spearman: float
    rms_error: float
    median_width: float
    truth_se_median: float
    truth_se_most: float
    cpu_s: float


def _without_words(text: str) -> str:
    """A module's meaning: neither comments nor docstrings nor layout."""
    tree = ast.parse(text)
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            said = body[0].value
            if isinstance(said, ast.Constant) and isinstance(said.value, str):
                del body[0]
    return ast.dump(tree)


@lru_cache(maxsize=1)
def proof_hash() -> str:
    """Hash of all that the proof's figures depend on; words for people do not count."""
    root = Path(__file__).parent.parent
    paths = [p for room in ROOMS for p in (root / room).glob("*.py")]
    paths += [p for n in STUDIES if (p := root / "study" / f"{n}.py").is_file()]
    paths += [root / "streams.py", root / "center" / "priors.py", root / "run" / "totals.py"]
    paths += [root / "outside" / "proof.py", root / "outside" / "proof_world.py"]
    h = blake2b(digest_size=16)
    for path in sorted(paths):
        h.update(path.relative_to(root).as_posix().encode() + b"\0")
        h.update(_without_words(path.read_text(encoding="utf-8")).encode())
    return h.hexdigest()


def to_toml(rows: list[Row]) -> str:
    """The file of results."""
    lines = [
        f"# Made by ``{COMMAND}``; not to be changed by hand.",
        f'source = "{SOURCE}"',
        f'command = "{COMMAND}"',
        f'sources_hash = "{proof_hash()}"',
        f"of = {CENTERS}",
    ]
    for row in sorted(rows, key=lambda r: r.number):
        lines += ["", "[[centers]]"]
        lines += [
            f"{k} = " + (f'"{v}"' if isinstance(v, str) else repr(v))
            for k, v in asdict(row).items()
        ]
    return "\n".join(lines) + "\n"


def read_rows(data: dict[str, Any]) -> list[Row]:
    """The rows of a file of results.

    Raises
    ------
    LibraryError : a center lacks a figure or has one too many
    """
    names = {f.name for f in fields(Row)}
    for center in data["centers"]:
        if set(center) != names:
            raise LibraryError(f"proof.toml: figures do not match: {sorted(names ^ set(center))}")
    return [Row(**center) for center in data["centers"]]


def proof_checks() -> list[Check]:
    """Coverage and ranking in each half, and the league's change in all; a miss stays a miss."""
    if "proof" not in figure_names():
        return [Check("proof on hidden centers", SOURCE, "run", f"not run: {COMMAND}", "miss")]
    data = figures("proof")
    tail = "" if data["sources_hash"] == proof_hash() else "; stale: sources changed since"
    return checks_of(read_rows(data), tail)


def checks_of(rows: list[Row], tail: str = "") -> list[Check]:
    """Rows of the validation table from rows of centers."""
    out = []
    for world, where in WORLDS.items():
        half = [r for r in rows if r.world == world]
        if half:
            out += _half(half, world, where, tail)
    return [*out, _league(rows, tail), _truth(rows, tail)] if rows else []


def _ran(n: int, of: int) -> str:
    return f"{n} centers" if n == of else f"{n} centers of {of}: the rest was not run"


def _half(rows: list[Row], world: str, where: str, tail: str) -> list[Check]:
    covered, people = sum(r.covered for r in rows), sum(r.bowlers for r in rows)
    share = covered / people
    low, high = COVER[world]
    wanted = f"{low:.0%} to {high:.0%}" if high < 1.0 else f"at least {low:.0%}"
    rank = float(np.mean([r.spearman for r in rows]))
    enough = sum(r.spearman >= RANK for r in rows)
    ran = _ran(len(rows), CENTERS // 2)
    return [
        Check(
            f"proof, {where}: bowlers' true changes in their 90 % intervals", SOURCE, wanted,
            f"{share:.1%} ({covered} of {people} bowlers, {ran}){tail}",
            verdict(low <= share <= high),
        ),
        Check(
            f"proof, {where}: rank correlation of who loses most (Spearman, mean of centers)", SOURCE,
            f"at least {RANK:g}",
            f"{rank:.3f} (alone, {enough} of {len(rows)} centers reach it; {ran}){tail}",
            verdict(rank >= RANK),
        ),
    ]  # fmt: skip


def _league(rows: list[Row], tail: str) -> Check:
    gaps = [abs(r.league_told - r.league_truth) for r in rows]
    good = sum(g <= LEAGUE_PINS for g in gaps)
    inside = sum(r.league_low <= r.league_truth <= r.league_high for r in rows)
    return Check(
        f"proof: the league's change foretold within {LEAGUE_PINS:g} pins", SOURCE,
        f"at least 17 of {CENTERS} centers",
        f"{good} of {_ran(len(rows), CENTERS)} (largest error {max(gaps):.1f}; in its 90 % interval "
        f"{inside}; intervals so wide promise {promised(rows):.0f} within {LEAGUE_PINS:g}; "
        f"{_why(rows)}){tail}",
        verdict(good >= LEAGUE_SHARE * len(rows)),
    )  # fmt: skip


def _why(rows: list[Row]) -> str:
    """Whether errors of the league's change lean to one side, and whether more could be promised."""
    off = np.array([r.league_told - r.league_truth for r in rows])
    mean = float(off.mean())
    if len(off) < 2:
        return f"error {mean:+.1f}"
    se = float(off.std(ddof=1)) / len(off) ** 0.5
    lean = f"mean error {mean:+.1f}, standard error {se:.1f}"
    if abs(mean) > 2.0 * se:
        return f"{lean}: a bias"
    if promised(rows) < LEAGUE_SHARE * len(rows):
        return (
            f"{lean}: no bias shows, and what the scores leave unknown of oil, lanes and pins is too wide "
            "for any forecast to promise so many"
        )
    return f"{lean}: no bias shows"


def promised(rows: list[Row]) -> float:
    """How many centers the forecasts themselves, taken as normal, expect within the pins wanted."""
    half = np.array([(r.league_high - r.league_low) / 2.0 for r in rows])
    sd = np.maximum(half, 1e-9) / ndtri(0.95)
    return float((2.0 * ndtr(LEAGUE_PINS / sd) - 1.0).sum())


def _truth(rows: list[Row], tail: str) -> Check:
    most = max(r.truth_se_most for r in rows)
    median = float(np.median([r.truth_se_median for r in rows]))
    return Check(
        "proof: standard error of a bowler's true change, at most", "ours: well below the intervals",
        f"{TRUTH_SE:g} pin", f"{most:.2f} pin (median {median:.2f}){tail}", verdict(most <= TRUTH_SE),
    )  # fmt: skip
