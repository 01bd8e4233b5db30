"""What would change an answer, whether a condition forgives, charts as files, sentences at 80 columns."""

import dataclasses
import sys
from pathlib import Path

import pytest

from leaguesim.cli import talk
from leaguesim.report.export import page_charts
from leaguesim.report.markup import table
from leaguesim.report.turning import compare_turns, farthest_misses, forgiving, surfaces_turns
from leaguesim.study.surfaces import SurfacesResult

REPORTS = Path(__file__).parents[2] / "reports"


def changed(result, **league):
    return dataclasses.replace(result, league={**result.league, **league})


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (-7.0, -6.0, "5.0 pins clear"),
        (2.5, 4.0, "1.5 pins clear"),
        (-2.0, 0.5, "2.5 pins wide"),
        (None, None, "More than one night"),
    ],
)
def test_how_far_luck_is_from_turning_the_verdict(made_up, low, high, told):
    first = compare_turns(changed(made_up.compare(), change_low=low, change_high=high))[0]
    assert told in first


def test_close_verdicts_are_counted(made_up):
    lines = compare_turns(changed(made_up.compare(), close_calls=7))
    assert any(line.startswith("7 of ") and "threshold" in line for line in lines)


def test_forgiven_is_counted_by_style_at_its_worst(made_up):
    look = made_up.lane().look
    arrivals = look.arrivals.copy()
    styles = list(dict.fromkeys(arrivals["style"]))
    arrivals["outside_miss_board"], arrivals["inside_miss_board"] = 2.5, -0.5
    first = arrivals["style"] == styles[0]
    arrivals.loc[first, "outside_miss_board"] = -0.9
    told = forgiving(dataclasses.replace(look, arrivals=arrivals))
    assert f"1 of {len(styles)} styles is forgiven" in told
    assert f"from 0.9 ({styles[0]}) to 2.5" in told
    assert farthest_misses(dataclasses.replace(look, arrivals=arrivals))[styles[1]] == 2.5
    assert "can't be told" in forgiving(dataclasses.replace(look, arrivals=arrivals.iloc[:0]))


def surfaces(**more) -> SurfacesResult:
    row = {
        "surface": "own", "name": "synthetic (as now)", "roughness_uin": 15.0, "average_now": 160.0,
        "average_next": 155.0, "change": -5.0, "change_se": 0.2, "low": -5.4, "high": -4.6,
        "kept_happy_now": 0.6, "kept_happy_next": 0.3, "lost": 3, "won_back": 1,
    }  # fmt: skip
    far = {
        **row,
        "surface": "x",
        "name": "synthetic, residue left over",
        "other": -1.0,
        "other_se": 0.2,
    }
    return SurfacesResult("Hall", "a_1", "b_2", 32, 1, [row, far], ["A note."], **more)


def test_surfaces_go_by_titles_and_give_an_interval():
    import io

    from rich.console import Console

    from leaguesim.report.surfacespage import surface_lines, surfaces_page
    from leaguesim.report.terminal import surfaces_text

    told = surfaces(now_title="Now it is", next_title="Then it was", invented=True)
    assert told.answer.startswith("Then it was lowers")
    assert surfaces().answer.startswith("b_2 lowers")
    assert "(95 % from −1.4 to −0.6)" in surface_lines(told)[1]
    page = surfaces_page(told)
    assert "Then it was" in page
    assert "a_1" not in page
    assert "is invented" in page
    assert "0.8 pins" in surfaces_turns(told)[0]
    out = io.StringIO()
    surfaces_text(told, Console(file=out, width=80))
    lines = out.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    assert any("synthetic, residue left over" in line for line in lines)  # nothing cut off
    assert lines[0].startswith("Hall is invented")


def test_charts_of_any_page_as_files():
    page = (REPORTS / "sample-tune" / "page.html").read_text(encoding="utf-8")
    files = page_charts(page)
    assert set(files) == {
        f"chart-{c}.{kind}" for c in ("tradeoff", "gains") for kind in ("svg", "png")
    }
    assert bytes(files["chart-tradeoff.png"][:8]) == b"\x89PNG\r\n\x1a\n"
    assert "kept happy" in files["chart-tradeoff.svg"]
    assert page_charts("<p>none</p>") == {}


def test_sentences_break_at_words(capsys):
    talk.tell(["word " * 40, "a (b) [c] {d} :e:"])
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) == 4
    assert lines[-1] == "a (b) [c] {d} :e:"


def test_a_remark_is_one_line_in_a_pipe_and_broken_in_a_terminal(capsys, monkeypatch):
    long = "leaguesim: " + "some words " * 12 + "/a/path/that-is/longer" + "-than" * 20
    talk.say(long)
    assert capsys.readouterr().err == long + "\n"
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    talk.say(long)
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) > 2
    assert all(len(line) <= 80 for line in lines[:-1])
    assert " ".join(" ".join(lines).split()) == long


def test_cells_keep_their_line_or_get_room():
    made = table("t", ["a", "b"], [["short", "two-handed"], ["x " * 15, "y " * 40]], numeric_from=9)
    assert "<td>two-handed</td>" in made
    assert made.count('class="wrap"') == 1
    assert made.count('class="long"') == 1
