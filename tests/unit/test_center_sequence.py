"""Dated conditions: a small CSV file, every fault told at once."""

from datetime import date

import pytest

from leaguesim.center import demo_center, read
from leaguesim.center.sequence import find_sequence, with_sequence
from leaguesim.errors import InputError, ProfileError


@pytest.fixture(scope="module")
def center():
    return read(demo_center())


def _write(tmp_path, *rows):
    path = tmp_path / "way.csv"
    path.write_text("\n".join(["date,condition", *rows]) + "\n", encoding="utf-8")
    return path


def test_the_shipped_sequence_is_found_by_name_and_by_path(center):
    by_name = find_sequence(center, "by_blend")
    assert by_name == find_sequence(center, "by_blend.csv")
    assert by_name == find_sequence(center, center.folder / "sequences" / "by_blend.csv")
    assert [c for _, c in by_name.steps] == ["tuesday_40_blend", "thursday_42"]
    assert by_name.weeks == 3
    told = [by_name.condition(w) for w in range(5)]
    assert told == ["tuesday_40_blend"] * 3 + ["thursday_42"] * 2
    assert by_name.day(3) == date(2027, 1, 26)


def test_a_step_between_two_league_days_counts_from_the_next(center, tmp_path):
    path = _write(tmp_path, "2027-01-05,tuesday_40", "2027-01-15,thursday_42")
    dated = find_sequence(center, path)
    assert dated.weeks == 1
    assert [dated.condition(w) for w in range(3)] == ["tuesday_40", "tuesday_40", "thursday_42"]


def test_the_file_is_among_the_inputs(center):
    dated = find_sequence(center, "by_blend")
    more = with_sequence(center, dated)
    assert more.file_hashes["sequences/by_blend.csv"] == dated.digest
    assert {k: v for k, v in more.file_hashes.items() if k in center.file_hashes} == (
        center.file_hashes
    )


def test_every_fault_is_told_with_its_line(center, tmp_path):
    path = _write(
        tmp_path, "2027-01-05,tuesday_4O", "2027-13-01,thursday_42", "2027-01-04,thursday_42"
    )
    with pytest.raises(ProfileError) as told:
        find_sequence(center, path)
    text = str(told.value)
    assert "way.csv:2: condition: unknown condition" in text
    assert "did you mean tuesday_40" in text
    assert "way.csv:3: date: not a day" in text
    assert "way.csv:4: date: wrong order" in text


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["2027-01-05,thursday_42"], "too few rows"),
        ([], "too few rows"),
        (["2027-01-05,tuesday_40", "2027-01-11,thursday_42"], "a week or more"),
        (["2027-01-05,tuesday_40", "2028-06-05,thursday_42"], "too long"),
    ],
)
def test_what_is_no_sequence_is_refused(center, tmp_path, rows, said):
    with pytest.raises(ProfileError, match=said):
        find_sequence(center, _write(tmp_path, *rows))


def test_a_wrong_header_and_a_wrong_name(center, tmp_path):
    path = tmp_path / "way.csv"
    path.write_text("day,condition\n2027-01-05,tuesday_40\n", encoding="utf-8")
    with pytest.raises(ProfileError, match="if day is meant, call it date"):
        find_sequence(center, path)
    with pytest.raises(InputError, match="there are by_blend; did you mean by_blend"):
        find_sequence(center, "by_blent")
