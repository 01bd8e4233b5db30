"""The roster and the readings: what is tolerated, and what each mistake is told as."""

import shutil
from pathlib import Path

import pytest

from leaguesim.bowlers.values import RosterLine
from leaguesim.center import read, starter_folder
from leaguesim.errors import ProfileError
from leaguesim.lane.film import condition_film, volume_ml

HEAD = "bowler,team,hand,style,speed_mph,rev_rate_rpm,axis_rotation_deg,axis_tilt_deg,average\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(starter_folder() / "starter", tmp_path / "hall"))


def roster(folder: Path, text: str) -> tuple[RosterLine, ...]:
    (folder / "roster.csv").write_text(text, encoding="utf-8", newline="")
    return read(folder).roster


def faults(folder: Path, file: str, text: str) -> list[str]:
    (folder / file).write_text(text, encoding="utf-8", newline="")
    with pytest.raises(ProfileError) as caught:
        read(folder)
    prefix = (folder / file).as_posix()
    return [t.removeprefix(prefix) for t in caught.value.faults]


def test_center_roster_keeps_order_and_leaves_out_what_is_blank(folder: Path) -> None:
    lines = roster(folder, HEAD + "Zoe,B,left,casual,14,100,5,10,120.5\nAbe,A,right,power,,,,,\n")
    assert lines == (
        RosterLine("Zoe", "B", "left", "casual", 14.0, 100.0, 5.0, 10.0, 120.5),
        RosterLine("Abe", "A", "right", "power"),
    )


def test_center_roster_tolerates_what_spreadsheets_write(folder: Path) -> None:
    text = (
        "\ufeff\r\n Team ; BOWLER;Hand ;style; average;\r\n\r\n"
        ' A;  Zoe   Q. ; LEFT;casual; 120,5;\r\n;;;;;\r\n"B";"Abe; R.";right;power;;\r\n   \r\n'
    )
    assert roster(folder, text) == (
        RosterLine("Zoe Q.", "A", "left", "casual", average=120.5),
        RosterLine("Abe; R.", "B", "right", "power"),
    )


def test_center_roster_reads_a_style_as_people_write_it(folder: Path) -> None:
    rows = ("Tweener", "two-handed", "Two Handed", "TWO_HANDED", " two  handed ")
    lines = roster(folder, HEAD + "".join(f"P{i},T,L,{r},,,,,\n" for i, r in enumerate(rows)))
    assert [line.style for line in lines] == ["tweener", *["two_handed"] * 4]


def test_center_roster_style_that_could_be_two_is_refused(folder: Path) -> None:
    styles = folder / "styles"
    shutil.copy(styles / "two_handed.toml", styles / "two-handed.toml")
    assert roster(folder, HEAD + "A,T,L,two-handed,,,,,\n")[0].style == "two-handed"
    (told,) = faults(folder, "roster.csv", HEAD + "A,T,L,Two Handed,,,,,\n")
    assert told.startswith(":2: style: unknown style")


def test_center_roster_reads_hands_that_can_mean_nothing_else(folder: Path) -> None:
    rights = ("right", "R", "r", "Right-handed", "right handed")
    lefts = ("LEFT", "L", "l", "left-handed", "Left_Handed")
    text = "".join(f"P{i},T,{h},casual,,,,,\n" for i, h in enumerate((*rights, *lefts)))
    assert [line.hand for line in roster(folder, HEAD + text)] == ["right"] * 5 + ["left"] * 5


def test_center_roster_reads_a_quoted_decimal_comma(folder: Path) -> None:
    (line,) = roster(folder, HEAD + 'A,T,left,casual,"13,6",,,,"120,5"\n')
    assert (line.speed_mph, line.average) == (13.6, 120.5)


def test_center_roster_reads_averages_at_their_limits(folder: Path) -> None:
    lines = roster(folder, HEAD + "A,T,left,casual,,,,,30\nB,T,left,casual,,,,,279\n")
    assert [line.average for line in lines] == [30.0, 279.0]


