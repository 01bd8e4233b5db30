"""film_readings.csv at the door: what is read, and every fault with its line."""

import shutil

import pytest

from leaguesim.center import demo_center, read
from leaguesim.errors import ProfileError

HEAD = "condition,distance_ft,board,games,before_units,after_units\n"


@pytest.fixture
def door(tmp_path):
    def of(text):
        folder = tmp_path / "center"
        shutil.copytree(demo_center(), folder, dirs_exist_ok=True)
        (folder / "film_readings.csv").write_text(text)
        return read(folder)

    return of


def test_readings_before_and_after_a_block_are_read(door):
    center = door(HEAD + "tuesday_40,20,20,6,52,40\nthursday_42;;\n".replace("thursday_42;;\n", ""))
    (got,) = center.film_readings
    assert (got.condition, got.distance_ft, got.board, got.games) == ("tuesday_40", 20.0, 20.0, 6)
    assert (got.before_units, got.after_units) == (52.0, 40.0)
    assert "film_readings.csv" in center.file_hashes


def test_a_center_without_the_file_has_none():
    assert read(demo_center()).film_readings == ()


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("tuesday_41,20,20,6,52,40", "did you mean tuesday_40"),
        ("tuesday_40,61,20,6,52,40", "distance_ft: too large"),
        ("tuesday_40,20,40,6,52,40", "board: too large"),
        ("tuesday_40,20,20,6.5,52,40", "games: not a whole number"),
        ("tuesday_40,20,20,0,52,40", "games: too small"),
        ("tuesday_40,20,20,6,0,40", "before_units: too small"),
        ("tuesday_40,20,20,6,52,x", "after_units: not a number"),
    ],
)
def test_faults_name_file_and_line(door, row, why):
    with pytest.raises(ProfileError) as told:
        door(HEAD + row + "\n")
    (line,) = str(told.value).splitlines()
    assert "film_readings.csv:2:" in line
    assert why in line


def test_an_empty_or_headless_file_is_refused(door):
    with pytest.raises(ProfileError, match=r"film_readings\.csv:1: no reading"):
        door(HEAD)
    with pytest.raises(ProfileError, match="if before is meant, call it before_units"):
        door("condition,distance_ft,board,games,before,after_units\ntuesday_40,20,20,6,52,40\n")
