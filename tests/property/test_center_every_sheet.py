"""Every CSV file of a center, as spreadsheets save them: what is meant comes back, and a spoilt cell is named.

Separators, byte-order marks, line ends, quotes, blanks that do not break, decimal commas and orders of columns
are drawn; the rows must come back the same.  One cell is then spoilt, and told with its file, line and column.
"""

import csv
import io
import unicodedata
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leaguesim.center.scores import read_scores

ROUNDS = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
Rows = list[dict[str, Any]]
BLANKS = st.sampled_from(["", " ", "\u00a0", "\u202f", "  "])
PEOPLE = st.sampled_from(["Ann", "Bob", "ANN", "bob"])


@st.composite
def saved(draw: st.DrawFn, rows: Rows, *, blanks: bool = True, decimals: bool = True) -> str:
    """The rows as some spreadsheet would save them."""
    sign = draw(st.sampled_from([",", ";", "\t"]))
    comma = decimals and sign != "\t" and draw(st.booleans())
    columns = draw(st.permutations(list(rows[0])))

    def cell(value: Any) -> str:
        text = "" if value is None else repr(value) if isinstance(value, float) else str(value)
        if isinstance(value, float) and comma and len(text.partition(".")[2]) != 3:
            text = text.replace(".", ",")  # three digits after it could be thousands
        return draw(BLANKS) + text + draw(BLANKS) if blanks else text

    out = io.StringIO()
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    ends = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    writer = csv.writer(out, delimiter=sign, quoting=quoting, lineterminator=ends)
    writer.writerow([c.upper() if draw(st.booleans()) else c for c in columns])
    for row in rows:
        if draw(st.integers(0, 4)) == 0:
            out.write(ends)  # an empty line between
        writer.writerow([cell(row[c]) for c in columns])
    return draw(st.sampled_from(["", "\ufeff"])) + out.getvalue()