CASES = [
    ('A,T,right,power,"1,3,6",,,,', ":2: speed_mph: not a number", 'you wrote "1,3,6"'),
    ('A,T,right,power,,"1,200",,,', ":2: rev_rate_rpm: thousands or decimals", "you wrote 1,200"),
    ("A,T,two-handed,power,,,,,", ":2: hand: unknown hand", "left, right (or L, R)"),
    ("A,T,both,power,,,,,", ":2: hand: unknown hand", 'you wrote "both"'),
    ("A,T,RL,power,,,,,", ":2: hand: unknown hand", 'you wrote "RL"'),
    ("A,T,right,strokr,,,,,", ":2: style: unknown style", "did you mean stroker?"),
    ("A,T,right,,,,,,", ":2: style: unknown style", 'you wrote ""'),
    ("A,T,rigth,power,,,,,", ":2: hand: unknown hand", "did you mean right?"),
    ("A,T,,power,,,,,", ":2: hand: missing", "left, right"),
    (",T,right,power,,,,,", ":2: bowler: missing", "a name"),
    ("A,,right,power,,,,,", ":2: team: missing", "a name"),
    ("A\x07,T,right,power,,,,,", ":2: bowler: not usable", "printable"),
    ("A" * 81 + ",T,right,power,,,,,", ":2: bowler: not usable", "1 to 80"),
    ("A,T,right,power,4.9,,,,", ":2: speed_mph: too small", "from 5 to 30 mph, you wrote 4.9"),
    ("A,T,right,power,31,,,,", ":2: speed_mph: too large", "from 5 to 30 mph"),
    (f"A,T,right,power,{'9' * 300},,,,", ":2: speed_mph: too large", "999..."),
    ("A,T,right,power,,701,,,", ":2: rev_rate_rpm: too large", "from 0 to 700 rpm"),
    ("A,T,right,power,,-1,,,", ":2: rev_rate_rpm: too small", "you wrote -1"),
    ("A,T,right,power,,,,,29.9", ":2: average: too small", "from 30 to 279 pins (a league average"),
    (
        "A,T,right,power,,,,,279.1",
        ":2: average: too large",
        "common practice, no source), you wrote",
    ),
    ("A,T,right,power,,,,,300", ":2: average: too large", "you wrote 300"),
    ("A,T,right,power,,,,,nan", ":2: average: not a finite number", "you wrote nan"),
    ("A,T,right,power,,,,,inf", ":2: average: not a finite number", "you wrote inf"),
    ("A,T,right,power,,,,,True", ":2: average: not a number", 'you wrote "True"'),
    ("A,T,right,power,,,,,1_5", ":2: average: not a number", 'you wrote "1_5"'),
    ("A,T,right,power,17 mph,,,,", ":2: speed_mph: not a number", "17 mph"),
    ("A,T,right,power,,,,,180,9", ":2: too many cells", "allowed are 9, you wrote 10"),
    ('"A,T,right,power,,,,,', ":2: not valid CSV", "unexpected end"),
]


@pytest.mark.parametrize(("row", "start", "part"), CASES)
def test_center_roster_fault_is_told(folder: Path, row: str, start: str, part: str) -> None:
    told = [t for t in faults(folder, "roster.csv", HEAD + row + "\n") if t.startswith(start)]
    assert len(told) == 1
    assert part in told[0]


def test_center_roster_duplicates_name_the_first_line(folder: Path) -> None:
    text = HEAD + "Zoe,T,left,casual,,,,,\n\nAbe,T,left,casual,,,,,\n zoe ,U,right,power,,,,,\n"
    assert faults(folder, "roster.csv", text) == [
        ':5: bowler: duplicate bowler: each name is allowed once, you wrote "zoe" on line 2 already'
    ]


def test_center_roster_lines_count_through_quoted_line_breaks(folder: Path) -> None:
    text = HEAD + '"Zoe\nQ.",T,left,casual,,,,,\nAbe,T,left,nobody,,,,,\n'
    assert [t.split(": ")[0] for t in faults(folder, "roster.csv", text)] == [":4"]


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("", ":1: empty file"),
        ("\n \n", ":1: empty file"),
        (HEAD, ":1: empty roster: at least one bowler is needed"),
        ("\n" + HEAD + "\n\n", ":2: empty roster"),
        ("bowler,team,hand\nA,T,left\n", ":1: style: missing column"),
        ("bowler,team,hand,styl\nA,T,left,x\n", ":1: style: missing column"),
        ("\0bowler,team,hand,style\nA,T,left,x\n", ":1: bowler: missing column"),
        ("bowler,team,hand,style,team\nA,T,left,x\n", ":1: team: duplicate column"),
    ],
)
def test_center_roster_without_a_use(folder: Path, text: str, start: str) -> None:
    assert any(t.startswith(start) for t in faults(folder, "roster.csv", text))


def test_center_roster_misspelt_column_gets_a_hint(folder: Path) -> None:
    text = "bowler,team,hand,style,averge\nA,T,left,casual,150\n"
    (told,) = faults(folder, "roster.csv", text)
    assert told.endswith("did you mean average?")


