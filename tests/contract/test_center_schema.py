"""The exported JSON Schemas: committed copy equal, self-contained, and true to the models."""

import json
import tomllib

import pytest
from jsonschema import Draft202012Validator

from leaguesim.center import demo_center, schemas, starter_folder
from leaguesim.center.schema import schema_text

COMMITTED = starter_folder() / "profile.schema.json"
FOLDERS = {
    "condition": "conditions",
    "conditioner": "conditioners",
    "ball": "balls",
    "style": "styles",
    "surface": "surfaces",
    "goal": "goals",
    "tournament": "tournaments",
    "population": "populations",
}


def test_center_committed_schema_is_the_exported_one() -> None:
    assert COMMITTED.read_text(encoding="utf-8") == schema_text()
    assert json.loads(schema_text()) == schemas()


def test_center_schemas_stand_alone_and_forbid_unknown_keys() -> None:
    assert list(schemas()) == ["center", *FOLDERS]
    assert "$ref" not in schema_text()
    assert '"words"' not in schema_text()
    for schema in schemas().values():
        assert schema["additionalProperties"] is False
        assert schema["$schema"].startswith("https://json-schema.org/")
    ball = schemas()["ball"]["properties"]
    assert ball["rg_in"]["minimum"] == 2.46
    assert ball["rg_in"]["maximum"] == 2.80
    band = schemas()["condition"]["properties"]["bands"]["items"]["properties"]
    assert band["volume_ml"]["exclusiveMinimum"] == 0
    assert band["to_board"]["maximum"] == 39
    assert band["shares"]["additionalProperties"]["maximum"] == 1


def test_center_every_key_is_described() -> None:
    for kind, schema in schemas().items():
        for key, part in schema["properties"].items():
            assert part.get("description"), f"{kind}.{key}"


@pytest.mark.parametrize("kind", list(FOLDERS))
def test_center_demo_files_fit_the_schemas(kind: str) -> None:
    schema = schemas()[kind]
    Draft202012Validator.check_schema(schema)
    found = sorted((demo_center() / FOLDERS[kind]).glob("*.toml"))
    assert found
    for path in found:
        Draft202012Validator(schema).validate(tomllib.loads(path.read_text(encoding="utf-8")))


def test_center_schema_tells_what_the_door_tells() -> None:
    schema = Draft202012Validator(schemas()["center"])
    hall = tomllib.loads((demo_center() / "center.toml").read_text(encoding="utf-8"))
    schema.validate(hall)
    assert not schema.is_valid(hall | {"lanes": 1})
    assert not schema.is_valid(hall | {"lanse": 8})
    assert not schema.is_valid(hall | {"temperature_c": "21"})
    assert not schema.is_valid({key: value for key, value in hall.items() if key != "today"})
