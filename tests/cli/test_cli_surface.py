"""``leaguesim compare --surface``: an unknown name is one clear line and exit code 2, before anything is played."""

import shutil

import pytest

from leaguesim.center import demo_center
from leaguesim.cli.main import main


def test_an_unknown_surface_is_one_line_with_the_nearest_name(capsys, tmp_path):
    words = ["compare", str(demo_center()), "--now", "tuesday_40", "--next", "thursday_42"]
    out = tmp_path / "report"
    assert main([*words, "--surface", "oldr", "--nights", "8", "--out", str(out)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    (line,) = told.err.strip().splitlines()
    assert "did you mean older?" in line
    assert not out.exists()


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("fited/fitted.json", "there is no {0}/fited; did you mean {0}/fitted?"),
        ("fited/deep/fitted.json", "there is no {0}/fited; did you mean {0}/fitted?"),
        ("fitted/fited.json", "does not exist; did you mean {0}/fitted/fitted.json?"),
    ],
)
def test_a_file_in_a_folder_that_is_not_there_gets_the_folders_nearest_name(
    capsys, tmp_path, name, said
):
    (tmp_path / "fitted").mkdir()
    (tmp_path / "fitted" / "fitted.json").write_text("{}", "utf-8")
    words = ["compare", str(demo_center()), "--now", "tuesday_40", "--next", "thursday_42"]
    assert main([*words, "--fitted", str(tmp_path / name), "--nights", "8"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    (line,) = told.err.strip().splitlines()
    assert said.format(tmp_path) in line
    assert main([*words, "--fitted", str(tmp_path / "x" / "y.json"), "--nights", "8"]) == 2
    assert "did you mean" not in capsys.readouterr().err


@pytest.mark.slow
def test_all_surfaces_are_told_in_a_table_a_page_and_rows(capsys, tmp_path):
    """On the demo center with eight bowlers and one surface beside its own."""
    hall = tmp_path / "hall"
    shutil.copytree(demo_center(), hall)
    roster = (hall / "roster.csv").read_text("utf-8").splitlines()
    (hall / "roster.csv").write_text("\n".join(roster[:9]) + "\n", "utf-8")
    for name in ("resurfaced", "not_clean"):
        (hall / "surfaces" / f"{name}.toml").unlink()
    words = ["compare", str(hall), "--now", "tuesday_40", "--next", "thursday_42"]
    words += ["--surface", "all", "--nights", "2", "--seed", "1", "--quiet"]
    out = tmp_path / "report"
    assert main([*words, "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines()[:-1])) <= 80
    rows = (out / "surfaces.csv").read_text("utf-8").splitlines()
    assert len(rows) == 3  # head, own, the file of surfaces/
    page = (out / "page.html").read_text("utf-8")
    for name in ("own", "older"):
        assert sum(row.startswith(f"{name},") for row in rows) == 1
    assert "Change on each surface" in page
    assert "data sheets" in page
    assert main([*words, "--csv"]) == 0
    assert capsys.readouterr().out.splitlines() == rows


def test_all_surfaces_refuse_what_they_would_ignore(capsys):
    words = ["compare", str(demo_center()), "--now", "tuesday_40", "--next", "thursday_42"]
    assert main([*words, "--surface", "all", "--unknowns", "8", "--shard", "1/2"]) == 2
    (line,) = capsys.readouterr().err.strip().splitlines()
    assert "--surface all: cannot be had with --shard, --unknowns" in line
