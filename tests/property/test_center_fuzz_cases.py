"""What fuzzing found once stays mended; a hundred thousand wrong rows are told quickly and briefly."""

import importlib.util
import time
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from leaguesim.bowlers.values import RosterLine
from leaguesim.center.scores import read_scores

HERE = Path(__file__).parent
CASES = sorted((HERE / "fuzz_cases").iterdir())
HEAD = "bowler,team,hand,style,speed_mph,rev_rate_rpm,axis_rotation_deg,axis_tilt_deg,average\n"


def load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def doors() -> ModuleType:
    return load(HERE / "fuzz_doors.py")


@pytest.fixture(scope="module")
def door(doors: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return doors.tiny().Door(tmp_path_factory.mktemp("tiny") / "hall")


@pytest.mark.parametrize("case", CASES, ids=lambda p: p.name)
def test_center_fuzz_case_ends_in_lines_or_a_center(
    doors: ModuleType, door: Any, case: Path
) -> None:
    data = case.read_bytes()
    names = sorted(doors.tiny().FILES)
    doors.check(door, names[data[0] % len(names)], data[1:])


def test_center_reads_every_file_of_the_tiny_center(doors: ModuleType, door: Any) -> None:
    for name, text in doors.tiny().FILES.items():
        faults, made = door.told(name, text)
        assert (faults, made is None) == ([], False), name


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ('A,T,R,stroker,"16,500",,,,', "thousands or decimals cannot be told apart"),
        ('A,T,R,stroker,,"1,200",,,', "thousands or decimals cannot be told apart"),
        ('A,T,R,stroker,,,,,"150,"', "not a number"),
        ("A,T,R,stroker,,,,,１５０", "not a number"),
        ("A,T,R,stroker,,,,,1\u00a0200", "not a number"),
        ("A,T,R,stroker,,,,,=150+1", "not a number"),
        ('A,T,R,stroker,,,,,"1.200,5"', "not a number"),
        ("A,T,R,stroker,,,,,150%", "not a number"),
        ("A,T,R,stroker,,,,,295", "too large: allowed is a number from 30 to 279 pins"),
    ],
)
def test_center_spreadsheet_numbers_are_refused(door: Any, row: str, told: str) -> None:
    (fault,) = door.told("roster.csv", HEAD + row + "\n")[0]
    assert "roster.csv:2: " in fault
    assert told in fault


@pytest.mark.parametrize("cell", ["16,500", "1,200"])
def test_center_three_digits_after_a_comma_are_refused_between_semicolons_too(
    door: Any, cell: str
) -> None:
    text = HEAD.replace(",", ";") + f"A;T;R;stroker;;{cell};;;\n"
    (fault,) = door.told("roster.csv", text)[0]
    assert "thousands or decimals cannot be told apart" in fault


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_center_roster_with_any_separator_and_mark(door: Any, sign: str) -> None:
    text = (
        "\ufeff"
        + HEAD.replace(",", sign)
        + sign.join(["A\u00a0B", "T", "L", "STROKER", *[""] * 5])
        + "\n"
    )
    faults, made = door.told("roster.csv", text)
    assert faults == []
    assert (made.roster[0].bowler, made.roster[0].hand) == ("A B", "left")


@pytest.mark.slow
def test_center_a_hundred_thousand_wrong_rows_are_told_quickly(door: Any) -> None:
    rows = "".join(f"P{i},T,R,strokes{i}\n" for i in range(100_000))
    started = time.process_time()
    faults, _ = door.told("roster.csv", "bowler,team,hand,style\n" + rows)
    assert time.process_time() - started < 60.0
    assert len(faults) == 26
    assert faults[-1].endswith("and 99,975 more such faults below")


@pytest.mark.slow
def test_center_a_hundred_thousand_scores_of_strangers_are_told_quickly(door: Any) -> None:
    rows = "".join(f"1,Anx{i},150\n" for i in range(100_000))
    started = time.process_time()
    problems, made = door.told("scores.csv", "week,bowler,game1\n" + rows)
    assert time.process_time() - started < 60.0
    assert len(problems) == 100_000
    assert len(made.games) == 0


@pytest.mark.slow
def test_center_a_hundred_thousand_good_rows_are_read(door: Any) -> None:
    """400 bowlers, 250 weeks, three games a row: every game is there, once, as it stands."""
    people = tuple(
        RosterLine(f'Bo {k} "Q" 🎳', f"T{k // 4}", "right", "stroker") for k in range(400)
    )
    center = replace(door.center, roster=people)
    rows = "".join(
        f'{w},"{p.bowler.replace(chr(34), chr(34) * 2)}",{1 + (w + k) % 300},{1 + (7 * k) % 300},"150,0"\r\n'
        for w in range(1, 251)
        for k, p in enumerate(people)
    )
    path = door.folder / "long.csv"
    path.write_bytes(("\ufeffweek,bowler,game1,game2,game3\r\n" + rows).encode())
    assert 1_000_000 < path.stat().st_size < 5_000_000
    started = time.process_time()
    made = read_scores(center, path)
    assert time.process_time() - started < 60.0
    path.unlink()
    assert made.problems == []
    games = made.games
    assert len(games) == 300_000
    first = games[games["game"] == 1].set_index(["session", "bowler"])["score"]
    assert first["week 250", people[399].bowler] == 1 + (250 + 399) % 300
    sums = games.groupby("game")["score"].sum()
    assert sums[1] == sum(1 + (w + k) % 300 for w in range(1, 251) for k in range(400))
    assert sums[3] == 150 * 100_000
