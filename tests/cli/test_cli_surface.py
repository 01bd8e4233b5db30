"""``leaguesim compare --surface``: an unknown name is one clear line and exit code 2, before anything is played."""

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
