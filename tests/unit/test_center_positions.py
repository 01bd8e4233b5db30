"""The position finder: every key's line, in every shape that TOML allows."""

import tomllib

from leaguesim.center.positions import line_of, positions

TEXT = '''# a comment with [brackets] and "quotes"
name = "Hall # not a comment"

"odd key".inner = 3   # dotted and quoted
[table]  # header
a.b = { c = 1, "d e" = [1, { f = 2 }] }
long = """
not = "a key"
"""
raw = \'\'\'
[[not a header]]\'\'\'
list = [
  1,  # one
  2,

  [3, 4],
]
when = 1979-05-27 07:32:00
[[bands]]
from_ft = 0
[[bands]]
from_ft = 5
[bands.shares]
amber = 1
[[bands.inner]]
x = 1
[[bands.inner]]
x = 2
'''


def test_positions_match_the_line_that_holds_each_key() -> None:
    tomllib.loads(TEXT)
    lines = positions(TEXT)
    assert lines[()] == 1
    assert lines["name",] == 2
    assert lines["odd key", "inner"] == 4
    assert lines["table",] == 5
    assert lines["table", "a", "b", "c"] == 6
    assert lines["table", "a", "b", "d e", 1, "f"] == 6
    assert lines["table", "long"] == 7
    assert lines["table", "raw"] == 10
    assert lines["table", "list"] == 12
    assert [lines["table", "list", i] for i in range(3)] == [13, 14, 16]
    assert lines["table", "list", 2, 1] == 16
    assert lines["table", "when"] == 18
    assert [lines["bands", i, "from_ft"] for i in range(2)] == [20, 22]
    assert lines["bands", 1] == 21
    assert lines["bands", 1, "shares", "amber"] == 24
    assert [lines["bands", 1, "inner", i, "x"] for i in range(2)] == [26, 28]
    assert ("not",) not in lines
    assert ("table", "not") not in lines


def test_positions_know_windows_line_ends() -> None:
    assert positions(TEXT.replace("\n", "\r\n")) == positions(TEXT)


def test_line_of_an_absent_key_is_that_of_its_table() -> None:
    lines = positions(TEXT)
    assert line_of(lines, ("bands", 1, "to_ft")) == 21
    assert line_of(lines, ("absent", "deeper")) == 1