@pytest.mark.parametrize("name", ["Name", "name", "PLAYER"])
def test_center_roster_column_by_another_name_gets_a_hint(folder: Path, name: str) -> None:
    text = f"{name},Team,Style,,hand\nA,T,casual,,left\n"
    (missing,) = faults(folder, "roster.csv", text)
    assert missing == (
        ":1: bowler: missing column: needed are bowler, team, hand, style, "
        f"you wrote {name}, Team, Style, hand; if {name} is meant, call it bowler"
    )


def test_center_roster_missing_needed_column_finds_its_misspelling(folder: Path) -> None:
    told = faults(folder, "roster.csv", "bowler,team,hand,Styl\nA,T,left,x\n")
    assert any(
        "style: missing column" in t and t.endswith("if Styl is meant, call it style") for t in told
    )


# Readings

TAPE = "conditions/tape.csv"
POINTS = "distance_ft,board,units\n" + "".join(
    f"{d},{b},{u}\n" for d, scale in ((8, 3), (22, 1), (38, 0)) for b, u in ((5, 4), (20, 12), (35, 4))
    for u in (u * scale,)
)  # fmt: skip


def with_tape(folder: Path, text: str) -> Path:
    (folder / TAPE).write_text(text, encoding="utf-8")
    (folder / "conditions/tape.toml").write_text(
        'title = "Measured"\nreadings = "tape.csv"\nshares = { amber = 0.75, slate = 0.25 }\n',
        encoding="utf-8",
    )
    return folder


def test_center_readings_become_a_film(folder: Path) -> None:
    center = read(with_tape(folder, POINTS))
    condition = center.conditions["tape"]
    assert condition.readings is not None
    assert condition.readings.shares == (("amber", 0.75), ("slate", 0.25))
    assert condition.readings.distance_ft[:3] == (8.0, 8.0, 8.0)
    assert condition.readings.units[1] == 36.0
    assert TAPE in center.file_hashes
    film, shares, _ = condition_film(condition, sorted(center.conditioners))
    assert shares == pytest.approx((0.75, 0.25))
    assert 10.0 < volume_ml(film.sum(axis=0)) < 60.0


READING_CASES = [
    ("8,20,-1\n", ":11: units: too small", "from 0 to 400 units"),
    ("8,40,1\n", ":11: board: too large", "from 1 to 39"),
    ("-1,20,1\n", ":11: distance_ft: too small", "from 0 to 60 ft"),
    ("61,20,1\n", ":11: distance_ft: too large", "you wrote 61"),
    ("8,21,nan\n", ":11: units: not a finite number", "you wrote nan"),
    ("8,21,\n", ":11: units: missing", "from 0 to 400"),
    ("8,20,7\n", ":11: board: duplicate reading", "on line 3 already"),
]


@pytest.mark.parametrize(("row", "start", "part"), READING_CASES)
def test_center_readings_fault_is_told(folder: Path, row: str, start: str, part: str) -> None:
    told = faults(with_tape(folder, POINTS), TAPE, POINTS + row)
    assert len(told) == 1
    assert told[0].startswith(start)
    assert part in told[0]


def test_center_readings_without_oil_or_with_too_much(folder: Path) -> None:
    head = "distance_ft,board,units\n"
    (told,) = faults(with_tape(folder, POINTS), TAPE, head + "1,1,0\n40,39,0\n")
    assert told.startswith(":1: units: no oil")
    (told,) = faults(folder, TAPE, head + "1,1,300\n59,39,300\n")
    assert told.startswith(":1: units: too much oil")
    (told,) = faults(folder, TAPE, head + "1,1,3\n")
    assert "two distances" in told


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../roster.csv", "not a plain file name"),
        ("/etc/passwd", "not a plain file name"),
        ("..\\\\roster.csv", "not a plain file name"),
        ("C:roster.csv", "not a plain file name"),
        ("tape.txt", "not a plain file name"),
        ("..csv/../x.csv", "not a plain file name"),
        ("tapes.csv", "did you mean tape.csv?"),
    ],
)
def test_center_readings_stay_in_their_folder(folder: Path, name: str, words: str) -> None:
    with_tape(folder, POINTS)
    text = f'readings = "{name}"\nshares = {{ amber = 1 }}\n'
    (told,) = faults(folder, "conditions/tape.toml", text)
    assert told.startswith(":1: readings: ")
    assert words in told


def test_center_readings_need_shares(folder: Path) -> None:
    with_tape(folder, POINTS)
    (told,) = faults(folder, "conditions/tape.toml", 'readings = "tape.csv"\n')
    assert "shares: missing" in told
