"""The scores.csv door: what is read, what is told, how fast."""

import time
from dataclasses import replace

import pytest

from leaguesim.bowlers.values import RosterLine
from leaguesim.center.scores import read_scores
from leaguesim.errors import ProfileError


@pytest.fixture
def door(small, tmp_path):
    def read(text, **changes):
        file = tmp_path / "scores.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_scores(replace(small.center(), folder=tmp_path, **changes))

    return read


def test_one_row_a_night(door):
    got = door("week,bowler,team,game1,game2,game3\n1,Ann,A1,150,160,170\n2,ann,A1,155,,\n")
    assert got.problems == []
    assert got.games["score"].tolist() == [150, 160, 170, 155]
    assert set(got.games["condition"]) == {"house"}
    assert got.games["session"].tolist()[-1] == "week 002"


def test_spreadsheet_exports(door):
    text = (
        "\ufeffdate;bowler;game;score\r\n13.01.2026;Ann;1;150,0\r\n46035;Bea;1;\u00a0151\u202f\r\n"
    )
    got = door(text)
    assert got.problems == []
    assert sorted(got.games["score"]) == [150, 151]
    assert set(got.games["session"]) == {"2026-01-13"}


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("1,Ann,301,150", "3: game1: over 300"),
        ("1,Ann,1.234,150", "over 300"),
        ("1,Nobody,150,150", "3: bowler: unknown bowler"),
        ("1,Bea,15O,150", "3: game1: a letter in a number"),
        ("1,Bea,=SUM(A1),150", "a formula"),
        ("1,Bea,-150,150", "not a whole number"),
        ("1,Bea,150.5,150", "not a whole number"),
        ("1,Bea,,", "no score in this row"),
        ("x,Bea,150,150", "week: a letter"),
        (",Bea,150,150", "missing: when"),
        ("1,Ann,150,150", "duplicate: Ann in week 001, game 1 is on line 2"),
        ("1,Bea,150,150,7", "too many cells"),
    ],
)
def test_a_row_that_cannot_be_used_is_told_and_the_rest_kept(door, row, why):
    got = door(f"week,bowler,game1,game2\n1,Ann,140,141\n{row}\n2,Ann,142,143\n")
    assert len(got.problems) == 1
    assert why in got.problems[0]
    assert "scores.csv:3" in got.problems[0]
    assert got.games["score"].tolist() == [140, 141, 142, 143]


def test_hand_and_condition_are_never_guessed(door):
    got = door(
        "week,bowler,score,hand,condition\n1,Ann,150,left,house\n1,Bea,151,L,flat\n1,Cid,152,,\n"
        "1,Dot,153,,hosue\n"
    )
    assert got.games["bowler"].tolist() == ["Bea"]
    said = "\n".join(got.problems)
    assert "the roster says right" in said
    assert "the fit needs a label on every row" in said
    assert "did you mean house" in said


def test_days_and_months_that_cannot_be_told_apart(door):
    assert "cannot be told apart" in door("date,bowler,score\n03/04/2026,Ann,150\n").problems[0]
    got = door("date,bowler,score\n03/04/2026,Ann,150\n13/04/2026,Ann,150\n")
    assert got.games["session"].tolist() == ["2026-04-03", "2026-04-13"]


def test_columns_of_their_own_and_unknown_columns(door):
    got = door(
        "week,bowler,score,absent,substitute,prebowl,shoes\n1,Ann,150,x,,,\n1,Bea,150,,yes,,\n"
        "1,Cid,150,,,1,\n1,Dot,150,,,,\n"
    )
    assert got.games["bowler"].tolist() == ["Dot"]
    assert got.set_aside == {"absent": 1, "substitute": 1, "prebowl": 1}
    assert "shoes: unknown column" in got.problems[0]


def test_tallies_must_add_up(door):
    got = door("week,bowler,score,strikes,spares,opens\n1,Ann,150,3,4,3\n1,Bea,150,3,3,3\n")
    assert got.games["strikes"].tolist() == [3.0]
    assert "cannot add up to 9" in got.problems[0]


@pytest.mark.parametrize(
    "text", ["", "bowler,score\nAnn,3\n", "week,score\n1,2\n", "week,bowler\n1,Ann\n"]
)
def test_a_header_without_what_is_needed_is_refused(door, text):
    with pytest.raises(ProfileError, match=r"scores\.csv:1: missing column"):
        door(text)


