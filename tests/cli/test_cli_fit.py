"""The fit command refuses in one line; it never fits what cannot be fitted."""

import subprocess
import sys

import pytest


def _run(*words):
    code = "from leaguesim.cli.main import run; run()"
    return subprocess.run([sys.executable, "-c", code, *words], capture_output=True, text=True)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("week,bowler,game1\n1,Ada K.,150\n", "scores.csv:2: nobody has 9 games"),
        ("bowler,game1\nAda K.,150\n", "scores.csv:1: missing column: date or week"),
    ],
)
def test_bad_scores_end_with_2_and_one_line(tmp_path, text, why):
    from leaguesim.center import demo_center

    file = tmp_path / "scores.csv"
    file.write_text(text)
    done = _run("fit", str(demo_center()), "--scores", str(file), "--json", "--quiet")
    assert done.returncode == 2
    assert why in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert done.stdout == ""


def test_the_demo_season_can_be_read_whole():
    from leaguesim.center import demo_center, read
    from leaguesim.center.scores import read_scores

    got = read_scores(read(demo_center()))
    assert got.problems == []
    assert got.games["bowler"].nunique() == 48
    assert got.games["session"].nunique() == 32
