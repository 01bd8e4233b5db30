"""Every outside check of the package in one list, and that list as JSON.

Does not judge: a row that misses stays in the list as a miss.
"""

import json
from collections.abc import Iterable, Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any, Final, cast

from leaguesim.errors import LibraryError
from leaguesim.outside.check import Check, Use, Verdict
from leaguesim.outside.figures import figures

SCHEMA: Final = "leaguesim.validate/1"
FIELDS: Final = ("name", "source", "expected", "model", "verdict", "use")
PIN_ROOM: Final = "leaguesim.pins.checks"


def all_checks() -> list[Check]:
    """Every row: scoring, lane, ball, bowlers, rotation, directions, fairness, hidden centers, pins.

    Rows that miss say why, as far as it is known.

    Raises
    ------
    LibraryError : a room gave a row that is not one, or two rows of one name
    """
    # Imported here: the rows need numba, scipy and the carry library.
    from leaguesim.outside.ball_checks import ball_checks
    from leaguesim.outside.bowlers_checks import bowlers_checks
    from leaguesim.outside.calibration import calibration_checks
    from leaguesim.outside.direction_checks import direction_checks
    from leaguesim.outside.direction_physics import physics_checks
    from leaguesim.outside.fairness_checks import fairness_checks
    from leaguesim.outside.lane_checks import lane_checks
    from leaguesim.outside.people_checks import people_checks
    from leaguesim.outside.proof_rows import proof_checks
    from leaguesim.outside.reasons import with_reasons
    from leaguesim.outside.rotation_checks import rotation_checks
    from leaguesim.outside.scoring_checks import scoring_checks
    from leaguesim.outside.wear_fit import transport_checks

    checks = [
        *scoring_checks(),
        *lane_checks(),
        *ball_checks(),
        *bowlers_checks(),
        *calibration_checks(),
        *transport_checks(),
        *people_checks(),
        *rotation_checks(),
        *direction_checks(),
        *physics_checks(),
        *fairness_checks(),
        *proof_checks(),
        *pin_checks(),
    ]
    names = [c.name for c in checks]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise LibraryError(f"validation rows of the same name: {'; '.join(twice)}")
    return with_reasons(checks)


def pin_checks() -> list[Check]:
    """Rows of the pin room, which knows nothing of this one and gives plain tuples."""
    if find_spec(PIN_ROOM) is None:
        return []
    module: Any = import_module(PIN_ROOM)
    rows: Iterable[Sequence[str]] = module.pin_checks(figures("pins"))
    return [as_check(row) for row in rows]


def as_check(row: Sequence[str]) -> Check:
    """A row (name, source, expected, model, verdict, use) as a ``Check``; use may be left out.

    Raises
    ------
    LibraryError : another number of entries, an empty text, or a word that is no verdict or use
    """
    values = list(row) + (["check"] if len(row) == len(FIELDS) - 1 else [])
    if len(values) != len(FIELDS) or not all(isinstance(v, str) and v.strip() for v in values):
        raise LibraryError(f"a validation row must be {len(FIELDS)} texts, got {tuple(row)!r}")
    name, source, expected, model, word, use = values
    if word not in ("pass", "miss") or use not in ("fit", "check"):
        raise LibraryError(f"validation row {name!r}: verdict {word!r} or use {use!r} unknown")
    return Check(name, source, expected, model, cast(Verdict, word), cast(Use, use))


def to_json(checks: Iterable[Check]) -> str:
    """``{"schema": ..., "checks": [...]}``, one object a row with the names of ``FIELDS``."""
    rows = [{key: getattr(check, key) for key in FIELDS} for check in checks]
    return json.dumps({"schema": SCHEMA, "checks": rows}, indent=1, ensure_ascii=False) + "\n"