def near(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers as people write them: at most two decimals."""
    return st.integers(round(low * 100), round(high * 100)).map(lambda n: n / 100)


@pytest.fixture(scope="module")
def door(tiny: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return tiny.Door(tmp_path_factory.mktemp("sheets") / "hall")


wear = st.fixed_dictionaries(
    {
        "condition": st.sampled_from(["house", "tape"]),
        "distance_ft": near(0, 60),
        "board": near(1, 39),
        "games": st.integers(1, 100),
        "before_units": near(1, 400),
        "after_units": near(0, 400),
    }
)


@ROUNDS
@given(st.lists(wear, min_size=1, max_size=6), st.data())
def test_center_film_readings_come_back(door: Any, rows: Rows, data: st.DataObject) -> None:
    faults, made = door.told("film_readings.csv", data.draw(saved(rows)))
    assert faults == []
    got = [{key: getattr(r, key) for key in rows[0]} for r in made.film_readings]
    assert got == rows


@st.composite
def tapes(draw: st.DrawFn) -> Rows:
    """Readings on a grid, with some oil and no more than a lane can hold."""
    feet = draw(st.lists(near(0, 60), min_size=2, max_size=4, unique=True))
    boards = draw(st.lists(near(1, 39), min_size=2, max_size=4, unique=True))
    film = near(0.1, 12)
    return [{"distance_ft": f, "board": b, "units": draw(film)} for f in feet for b in boards]


@ROUNDS
@given(tapes(), st.data())
def test_center_tape_readings_come_back(door: Any, rows: Rows, data: st.DataObject) -> None:
    faults, made = door.told("conditions/tape.csv", data.draw(saved(rows)))
    assert faults == []
    tape = made.conditions["tape"].readings
    got = list(zip(tape.distance_ft, tape.board, tape.units, strict=True))
    assert got == [tuple(r.values()) for r in rows]
    assert dict(tape.shares) == {"amber": 0.75, "slate": 0.25}


@st.composite
def steps(draw: st.DrawFn) -> Rows:
    day = date(2026, 9, 1) + timedelta(days=draw(st.integers(0, 400)))
    made = []
    for gap in draw(st.lists(st.integers(7, 60), min_size=2, max_size=6)):
        made.append(
            {"date": day.isoformat(), "condition": draw(st.sampled_from(["house", "tape"]))}
        )
        day += timedelta(days=gap)
    return made


@ROUNDS
@given(steps(), st.data())
def test_center_sequences_come_back(door: Any, rows: Rows, data: st.DataObject) -> None:
    faults, made = door.told("sequences/steps.csv", data.draw(saved(rows)))
    assert faults == []
    assert [(d.isoformat(), c) for d, c in made.steps] == [tuple(r.values()) for r in rows]


def once(night: tuple[int, str]) -> tuple[int, str]:
    """A week and a bowler, who may be written with any capitals."""
    return night[0], night[1].casefold()


@st.composite
def seasons(draw: st.DrawFn) -> tuple[Rows, list[tuple[str, str, int, int]]]:
    """Rows of scores as people type them, and the games they mean: session, bowler, game, score."""
    form = draw(st.sampled_from(["iso", "dots", "serial", "week"]))
    night = st.tuples(st.integers(1, 40), PEOPLE)
    nights = draw(st.lists(night, min_size=1, max_size=8, unique_by=once))
    rows, meant = [], []
    for week, bowler in nights:
        day = date(2026, 9, 1) + timedelta(weeks=week)
        when = {
            "iso": day.isoformat(), "dots": f"{day.day}.{day.month}.{day.year}", "week": str(week),
            "serial": str((day - date(1899, 12, 30)).days),
        }[form]  # fmt: skip
        scores = draw(st.lists(st.integers(1, 300) | st.none(), min_size=3, max_size=3))
        if not any(s is not None for s in scores):
            scores[0] = 150
        away = draw(st.sampled_from(["", "", "", "x", "yes", "0", "no"]))
        row: dict[str, Any] = {"week" if form == "week" else "date": when, "bowler": bowler}
        for k, s in enumerate(scores, 1):
            tail = draw(st.sampled_from(["", "", ".0", ".00"])) if s is not None else ""
            row[f"game{k}"] = None if s is None else f"{s}{tail}"
        rows.append(row | {"absent": away})
        session = f"week {week:03d}" if form == "week" else day.isoformat()
        meant += [
            (session, bowler.capitalize(), k, s)
            for k, s in enumerate(scores, 1)
            if s is not None and away not in ("x", "yes")
        ]
    return rows, sorted(meant)


@ROUNDS
@given(seasons(), st.data())
def test_center_scores_come_back(
    door: Any, season: tuple[Rows, list[tuple[str, str, int, int]]], data: st.DataObject
) -> None:
    rows, meant = season
    problems, made = door.told("scores.csv", data.draw(saved(rows)))
    assert problems == []
    games = made.games
    got = list(zip(games["session"], games["bowler"], games["game"], games["score"], strict=True))
    assert got == meant
    assert made.set_aside["absent"] == sum(r["absent"] in ("x", "yes") for r in rows)


def usable(name: str) -> bool:
    """Names as the roster keeps them: no blanks at the ends or doubled, and composed."""
    return unicodedata.normalize("NFC", " ".join(name.split())) == name and name.isprintable()


signs = st.characters(codec="utf-8", categories=("L", "M", "N", "P", "S", "Zs"))
odd_names = st.text(signs, min_size=1, max_size=20) | st.sampled_from(
    [
        "=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "-2", "<script>alert(1)</script>", "../../etc/passwd",
        'O\'Brien "Bo"', "Zoë 🎳", "👩‍👧", "a;b,c", "C:\\x", "NULL", "nan", "1,200", "Ann & Bob", "مرحبا",
    ]
)  # fmt: skip


@ROUNDS
@given(
    st.lists(odd_names.filter(usable), min_size=1, max_size=6, unique_by=str.casefold), st.data()
)
def test_center_any_name_keeps_its_letters(
    door: Any, names: list[str], data: st.DataObject
) -> None:
    """Formulas, markup, paths, quotes, separators, emoji: a name is a name, in the roster and in the scores."""
    rows: Rows = [
        {"bowler": n, "team": "A", "hand": "left", "style": "stroker", "average": 150.5}
        for n in names
    ]
    faults, made = door.told("roster.csv", data.draw(saved(rows, blanks=False)))
    assert faults == []
    assert [r.bowler for r in made.roster] == names
    path = door.folder / "names.csv"
    rows = [{"week": 1, "bowler": n, "game1": 150 + k} for k, n in enumerate(names)]
    path.write_text(data.draw(saved(rows, blanks=False)), encoding="utf-8", newline="")
    read = read_scores(made, path)
    assert read.problems == []
    games = dict(zip(read.games["bowler"], read.games["score"], strict=True))
    assert games == {n: 150 + k for k, n in enumerate(names)}


SPOILT = [
    "=1+1", "=SUM(A1:A3)", "@B2", "+A1", "-", "12O", "１２", "1 2 3,4,5", "1.2.3", "150%", "n/a", "nan", "inf",
    "1e999", "9" * 400, "<b>150</b>", "🎳", '"', "\u0000", "-1e9", "1,200,", "\u200b7",
]  # fmt: skip
NUMBERS = {
    "film_readings.csv": ("distance_ft", "board", "games", "before_units", "after_units"),
    "conditions/tape.csv": ("distance_ft", "board", "units"),
    "roster.csv": ("speed_mph", "rev_rate_rpm", "axis_rotation_deg", "axis_tilt_deg", "average"),
    "scores.csv": ("game1", "game2", "game3", "date", "absent"),
    "sequences/steps.csv": ("date", "condition"),
}


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("cell", SPOILT, ids=range(len(SPOILT)))
def test_center_a_spoilt_cell_is_named(tiny: Any, door: Any, name: str, cell: str) -> None:
    """In every column of the file in turn: one line with file, line and column; other rows of scores are kept."""
    head, *rows = list(csv.reader(io.StringIO(tiny.FILES[name])))
    rows = rows[:2]  # in the scores nobody is absent
    games = 6 if name == "scores.csv" else 0
    for column in NUMBERS[name]:
        if (column, cell) == ("absent", "-"):
            continue  # a dash says no
        changed = [list(r) for r in rows]
        changed[-1][head.index(column)] = cell
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows([head, *changed])
        faults, made = door.told(name, out.getvalue())
        assert faults, column
        assert f"{name}:3: " in faults[0], (column, faults)
        assert len(faults) == 1 or name == "conditions/tape.csv"
        assert faults[0].isprintable()
        assert len(faults[0]) < 700
        assert f"{column}: " in faults[0] or "\0" in cell, faults
        if games:
            assert len(made.games) == games - 3
        else:
            assert made is None


@pytest.mark.parametrize("name", NUMBERS)
@ROUNDS
@given(data=st.data())
def test_center_a_damaged_sheet_ends_in_lines_or_a_center(
    tiny: Any, door: Any, name: str, data: st.DataObject
) -> None:
    good = tiny.FILES[name].encode()
    at, cut = data.draw(st.integers(0, len(good))), data.draw(st.integers(0, 30))
    odd = [
        b",", b";", b"\n", b"\r", b'"', b"\t", b"-", b"=", b"\xc2\xa0", b"\xff", b"\x00", b"nan", b"\xef\xbb\xbf",
    ]  # fmt: skip
    new = data.draw(st.sampled_from(odd) | st.binary(max_size=5))
    faults, made = door.told(name, good[:at] + new + good[at + cut :])
    assert faults or made is not None
    for fault in faults:
        assert fault.isprintable()
        assert name in fault