def test_two_hundred_bowlers_and_36_weeks_read_in_a_second(door):
    people = [RosterLine(f"P{k}", f"T{k // 4}", "right", "stroker") for k in range(200)]
    rows = [f"{w},P{k},150,160,170" for w in range(1, 37) for k in range(200)]
    started = time.process_time()
    got = door("week,bowler,game1,game2,game3\n" + "\n".join(rows), roster=tuple(people))
    assert time.process_time() - started < 1.0
    assert len(got.games) == 21600


SEASON = [("2026-01-13", "Ann", (150, 201, 300)), ("2026-01-20", "Ann", (1, 155, 99)),
          ("2026-01-20", "Bea", (140, 88, 177))]  # fmt: skip
SERIAL = {"2026-01-13": "46035", "2026-01-20": "46042"}  # days since 1899-12-30, from the calendar


def _day(text, form):
    year, month, day = text.split("-")
    return {
        "iso": text, "dots": f"{day}.{month}.{year}", "slashes": f"{day}/{month}/{year}",
        "serial": SERIAL[text], "clock": f"{text} 00:00:00", "decimal serial": SERIAL[text] + ",0",
    }[form]  # fmt: skip


def _export(comma, tail, newline, days, quote):
    def cell(text):
        return f'"{text}"' if quote or comma in text else text

    rows = [["date", "bowler", "game1", "game2", "game3"]]
    for k, (when, who, scores) in enumerate(SEASON):
        form = days[k % len(days)]
        rows.append([_day(when, form), who, *(f"{s}{tail}" for s in scores)])
    return newline.join(comma.join(cell(c) for c in row) for row in rows) + newline


@pytest.mark.parametrize("comma", [",", ";", "\t"])
@pytest.mark.parametrize("tail", ["", ",0", ".0", ",00", " ", "\u00a0"])
@pytest.mark.parametrize(
    ("mark", "newline", "quote"),
    [(b"", "\n", False), (b"\xef\xbb\xbf", "\r\n", False), (b"\xef\xbb\xbf", "\n", True)],
)
def test_however_a_spreadsheet_writes_it_the_season_is_the_same(
    door, comma, tail, mark, newline, quote
):
    got = door(mark + _export(comma, tail, newline, ["iso"], quote).encode())
    assert got.problems == []
    told = got.games.groupby(["session", "bowler"], sort=True)["score"].agg(tuple)
    assert told.to_dict() == {(when, who): scores for when, who, scores in SEASON}


@pytest.mark.parametrize(
    "days",
    [["dots"], ["slashes"], ["serial"], ["clock"], ["decimal serial"], ["iso", "dots", "serial"],
     ["slashes", "iso", "clock"]],
)  # fmt: skip
def test_days_of_every_form_also_mixed_in_one_file(door, days):
    got = door(_export(";", "", "\r\n", days, False))
    assert got.problems == []
    assert set(got.games["session"]) == {"2026-01-13", "2026-01-20"}
    assert len(got.games) == 9


def test_rows_of_one_file_may_write_numbers_in_their_own_ways(door):
    got = door(
        "\ufeffweek;bowler;game1;game2\r\n1;Ann;150;151,0\r\n2;Ann;152.00;153,\r\n3;Ann; 154 ;\r\n"
        '"4";"Ann";"155,0";"156"\r\n'
    )
    assert got.problems == []
    assert got.games["score"].tolist() == [150, 151, 152, 153, 154, 155, 156]


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("150,5", "not a whole number"), ("1,50", "not a whole number"), ("1.500", "over 300"),
        ("1 500", "over 300"), ("1'500", "over 300"), ("0,150", "not a whole number"),
        ("150,0,0", "not a whole number"), ("150;7", "too many cells"), ("#REF!", "a letter"),
        ("l50", "a letter"), ("15O,0", "a letter"), ("301,0", "over 300"), ("-1,0", "not a whole"),
    ],
)  # fmt: skip
def test_a_decimal_comma_hides_no_fault_and_costs_one_row(door, cell, why):
    got = door(f"\ufeffweek;bowler;game1\r\n1;Ann;140,0\r\n2;Ann;{cell}\r\n3;Ann;142,0\r\n")
    assert len(got.problems) == 1
    assert "scores.csv:3" in got.problems[0]
    assert why in got.problems[0]
    assert got.games["score"].tolist() == [140, 142]


def test_decimal_commas_between_commas_are_told_row_by_row_not_guessed(door):
    """150,0 without quotes in a file of commas is two cells: a score of 150 and one of 0."""
    got = door("week,bowler,game1,game2\n1,Ann,150,0,151,0\n2,Ann,140,141\n")
    assert len(got.problems) == 1
    assert "scores.csv:2: too many cells" in got.problems[0]
    assert got.games["score"].tolist() == [140, 141]
