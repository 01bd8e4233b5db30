"""The list of outside checks and its JSON."""

import json

import pytest

from leaguesim.errors import LibraryError
from leaguesim.outside import validate
from leaguesim.outside.check import Check
from leaguesim.outside.reasons import REASONS, reason_for
from leaguesim.outside.validate import FIELDS, all_checks, as_check, pin_checks, to_json


@pytest.fixture(scope="module")
def checks():
    return all_checks()


@pytest.mark.slow
def test_enough_rows_each_with_source_and_verdict(checks):
    assert len(checks) >= 40
    assert len({c.name for c in checks}) == len(checks)
    assert all(c.source.strip() and c.expected.strip() and c.model.strip() for c in checks)
    assert {c.verdict for c in checks} <= {"pass", "miss"}
    assert {c.use for c in checks} <= {"fit", "check"}
    for room in (
        "scoring",
        "lane",
        "oil",
        "viscosity",
        "contact",
        "friction",
        "path",
        "rotation",
        "direction",
    ):
        assert any(c.name.startswith(f"{room}: ") for c in checks), room


@pytest.mark.slow
def test_evidence_outweighs_what_was_fitted(checks):
    assert sum(c.use == "check" for c in checks) >= 40


@pytest.mark.slow
def test_the_list_repeats(checks):
    assert all_checks() == checks


@pytest.mark.slow
def test_json(checks):
    text = to_json(checks)
    data = json.loads(text, parse_constant=pytest.fail)
    assert data["schema"] == "leaguesim.validate/1"
    assert list(data) == ["schema", "checks"]
    assert len(data["checks"]) == len(checks)
    for row, check in zip(data["checks"], checks, strict=True):
        assert tuple(row) == FIELDS
        assert Check(**row) == check


def test_json_of_no_rows():
    assert json.loads(to_json([])) == {"schema": "leaguesim.validate/1", "checks": []}


def test_plain_rows_become_checks():
    row = ("n", "s", "e", "m", "miss", "fit")
    assert as_check(row) == Check("n", "s", "e", "m", "miss", "fit")
    assert as_check(row[:5]) == Check("n", "s", "e", "m", "miss", "check")


@pytest.mark.parametrize(
    "row",
    [
        ("n", "s", "e", "m"),
        ("n", "", "e", "m", "pass", "check"),
        ("n", "s", 3.0, "m", "pass", "check"),
        ("n", "s", "e", "m", "maybe", "check"),
        ("n", "s", "e", "m", "pass", "proof"),
        ("n", "s", "e", "m", "pass", "check", "more"),
    ],
)
def test_a_row_that_is_none_is_our_fault(row):
    with pytest.raises(LibraryError, match="validation row"):
        as_check(row)


def test_a_room_that_does_not_exist_gives_no_rows(monkeypatch):
    monkeypatch.setattr(validate, "PIN_ROOM", "leaguesim.pins.no_such_room")
    assert pin_checks() == []


@pytest.mark.slow
def test_two_rows_of_one_name_are_refused(monkeypatch):
    twin = Check("pins: twin", "s", "e", "m", "pass")
    monkeypatch.setattr(validate, "pin_checks", lambda: [twin, twin])
    with pytest.raises(LibraryError, match="same name: pins: twin"):
        all_checks()


@pytest.mark.slow
def test_reasons_belong_to_rows_and_misses_tell_them(checks):
    for start in REASONS:
        assert any(c.name.startswith(start) for c in checks), start
    for check in checks:
        assert (". Why: " in check.model) == (
            check.verdict == "miss" and reason_for(check.name) is not None
        )
