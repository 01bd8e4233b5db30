"""JSON Schemas of a center's TOML files, for editors and other tools.

Does not say what only ``checks`` can tell, such as shares adding up to 1 or names in other files.
"""

import json
from typing import Any

from leaguesim.center.models import MODELS

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schemas() -> dict[str, dict[str, Any]]:
    """One self-contained schema a kind of file: center, condition, conditioner, ball, style, surface."""
    made = {}
    for kind, model in MODELS.items():
        raw = model.model_json_schema()
        shared = raw.pop("$defs", {})
        made[kind] = {"$schema": DIALECT, **_inline(raw, shared)}
    return made


def schema_text() -> str:
    """All schemas as one JSON text, kind by kind; the committed copy is exactly this."""
    return json.dumps(schemas(), indent=2, ensure_ascii=False) + "\n"


def _inline(part: Any, shared: dict[str, Any]) -> Any:
    """The schema with references replaced by what they stand for (no model holds itself)."""
    if isinstance(part, list):
        return [_inline(item, shared) for item in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        own = {key: value for key, value in part.items() if key != "$ref"}
        return _inline({**shared[str(part["$ref"]).rsplit("/", 1)[-1]], **own}, shared)
    return {key: _inline(value, shared) for key, value in part.items() if key != "words"}
